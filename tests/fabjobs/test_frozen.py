"""Which sheets were cut into, and so stay as they lie."""

import copy
from typing import Any

import pytest
from django.utils import timezone

import calc
from fabjobs import planning
from fabjobs.frozen import cut_into, frozen_sheets, metal_key
from fabjobs.models import Fabrication, Job, Person, Step, TimeEntry
from fabjobs.services import job_create
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
    assert frozen_sheets(fabrication) == [fabrication.revisions.get().plan["layout"]["sheets"][1]]


@pytest.mark.parametrize(("seconds", "counts"), [(None, True), (60, True), (0, False)])
def test_time_on_a_cut_counts_unless_corrected_to_nothing(
    fabrication: Fabrication, owner: Person, seconds: int | None, counts: bool
) -> None:
    step = cut_of_sheet(fabrication, 1)
    TimeEntry.objects.create(step=step, person=owner, by=owner, started_at=timezone.now(), seconds=seconds)
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


def test_it_stays_frozen_from_revision_to_revision(fabrication: Fabrication, owner: Person) -> None:
    step = cut_of_sheet(fabrication, 2)
    tick(step, owner)
    kept = frozen_sheets(fabrication)
    for place, depth in enumerate((50, 52), start=2):
        sheet = {**fabrication.revisions.last().sheet, "frozen": frozen_sheets(fabrication)}  # type: ignore[union-attr]
        sheet["shape"] = {**sheet["shape"], "depth": depth}
        planning.store(fabrication=fabrication, plan=planning.compute(sheet), by=owner)
        assert fabrication.revisions.count() == place
        assert frozen_sheets(fabrication) == kept
        step.refresh_from_db()
        assert (step.retired, step.revision.number) == (False, place)
        assert step.text.startswith("Sheet 1, cut 1: ")  # frozen sheets come first


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
