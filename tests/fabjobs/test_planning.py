"""Storing a plan: its revision, its rows, its code."""

import hashlib
import json
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc.drainage import drain
from calc.reading import SheetFaults
from calc.units import Display
from fabjobs import planning
from fabjobs.models import Fabrication, Job, Part, Person, Revision, Step
from tests.conftest import SHEET
from tests.fabjobs.changing import tick
from tests.shapes import sheet_of, sump_trays, valley_trays


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


def test_a_run_numbered_anew_undoes_no_tick(job: Job, owner: Person, plan: calc.Plan) -> None:
    """How a step is done is told beside its words, and is no part of what makes it the same step."""
    weld = Step.objects.filter(kind="weld")[0]
    assert "(Weld map: runs)" in weld.detail
    tick(weld, owner)
    steps = tuple(
        replace(step, detail="Otherwise now." if step.key == weld.key else step.detail) for step in plan.steps
    )
    planning.store(fabrication=Fabrication.objects.get(job=job), plan=replace(plan, steps=steps), by=owner)
    weld.refresh_from_db()
    assert (weld.detail, weld.done_by, weld.retired) == ("Otherwise now.", owner, False)
    assert Step.objects.filter(key=weld.key).count() == 1


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
    # By Pythagoras it runs sqrt(561^2 + 239^2) = 609.79 mm; at 1 in 10 it drops a tenth of that: 61 at a rule of 0.5.
    assert planning.depths_for(SHEET["shape"], 10, Display()) == (61,)


def test_depths_for_a_wanted_fall_of_a_valley_stay_in_proportion() -> None:
    # 600 x 400, the valley from (200, 200) to (400, 200): the side facets run 200 mm to it and the ends 200 mm, the long
    # facets are flat only where the valley is level; it drops 20 on 200, 1 in 10, and is the least fall, as are its folds.
    # Three times as deep it falls 3 in 10.
    shape = {"family": "valley-tray", "rim": [[0, 0], [600, 0], [600, 400], [0, 400]]}
    shape |= {"valley": [[200, 200, 40], [400, 200, 60]]}
    assert planning.depths_for(shape, 10 / 3, Display()) == (120, 180)


def test_a_level_valley_falls_at_no_depth() -> None:
    shape = {"family": "valley-tray", "rim": [[0, 0], [600, 0], [600, 400], [0, 400]]}
    with pytest.raises(ValueError, match="falls nowhere, whatever the depth"):
        planning.depths_for(shape | {"valley": [[200, 200, 50], [400, 200, 50]]}, 50, Display())


def test_a_fall_that_no_depth_gives_is_told() -> None:
    shape = {"family": "fall-tray", "rim": [[0, 0], [19000, 0], [19000, 19000], [0, 19000]], "low_point": [100, 100]}
    with pytest.raises(ValueError, match="no shape is deeper"):
        planning.depths_for({**shape, "depth": 50}, 1, Display())


@given(valley_trays() | sump_trays(), st.sampled_from((10.0, 25.0, 60.0)))
def test_depths_on_the_rule_give_the_fall_that_is_wanted(shape: dict[str, Any], one_in: float) -> None:
    try:
        depths = planning.depths_for(shape, one_in, Display("in"))
    except ValueError:
        return  # too deep, or a valley that falls nowhere
    if depths is None:  # a side of the sump comes to nothing
        with pytest.raises(SheetFaults):
            calc.read_sheet(sheet_of(shape))
        return
    assert all((depth / Display("in").step).denominator == 1 for depth in depths)
    deep = [float(depth) for depth in depths]
    if "valley" in shape:
        made = {**shape, "valley": [[*end[:2], depth] for end, depth in zip(shape["valley"], deep, strict=True)]}
    else:
        made = {**shape, "depth": deep[0]}
    assert drain(calc.read_sheet(sheet_of(made)).shape.shell(1.5)).least_fall >= 1 / one_in - 1e-7


def test_no_depth_while_the_rim_is_at_fault() -> None:
    assert planning.depths_for({**SHEET["shape"], "rim": [[0, 0], [9, 0]]}, 10, Display()) is None
    assert planning.depths_for({**SHEET["shape"], "low_point": [None, "3 mm"]}, 10, Display()) is None


def test_rim_corners_before_there_is_a_plan() -> None:
    assert planning.rim_corners([["0 mm", "0 mm"], ["100 mm", "0 mm"], ["0 mm", "50 mm"]]) == (
        (0.0, 0.0),
        (100.0, 0.0),
        (0.0, 50.0),
    )
    assert planning.rim_corners([["0 mm", "0 mm"], ["100 mm", "0 mm"], ["50 mm", "0 mm"]]) is None
    assert planning.point(["12 mm", "x"]) is None
