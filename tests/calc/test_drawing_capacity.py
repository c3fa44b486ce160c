"""The plot of what a tray holds and passes by level: curves end where the figures say, nothing is lettered over anything."""

import re
from dataclasses import replace
from functools import cache
from itertools import combinations, pairwise
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import Plan, plan, read_sheet
from calc.drainage import drainage_of
from calc.drawing import capacity, plan_view
from calc.drawing.capacity import HIGH, TOP
from calc.drawing.lettering import ASCENT, DESCENT, text_width
from tests.shapes import PLATES, SUMPS, TWISTED, fall_tray, pan, sheet_of

SVG = "{http://www.w3.org/2000/svg}"
TRAY = fall_tray([[0, 0], [600, 0], [600, 400], [0, 400]], [210, 200], 40, outlet={"bore": 32})


@cache
def any_plan() -> Plan:
    return plan(sheet_of(TRAY))


def drawn(shape: dict[str, Any], units: str = "mm", **duty: Any) -> ElementTree.Element:
    """The plot of a shape: what it is cut from has no part in it, so that nothing is laid out."""
    sheet = read_sheet(sheet_of(shape, duty=duty, making={"units": units}))
    shell = sheet.shape.shell(1.5)
    made = replace(any_plan(), sheet=sheet, shell=shell, drainage=drainage_of(sheet, shell, 3.0))
    return ElementTree.fromstring(capacity(made, made.sheet.making.display))  # noqa: S314 - our own


def curves(tree: ElementTree.Element) -> list[list[tuple[float, float]]]:
    found = []
    for path in tree.iter(f"{SVG}path"):
        if path.attrib["class"] == "outline":
            found.append([(float(x), float(y)) for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", path.attrib["d"])])
    return found


def words(tree: ElementTree.Element) -> list[str]:
    return [text.text or "" for text in tree.iter(f"{SVG}text")]


def boxes(tree: ElementTree.Element) -> list[tuple[float, float, float, float, str]]:
    found = []
    for text in tree.iter(f"{SVG}text"):
        x, y, size = (float(text.attrib[name]) for name in ("x", "y", "font-size"))
        wide = text_width(text.text or "", size, text.attrib.get("font-weight") == "bold")
        left = x - wide * {"end": 1.0, "middle": 0.5}.get(text.attrib.get("text-anchor", ""), 0.0)
        found.append((left, y - ASCENT * size, left + wide, y + DESCENT * size, text.text or ""))
    return found


def test_the_curves_rise_from_the_bottom_to_the_brim() -> None:
    held, passed = curves(drawn(TRAY))
    for curve in (held, passed):
        assert curve[0][1] == pytest.approx(TOP + HIGH)
        assert curve[-1][1] == pytest.approx(TOP)
        assert all(before[0] <= after[0] + 0.01 for before, after in pairwise(curve))
    # half as deep a tray that falls to a point holds an eighth
    left, right = held[0][0], held[-1][0]
    halfway = next(x for x, y in held if y == pytest.approx(TOP + HIGH / 2, abs=0.01))
    assert (halfway - left) / (right - left) == pytest.approx(1 / 8, abs=0.001)
    # and nothing passes below the lip: 3.2 of 40
    assert max(y for x, y in passed if x > passed[0][0]) <= TOP + HIGH * (1 - 3.2 / 40) + 0.01


def test_the_level_at_the_pumps_flow_is_marked_where_the_figures_say() -> None:
    made = plan(sheet_of(TRAY, duty={"pump_flow": 9}))
    tree = ElementTree.fromstring(capacity(made, made.sheet.making.display))  # noqa: S314 - our own
    level = next(path.attrib["d"] for path in tree.iter(f"{SVG}path") if path.attrib["class"] == "centre")
    (_, y), (_, also) = re.findall(r"[ML]([-\d.]+) ([-\d.]+)", level)
    expected = TOP + HIGH * -made.drainage.outlet.running.level / 40
    assert (float(y), float(also)) == pytest.approx((expected, expected), abs=0.01)
    assert "at 9 l/min" in words(tree)


def test_what_runs_over_is_said_in_words() -> None:
    tree = drawn(TRAY, pump_flow=40)
    assert "runs over" in words(tree)
    assert not [path for path in tree.iter(f"{SVG}path") if path.attrib["class"] == "centre"]


def test_a_pan_has_one_plot_and_loose_parts_none() -> None:
    assert len(curves(drawn(pan(620, 410, 55, inside_radius=2)))) == 1
    with pytest.raises(ValueError, match="no levels"):
        capacity(plan(sheet_of(PLATES)), read_sheet(sheet_of(PLATES)).making.display)


@settings(max_examples=30, deadline=None)
@given(
    st.sampled_from([TRAY, TWISTED, SUMPS["five"], {**SUMPS["skew"], "rim_finish": {"kind": "upstand", "height": 25}}]),
    st.floats(0.1, 60),
    st.sampled_from(["mm", "in"]),
    st.floats(3, 3000),
)
def test_nothing_is_lettered_over_anything(shape: dict[str, Any], flow: float, units: str, deep: float) -> None:
    if "depth" in shape:
        shape = {**shape, "depth": round(deep, 1)}
    tree = drawn(shape, units, pump_flow=round(flow, 1))
    _, _, width, height = map(float, tree.attrib["viewBox"].split())
    for one, other in combinations(boxes(tree), 2):
        across = min(one[2], other[2]) - max(one[0], other[0])
        down = min(one[3], other[3]) - max(one[1], other[1])
        assert across <= 0.5 or down <= 0.5, (one, other)
    for left, top, right, bottom, text in boxes(tree):
        assert left >= -0.01 and top >= -0.01, text  # noqa: PT018
        assert right <= width + 0.01 and bottom <= height + 0.01, text  # noqa: PT018


def test_the_plan_marks_the_least_fall_and_the_way_along_each_valley() -> None:
    """Four seams fall to the low point, each with an arrowhead on it that points there."""
    made = plan(sheet_of(TRAY))
    tree = ElementTree.fromstring(plan_view(made, made.sheet.making.display))  # noqa: S314 - our own
    assert [text for text in words(tree) if text.endswith(", least")] == ["9.1 %, least"]
    (outlet,) = (circle for circle in tree.iter(f"{SVG}circle") if "outlet" in circle.attrib["class"])
    low = complex(float(outlet.attrib["cx"]), float(outlet.attrib["cy"]))
    seams = [path.attrib["d"] for path in tree.iter(f"{SVG}path") if "seam" in path.attrib["class"].split()]
    tips = [path.attrib["d"] for path in tree.iter(f"{SVG}path") if path.attrib["class"] == "tip"]
    for seam in seams:
        far = max(points(seam), key=lambda point: abs(point - low))
        pointing = [
            tip
            for tip in map(points, tips)
            if abs(((tip[0] - low) / (far - low)).imag) < 1e-3
            and 0.1 < ((tip[0] - low) / (far - low)).real < 0.9
            and all(abs(corner - low) > abs(tip[0] - low) for corner in tip[1:])
        ]
        assert pointing, seam


def points(data: str) -> list[complex]:
    return [complex(float(x), float(y)) for x, y in re.findall(r"[ML]([-\d.]+) ([-\d.]+)", data)]
