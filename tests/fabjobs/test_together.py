"""With another job: who can be chosen, both apart beside both together, taken and parted by one click."""

import re
from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.test import Client

import calc
from fabjobs import planning
from fabjobs.improving import TOGETHER, Looking, look
from fabjobs.models import Form, Improvement, Job, Person, Revision, StockItem
from fabjobs.services import job_create
from fabjobs.stages import jobs_in_hand
from tests.fabjobs.changing import first_cut, latest, typed, work_on
from tests.fabjobs.pairs import lay_together, tray, two_jobs
from tests.fabjobs.test_together_services import set_tick

PAGE, TAKE, PART = "/jobs/1/together/", "/jobs/1/together/take", "/jobs/1/together/part"
Headers = Callable[..., dict[str, str]]


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    cache.clear()


@pytest.fixture
def jobs(owner: Person) -> tuple[Job, Job]:
    return two_jobs(owner)


@pytest.fixture
def pair(jobs: tuple[Job, Job], owner: Person) -> tuple[Job, Job]:
    """Guest and host."""
    lay_together(*jobs, owner)
    return jobs


def taking(**changes: str) -> dict[str, str]:
    return {"other": "2", "host": "2", "started_from": "1", "other_from": "1", "form_key": str(uuid4()), **changes}


def parting(**changes: str) -> dict[str, str]:
    return {"started_from": "2", "form_key": str(uuid4()), **changes}


def row(page: str, what: str) -> list[str]:
    """A row of the table: apart, together."""
    found = re.search(rf'<tr><th scope="row">{what}</th>(.*?)</tr>', page)
    assert found, what
    return [re.sub(r"<[^>]*>", "", cell).strip() for cell in re.findall(r"<td[^>]*>(.*?)</td>", found[1])][:2]


# Seen


def test_the_page_of_the_job_leads_there_and_computes_nothing(
    signed_in: Client, jobs: tuple[Job, Job], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(calc, "plan", lambda _: pytest.fail("computed for the page of a job"))
    page = signed_in.get("/jobs/1/").content.decode()
    assert f'hx-get="{PAGE}"' in page
    assert f'<a class="paper-link" href="{PAGE}">' in page
    assert "Job 2, Saw tray" in signed_in.get(PAGE).content.decode()


def test_with_nobody_to_share_with_it_says_who_could(signed_in: Client, owner: Person) -> None:
    job_create(plan=calc.plan(tray("Alone", 400, 300)), due_day=None, by=owner)
    page = signed_in.get(PAGE).content.decode()
    assert "No other job in hand can share its sheets" in page
    assert "<table" not in page


def test_apart_stands_beside_together(signed_in: Client, jobs: tuple[Job, Job], htmx: Headers) -> None:
    page = signed_in.get(f"{PAGE}?other=2", headers=htmx()).content.decode()
    assert page.lstrip().startswith('<div id="together"')
    apart = [planning.restore(latest(job)) for job in jobs]
    assert row(page, "Sheets")[0] == str(sum(len(plan.layout.sheets) for plan in apart)) == "2"
    assert row(page, "Sheets")[1] == "1"
    costs = [f"{sum(float(plan.cost.total) for plan in apart):.2f} EUR"]
    assert row(page, "Cost of both")[:1] == costs
    assert float(row(page, "Cost of both")[1].split()[0]) < float(costs[0].split()[0])
    assert "The sheets are job 2's" in page  # due first
    assert 'data-piece="1/A.1"' in page
    assert Revision.objects.count() == 2


def test_the_first_due_is_host_whoever_asks(signed_in: Client, jobs: tuple[Job, Job]) -> None:
    for path in (f"{PAGE}?other=2", "/jobs/2/together/?other=1"):
        assert "The sheets are job 2's" in signed_in.get(path).content.decode()
    Job.objects.filter(number=1).update(due_day=date(2031, 6, 1))
    assert "The sheets are job 1's" in signed_in.get(f"{PAGE}?other=2").content.decode()


def test_without_htmx_it_is_a_page_of_its_own(signed_in: Client, jobs: tuple[Job, Job]) -> None:
    page = signed_in.get(f"{PAGE}?other=2").content.decode()
    assert "<h1>Lathe tray: laid out with another job</h1>" in page
    assert f'action="{TAKE}"' in page


@pytest.mark.parametrize("asked", ["7", "1", "0", "none", ""])
def test_a_job_that_can_not_be_chosen_is_no_choice(signed_in: Client, jobs: tuple[Job, Job], asked: str) -> None:
    answer = signed_in.get(PAGE, {"other": asked})
    assert answer.status_code == 200
    assert "<table" not in answer.content.decode()
    assert ("can&#x27;t be laid out with this one" in answer.content.decode()) == (asked in {"7", "1"})


def test_where_no_sheet_takes_both_it_is_said(signed_in: Client, owner: Person) -> None:
    one = [{"label": "S1", "length": 900, "width": 560, "count": 1, "price": "30.00"}]
    for title in ("Lathe tray", "Saw tray"):
        job_create(plan=calc.plan(tray(title, 700, 420, stock=one)), due_day=None, by=owner)
    page = signed_in.get(f"{PAGE}?other=2").content.decode()
    assert "No sheet that job 1 has takes all of both" in page
    assert TAKE not in page


def test_work_that_would_count_no_more_is_told(signed_in: Client, jobs: tuple[Job, Job], owner: Person) -> None:
    """The guest's blanks are marked out on another sheet then."""
    assert "no longer count as done" not in signed_in.get(f"{PAGE}?other=2").content.decode()
    marking = latest(jobs[0]).fabrication.steps.filter(kind="mark").first()
    assert marking is not None
    work_on(marking, owner)
    assert "<b>1 step</b>" in signed_in.get(f"{PAGE}?other=2").content.decode()


def test_of_two_jobs_alike_the_chosen_one_is_host(signed_in: Client, jobs: tuple[Job, Job], owner: Person) -> None:
    """Looked at with the first of them before, and taken with the second."""
    job_create(plan=calc.plan(tray("Saw tray", 520, 380)), due_day=jobs[1].due_day, by=owner)
    assert signed_in.get(f"{PAGE}?other=2").status_code == 200
    assert signed_in.get(f"{PAGE}?other=3").status_code == 200
    assert signed_in.post(TAKE, taking(other="3", host="3"))["Location"] == "/jobs/1/"
    assert [entry["job"] for entry in latest(jobs[0]).sheet["elsewhere"]] == ["3"]
    assert latest(jobs[1]).number == 1


# Taken


def test_taken_both_have_their_next_revision(signed_in: Client, jobs: tuple[Job, Job]) -> None:
    answer = signed_in.post(TAKE, taking())
    assert (answer.status_code, answer["Location"]) == (302, "/jobs/1/")
    assert [latest(job).number for job in jobs] == [2, 2]
    assert latest(jobs[0]).plan["layout"]["sheets"] == []
    page = signed_in.get("/jobs/1/").content.decode()
    assert "job 2, sheet 1" in page
    assert "Laid out with job 2" in page
    assert 'data-piece="1/A.1"' in signed_in.get("/jobs/2/").content.decode()


def test_by_htmx_the_whole_page_is_led_on(signed_in: Client, jobs: tuple[Job, Job], htmx: Headers) -> None:
    assert signed_in.post(TAKE, taking(), headers=htmx())["HX-Redirect"] == "/jobs/1/"


def test_sent_twice_it_is_taken_once(signed_in: Client, jobs: tuple[Job, Job]) -> None:
    sent = taking()
    assert [signed_in.post(TAKE, sent).status_code for _ in range(2)] == [302, 302]
    assert Revision.objects.count() == 4


@pytest.mark.parametrize("missing", ["other", "host", "started_from", "other_from", "form_key"])
def test_a_form_that_is_not_whole_changes_nothing(signed_in: Client, jobs: tuple[Job, Job], missing: str) -> None:
    answer = signed_in.post(TAKE, {**taking(), missing: "x"})
    assert answer.status_code == 422
    assert "did not come back whole" in answer.content.decode()
    assert Revision.objects.count() == 2


@pytest.mark.parametrize("stale", [{"started_from": "7"}, {"other_from": "7"}, {"other": "9"}])
def test_stale_it_changes_nothing_and_says_so(signed_in: Client, jobs: tuple[Job, Job], stale: dict[str, str]) -> None:
    answer = signed_in.post(TAKE, taking(**stale))
    assert answer.status_code == 409
    assert "Nothing was changed" in answer.content.decode()
    assert Revision.objects.count() == 2


def test_with_another_host_than_was_shown_it_changes_nothing_and_says_so(
    signed_in: Client, jobs: tuple[Job, Job]
) -> None:
    """The due day of the one that was to be guest is changed between the screen and the click."""
    page = signed_in.get(f"{PAGE}?other=2").content.decode()
    assert '<input type="hidden" name="host" value="2">' in page
    Job.objects.filter(number=1).update(due_day=date(2031, 6, 1))
    answer = signed_in.post(TAKE, taking())
    assert answer.status_code == 409
    told = answer.content.decode()
    assert "Job 1 is due first by now, so that the sheets would be its. Nothing was changed" in told
    assert "The sheets are job 1&#x27;s" in told or "The sheets are job 1's" in told
    assert Revision.objects.count() == 2
    assert signed_in.post(TAKE, taking(host="1")).status_code == 302
    assert latest(jobs[0]).sheet["guests"]


def test_cut_into_meanwhile_it_is_no_candidate_any_more(
    signed_in: Client, jobs: tuple[Job, Job], owner: Person
) -> None:
    set_tick(first_cut(jobs[1]), owner)
    answer = signed_in.post(TAKE, taking())
    assert answer.status_code == 409
    assert "Job 2 can&#x27;t be laid out with this one any more." in answer.content.decode()


def test_a_share_is_no_piece_and_gets_no_label(signed_in: Client, pair: tuple[Job, Job], owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    share = StockItem.objects.get(form=Form.SHARE)
    asked = {"sheet": "A4, 3 x 7", "first": "1", "piece": str(share.number)}
    assert signed_in.get("/rack/labels.pdf", asked).status_code == 404


# Parted


@pytest.mark.parametrize("number", [1, 2])
def test_parted_each_is_by_itself_again(signed_in: Client, pair: tuple[Job, Job], number: int) -> None:
    assert "Part them" in signed_in.get(f"/jobs/{number}/together/").content.decode()
    answer = signed_in.post(f"/jobs/{number}/together/part", parting())
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{number}/")
    assert [latest(job).number for job in pair] == [3, 3]
    assert all(latest(job).plan["layout"]["sheets"] for job in pair)
    assert {latest(job).reason for job in pair} == {
        f"Parted from job {3 - number}",
        f"No longer laid out with job {number}",
    }


def test_parted_twice_by_one_form_is_once(signed_in: Client, pair: tuple[Job, Job]) -> None:
    sent = parting()
    assert [signed_in.post(PART, sent).status_code for _ in range(2)] == [302, 302]
    assert Revision.objects.count() == 6


def test_what_is_cut_into_can_not_be_parted(signed_in: Client, pair: tuple[Job, Job], owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    page = signed_in.get(PAGE).content.decode()
    assert "What they share is cut into" in page
    assert PART not in page
    answer = signed_in.post(PART, parting())
    assert answer.status_code == 409
    assert Revision.objects.count() == 4


def test_stale_nothing_is_parted(signed_in: Client, pair: tuple[Job, Job]) -> None:
    answer = signed_in.post(PART, parting(started_from="1"))
    assert answer.status_code == 409
    assert "saved revision 2" in answer.content.decode()
    assert Revision.objects.count() == 4


def test_a_parting_that_is_not_whole_changes_nothing(signed_in: Client, pair: tuple[Job, Job]) -> None:
    assert signed_in.post(PART, {"form_key": str(uuid4())}).status_code == 422
    assert Revision.objects.count() == 4


# A change, the joins, a better layout


@pytest.mark.parametrize("place", [0, 1])
def test_a_change_tells_whom_it_parts_and_does_it_in_the_same_save(
    signed_in: Client, pair: tuple[Job, Job], place: int
) -> None:
    job, other = pair[place], pair[1 - place]
    path = f"/jobs/{job.number}/change"
    sent = typed(job, depth="50", reason="Pump sits lower")
    assert "Parts them." in signed_in.get(path).content.decode()
    assert "Parts them." in signed_in.post(f"{path}/preview", sent).content.decode()
    assert signed_in.post(path, sent).status_code == 302
    assert [latest(each).number for each in pair] == [3, 3]
    assert latest(other).reason == f"No longer laid out with job {job.number}"
    told = signed_in.get(f"/jobs/{other.number}/revisions/2/3/").content.decode()
    assert "Laid out together with" in told


def test_a_heading_alone_parts_nobody(signed_in: Client, pair: tuple[Job, Job]) -> None:
    assert signed_in.post("/jobs/1/change", typed(pair[0], title="Lathe tray, left")).status_code == 302
    assert [latest(job).number for job in pair] == [2, 2]


def test_joins_part_them_too(signed_in: Client, pair: tuple[Job, Job]) -> None:
    assert "Parts them." in signed_in.get("/jobs/1/joins/").content.decode()
    sent = {"joins": "fewest-welds", "started_from": "2", "form_key": str(uuid4())}
    assert signed_in.post("/jobs/1/joins/take", sent).status_code == 302
    assert [latest(job).number for job in pair] == [3, 3]
    assert all(not latest(job).sheet["guests"] and not latest(job).sheet["elsewhere"] for job in pair)


@pytest.mark.parametrize("thing", [{"alloy": "6061-T6"}, {"thickness": "2"}])
def test_the_metal_of_a_shared_sheet_that_is_cut_into_stays(
    signed_in: Client, pair: tuple[Job, Job], owner: Person, thing: dict[str, str]
) -> None:
    set_tick(first_cut(pair[1]), owner)
    answer = signed_in.post("/jobs/2/change", typed(pair[1], reason="Stiffer", **thing))
    assert answer.status_code == 422
    assert "sheet 1 is cut into and holds blanks of job 1: its metal stays" in answer.content.decode()
    assert Revision.objects.count() == 4


def test_a_guest_of_another_metal_leaves_what_is_cut(signed_in: Client, pair: tuple[Job, Job], owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    assert signed_in.post("/jobs/1/change", typed(pair[0], reason="Stiffer", thickness="2")).status_code == 302
    assert latest(pair[0]).sheet["elsewhere"] == []
    assert latest(pair[0]).plan["layout"]["sheets"]
    assert latest(pair[1]).number == 2


def test_a_better_layout_is_looked_for_once_they_are_parted(
    signed_in: Client, pair: tuple[Job, Job], owner: Person
) -> None:
    assert "part them first" in signed_in.get("/jobs/1/better-layout/").content.decode()
    revision = latest(pair[0])
    assert not Looking.of(revision).may_ask
    asked = Improvement.objects.create(fabrication=revision.fabrication, revision=revision, by=owner)
    look(asked.pk)
    asked.refresh_from_db()
    assert asked.error == TOGETHER


@pytest.mark.parametrize("way", ["part", "change", "joins"])
def test_where_the_other_can_not_be_laid_out_again_it_says_so(
    signed_in: Client, pair: tuple[Job, Job], monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    real = planning.compute

    def compute(sheet: dict[str, Any]) -> calc.Plan:
        if sheet["title"] == "Lathe tray":
            raise calc.SheetFaults([calc.Fault("sheet.stock", "sheet.stock: must hold a sheet")])
        return real(sheet)

    monkeypatch.setattr(planning, "compute", compute)
    sent = {
        "part": parting(),
        "change": typed(pair[1], depth="50", reason="Pump sits lower"),
        "joins": {"joins": "fewest-welds", "started_from": "2", "form_key": str(uuid4())},
    }[way]
    path = {"part": "together/part", "change": "change", "joins": "joins/take"}[way]
    answer = signed_in.post(f"/jobs/2/{path}", sent)
    assert answer.status_code == 422
    told = answer.content.decode()
    assert "Job 1, which shares sheets with it, can&#x27;t be laid out again" in told
    assert "must hold a sheet" in told
    assert Revision.objects.count() == 4


# What each is told


def test_papers_and_pages_of_both_come_out(signed_in: Client, pair: tuple[Job, Job]) -> None:
    for number in (1, 2):
        for path in ("", "metal/", "review/", "change", "takeoff.csv", "patterns.dxf", "drawings.zip", "joins/"):
            assert signed_in.get(f"/jobs/{number}/{path}").status_code == 200, path
    assert jobs_in_hand().count() == 2


def test_what_another_takes_of_a_sheet_has_a_minus(signed_in: Client, pair: tuple[Job, Job]) -> None:
    page = signed_in.get("/jobs/2/").content.decode()
    cells = re.search(r"Of sheet 1, taken by job 1.*?</tr>", page)
    assert cells
    assert '<td class="num">−1 share</td>' in cells[0]
    assert ">-" not in cells[0]


def test_both_metal_pages_tell_the_share(signed_in: Client, pair: tuple[Job, Job], owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    host = signed_in.get("/jobs/2/metal/").content.decode()
    guest = signed_in.get("/jobs/1/metal/").content.decode()
    assert "Taken of them by other jobs" in host
    assert "Share of R1" in host
    assert 'Share of R1, taken by <a href="/jobs/1/">job 1</a></th>' in host
    assert re.search(r"Share of R1, [0-9.]+ m² of job 2&#x27;s sheet|Share of R1, [0-9.]+ m² of job 2's sheet", guest)
    assert "does not add up" not in host + guest


def test_a_share_has_no_page_on_the_rack(signed_in: Client, pair: tuple[Job, Job], owner: Person) -> None:
    set_tick(first_cut(pair[1]), owner)
    assert signed_in.get("/rack/1/").status_code == 200
    assert signed_in.get("/rack/2/").status_code == 404
    assert "share" not in signed_in.get("/rack/?there=ever").content.decode().lower()


# Refused


@pytest.mark.parametrize(("path", "method"), [(PAGE, "post"), (TAKE, "get"), (PART, "get")])
def test_other_methods_are_refused(signed_in: Client, jobs: tuple[Job, Job], path: str, method: str) -> None:
    assert getattr(signed_in, method)(path).status_code == 405


@pytest.mark.parametrize(("path", "sent"), [(PAGE, None), (TAKE, taking()), (PART, parting())])
def test_signed_out_nothing_is_shown_or_taken(jobs: tuple[Job, Job], path: str, sent: dict[str, Any] | None) -> None:
    client = Client()
    answer = client.get(path) if sent is None else client.post(path, sent)
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in")
    assert Revision.objects.count() == 2


@pytest.mark.parametrize(("path", "sent"), [(PAGE, None), (TAKE, taking()), (PART, parting())])
def test_a_job_that_is_not_there(signed_in: Client, path: str, sent: dict[str, Any] | None) -> None:
    assert (signed_in.get(path) if sent is None else signed_in.post(path, sent)).status_code == 404
