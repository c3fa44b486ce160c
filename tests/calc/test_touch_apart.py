"""Numbers that are touched in a drawing of a sheet: each readable, its tick on its own ring, wherever small blanks crowd."""

import math
import re
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest

import calc
from calc.drawing import Touch, sheet_drawing
from calc.drawing.lettering import text_width
from calc.drawing.touch import APART, RING
from calc.drawing.windows import INNER, arrange, taken
from calc.laid import Placed, SheetLayout
from calc.steps import cut_keys
from calc.units import Display
from tests import shapes

SVG = "{http://www.w3.org/2000/svg}"
SCREEN = 640.0  # units of the drawing of a sheet on a job's page
Point = tuple[float, float]


@pytest.fixture(scope="module")
def crowded() -> calc.Plan:
    """A long strip and small wedges: where the sheet is drawn whole none of these has room for a number."""
    wedge = shapes.part("wedge", [[0, 0], [120, 0], [120, 30], [30, 120], [0, 120]], 5)
    strip = shapes.part("strip", [[0, 0], [620, 0], [560, 50], [60, 50]], 2)
    door = shapes.part("door", [[0, 0], [540, 0], [540, 280], [0, 280]])
    return calc.plan(shapes.sheet_of(shapes.flat_parts(door, strip, wedge)))


@pytest.fixture(scope="module")
def drawn(crowded: calc.Plan) -> ET.Element:
    touches = {key: Touch(key, "/there/", f"Cut {number}", True) for number, key in enumerate(keys(crowded), 1)}
    return ET.fromstring(sheet_drawing(crowded, 0, Display(), width=SCREEN, touches=touches))  # noqa: S314 - our own


def keys(plan: calc.Plan) -> tuple[str, ...]:
    return tuple(cut_keys(plan.layout)[0])


def rings(svg: ET.Element) -> list[Point]:
    found = [ring for ring in svg.iter(f"{SVG}circle") if "touch-ring" in ring.get("class", "")]
    return [(float(ring.get("cx", "")), float(ring.get("cy", ""))) for ring in found]


def ticks(svg: ET.Element) -> list[list[Point]]:
    found = [path for path in svg.iter(f"{SVG}path") if path.get("class") == "outline ticked"]
    return [
        [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))] for path in found
    ]


def test_no_ring_comes_over_another(crowded: calc.Plan, drawn: ET.Element) -> None:
    middles = rings(drawn)
    assert len(middles) >= len(keys(crowded)) > 12
    assert "no room to number" not in ET.tostring(drawn, encoding="unicode")
    for one, other in combinations(middles, 2):
        apart = max(abs(one[0] - other[0]), abs(one[1] - other[1]))
        assert apart >= APART - 0.02 > 2 * RING  # two decimals


def test_a_tick_is_on_its_own_ring_and_over_no_number(drawn: ET.Element) -> None:
    middles, wide, high = rings(drawn), text_width("88", 9.5, bold=True) / 2, 4.0
    assert len(ticks(drawn)) == len(middles)
    for tick in ticks(drawn):
        own = min(middles, key=lambda at: math.dist(at, tick[1]))
        assert min(math.dist(own, point) for point in tick) < RING + 2.6 < max(math.dist(own, point) for point in tick)
        for x, y in middles:
            assert all(abs(px - x) > wide or abs(py - y) > high for px, py in tick)


@pytest.mark.parametrize("touched", [True, False])
def test_a_long_line_under_a_drawing_that_is_touched_is_as_wide_as_a_phone_shows(
    crowded: calc.Plan, *, touched: bool
) -> None:
    """360 px less the page's margins, at 1.15 px a unit: 288 units; on paper the key takes the whole width."""
    touches = {key: Touch(key, "/there/", key, False) for key in keys(crowded)} if touched else None
    svg = ET.fromstring(sheet_drawing(crowded, 0, Display(), width=SCREEN, touches=touches))  # noqa: S314 - our own
    lines = [text for text in svg.iter(f"{SVG}text") if text.get("font-size") == "10.5"]
    right = max(float(text.get("x", "")) + text_width(text.text or "", 10.5) for text in lines)
    assert (right <= 288) is touched


def slat(copy: int, low: float) -> Placed:
    outline = ((10.0, low + 10.0), (200.0, low + 10.0), (200.0, low + 90.0), (10.0, low + 90.0))
    return Placed("slat", copy, outline, turned_over=False, at=(10.0, low + 10.0), angle=0.0)


def test_a_tall_part_of_a_sheet_is_cut_across_and_drawn_side_by_side() -> None:
    """A strip 200 wide up a sheet 1250 high: two halves side by side are each drawn larger than the whole would be."""
    used = SheetLayout("S1", 2500.0, 1250.0, tuple(slat(row + 1, 80.0 * row) for row in range(15)), (), ())
    part, ways = taken(used), arrange(used, SCREEN, abreast=True)
    assert part is not None
    one, other = ways.details
    assert (one.window.low[0], one.window.high) == (part.low[0], part.high)  # the upper half first
    assert (other.window.low, other.window.high[1]) == (part.low, one.window.low[1])
    right = max(x for x, _ in one.view.all(one.window.corners))
    assert right < min(x for x, _ in other.view.all(other.window.corners))
    assert one.view.scale > 1.5 * (0.8 * SCREEN - 2 * INNER) / 1250  # beside the sheet as it was drawn in one


def test_a_blank_that_is_cut_across_in_the_drawing_has_its_corner_one_all_the_same() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.PLATES))
    touches = {key: Touch(key, "/there/", key, False) for key in keys(plan)}
    for drawing in (sheet_drawing(plan, 0, Display(), width=SCREEN, touches=way) for way in (touches, None)):
        assert drawing.count("corner-one") == len(plan.layout.sheets[0].placed)
