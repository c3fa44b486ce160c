"""A step at the bench: its figures are those of the plan, and no step is without words of its own."""

import math
from typing import Any

import pytest

import calc
from calc.at_work import AtWork, Figure, at_work
from calc.cut_list import cuts_in_hand
from calc.steps import cut_keys
from calc.welding.records import Weld
from tests import shapes

TRAYS: dict[str, dict[str, Any]] = {**shapes.NAMED, "pan": shapes.pan(400, 250, 60)}


@pytest.fixture(scope="module", params=TRAYS, ids=str)
def plan(request: pytest.FixtureRequest) -> calc.Plan:
    return calc.plan(shapes.sheet_of(TRAYS[request.param]))


def figure(said: AtWork, label: str) -> Figure:
    return next(line for line in said.figures if line.label == label)


def test_every_step_is_said_in_few_words(plan: calc.Plan) -> None:
    for step in plan.steps:
        words = at_work(plan, step.key).words
        assert 0 < len(words) < len(step.text), step.key
        assert len(words.split()) <= 14, words


def test_marks_are_as_far_from_their_corners_as_the_cut_is(plan: calc.Plan) -> None:
    """Both ends of a cut by their distance, Pythagoras, from the corners of the piece that they are taped from."""
    display, told = plan.sheet.making.display, 0
    for used, keys in zip(plan.layout.sheets, cut_keys(plan.layout), strict=True):
        for key, cut in zip(keys, cuts_in_hand(used, plan.sheet.making) or (), strict=True):
            said = at_work(plan, key)
            corners = dict(cut.piece.corners)
            for label, mark in zip(("Mark", "And mark"), cut.marks, strict=True):
                distance = math.dist(corners[mark.corner], mark.at)
                if display.rounded(distance):
                    assert figure(said, label).figure == display.length(distance)
                    told += 1
            assert figure(said, "Guide").figure == display.length(
                plan.sheet.making.guide_offset + plan.sheet.making.kerf / 2
            )
    assert told > 4


def test_the_cut_of_a_stack_of_sheets_names_its_sheet() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.SKEW, quantity=3, stock=[{"length": 900, "width": 600, "price": "40.00"}]))
    assert len(plan.layout.sheets) > 1
    for number, keys in enumerate(cut_keys(plan.layout), 1):
        assert at_work(plan, keys[0]).words.startswith(f"Sheet {number}, cut 1")


def test_a_seam_tells_its_setting_and_its_runs(plan: calc.Plan) -> None:
    assert plan.weld_plan is not None
    seams: list[Weld] = [weld for weld in plan.weld_plan.welds if weld.kind == "seam"]
    for weld in seams:
        said = at_work(plan, weld.key)
        low, high = weld.setting.amps
        assert figure(said, "TIG").figure == f"{low:.0f} to {high:.0f} A"
        label = "Run" if len(weld.runs) == 1 else "Runs"
        assert [int(turn) for turn in figure(said, label).figure.split(", ")] == sorted(run.turn for run in weld.runs)
        tacked = at_work(plan, f"tack:{weld.name}")
        assert figure(tacked, "Tacks").figure == str(len(weld.tacks))


def test_bends_are_told_in_the_order_they_are_made() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.pan(400, 250, 60)))
    bends = [step.key for step in plan.steps if step.kind == "fold"]
    assert bends
    turns = [figure(at_work(plan, key), "Bend").figure for key in bends]
    assert turns == [f"{turn} of {len(bends)}" for turn in range(1, len(bends) + 1)]
    # walls of a pan stand square on its floor where that is level across
    assert all(figure(at_work(plan, key), "Fold").figure.startswith("UP ") for key in bends)


def test_offsets_leave_out_the_base_which_stands_by_itself() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.TRIANGLE))
    key = next(step.key for step in plan.steps if step.kind == "mark")
    said = at_work(plan, key)
    blank = next(blank for blank in plan.blanks if key == f"mark:{blank.name}")
    (x1, y1), (x2, y2) = blank.cut_outline[:2]
    base = plan.sheet.making.display.rounded(math.hypot(x2 - x1, y2 - y1))
    assert figure(said, "Base").figure == f"{float(base):g} mm"
    assert [row[0] for row in said.tables[0].rows] == [str(n) for n in range(3, len(blank.cut_outline) + 1)]


def test_work_at_the_machine_says_first_that_it_is_locked_off(plan: calc.Plan) -> None:
    for step in plan.steps:
        is_there = step.kind in {"measure", "aperture", "install", "stand", "seal"} or step.key == "clean:rim"
        first = " ".join(at_work(plan, step.key).first)
        assert first.startswith("Machine isolated and locked off.") == is_there, step.key


def test_a_step_that_the_plan_has_not(plan: calc.Plan) -> None:
    with pytest.raises(KeyError, match="no step 'weld:nowhere'"):
        at_work(plan, "weld:nowhere")
