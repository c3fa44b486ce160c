"""Weld or fold: both ways side by side, and one taken."""

import re
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.test import Client

import calc
from fabjobs import joining
from fabjobs.models import Fabrication, Job, Person, Revision, ShopSettings, Step
from fabjobs.services import job_create
from tests.fabjobs.changing import first_cut, latest, tick, typed, work_on
from tests.fabjobs.test_new_job import value_of

PAGE, TAKE = "/jobs/1/joins/", "/jobs/1/joins/take"
Headers = Callable[..., dict[str, str]]
METAL = {"alloy": "5052-H32", "thickness": 1.5}
STANDING: dict[str, Any] = {
    "title": "Upstand tray",
    "material": METAL,
    "shape": {
        "family": "fall-tray",
        "rim": [[0, 0], [812, -5], [838, 386], [-12, 402]],
        "low_point": [765, 120],
        "depth": 58,
        "rim_finish": {"kind": "upstand", "height": 25},
    },
    "making": {"effort": "quick"},
    "stock": [{"length": 2500, "width": 1250, "price": "96.00"}],
}


@pytest.fixture(autouse=True)
def nothing_kept() -> None:
    cache.clear()


@pytest.fixture
def standing(owner: Person) -> Job:
    return job_create(plan=calc.plan(STANDING), due_day=None, by=owner)


def joined(joins: str, **changes: Any) -> dict[str, Any]:
    return {**STANDING, "making": {"effort": "quick", "joins": joins}, **changes}


def taking(joins: str = "fewest-welds", started_from: int = 1, **changes: str) -> dict[str, str]:
    return {"joins": joins, "started_from": str(started_from), "form_key": str(uuid4()), **changes}


def column(page: str, what: str) -> list[str]:
    """A row of the table: the figures of both ways, without markup."""
    row = re.search(rf'<tr><th scope="row">{what}</th>(.*?)</tr>', page)
    assert row, what
    return [re.sub(r"<[^>]*>", "", cell).strip() for cell in re.findall(r"<td[^>]*>(.*?)</td>", row[1])]


# Seen


def test_the_page_of_the_job_leads_there_and_computes_nothing(
    signed_in: Client, standing: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(calc, "plan", lambda _: pytest.fail("computed for the page of a job"))
    page = signed_in.get("/jobs/1/").content.decode()
    assert f'hx-get="{PAGE}"' in page
    assert f'<a class="paper-link" href="{PAGE}">' in page


def test_both_ways_stand_side_by_side_with_what_each_comes_to(signed_in: Client, standing: Job, htmx: Headers) -> None:
    page = signed_in.get(PAGE, headers=htmx()).content.decode()
    assert page.lstrip().startswith('<div id="joins"')
    welded, folded = calc.plan(joined("weld-all")), calc.plan(joined("fewest-welds"))
    assert column(page, "Weld") == [f"{made.takeoff.weld_length / 1000:.1f} m" for made in (welded, folded)]
    assert column(page, "Blanks") == [str(len(made.blanks)) for made in (welded, folded)]
    assert column(page, "Folds") == [str(made.takeoff.fold_count) for made in (welded, folded)]
    assert column(page, "Cost, EUR") == [made.cost.total for made in (welded, folded)]
    # a facet less to cut out for each seam that is folded, and less to weld
    assert int(column(page, "Blanks")[1]) < int(column(page, "Blanks")[0])
    assert folded.takeoff.weld_length < welded.takeoff.weld_length
    assert "Both laid out quickly" in page


def test_the_present_way_is_marked_and_the_other_can_be_taken(signed_in: Client, standing: Job, htmx: Headers) -> None:
    page = signed_in.get(PAGE, headers=htmx()).content.decode()
    assert re.search(r"Weld every seam <b>✓ as planned</b>", page)
    assert re.findall(r'name="joins" value="([^"]*)"', page) == ["fewest-welds"]
    signed_in.post(TAKE, taking())
    page = signed_in.get(PAGE, headers=htmx()).content.decode()
    assert re.search(r"Fold what can be folded <b>✓ as planned</b>", page)
    assert re.findall(r'name="joins" value="([^"]*)"', page) == ["weld-all"]


def test_without_a_script_it_is_a_page_of_its_own(signed_in: Client, standing: Job) -> None:
    page = signed_in.get(PAGE).content.decode()
    assert "<h1>Upstand tray: weld or fold</h1>" in page
    assert column(page, "Sheets") == ["1", "1"]


def test_what_a_revision_comes_to_is_worked_out_once(
    signed_in: Client, standing: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = signed_in.get(PAGE).content.decode()
    monkeypatch.setattr(joining.planning, "preview", lambda _: pytest.fail("worked out again"))
    assert column(signed_in.get(PAGE).content.decode(), "Cost, EUR") == column(first, "Cost, EUR")


def test_a_cut_sheet_makes_it_worked_out_anew_and_told(signed_in: Client, standing: Job, owner: Person) -> None:
    signed_in.get(PAGE)
    work_on(first_cut(standing), owner)
    page = signed_in.get(PAGE).content.decode()
    # C and D were to be cut singly and are on the sheet that was cut into; folded, one blank takes their place
    assert re.search(r"these blanks serve no more: [^<]*C[^<]*D", page)


def test_work_that_would_count_no_more_is_told(signed_in: Client, standing: Job, owner: Person) -> None:
    assert "no longer count as done" not in signed_in.get(PAGE).content.decode()
    marking = Step.objects.filter(kind="mark")
    for step in marking:
        work_on(step, owner)
    page = signed_in.get(PAGE).content.decode()
    gone = marking.exclude(text__in=[step.text for step in calc.plan(joined("fewest-welds")).steps]).count()
    assert gone > 0
    assert re.search(rf"<b>{gone} steps?</b>", page)


def test_where_nothing_can_be_folded_it_is_said_in_words(signed_in: Client, owner: Person) -> None:
    plan = calc.plan(joined("weld-all", making={"effort": "quick", "longest_fold": 50}))
    job_create(plan=plan, due_day=None, by=owner)
    page = signed_in.get(PAGE).content.decode()
    assert "Every seam is welded, whichever is chosen" in page
    assert "<table" not in page
    assert TAKE not in page


def test_a_pan_has_nothing_to_choose(signed_in: Client, owner: Person) -> None:
    pan = {"family": "pan", "length": 400, "width": 250, "height": 60}
    job_create(plan=calc.plan({"title": "Pan", "material": METAL, "shape": pan}), due_day=None, by=owner)
    assert PAGE not in signed_in.get("/jobs/1/").content.decode()
    assert signed_in.get(PAGE).status_code == 404
    assert signed_in.post(TAKE, taking()).status_code == 404
    assert Revision.objects.count() == 1


def test_lengths_are_the_shops(signed_in: Client, owner: Person) -> None:
    making = {"effort": "quick", "units": "in", "rule": "1/16 in"}
    job_create(plan=calc.plan(joined("weld-all", making=making)), due_day=None, by=owner)
    ShopSettings.objects.update(unit="in", rule="1/16")
    page = signed_in.get(PAGE).content.decode()
    assert all(figure.endswith(" ft") for figure in column(page, "Weld"))


# Taken


def test_taken_it_is_the_next_revision_with_its_reason(signed_in: Client, standing: Job) -> None:
    answer = signed_in.post(TAKE, taking())
    assert (answer.status_code, answer["Location"]) == (302, "/jobs/1/")
    before, after = Revision.objects.order_by("number")
    assert (after.number, after.reason, after.created_by) == (2, "Joins: fold what can be folded", standing.created_by)
    assert after.sheet["making"] == {**before.sheet["making"], "joins": "fewest-welds"}
    assert after.plan["takeoff"]["weld_length"] < before.plan["takeoff"]["weld_length"]
    assert calc.plan(after.sheet).as_json() == after.plan


def test_by_htmx_the_whole_page_is_led_on(signed_in: Client, standing: Job, htmx: Headers) -> None:
    assert signed_in.post(TAKE, taking(), headers=htmx())["HX-Redirect"] == "/jobs/1/"


def test_the_forms_own_key_makes_one_revision(signed_in: Client, standing: Job) -> None:
    page = signed_in.get(PAGE).content.decode()
    sent = taking(form_key=value_of(page, "form_key"), started_from=int(value_of(page, "started_from")))
    assert [signed_in.post(TAKE, sent).status_code for _ in range(2)] == [302, 302]
    assert Revision.objects.count() == 2


def test_the_way_that_it_is_joined_already_makes_none(signed_in: Client, standing: Job) -> None:
    assert signed_in.post(TAKE, taking("weld-all")).status_code == 302
    assert Revision.objects.count() == 1


@pytest.mark.parametrize("by_htmx", [False, True])
def test_a_stale_choice_is_told_and_changes_nothing(
    signed_in: Client, standing: Job, htmx: Headers, by_htmx: bool
) -> None:
    signed_in.post("/jobs/1/change", typed(standing, depth="60", reason="Pump sits lower"))
    answer = signed_in.post(TAKE, taking(), headers=htmx() if by_htmx else {})
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "saved revision 2" in page
    assert "Pump sits lower" in page
    assert value_of(page, "started_from") == "2"
    assert Revision.objects.count() == 2
    assert page.lstrip().startswith('<div id="joins"') is by_htmx


def test_a_stale_choice_of_what_is_there_already_is_told_too(signed_in: Client, standing: Job) -> None:
    signed_in.post(TAKE, taking())
    assert signed_in.post(TAKE, taking()).status_code == 409
    assert Revision.objects.count() == 2


def test_what_was_cut_stays_cut_and_the_rest_is_laid_out_on_what_is_left(
    signed_in: Client, standing: Job, owner: Person
) -> None:
    tick(first_cut(standing), owner)
    lying = latest(standing).plan["layout"]["sheets"][0]
    signed_in.post(TAKE, taking())
    after = latest(standing)
    assert after.number == 2
    assert [placed["blank"] for placed in after.sheet["frozen"][0]["placed"]] == [
        placed["blank"] for placed in lying["placed"]
    ]
    first, made = after.plan["layout"]["sheets"][0]["cuts"][0], lying["cuts"][0]
    assert (first["from"], first["to"], first["made"]) == (made["from"], made["to"], True)
    assert Step.objects.get(key=first["key"], retired=False).done_by == owner
    (sheet,) = after.plan["layout"]["sheets"]  # what is left of it has room for the one folded blank
    assert {one["blank"] for one in sheet["placed"] if one["fits"]} == {blank["name"] for blank in after.plan["blanks"]}
    assert not {one["blank"] for one in sheet["placed"] if not one["fits"]} - {"A", "B", "C", "D"}


@pytest.mark.parametrize(
    "change", [{"joins": "rivets"}, {"joins": ""}, {"started_from": "x"}, {"started_from": "0"}, {"form_key": "x"}]
)
def test_what_is_not_whole_is_told(signed_in: Client, standing: Job, change: dict[str, str]) -> None:
    answer = signed_in.post(TAKE, taking() | change)
    assert answer.status_code == 422
    assert "did not come back whole" in answer.content.decode()
    assert Revision.objects.count() == 1


def test_a_way_that_cannot_be_planned_is_told_not_offered(
    signed_in: Client, standing: Job, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(sheet: dict[str, Any]) -> calc.Plan:
        if sheet["making"]["joins"] == "fewest-welds":
            raise calc.SheetFaults([calc.Fault("sheet.shape", "lies on itself")])
        return calc.plan(sheet)

    monkeypatch.setattr(joining.planning, "preview", refuse)
    monkeypatch.setattr(joining.planning, "compute", refuse)
    page = signed_in.get(PAGE).content.decode()
    assert "can't be planned: lies on itself" in page
    assert TAKE not in page
    assert column(page, "Weld")[1] == "–"
    answer = signed_in.post(TAKE, taking())
    assert answer.status_code == 422
    assert "lies on itself" in answer.content.decode()
    assert Revision.objects.count() == 1


# Refused


def test_a_job_that_is_not_there(signed_in: Client, standing: Job) -> None:
    assert signed_in.get("/jobs/9/joins/").status_code == 404
    assert signed_in.post("/jobs/9/joins/take", taking()).status_code == 404


def test_a_job_without_a_plan(signed_in: Client, standing: Job) -> None:
    second = Job.objects.create(number=2, title="Empty", created_by=standing.created_by)
    Fabrication.objects.create(job=second, name="Tray")
    assert signed_in.get("/jobs/2/joins/").status_code == 404


def test_wrong_method(signed_in: Client, standing: Job) -> None:
    assert signed_in.post(PAGE, taking()).status_code == 405
    assert signed_in.get(TAKE).status_code == 405


def test_signed_out(standing: Job) -> None:
    for answer in (Client().get(PAGE), Client().post(TAKE, taking())):
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in")
    assert Revision.objects.count() == 1
