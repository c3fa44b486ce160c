"""Which sheets were cut into, and so stay as they lie."""

import copy
import re
from dataclasses import replace
from typing import Any

import pytest
from django.template.loader import render_to_string
from django.test import Client
from django.utils import timezone

import calc
from calc.laid import Layout
from calc.papers.lines import lying_lines
from calc.papers.traveller import Heading as PaperHeading
from calc.papers.traveller import traveller_html
from calc.records import from_json
from calc.steps import cut_keys
from fabjobs import planning
from fabjobs.drawings import Drawings
from fabjobs.frozen import cut_into, frozen_sheets, metal_key
from fabjobs.heading import Heading
from fabjobs.models import Fabrication, Job, Person, Revision, Step, TimeEntry
from fabjobs.services import job_change, job_create
from tests.conftest import SHEET
from tests.fabjobs.changing import tick


@pytest.fixture
def fabrication(owner: Person, sheet: dict[str, Any]) -> Fabrication:
    """Four trays, on more sheets than one."""
    sheet["quantity"] = 4
    sheet["stock"] = [{"length": 1250, "width": 1000, "price": "40.00"}]
    job = job_create(plan=planning.compute(sheet), due_day=None, by=owner)
    return Fabrication.objects.get(job=job)


def cut_of_sheet(fabrication: Fabrication, number: int, cut: int = 1) -> Step:
    return fabrication.steps.get(text__startswith=f"Sheet {number}, cut {cut}: ", retired=False)


def test_none_before_the_first_cut(fabrication: Fabrication, owner: Person) -> None:
    tick(fabrication.steps.get(key="mark:A"), owner)
    assert len(fabrication.revisions.get().plan["layout"]["sheets"]) > 1
    assert frozen_sheets(fabrication) == []


def test_only_the_sheet_with_a_ticked_cut_in_the_plans_own_form(fabrication: Fabrication, owner: Person) -> None:
    step = cut_of_sheet(fabrication, 2, 3)
    tick(step, owner)
    (sheet,) = cut_into(fabrication)
    assert (sheet.number, sheet.cuts) == (2, (step,))
    lying = copy.deepcopy(fabrication.revisions.get().plan["layout"]["sheets"][1])
    assert not any(cut["made"] for cut in lying["cuts"])
    lying["cuts"][2]["made"] = True
    assert frozen_sheets(fabrication) == [lying]


@pytest.mark.parametrize(("seconds", "counts"), [(None, True), (60, True), (0, False)])
def test_time_on_a_cut_counts_unless_corrected_to_nothing(
    fabrication: Fabrication, owner: Person, seconds: int | None, counts: bool
) -> None:
    step = cut_of_sheet(fabrication, 1)
    TimeEntry.objects.create(
        step=step, person=owner, by=owner, started_at=timezone.now(), seconds=seconds, rate=step.rate
    )
    assert bool(frozen_sheets(fabrication)) is counts


def test_a_tick_taken_back_frees_the_sheet(fabrication: Fabrication, owner: Person) -> None:
    step = cut_of_sheet(fabrication, 1)
    tick(step, owner)
    Step.objects.filter(pk=step.pk).update(done_at=None, done_by=None)
    assert frozen_sheets(fabrication) == []


def test_of_another_metal_none_serves(fabrication: Fabrication, owner: Person) -> None:
    tick(cut_of_sheet(fabrication, 1), owner)
    assert frozen_sheets(fabrication, metal=metal_key("5052-H32", 1.5))
    assert frozen_sheets(fabrication, metal=metal_key("5052-H32", 2.0)) == []
    assert frozen_sheets(fabrication, metal=metal_key("6061-T6", 1.5)) == []
    assert metal_key("5052-H32", 0.059055118 * 25.4) == metal_key("5052-H32", 1.5)  # typed in inches to nine places


NO_PIECE = {"least_offcut": 3000.0}  # longer than any sheet here: no piece that is left is worth using


def change_again(fabrication: Fabrication, by: Person, making: Any = None, **shape: Any) -> Revision:
    """The next revision, of another shape, knowing which sheets were cut into."""
    last = fabrication.revisions.latest("number")
    sheet = {
        **last.sheet,
        "shape": {**last.sheet["shape"], **shape},
        "making": {**last.sheet["making"], **(making or {})},
        "frozen": frozen_sheets(fabrication),
    }
    return planning.store(fabrication=fabrication, plan=planning.compute(sheet), by=by)


def cut_keys_of_sheet(fabrication: Fabrication, number: int) -> set[str]:
    layout = from_json(Layout, fabrication.revisions.latest("number").plan["layout"])
    return set(cut_keys(layout)[number - 1])


RIM = SHEET["shape"]["rim"]
WIDER = [RIM[0], RIM[1], [803, 399], RIM[3]]  # A and D stay as they are, B and C change


def test_it_stays_frozen_from_revision_to_revision(fabrication: Fabrication, owner: Person) -> None:
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    kept = frozen_sheets(fabrication)
    for place, rim in enumerate((WIDER, RIM), start=2):
        change_again(fabrication, owner, NO_PIECE, rim=rim)
        assert fabrication.revisions.count() == place
        assert frozen_sheets(fabrication) == kept
        step.refresh_from_db()
        assert (step.retired, step.revision.number) == (False, place)
        assert step.text.startswith("Sheet 1, cut 1: ")  # frozen sheets come first


def test_the_rest_is_laid_out_on_what_is_left_and_ticks_stay(fabrication: Fabrication, owner: Person) -> None:
    """B and C change: A and D stay where they lie, the cut made and those that free A and D keep their rows."""
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    (lay,) = (sheet.layout for sheet in cut_into(fabrication))
    stay = {(one["blank"], one["copy"]): one["outline"] for one in lay["placed"] if one["blank"] in "AD"}
    assert stay
    rows = dict(fabrication.steps.filter(kind="cut", retired=False).values_list("key", "pk"))
    changed = change_again(fabrication, owner, rim=WIDER)
    first = changed.plan["layout"]["sheets"][0]
    lies = {(one["blank"], one["copy"]): one["outline"] for one in first["placed"]}
    assert {name: lies.get(name) for name in stay} == stay
    new = [one["copy"] for one in first["placed"] if one["blank"] in "BC" and one["fits"]]
    assert new  # on metal that was marked out for the old B and C
    assert min(new) > max(one["copy"] for one in lay["placed"] if one["blank"] in "BC")
    step.refresh_from_db()
    assert (step.retired, step.done_by, step.revision.number) == (False, owner, 2)
    names = {f"{blank}.{number}" for blank, number in stay}
    freeing = [cut["key"] for cut in first["cuts"] if names.intersection(cut["frees"])]
    assert freeing
    for key in freeing:
        assert fabrication.steps.get(key=key, retired=False).pk == rows[key]
    (again,) = cut_into(fabrication)
    assert again.cuts == (step,)
    assert [cut["made"] for cut in again.layout["cuts"]] == [True] + [False] * (len(first["cuts"]) - 1)


def test_what_changes_nothing_leaves_the_sheet_to_the_last_digit(fabrication: Fabrication, owner: Person) -> None:
    tick(cut_of_sheet(fabrication, 2), owner)
    first = change_again(fabrication, owner, depth=50)
    second = change_again(fabrication, owner, depth=50)
    assert second.plan["layout"]["sheets"][0] == first.plan["layout"]["sheets"][0]


def test_every_new_blank_may_lie_on_what_is_left(fabrication: Fabrication, owner: Person) -> None:
    """Another depth is another shape of every blank; the sheet has one cut made, and takes new blanks on both its sides."""
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    of_the_sheet = cut_keys_of_sheet(fabrication, 2)
    for number, depth in enumerate((50, 52), start=2):
        changed = change_again(fabrication, owner, depth=depth)
        first = changed.plan["layout"]["sheets"][0]
        assert first["placed"]
        assert all(one["fits"] for one in first["placed"])
        step.refresh_from_db()
        assert (step.retired, step.revision.number, step.done_by) == (False, number, owner)
        left = fabrication.steps.filter(key__in=of_the_sheet)
        assert [one.pk for one in left] == [step.pk]  # those that were not made are gone


def test_it_stays_frozen_when_nothing_on_it_fits_any_more(fabrication: Fabrication, owner: Person) -> None:
    """Another depth is another shape of every blank: no cut of the sheet is work, but what is cut stays cut."""
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    kept = frozen_sheets(fabrication)
    of_the_sheet = cut_keys_of_sheet(fabrication, 2)
    for depth in (50, 52):
        change_again(fabrication, owner, NO_PIECE, depth=depth)
        assert frozen_sheets(fabrication) == kept
        step.refresh_from_db()
        assert (step.retired, step.revision.number, step.done_by) == (True, 1, owner)
        left = fabrication.steps.filter(key__in=of_the_sheet)
        assert [one.pk for one in left] == [step.pk]  # those that were not made are gone


def test_made_again_as_it_was_a_cut_is_still_made(fabrication: Fabrication, owner: Person) -> None:
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    for depth in (50, SHEET["shape"]["depth"]):
        change_again(fabrication, owner, NO_PIECE, depth=depth)
    step.refresh_from_db()
    assert (step.retired, step.revision.number, step.done_by) == (False, 3, owner)
    assert fabrication.steps.filter(key=step.key).count() == 1


def test_a_cut_in_other_words_is_the_same_cut(fabrication: Fabrication, owner: Person) -> None:
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    kept = frozen_sheets(fabrication)
    Step.objects.filter(pk=step.pk).update(text="Saw along the line, as an earlier program had it.")
    for place, rim in enumerate((WIDER, RIM), start=2):
        change_again(fabrication, owner, NO_PIECE, rim=rim)
        assert frozen_sheets(fabrication) == kept
        step.refresh_from_db()
        assert (step.retired, step.revision.number) == (False, place)
        assert step.text.startswith("Sheet 1, cut 1: ")


def test_a_retired_cut_still_freezes_its_sheet(fabrication: Fabrication, owner: Person) -> None:
    """As where an earlier program retired it for its words, with the same cut open beside it."""
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    kept = frozen_sheets(fabrication)
    change_again(fabrication, owner, NO_PIECE, rim=WIDER)
    Step.objects.filter(pk=step.pk).update(retired=True, revision=fabrication.revisions.get(number=1))
    assert frozen_sheets(fabrication) == kept


def test_a_cut_retired_with_its_metal_freezes_no_sheet_of_the_next(fabrication: Fabrication, owner: Person) -> None:
    """The same layout in thicker plate has cuts of the same names, of which none is made."""
    tick(cut_of_sheet(fabrication, 1), owner)
    sheet = copy.deepcopy(fabrication.revisions.latest("number").sheet)
    sheet["material"]["thickness"] = 2.0
    planning.store(fabrication=fabrication, plan=planning.compute(sheet), by=owner)
    assert frozen_sheets(fabrication) == []
    new = cut_of_sheet(fabrication, 2)
    tick(new, owner)
    assert [one.cuts for one in cut_into(fabrication)] == [(new,)]
    change_again(fabrication, owner, rim=WIDER)
    (left,) = cut_into(fabrication)
    assert left.cuts == (new,)


def test_measuring_stays_done_whatever_the_depth(fabrication: Fabrication, owner: Person) -> None:
    step = fabrication.steps.get(key="measure:rim")
    check = fabrication.steps.get(key="check:tacked")
    tick(step, owner)
    tick(check, owner)
    change_again(fabrication, owner, depth=50)
    step.refresh_from_db()
    assert (step.retired, step.done_by, step.revision.number) == (False, owner, 2)
    assert "50 mm" in step.text
    check.refresh_from_db()
    assert check.retired  # a depth that was checked is another one now


def test_a_plan_stored_before_copies_fitted_or_cuts_were_made_can_be_changed(
    owner: Person, plan: calc.Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    stored = plan.as_json()
    for placed in (placed for used in stored["layout"]["sheets"] for placed in used["placed"]):
        del placed["fits"]
    for used in stored["layout"]["sheets"]:
        del used["outline"]
        for cut in used["cuts"]:
            del cut["made"], cut["key"]
    with monkeypatch.context() as before:
        before.setattr(calc.Plan, "as_json", lambda _: stored)
        fabrication = Fabrication.objects.get(job=job_create(plan=plan, due_day=None, by=owner))
    first = fabrication.revisions.get()
    assert "fits" not in first.plan["layout"]["sheets"][0]["placed"][0]
    tick(cut_of_sheet(fabrication, 1), owner)
    sheet = {
        **first.sheet,
        "shape": {**first.sheet["shape"], "rim": WIDER},
        "making": {**first.sheet["making"], **NO_PIECE},
        "frozen": frozen_sheets(fabrication),
    }
    changed = job_change(
        fabrication=fabrication,
        plan=planning.compute(sheet),
        heading=Heading.of(fabrication.job),
        started_from=1,
        job_version=fabrication.job.version,
        reason="Leg in the way",
        by=owner,
    )
    fits = {placed["blank"]: placed["fits"] for placed in changed.plan["layout"]["sheets"][0]["placed"]}
    assert fits == {"A": True, "B": False, "C": False, "D": True}


def test_by_outlines_it_stays_frozen_where_no_pattern_is_as_it_was(owner: Person, sheet: dict[str, Any]) -> None:
    sheet["making"]["cutting"] = "contour"
    fabrication = Fabrication.objects.get(job=job_create(plan=calc.plan(sheet), due_day=None, by=owner))
    tick(fabrication.steps.get(key="cut:B"), owner)
    kept = frozen_sheets(fabrication)
    change_again(fabrication, owner, depth=50)
    assert fabrication.steps.get(key="cut:B", retired=False).done_at is None
    assert [one.number for one in cut_into(fabrication)] == [1]  # not the new sheet, though it has a B to cut as well
    assert frozen_sheets(fabrication) == kept


@pytest.mark.parametrize("fits", [True, False])
def test_a_job_page_says_how_copies_lie_only_of_those_with_a_use(plan: calc.Plan, fits: bool) -> None:
    (used,) = plan.layout.sheets
    over = replace(used, placed=tuple(replace(one, turned_over=True, fits=fits) for one in used.placed))
    turned = replace(plan, layout=replace(plan.layout, sheets=(over,)))
    drawings = Drawings(turned)
    given = {"plan": turned, "drawings": drawings, "display": drawings.display}
    said = re.findall(r'<p class="caution">([^<]*)', render_to_string("job/_blanks.html", given))
    assert any("turned over" in words for words in said) is fits
    assert bool(lying_lines(turned, plan.blanks[0], ())) is fits


def test_job_page_and_papers_name_what_is_of_an_earlier_shape(
    fabrication: Fabrication, owner: Person, signed_in: Client
) -> None:
    tick(cut_of_sheet(fabrication, 1), owner)
    changed = change_again(fabrication, owner, NO_PIECE, rim=WIDER)
    page = signed_in.get(fabrication.job.get_absolute_url()).content.decode()
    made = calc.Plan.from_json(changed.plan)
    shop, office = (
        traveller_html(made, PaperHeading(), made.sheet.making.display, render_to_string, money=money)
        for money in (False, True)
    )
    for text in (page, shop, office):
        assert "B.1" in text
        assert "are of an earlier shape, not for this tray." in text
        assert "not needed" in text
        assert "old shape" in text


def test_by_outlines_a_sheet_is_cut_into_where_one_of_its_blanks_is_cut(owner: Person, sheet: dict[str, Any]) -> None:
    sheet["making"]["cutting"] = "contour"
    job = job_create(plan=calc.plan(sheet), due_day=None, by=owner)
    fabrication = Fabrication.objects.get(job=job)
    assert frozen_sheets(fabrication) == []
    tick(fabrication.steps.get(key="cut:B"), owner)
    assert frozen_sheets(fabrication) == fabrication.revisions.get().plan["layout"]["sheets"]


def test_another_job_is_none_of_it(fabrication: Fabrication, owner: Person, job: Job) -> None:
    tick(cut_of_sheet(fabrication, 1), owner)
    assert frozen_sheets(Fabrication.objects.get(job=job)) == []
    assert copy.deepcopy(SHEET) == SHEET
