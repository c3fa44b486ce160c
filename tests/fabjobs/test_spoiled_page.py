"""The page of spoiled blanks: which, why, where another comes from, and the way back."""

import html
import re
from uuid import uuid4

import pytest
from django.test import Client

from fabjobs.models import Fabrication, Job, Person, Spoiled
from tests.fabjobs.changing import latest
from tests.fabjobs.pairs import lay_together, two_jobs
from tests.fabjobs.test_spoiled import WHY, cut_all, newest, put_all_offcuts_away, spend, spoil, step_of
from tests.fabjobs.ticking import tick

PAGE = "/jobs/1/spoiled/"


@pytest.fixture
def cut(job: Job, owner: Person) -> Fabrication:
    """A tray whose sheet is all cut."""
    made = job.fabrications.get()
    cut_all(made, owner)
    return made


def shown(client: Client, address: str = PAGE, status: int = 200) -> str:
    answer = client.get(address)
    assert answer.status_code == status
    return html.unescape(answer.content.decode())


def form_on(client: Client, copy: str = "C.1", **change: str) -> dict[str, str]:
    """What the form on the page of a chosen copy sends."""
    page = shown(client, f"{PAGE}?copy={copy}")
    names = ("copy", "started_from", "seen", "form_key")
    found = {name: re.search(rf'name="{name}" value="([^"]*)"', page) for name in names}
    return {name: match[1] for name, match in found.items() if match} | {"why": WHY} | change


def counts() -> tuple[int, int]:
    return Spoiled.objects.count(), Fabrication.objects.get().revisions.count()


def test_before_anything_is_cut_it_says_what_to_do(signed_in: Client, job: Job) -> None:
    page = shown(signed_in)
    assert "No sheet is cut into yet, so no metal is spoiled" in page
    assert "is not cut yet, so no metal is spoiled" in shown(signed_in, f"{PAGE}?copy=C.1")


def test_every_blank_that_is_cut_can_be_chosen(signed_in: Client, cut: Fabrication) -> None:
    page = shown(signed_in)
    for name in ("A.1", "B.1", "C.1", "D.1"):
        assert f'href="?copy={name}"' in page
        assert f"{name} as it lies" in page  # its picture, by name


def test_from_a_step_come_the_blanks_that_it_is_about(signed_in: Client, cut: Fabrication) -> None:
    for key, about in (("mark:C", {"C.1"}), ("dress:A", {"A.1"})):
        step = step_of(cut, key)
        assert f'href="{PAGE}?step={step.pk}"' in shown(signed_in, f"/jobs/1/steps/{step.pk}/")
        page = shown(signed_in, f"{PAGE}?step={step.pk}")
        assert set(re.findall(r"\?copy=([^\"]+)", page)) == about
        assert "All blanks of the job" in page
    step = next(step for step in cut.steps.filter(kind="cut") if "C.1:" in step.key)
    assert "C.1" in re.findall(r"\?copy=([^\"]+)", shown(signed_in, f"{PAGE}?step={step.pk}"))
    weld = cut.steps.filter(kind="weld")[0]
    assert "Spoiled a blank?" not in shown(signed_in, f"/jobs/1/steps/{weld.pk}/")
    for named in ("x", "9" * 30):
        shown(signed_in, f"{PAGE}?step={named}")
    shown(signed_in, f"{PAGE}?step=99999", 404)


def test_where_another_comes_from_is_seen_before_anything_is_kept(signed_in: Client, cut: Fabrication) -> None:
    page = shown(signed_in, f"{PAGE}?copy=C.1")
    assert "From what is left of sheet 1, the one it was spoiled on." in re.sub(r"<[^>]+>", "", page)
    assert "C.1 spoiled" in page
    assert "C.1 is spoiled, make C.2" in page
    assert "Mark out another C in place of C.1, which is spoiled" in page
    assert counts() == (0, 1)


def test_from_a_new_sheet_with_its_price(signed_in: Client, cut: Fabrication, owner: Person) -> None:
    """The rack has the offcuts; a job of another metal has none, so there a new sheet it is."""
    put_all_offcuts_away(cut, owner)
    assert "From the rack: " in re.sub(r"<[^>]+>", "", shown(signed_in, f"{PAGE}?copy=C.1"))
    items = {move.item for move in cut.stock_moves.filter(kind="returned")}
    for item in items:
        sent = {"form_key": str(uuid4()), "count": "1", "reason": "Trodden on"}
        assert signed_in.post(f"/rack/{item.number}/scrap", sent).status_code == 302
    page = re.sub(r"<[^>]+>", " ", shown(signed_in, f"{PAGE}?copy=C.1"))
    assert "From a new sheet:" in page
    assert re.search(r"The new sheet\s+96\.00 EUR", page)


def test_one_tap_makes_it_so(signed_in: Client, cut: Fabrication, owner: Person) -> None:
    spend(step_of(cut, "mark:C"), owner, 600)
    answer = signed_in.post(f"{PAGE}take", form_on(signed_in))
    line = Spoiled.objects.get()
    assert (answer.status_code, answer["Location"]) == (302, f"{PAGE}#line-{line.pk}")
    assert (line.copy, line.why, newest(cut).reason) == ("C.1", WHY, "C.1 spoiled: The guide slipped")
    page = shown(signed_in)
    again = step_of(cut, "mark:C.1:again")
    assert f'href="/jobs/1/steps/{again.pk}/"' in page
    assert WHY in page
    assert 'href="?copy=C.1"' not in page
    review = re.sub(r"<[^>]+>", " ", shown(signed_in, "/jobs/1/review/"))
    assert "Of it on blanks that were spoiled" in review
    for address in ("/jobs/1/", f"/jobs/1/steps/{step_of(cut, 'mark:C').pk}/"):
        assert "Spoiled with C.1" in shown(signed_in, address)
    metal = shown(signed_in, "/jobs/1/metal/")
    assert f"{PAGE}#line-{line.pk}" in metal
    assert "C.1" in metal


def test_sent_twice_it_is_one(signed_in: Client, cut: Fabrication) -> None:
    sent = form_on(signed_in)
    first, second = (signed_in.post(f"{PAGE}take", sent) for _ in range(2))
    assert first["Location"] == second["Location"]
    assert counts() == (1, 2)


def test_sent_again_with_another_reason_it_is_told(signed_in: Client, cut: Fabrication) -> None:
    sent = form_on(signed_in)
    signed_in.post(f"{PAGE}take", sent)
    answer = signed_in.post(f"{PAGE}take", sent | {"why": "Bent the wrong way"})
    assert answer.status_code == 409
    assert f"This form was sent already and made: C.1: {WHY}." in html.unescape(answer.content.decode())
    assert (Spoiled.objects.get().why, counts()) == (WHY, (1, 2))


def test_a_hand_calls_one_spoiled_and_sees_no_money_nor_what_others_took(
    signed_in: Client, cut: Fabrication, owner: Person
) -> None:
    """The same pages as an owner's, on which both stand; what they took is 7 h 13 min, a time that no step is planned for."""
    spend(step_of(cut, "mark:C"), owner, (7 * 60 + 13) * 60)
    hand = Client()
    hand.force_login(Person.objects.create_user("jon"))
    before = {client: shown(client, f"{PAGE}?copy=C.1") for client in (signed_in, hand)}
    assert hand.post(f"{PAGE}take", form_on(hand)).status_code == 302
    taken = hand.post(f"{PAGE}take", form_on(signed_in, "B.1") | {"seen": "AAAAAA"})
    assert taken.status_code == 409
    told = html.unescape(taken.content.decode())
    after = {client: shown(client) for client in (signed_in, hand)}
    step = shown(hand, f"/jobs/1/steps/{step_of(cut, 'mark:C').pk}/")
    assert "EUR" in before[signed_in]
    assert "7 h 13 min of work" in after[signed_in]
    for page in (before[hand], told, after[hand], step, shown(hand, "/jobs/1/"), shown(hand, "/jobs/1/revisions/1/2/")):
        assert "C.1" in page
        assert not re.search(r"EUR|€|7 h 13|25980", page)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"why": ""}, "Say why: the guide slipped"),
        ({"why": "x" * 501}, "at most 500 characters"),
        ({"seen": ""}, "That did not come back whole"),
        ({"form_key": "no"}, "That did not come back whole"),
        ({"started_from": "x"}, "That did not come back whole"),
        ({"copy": "Z.9"}, "There is no Z.9 on the sheets of this job."),
        ({"copy": "<b>"}, "There is no <b> on the sheets of this job."),
    ],
)
def test_what_is_wrong_is_said_and_nothing_kept(
    signed_in: Client, cut: Fabrication, change: dict[str, str], told: str
) -> None:
    answer = signed_in.post(f"{PAGE}take", form_on(signed_in) | change)
    assert answer.status_code == 422
    assert told in html.unescape(answer.content.decode())
    assert "<b> on the sheets" not in answer.content.decode()
    assert counts() == (0, 1)


def test_no_reason_keeps_the_place_on_the_screen(signed_in: Client, cut: Fabrication) -> None:
    answer = signed_in.post(f"{PAGE}take", form_on(signed_in, why=""))
    assert "C.1 is spoiled, make C.2" in answer.content.decode()


def test_what_changed_since_is_told_with_the_place_as_it_is_now(
    signed_in: Client, cut: Fabrication, owner: Person
) -> None:
    sent = form_on(signed_in, why="Bent the wrong way")
    put_all_offcuts_away(cut, owner)
    answer = signed_in.post(f"{PAGE}take", sent)
    page = html.unescape(answer.content.decode())
    assert answer.status_code == 409
    assert "Since you looked, ticks, the rack or the layout changed. Nothing was changed" in page
    assert "From the rack: " in re.sub(r"<[^>]+>", "", page)
    assert 'value="Bent the wrong way"' in page
    assert counts() == (0, 1)
    again = dict(re.findall(r'name="(seen|form_key)" value="([^"]*)"', page))
    assert signed_in.post(f"{PAGE}take", sent | again).status_code == 302


def test_good_after_all(signed_in: Client, cut: Fabrication, owner: Person) -> None:
    line = spoil(cut, "C.1", owner)
    back = f"{PAGE}{line.pk}/take-back"
    assert signed_in.post(back, {"why": ""}).status_code == 422
    assert signed_in.post(back, {"why": "Straightened"}).status_code == 302
    page = shown(signed_in)
    assert "Good after all" in page
    assert "Straightened" in page
    assert 'href="?copy=C.1"' in page
    assert counts() == (1, 3)
    answer = signed_in.post(back, {"why": "Something else"})
    assert (answer.status_code, counts()) == (409, (1, 3))
    assert "edda said before that it is good after all: Straightened" in answer.content.decode()


def test_once_its_place_is_cut_it_is_told_why_not(signed_in: Client, cut: Fabrication, owner: Person) -> None:
    line = spoil(cut, "C.1", owner)
    tick(cut.steps.filter(retired=False, kind="cut", done_at=None)[0], owner)
    answer = signed_in.post(f"{PAGE}{line.pk}/take-back", {"why": "Straightened"})
    assert answer.status_code == 409
    assert "Keep C.1 as a spare" in answer.content.decode()
    assert counts() == (1, 2)


def test_it_is_not_struck_out_by_itself_on_the_metal_page(signed_in: Client, cut: Fabrication, owner: Person) -> None:
    line = spoil(cut, "C.1", owner)
    answer = signed_in.post(f"/jobs/1/metal/spoiled/{line.pk}/strike", {"why": "Wrong"})
    assert answer.status_code == 409
    line.refresh_from_db()
    assert line.struck_at is None


@pytest.mark.parametrize("address", [PAGE, f"{PAGE}take", f"{PAGE}1/take-back"])
def test_the_usual_refusals(signed_in: Client, job: Job, address: str) -> None:
    wrong, right = ("post", "get") if address == PAGE else ("get", "post")
    assert getattr(signed_in, wrong)(address).status_code == 405
    assert getattr(signed_in, right)(address.replace("/1/", "/99/", 1)).status_code == 404
    assert getattr(Client(), right)(address).status_code in {302, 401}
    if address.endswith("take-back"):
        assert signed_in.post(address, {"why": "x"}).status_code == 404


# --- two jobs on one sheet


@pytest.fixture
def shared(owner: Person) -> tuple[Job, Job]:
    """Guest, job 1, and host, job 2, on one sheet, every cut of it made."""
    jobs = two_jobs(owner)
    lay_together(*jobs, owner)
    host = jobs[1].fabrications.get()
    cut_all(host, owner)
    return jobs


def test_a_guests_blank_is_refused_on_both_pages(signed_in: Client, shared: tuple[Job, Job]) -> None:
    told = "another in its place is laid out for neither by itself"
    assert told in shown(signed_in, "/jobs/2/spoiled/?copy=1/A.1")
    assert "A.1 lies on job 2, sheet 1." in shown(signed_in, "/jobs/1/spoiled/?copy=A.1")
    page = shown(signed_in, "/jobs/2/spoiled/")
    assert "Another job's, to be told on its own page: 1/" in page
    assert "copy=1" not in page
    for path, copy in (("/jobs/2/spoiled/take", "1/A.1"), ("/jobs/1/spoiled/take", "A.1")):
        sent = {"copy": copy, "started_from": "2", "seen": "AAAAAA", "form_key": str(uuid4()), "why": WHY}
        assert signed_in.post(path, sent).status_code == 422
    assert not Spoiled.objects.exists()


def test_a_hosts_own_blank_on_a_shared_sheet_leaves_the_guest_as_it_is(
    signed_in: Client, shared: tuple[Job, Job], owner: Person
) -> None:
    guest, host = shared
    before = latest(guest)
    charged = [entry["price"] for entry in before.sheet["elsewhere"]]
    line = spoil(host.fabrications.get(), "A.1", owner)
    assert line.revision == latest(host)
    after = latest(guest)
    assert [entry["price"] for entry in after.sheet["elsewhere"]] == charged
    assert [entry["copies"] for entry in after.sheet["elsewhere"]] == [
        entry["copies"] for entry in before.sheet["elsewhere"]
    ]
    signed_in.post(f"/jobs/2/spoiled/{line.pk}/take-back", {"why": "Straightened"})
    line.refresh_from_db()
    assert line.struck_at is not None
    assert [entry["price"] for entry in latest(guest).sheet["elsewhere"]] == charged
