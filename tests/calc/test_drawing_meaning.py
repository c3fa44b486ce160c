"""What the drawings say of corners, seams and falls: the same as the plan, worked out here another way."""

import math
import re
from collections.abc import Iterator
from typing import Any

import pytest
import shapely

from calc.drawing import blank_drawing, plan_view, sheet_drawing, weld_map
from calc.laid import Placed
from calc.records import Point
from tests.calc.test_drawing import INCH, MM, SVG, labels_of, planned, read, texts

NUMBER = re.compile(r"-?[\d.]+")


def lines(svg: str, style: str) -> Iterator[shapely.LineString]:
    """The paths of a class, as lines."""
    for item in read(svg).iter(f"{SVG}path"):
        if item.get("class") == style:
            yield shapely.LineString(points_of(item))


def points_of(item: Any) -> list[Point]:
    figures = [float(part) for part in NUMBER.findall(item.get("d", ""))]
    return list(zip(figures[::2], figures[1::2], strict=True))


@pytest.mark.parametrize("width", [720.0, 440.0])
@pytest.mark.parametrize("name", ["skew", "ring 12", "ring 24", "dented 24"])
def test_no_label_of_a_seam_or_facet_stands_on_a_seam(name: str, width: float) -> None:
    plan = planned(name)
    for svg, drawn, labelled in (
        (weld_map(plan, MM, width=width), "outline weld seam", {"figure seam"}),
        (plan_view(plan, MM, width=width), "weld seam", {"figure seam", "figure facet"}),
    ):
        seams = list(lines(svg, drawn))
        assert len(seams) == len(plan.shell.joints)
        for label in labels_of(svg):
            if label.style in labelled:
                assert not [seam for seam in seams if seam.intersects(label.box)], label.text


@pytest.mark.parametrize("name", ["skew", "five", "ring 24", "dented 24", "long"])
def test_fall_arrows_cross_no_label_and_leave_no_facet(name: str) -> None:
    svg = plan_view(planned(name), MM)
    arrows, seams = list(lines(svg, "thin fall")), list(lines(svg, "weld seam"))
    assert arrows
    for arrow in arrows:
        assert not [label.text for label in labels_of(svg) if label.box.intersects(arrow)]
        assert not [seam for seam in seams if seam.intersects(arrow)]


def test_the_low_point_is_dimensioned_as_it_is_taped() -> None:
    # skew's side 1-2 runs from (0, 0) to (742, 9): its unit is (0.999926, 0.012129), so the low point (512, 148) is
    # 512 x 0.999926 + 148 x 0.012129 = 513.76 along it and 148 x 0.999926 - 512 x 0.012129 = 141.78 square to it
    shown = texts(plan_view(planned("skew"), MM))
    assert {"514 from corner 1", "142 from side 1–2"} <= set(shown)
    assert "Low point (typed x 512, y 148): 514 along side 1–2 from corner 1, 142 square to it" in shown


def test_a_crowded_tray_tells_its_low_point_in_the_key_only() -> None:
    shown = texts(plan_view(planned("ring 24"), MM))
    assert len([text for text in shown if "from corner" in text or "from side" in text]) == 1
    assert any(text.startswith("Low point (typed x 24, y -15): ") for text in shown)


def test_each_corner_of_a_blank_says_what_it_is_on_the_tray() -> None:
    # facet B lies between rim corners 2 and 3 (vertices 1 and 2) and the low point (vertex 4)
    blank = planned("skew").blanks[1]
    labels = labels_of(blank_drawing(planned("skew"), blank, MM))
    numbers = {label.text: label.box.centroid for label in labels if label.text in ("1", "2", "3")}
    names = {1: "rim 2", 2: "rim 3", 4: "low point"}
    for corner, edge in enumerate(blank.edges, 1):
        under = min(
            (label for label in labels if label.style == "figure corner" and label.text not in numbers),
            key=lambda label: label.box.centroid.distance(numbers[str(corner)]),
        )
        assert under.text == names[edge.edge[0]]


def test_a_blank_drawn_for_several_tells_what_the_others_meet() -> None:
    plan = planned("mirror")
    alike = [blank for blank in plan.blanks if blank.same_as == "A"]
    shown = texts(blank_drawing(plan, plan.blanks[0], MM, alike=alike))
    # A runs from rim corner 1 to 2; C is its mirror image about the line y = 200: from 4 to 3, B and D where they were
    assert "C turned over: 1–2 rim 4–3, 2–3 weld to B, 3–1 weld to D" in shown


def own_corners(placed: Placed, cut_outline: tuple[Point, ...]) -> list[Point]:
    """Where a blank's corners come on the sheet, in its own order, by the rule for placing them."""
    cosine, sine = math.cos(math.radians(placed.angle)), math.sin(math.radians(placed.angle))
    flip = -1 if placed.turned_over else 1
    return [
        (placed.at[0] + cosine * x - sine * flip * y, placed.at[1] + sine * x + cosine * flip * y)
        for x, y in cut_outline
    ]


@pytest.mark.parametrize(("name", "quantity"), [("skew", 1), ("mirror", 1), ("five", 2), ("ring 12", 1)])
def test_corners_on_the_sheet_are_those_of_the_drawing(name: str, quantity: int) -> None:
    plan = planned(name, quantity)
    blanks = {blank.name: blank for blank in plan.blanks}
    checked = set()
    for index, used in enumerate(plan.layout.sheets):
        svg = sheet_drawing(plan, index, MM)
        dots = [item for item in read(svg).iter(f"{SVG}circle") if item.get("class") == "tip corner-one"]
        marks = [(1, shapely.Point(float(dot.get("cx", 0)), float(dot.get("cy", 0)))) for dot in dots]
        marks += [(int(label.text), label.box.centroid) for label in labels_of(svg) if "corner-mark" in label.style]
        assert len(dots) == len(used.placed)
        drawn = {
            item.get("data-piece"): points_of(item) for item in read(svg).iter(f"{SVG}path") if item.get("data-piece")
        }
        for number, at in marks:
            piece = next(key for key, outline in drawn.items() if shapely.Polygon(outline).covers(at))
            placed = next(one for one in used.placed if f"{one.blank}.{one.copy}" == piece)
            blank = blanks[placed.blank]
            pattern = blanks[blank.same_as or blank.name].cut_outline
            away = [shapely.Point(point).distance(at) for point in drawn[piece]]
            corner = placed.outline[away.index(min(away))]
            # the corner of this number on the drawing is as far from the drawing's others as this one on the sheet
            assert spans(corner, placed.outline) == pytest.approx(spans(pattern[number - 1], pattern), abs=2e-3)
            if blank.same_as is None:
                assert math.dist(corner, own_corners(placed, blank.cut_outline)[number - 1]) < 1e-6
            checked.add((piece, number))
    assert len(checked) > 2 * len(plan.blanks)


def spans(corner: Point, outline: tuple[Point, ...]) -> list[float]:
    return sorted(math.dist(corner, other) for other in outline)


def test_a_sheet_tells_which_blanks_are_marked_out_mirrored() -> None:
    plan = planned("mirror")
    shown = texts(sheet_drawing(plan, 0, MM))
    blanks = {blank.name: blank for blank in plan.blanks}
    for placed in plan.layout.sheets[0].placed:
        piece, is_mirrored = f"{placed.blank}.{placed.copy}", blanks[placed.blank].mirrored
        told = [text for text in shown if re.search(rf"(^|, ){re.escape(piece)}[,:]", text) and "mark out" in text]
        assert bool(told) == (placed.turned_over or is_mirrored)
        for text in told:
            assert ("mirrored" in text) == (placed.turned_over != is_mirrored)
            assert ("wet face down" in text) == placed.turned_over


def test_the_trim_is_told_in_decimals() -> None:
    # 5 mm = 0.19685 in, which a rule in sixteenths would round to 3/16
    assert "Broken line: trim margin 5 mm" in texts(sheet_drawing(planned("skew"), 0, MM))
    assert "Broken line: trim margin 0.197 in" in texts(sheet_drawing(planned("skew"), 0, INCH))
