"""Storing a plan: its revision, its rows, its code."""

import hashlib
import json
from typing import Any

import pytest

import calc
from calc.reading import SheetFaults
from fabjobs import planning
from fabjobs.models import Fabrication, Job, Part, Person, Revision, Step
from tests.conftest import SHEET


def deeper(sheet: dict[str, Any]) -> calc.Plan:
    sheet["shape"]["depth"] = 60
    return planning.compute(sheet)


def test_storing_makes_a_row_of_every_blank_and_step(job: Job, plan: calc.Plan) -> None:
    stored = plan.as_json()
    assert list(Part.objects.values_list("blank", flat=True)) == [blank["name"] for blank in stored["blanks"]]
    assert list(Step.objects.values_list("key", "position")) == [
        (step["key"], place) for place, step in enumerate(stored["steps"], start=1)
    ]


def test_a_stored_plan_comes_back_the_same(job: Job, plan: calc.Plan) -> None:
    revision = Revision.objects.get()
    assert revision.plan == plan.as_json()
    assert planning.restore(revision).as_json() == plan.as_json()


def test_a_stored_sheet_alone_gives_its_plan_again(job: Job) -> None:
    revision = Revision.objects.get()
    assert planning.compute(revision.sheet).as_json() == revision.plan


def test_a_second_revision_keeps_the_rows_of_steps_that_stay(job: Job, owner: Person, sheet: dict[str, Any]) -> None:
    fabrication = Fabrication.objects.get(job=job)
    before = dict(Step.objects.values_list("key", "pk"))
    second = planning.store(fabrication=fabrication, plan=deeper(sheet), by=owner)
    after = dict(Step.objects.values_list("key", "pk"))
    assert second.number == 2
    stayed = before.keys() & after.keys()
    assert "measure:rim" in stayed
    assert all(before[key] == after[key] for key in stayed)
    assert set(Step.objects.values_list("revision__number", flat=True)) == {2}
    assert "60 mm" in Step.objects.get(key="measure:rim").text
    assert Revision.objects.get(number=1).parts.count() == second.parts.count() == 4


def test_steps_of_what_is_gone_go(job: Job, owner: Person, sheet: dict[str, Any]) -> None:
    del sheet["shape"]["outlet"]
    planning.store(fabrication=Fabrication.objects.get(job=job), plan=planning.compute(sheet), by=owner)
    assert not Step.objects.filter(key="outlet:bore").exists()


def test_another_job_keeps_its_own_steps(job: Job, owner: Person, plan: calc.Plan) -> None:
    other = Fabrication.objects.create(job=job, name="Second tray", position=2)
    planning.store(fabrication=other, plan=plan, by=owner)
    assert Step.objects.filter(fabrication=other).count() == Step.objects.exclude(fabrication=other).count()


def test_the_check_code_is_the_digest_in_crockfords_base_32() -> None:
    # Alphabet from memory of Crockford's page on base 32; the digest by hashlib, read five bits at a time from the end.
    plan = {"b": [1, 2.5], "a": "x"}
    digest = hashlib.sha256(b"7/1/3\n" + json.dumps(plan, sort_keys=True, separators=(",", ":")).encode()).hexdigest()
    bits = f"{int(digest, 16):0256b}"
    letters = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    expected = "".join(letters[int(bits[256 - 5 * (i + 1) : 256 - 5 * i], 2)] for i in range(6))
    assert planning.check_code(job=7, fabrication=1, revision=3, plan=plan) == expected


def test_the_check_code_tells_plans_jobs_and_revisions_apart(plan: calc.Plan) -> None:
    content = plan.as_json()
    longer = {**content, "drainage": {**content["drainage"], "litres": content["drainage"]["litres"] + 1e-9}}
    codes = {
        planning.check_code(job=job, fabrication=place, revision=revision, plan=body)
        for job in (1, 2)
        for place in (1, 2)
        for revision in (1, 2)
        for body in (content, longer)
    }
    assert len(codes) == 16


def test_preview_is_quick_whatever_the_sheet_says(sheet: dict[str, Any]) -> None:
    sheet["making"]["effort"] = "long"
    assert planning.preview(sheet).sheet.making.effort == "quick"
    assert sheet["making"]["effort"] == "long"


def test_preview_says_what_is_wrong(sheet: dict[str, Any]) -> None:
    sheet["shape"]["depth"] = -5
    with pytest.raises(SheetFaults) as refused:
        planning.preview(sheet)
    assert [fault.path for fault in refused.value.faults] == ["sheet.shape.depth"]


def test_depth_for_a_wanted_fall() -> None:
    # The least fall is along the longest seam in plan: corner 4 (-14, 402) to the low point (547, 163).
    # By Pythagoras it runs sqrt(561^2 + 239^2) = 609.79 mm; at 1 in 10 it drops a tenth of that.
    shape = SHEET["shape"]
    depth = planning.depth_for(shape["rim"], shape["low_point"], 10)
    assert depth == pytest.approx((561**2 + 239**2) ** 0.5 / 10, abs=1e-6)


def test_no_depth_while_the_rim_is_at_fault() -> None:
    assert planning.depth_for([[0, 0], [9, 0]], [3, 3], 10) is None
    assert planning.depth_for(SHEET["shape"]["rim"], [None, "3 mm"], 10) is None


def test_rim_corners_before_there_is_a_plan() -> None:
    assert planning.rim_corners([["0 mm", "0 mm"], ["100 mm", "0 mm"], ["0 mm", "50 mm"]]) == (
        (0.0, 0.0),
        (100.0, 0.0),
        (0.0, 50.0),
    )
    assert planning.rim_corners([["0 mm", "0 mm"], ["100 mm", "0 mm"], ["50 mm", "0 mm"]]) is None
    assert planning.point(["12 mm", "x"]) is None
