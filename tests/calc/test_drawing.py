"""The drawings, read back as XML: labels that never overlap, figures that are the record's, and nothing typed that acts."""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Any
from xml.etree import ElementTree

import pytest
import shapely
import shapely.affinity
from hypothesis import given, reject, settings

import calc
from calc.blank import patterns
from calc.drawing import blank_drawing, folded_view, plan_view, rim_run_map, run_map, sheet_drawing, tray_view, weld_map
from calc.drawing.lettering import ASCENT, DESCENT, text_width
from calc.units import Display
from tests.shapes import (
    FIVE,
    FLAT,
    LEVEL_VALLEY,
    NAMED,
    SKEW,
    SUMPS,
    TWISTED,
    fall_tray,
    fall_trays,
    finished_trays,
    pan,
    pans,
    ring,
    sheet_of,
    sump_trays,
    valley_trays,
)

SVG = "{http://www.w3.org/2000/svg}"
MM, INCH = Display(), Display("in", Fraction(1, 16))
LONG = fall_tray([[0, 0], [3000, 0], [3000, 150], [0, 150]], [2900, 75], 60, outlet={"bore": 32})
TALL = fall_tray([[0, 0], [150, 0], [150, 2300], [0, 2300]], [75, 200], 60)
TINY = fall_tray([[0, 0], [30, 0], [30, 20], [0, 20]], [12, 8], 4, outlet={"bore": 5})
DEEP = fall_tray([[0, 0], [400, 0], [420, 380], [0, 400]], [200, 180], 700, outlet={"bore": 32})
LAP = {"kind": "lap", "width": 25, "inside_radius": 2}
UPSTAND = {"kind": "upstand", "height": 30, "inside_radius": 2}
FOLDED: dict[str, Any] = {
    "lapped": {**SKEW, "rim_finish": LAP},
    "lapped reflex": {**NAMED["reflex"], "rim_finish": LAP},
    "lapped ring 12": {**ring(12), "rim_finish": LAP},
    "upstand": {**SKEW, "rim_finish": UPSTAND},
    "pan": pan(600, 400, 60, inside_radius=2),
    "falling pan": pan(600, 400, 60, inside_radius=2, fall=10, return_width=20),
    "small pan": pan(90, 70, 30, inside_radius=2, return_width=15),
    "fewest": SKEW,
    "fewest lapped": {**FIVE, "rim_finish": LAP},
}
KEEP_CLEAR = [
    {"at": [480, 120], "length": 160, "width": 110, "name": "leg of the machine's stand"},
    {"at": [40, 300], "length": 120, "width": 60},
]
DRAINED: dict[str, Any] = {
    "twisted": TWISTED,
    "twisted lapped": {**TWISTED, "rim_finish": LAP},
    "level valley": LEVEL_VALLEY,
    "sump skew": SUMPS["skew"],
    "sump five": SUMPS["five"],
    "sump upstand": {**SUMPS["skew"], "rim_finish": UPSTAND},
    "kept clear": {**SKEW, "keep_clear": KEEP_CLEAR},
    "valley kept clear": {**TWISTED, "keep_clear": [{**KEEP_CLEAR[0], "at": [600, 180]}, *KEEP_CLEAR[1:]]},
}
SHAPES: dict[str, Any] = {
    **NAMED,
    **{f"ring {count}": ring(count) for count in (3, 5, 12, 24)},
    **{f"dented {count}": ring(count, dent=0.4) for count in (6, 12, 24)},
    "long": LONG,
    "tall": TALL,
    "tiny": TINY,
    "deep": DEEP,
    **FOLDED,
    **DRAINED,
    **FLAT,
}


@cache
def planned(name: str, quantity: int = 1) -> calc.Plan:
    stock = [{"length": 3600, "width": 1250}]
    joins = "fewest-welds" if name.startswith("fewest") else "weld-all"
    return calc.plan(sheet_of(SHAPES[name], quantity=quantity, stock=stock, making={"joins": joins}))


def sets(plan: calc.Plan, display: Display = MM, width: float = 720.0) -> Iterator[tuple[str, str]]:
    """Every drawing of a plan, named."""
    yield "tray", tray_view(plan, display, width=width)
    yield "plan", plan_view(plan, display, width=width)
    if plan.shell.joints:
        yield "welds", weld_map(plan, display, width=width)
        assert plan.weld_plan
        yield "runs", run_map(plan, plan.weld_plan, width=width)
        if rim := rim_run_map(plan, plan.weld_plan, width=width):
            yield "rim runs", rim
    for index in range(len(plan.layout.sheets)):
        yield f"sheet {index}", sheet_drawing(plan, index, display, width=width)
    for blank, alike in patterns(plan.blanks):
        yield f"blank {blank.name}", blank_drawing(plan, blank, display, alike=alike, width=min(width, 440.0))
        if blank.folds:
            yield f"blank {blank.name} folded", folded_view(plan, blank, display, width=width / 3)


@dataclass(frozen=True)
class Label:
    """A text in a drawing: what it says, where its box is, its angle and class."""

    text: str
    box: shapely.Polygon
    angle: float
    style: str


def read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 - our own text, and ElementTree loads nothing from outside


def labels_of(svg: str) -> list[Label]:
    found = []
    for item in read(svg).iter(f"{SVG}text"):
        x, y, size = (float(item.get(key, "0")) for key in ("x", "y", "font-size"))
        text = item.text or ""
        width = text_width(text, size, item.get("font-weight") == "bold")
        left = x - width * {"middle": 0.5, "end": 1.0}.get(item.get("text-anchor", ""), 0.0)
        box: Any = shapely.box(left, y - ASCENT * size, left + width, y + DESCENT * size)
        turn = re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", item.get("transform", ""))
        angle = float(turn[1]) if turn else 0.0
        if turn:
            box = shapely.affinity.rotate(box, angle, origin=(float(turn[2]), float(turn[3])))
        found.append(Label(text, box, angle, item.get("class", "")))
    return found


def texts(svg: str) -> list[str]:
    return [label.text for label in labels_of(svg)]


def frame(svg: str) -> tuple[float, float]:
    _, _, width, height = (float(part) for part in read(svg).get("viewBox", "").split())
    return width, height


def assert_legible(name: str, svg: str) -> None:
    """No two label boxes overlap, none leaves the drawing, none is small or stands on its head."""
    labels, (width, height) = labels_of(svg), frame(svg)
    boxes = [label.box for label in labels]
    # corners are written to 0.01 of a unit
    outside = [label.text for label in labels if not shapely.box(0, 0, width, height).buffer(0.02).contains(label.box)]
    assert not outside, (name, outside)
    tree = shapely.STRtree(boxes)
    for one, other in zip(*tree.query(boxes, predicate="intersects").tolist(), strict=True):
        if one < other:
            shared = boxes[one].intersection(boxes[other]).area
            assert shared < 0.05, (name, labels[one].text, labels[other].text)
    # read from below or from the right (ISO 129-1, common practice): never upside down, nor from the left; 20 degrees
    # past upright still reads from the right; angles too are written to 0.01, so that 69.999 stands as 70
    assert all(-110.0 <= label.angle <= 70.0 for label in labels), name


@pytest.mark.parametrize("name", SHAPES)
def test_labels_never_overlap_nor_leave_the_drawing(name: str) -> None:
    for drawing, svg in sets(planned(name)):
        assert_legible(f"{name}: {drawing}", svg)


@pytest.mark.parametrize(("display", "width"), [(INCH, 720.0), (MM, 360.0), (INCH, 300.0)])
@pytest.mark.parametrize(
    "name", ["skew", "dented 12", "ring 24", "long", "lapped", "upstand", "falling pan", "fewest", *DRAINED, *FLAT]
)
def test_labels_hold_in_inches_and_on_narrow_drawings(name: str, display: Display, width: float) -> None:
    for drawing, svg in sets(planned(name), display, width):
        assert_legible(f"{name}: {drawing}", svg)


@settings(max_examples=12, deadline=None)
@given(fall_trays(most=12))
def test_labels_never_overlap_on_random_trays(shape: dict[str, Any]) -> None:
    plan = calc.plan(sheet_of(shape, stock=[{"length": 4000, "width": 2000}], making={"seam_gap": 0}))
    for drawing, svg in sets(plan):
        assert_legible(drawing, svg)


@settings(max_examples=8, deadline=None)
@given(finished_trays(most=8) | pans() | valley_trays() | sump_trays())
def test_labels_never_overlap_on_random_folded_work(shape: dict[str, Any]) -> None:
    try:
        plan = calc.plan(sheet_of(shape, stock=[{"length": 4000, "width": 2000}], making={"seam_gap": 0}))
    except calc.SheetFaults:
        reject()  # a lap wider than there is room for
    for drawing, svg in sets(plan):
        assert_legible(drawing, svg)


@pytest.mark.parametrize("name", ["skew", "dented 24", "long", "falling pan", "fewest lapped"])
def test_a_drawing_is_plain_svg_that_a_strict_page_may_hold(name: str) -> None:
    for _, svg in sets(planned(name)):
        top = read(svg)
        assert top.get("role") == "img"
        assert top[0].tag == f"{SVG}title"
        assert top[0].text
        for item in top.iter():
            assert item.tag.removeprefix(SVG) in {"svg", "title", "g", "path", "circle", "rect", "text"}
            assert not {key for key in item.keys() if key == "style" or key.startswith("on") or "href" in key}  # noqa: SIM118
            assert item.get("class") or item.tag.removeprefix(SVG) == "title"


def side_lengths(name: str) -> list[float]:
    rim = planned(name).sheet.shape.corners
    return [math.dist(start, end) for start, end in zip(rim, rim[1:] + rim[:1], strict=True)]


@pytest.mark.parametrize("display", [MM, INCH])
@pytest.mark.parametrize("name", ["skew", "reflex", "ring 24", "dented 24", "long", "tiny"])
def test_plan_view_tells_every_side_and_every_fall(name: str, display: Display) -> None:
    plan, shown = planned(name), texts(plan_view(planned(name), display))
    words = " | ".join(shown)
    for index, length in enumerate(side_lengths(name)):
        key = f"Side {index + 1}-{(index + 1) % len(side_lengths(name)) + 1}: {display.figure(length)}"
        assert display.figure(length) in shown or key in shown
    for fall in plan.drainage.falls:
        # a slope of one in n is 100 / n per cent
        assert f"{fall.fall * 100:.1f} %" in words, fall.face
        assert f"1 in {1 / fall.fall:.1f}" in words, fall.face
    for seam in plan.drainage.seams:
        assert f"{seam.fall * 100:.1f} %" in words, seam.between
    assert {str(number) for number in range(1, len(side_lengths(name)) + 1)} <= set(shown)


def test_plan_view_of_a_tray_worked_by_hand() -> None:
    # 600 x 400, low point (210, 200), 40 deep: facet A falls 40 in 200, D 40 in 210, B 40 in 390; the seam from
    # corner 1 drops 40 in hypot(210, 200) = 290, the one from corner 2 in hypot(390, 200) = 438.3
    shown = texts(plan_view(planned("mirror"), MM))
    assert {"600", "400", "20.0 %", "1 in 5.0", "19.0 %", "10.3 %", "13.8 %", "9.1 %"} <= set(shown)
    assert {"210 from corner 1", "200 from side 1–2"} <= set(shown)
    assert "40 deep" in texts(tray_view(planned("mirror"), MM))


@pytest.mark.parametrize("name", ["skew", "five", "dented 12", "long"])
def test_weld_map_tells_every_seam_the_rim_and_the_outlet(name: str) -> None:
    plan, words = planned(name), " | ".join(texts(weld_map(planned(name), MM)))
    points = plan.shell.vertices
    for joint in plan.shell.joints:
        true_length = math.dist(points[joint.edge[0]], points[joint.edge[1]])
        assert re.search(rf"{joint.name}:?  ?{re.escape(MM.figure(true_length))}", words), joint.name
    assert "dry side" in words
    assert MM.length(sum(side_lengths(name))) in words
    if plan.sheet.shape.outlet:
        assert MM.length(math.pi * plan.sheet.shape.outlet.bore) in words


@pytest.mark.parametrize("name", ["skew", "five", "ring 24", "long", "tiny"])
def test_blank_drawing_tells_offsets_edges_and_what_they_meet(name: str) -> None:
    for blank in planned(name).blanks:
        words = " | ".join(texts(blank_drawing(planned(name), blank, MM)))
        corners = blank.cut_outline
        for x, y in corners[2:]:
            assert MM.figure(x) in words
            assert MM.figure(y) in words
        # the edges prove what was marked out, so they run between the corners as they are read off the rule
        marked = [(float(MM.rounded(x)), float(MM.rounded(y))) for x, y in corners]
        for start, end in zip(marked, marked[1:] + marked[:1], strict=True):
            assert MM.figure(math.dist(start, end)) in words
        for edge in blank.edges:
            assert (f"weld to {edge.meets}" if edge.meets else "rim") in words


def test_blank_drawing_names_those_alike_and_how_many() -> None:
    # the mirror tray's low point lies half-way up, so what is below that line is above it too
    plan = planned("mirror")
    alike = [blank for blank in plan.blanks if blank.same_as == "A"]
    assert [blank.name for blank in alike] == ["C"]
    words = texts(blank_drawing(plan, plan.blanks[0], MM, alike=alike, quantity=3))
    over = "C alike, turned over" if alike[0].mirrored else "C alike"
    assert f"6 off; {over}; wet face up" in words


def test_a_pentagon_blank_has_its_checks_across() -> None:
    corners = ((0.0, 0.0), (400.0, 0.0), (480.0, 220.0), (210.0, 390.0), (-60.0, 180.0))
    blank = replace(planned("skew").blanks[0], cut_outline=corners, net_outline=corners, edges=())
    from calc.marking import marking_of

    svg = blank_drawing(planned("skew"), replace(blank, marking=marking_of(corners)), MM)
    assert_legible("pentagon", svg)
    words = " | ".join(texts(svg))
    # hypot(210, 390) = 442.9 from corner 1 to 4, hypot(480, 220) = 528.0 from 1 to 3, hypot(460, 180) = 494.0 from 2 to 5
    assert all(figure in words for figure in ("443", "528", "494"))


@pytest.mark.parametrize(
    ("name", "quantity"), [("skew", 1), ("five", 4), ("dented 12", 2), ("ring 24", 1), ("long", 1)]
)
def test_sheet_drawing_names_every_blank_and_numbers_every_cut(name: str, quantity: int) -> None:
    plan = planned(name, quantity)
    for index, used in enumerate(plan.layout.sheets):
        svg = sheet_drawing(plan, index, MM)
        labels = labels_of(svg)
        keyed = " | ".join(label.text for label in labels)
        pieces = [f"{placed.blank}.{placed.copy}" for placed in used.placed]
        for piece in pieces:
            named = [label for label in labels if label.text.removesuffix(" over") == piece]
            assert len(named) == 1 or f"{piece} over: no room" in keyed or f"{piece}: no room" in keyed
        numbers = {label.text for label in labels if "cut-number" in label.style}
        for number in range(1, len(used.cuts) + 1):
            assert str(number) in numbers or f"Cut {number}: " in keyed
        assert numbers <= {str(number) for number in range(1, len(used.cuts) + 1)}
        assert {MM.figure(used.length), MM.figure(used.width)} <= {label.text for label in labels}


def test_sheet_drawing_is_in_true_proportion() -> None:
    plan = planned("skew")
    svg = sheet_drawing(plan, 0, MM)
    outlines = [item for item in read(svg).iter(f"{SVG}path") if item.get("class") == "outline sheet"]
    points = [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", outlines[0].get("d", ""))]
    wide = max(x for x, _ in points) - min(x for x, _ in points)
    high = max(y for _, y in points) - min(y for _, y in points)
    assert wide / high == pytest.approx(3600 / 1250, rel=1e-3)


def test_hostile_names_stay_text() -> None:
    plan = planned("skew")
    hostile = '"><script>alert(1)</script>]]>&\x00\x07\ud800'
    blanks = tuple(replace(blank, name=hostile) for blank in plan.blanks[:1])
    svg = blank_drawing(plan, blanks[0], MM, alike=blanks)
    assert "<script" not in svg
    assert any("<script>alert(1)</script>" in text for text in texts(svg))
    assert {item.tag for item in read(svg).iter()} <= {
        f"{SVG}{tag}" for tag in ("svg", "title", "path", "text", "circle")
    }


def test_the_same_plan_draws_the_same() -> None:
    for name in ("skew", "dented 12"):
        again = calc.Plan.from_json(planned(name).as_json())
        assert [svg for _, svg in sets(again)] == [svg for _, svg in sets(again)]
        assert texts(plan_view(again, MM)) == texts(plan_view(planned(name), MM))
