"""What is said once of a blank, what its numbers leave out, the letters of its holes, and corners numbered on the weld map."""

import re
from collections import Counter

import pytest

import calc
from calc.at_work import at_work
from calc.blank import Blank
from calc.drawing import Touch, blank_drawing, weld_map
from calc.units import Display
from tests import shapes

LAP = {"kind": "lap", "width": 25}


@pytest.fixture(scope="module")
def folded() -> calc.Plan:
    """A tray folded from one blank, with an upstand: reliefs and the outlet take corners of its outline."""
    finish = {"kind": "upstand", "height": 25}
    rim = [[0, 0], [846, 3], [838, 431], [-5, 424]]
    sheet = shapes.fall_tray(rim, [790, 130], 62, outlet={"bore": 40}, rim_finish=finish)
    return calc.plan(shapes.sheet_of(sheet, making={"joins": "fewest-welds"}))


def texts(svg: str) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]+)</text>", svg)


def drilled(plan: calc.Plan) -> Blank:
    return max(plan.blanks, key=lambda blank: len(blank.holes))


def test_corners_that_a_hole_takes_are_told_where_their_numbers_are_left_out(folded: calc.Plan) -> None:
    blank = drilled(folded)
    missing = {str(i + 1) for i in range(len(blank.cut_outline)) if i not in blank.marked_corners}
    assert missing
    told = [text for text in texts(blank_drawing(folded, blank, Display(), width=720.0)) if " taken by " in text]
    assert sorted(re.findall(r"\d+", " ".join(told))) == sorted(missing)


def test_each_hole_has_a_letter_in_drawing_and_table(folded: calc.Plan) -> None:
    blank = drilled(folded)
    assert len(blank.holes) > 2
    (step,) = (step for step in folded.steps if step.key == f"drill:{blank.name}")
    (table,) = at_work(folded, step.key).tables
    letters = [row[0].split()[1] for row in table.rows]
    assert letters == list("abcdefghijklmnopqrstuvwxyz"[: len(blank.holes)])
    drawn = texts(blank_drawing(folded, blank, Display(), width=300.0, table=False))
    assert set(letters) <= {text.removeprefix("Hole ").partition(":")[0] for text in drawn}
    assert "from corner 1 towards corner 2" in table.caption


def test_an_edge_as_high_as_the_blank_has_its_length_once() -> None:
    """A cover with a slot: its left edge is its height."""
    plan = calc.plan(shapes.sheet_of(shapes.flat_parts(shapes.part("cover", shapes.COVER))))
    told = Counter(texts(blank_drawing(plan, plan.blanks[0], Display(), width=300.0, table=False)))
    outline = plan.blanks[0].cut_outline
    high = max(y for _, y in outline)
    edges = zip(outline, outline[1:] + outline[:1], strict=True)
    upright = [start for start, end in edges if abs(start[0] - end[0]) < 0.01 and abs(start[1] - end[1]) > high - 0.01]
    assert told[Display().figure(high)] == len(upright) == 2  # at its left and at its right


def test_the_corners_of_a_lapped_tray_are_numbered_on_its_weld_map_beside_what_is_touched() -> None:
    plan = calc.plan(shapes.sheet_of({**shapes.SKEW, "rim_finish": LAP}))
    touches = {step.key: Touch(step.key, "/there/", step.key, False) for step in plan.steps}
    told = texts(weld_map(plan, Display(), width=440.0, touches=touches))
    assert not [text for text in told if "no room to number it" in text]
    assert {"1", "2", "3", "4"} <= set(told)
