"""Drawings of sheets: offcuts of any outline with their own edge, cuts that are made already."""

import math
import re

import pytest
import shapely

import calc
from calc.costing import cost_job
from calc.drawing import sheet_drawing
from calc.papers.lines import size_words
from calc.papers.takeoff_table import takeoff_rows
from tests.calc.test_left_metal import MOVED, after, cut_into
from tests.shapes import SKEW, sheet_of

OUTLINE = ((0.0, 0.0), (1400.0, 0.0), (1300.0, 900.0), (100.0, 700.0))
OFFCUT = {"label": "O7", "outline": [list(corner) for corner in OUTLINE], "price": "5.00"}
TRIM = 20.0


@pytest.fixture(scope="module")
def on_offcut() -> calc.Plan:
    return calc.plan(sheet_of(SKEW, stock=[OFFCUT], making={"edge_trim": TRIM}))


def paths(svg: str, style: str) -> list[list[tuple[float, float]]]:
    """The points of each line drawn in a style, y up."""
    data = re.findall(rf'<path class="{style}"[^>]* d="([^"]+)"|<path [^>]*d="([^"]+)"[^>]* class="{style}"', svg)
    lines = [part for one, other in data for part in re.split("(?=M)", one or other) if part]
    return [[(float(x), -float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", line)] for line in lines]


def test_an_offcut_is_drawn_with_its_own_edge_and_the_lengths_of_its_sides(on_offcut: calc.Plan) -> None:
    display = on_offcut.sheet.making.display
    svg = sheet_drawing(on_offcut, 0, display)
    (edge,) = paths(svg, "outline sheet")
    scale = (max(x for x, _ in edge) - min(x for x, _ in edge)) / 1400
    drawn = [math.dist(a, b) / scale for a, b in zip(edge, edge[1:] + edge[:1], strict=True)]
    sides = [math.dist(a, b) for a, b in zip(OUTLINE, OUTLINE[1:] + OUTLINE[:1], strict=True)]
    assert drawn == pytest.approx(sides, abs=0.1)
    words = re.findall(r">([^<>]+)</text>", svg)
    # by Pythagoras: 100 x 900, 1200 x 200, 100 x 700; and the rectangle round it
    for figure in ("1400", "900", "905.5", "1216.5", "707"):
        assert words.count(figure) == 1
    assert "1400 by 900 mm over all" in svg


def test_the_trim_margin_runs_beside_each_side_of_an_offcut(on_offcut: calc.Plan) -> None:
    svg = sheet_drawing(on_offcut, 0, on_offcut.sheet.making.display)
    (edge,) = paths(svg, "outline sheet")
    scale = (max(x for x, _ in edge) - min(x for x, _ in edge)) / 1400
    around = shapely.LinearRing(edge)
    margin = paths(svg, "hidden trim")
    assert len(margin) == len(OUTLINE)
    for line in margin:
        for point in line:
            assert around.distance(shapely.Point(point)) / scale == pytest.approx(TRIM, abs=0.1)


def test_papers_and_costs_say_that_an_offcut_s_size_is_over_all(on_offcut: calc.Plan) -> None:
    display = on_offcut.sheet.making.display
    assert size_words(on_offcut.layout.sheets[0], display) == "1400 × 900 mm over all"
    row = next(row for row in takeoff_rows(on_offcut, display) if row[1] == "Sheet O7")
    area = shapely.Polygon(OUTLINE).area / 1e6
    assert row[7] == pytest.approx(area * on_offcut.sheet.material.mass(1e6), abs=1e-3)
    assert str(row[8]).endswith("size over all")
    line = next(line for line in cost_job(on_offcut.sheet, on_offcut.layout, on_offcut.welding, on_offcut.steps).lines)
    assert line.what.startswith("Sheet O7, 1400 x 900 over all x 1.5 mm")


@pytest.mark.parametrize("width", [720.0, 400.0])
def test_cuts_that_are_made_are_drawn_as_slots(width: float) -> None:
    first = calc.plan(sheet_of(SKEW, quantity=2))
    then = after(cut_into(first, 4), MOVED, quantity=2)
    svg = sheet_drawing(then, 0, then.sheet.making.display, width=width)
    made = {number for number, cut in enumerate(then.layout.sheets[0].cuts, 1) if cut.made}
    assert made == {1, 2, 3, 4}
    assert {int(number) for number in re.findall(r'class="cut made"[^>]*data-cut="(\d+)"', svg)} == made
    assert "Double line: a cut that is made already" in svg
    fresh = sheet_drawing(first, 0, first.sheet.making.display, width=width)
    assert "cut made" not in fresh
    assert "Double line" not in fresh
