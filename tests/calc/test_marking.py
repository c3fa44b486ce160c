"""Marking out: figures a rule can read, lengths that agree with them, arcs that land, what rounding does to a seam."""

import math
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc.blank import Blank, BlankEdge, FoldLine, Hole
from calc.joins import join
from calc.marking import mark_out, marking_of, proving_pairs, rounding_of
from calc.records import Outline
from calc.sheet import read_sheet
from calc.shell import Face, join_faces
from calc.unfold import unfold
from calc.units import Display
from tests.shapes import FIVE, MIRROR, REFLEX, SKEW, TRIANGLE, fall_trays, ring, sheet_of

RULES = [
    Display(),
    Display("mm", Fraction(1)),
    Display("mm", Fraction(1, 10)),
    Display("in", Fraction(1, 16)),
    Display("in", Fraction(1, 64)),
    Display("in", Fraction(1, 1000)),
]
CLOSE = 1e-6  # [mm] rounding noise of double precision over a few metres


def outlines(shape: dict[str, Any]) -> list[Outline]:
    sheet = read_sheet(sheet_of(shape))
    shell = join(sheet.shape.shell(sheet.material.thickness), sheet)
    return [blank.cut_outline for blank in unfold(shell, sheet)]


def step(display: Display) -> float:
    return float(display.rule) * (25.4 if display.unit == "in" else 1.0)


@given(fall_trays(), st.sampled_from(RULES))
def test_each_coordinate_is_on_the_rule_and_out_by_half_a_step_at_most(shape: dict[str, Any], display: Display) -> None:
    for outline in outlines(shape):
        marking = marking_of(outline, display)
        assert marking.offsets == outline
        for true, marked in zip(outline, marking.rounded, strict=True):
            for exact, read in zip(true, marked, strict=True):
                steps = read / step(display)
                assert steps == pytest.approx(round(steps), abs=1e-6)
                assert abs(read - exact) <= step(display) / 2 + CLOSE
            assert math.dist(true, marked) <= step(display) * math.sqrt(0.5) + CLOSE


@pytest.mark.parametrize("display", RULES)
def test_no_other_point_of_the_rule_is_nearer(display: Display) -> None:
    grid = [(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)]
    for outline in outlines(FIVE):
        for true, (x, y) in zip(outline, marking_of(outline, display).rounded, strict=True):
            for right, up in grid:
                other = (x + right * step(display), y + up * step(display))
                assert math.dist(true, (x, y)) <= math.dist(true, other) + CLOSE


@pytest.mark.parametrize("display", RULES)
@pytest.mark.parametrize("shape", [SKEW, FIVE, REFLEX, TRIANGLE, ring(24)])
def test_a_blank_marked_to_its_figures_passes_its_checks(shape: dict[str, Any], display: Display) -> None:
    for outline in outlines(shape):
        marking = marking_of(outline, display)
        for check in marking.checks:
            assert check.length == math.dist(outline[check.start], outline[check.end])
            marked = math.dist(marking.rounded[check.start], marking.rounded[check.end])
            assert abs(check.shown - marked) <= step(display) / 2 + CLOSE
            assert check.shown / step(display) == pytest.approx(round(check.shown / step(display)), abs=1e-6)


def test_the_step_to_mark_out_says_the_rounded_figures() -> None:
    plan = calc.plan(sheet_of(FIVE, making={"units": "in"}))
    shown = plan.sheet.making.display
    steps = {step.key: step.text for step in plan.steps}
    for blank in plan.blanks:
        (_, _), (base, _), *others = blank.marking.rounded
        text = steps[f"mark:{blank.name}"]
        assert f"base {shown.length(base)};" in text
        for number, (along, square) in enumerate(others, 3):
            assert f"corner {number}: {shown.length(along)} along, {shown.length(square)} square" in text


def test_what_is_shown_of_an_earlier_plan_is_what_it_showed() -> None:
    data = calc.plan(sheet_of(SKEW)).as_json()
    for blank in data["blanks"]:
        for key in ("rounded", "hole_centres", "fold_ends", "swings", "swing_checks"):
            del blank["marking"][key]
        for check in blank["marking"]["checks"]:
            del check["rounded"]
    del data["rounding"]
    plan = calc.Plan.from_json(data)
    assert plan.rounding is None
    for blank in plan.blanks:
        assert blank.marking.shown == blank.marking.offsets
        assert [check.shown for check in blank.marking.checks] == [check.length for check in blank.marking.checks]


def test_a_right_triangle_by_arcs() -> None:
    # Euclid I.47 with 3, 4, 5; the arcs at the right angle's corner cross as the sides do, atan(400 / 300)
    (swing,) = marking_of(((0.0, 0.0), (300.0, 0.0), (300.0, 400.0))).swings
    assert (swing.corner, swing.centres, swing.radii) == (2, (0, 1), (500.0, 400.0))
    assert swing.crossing == pytest.approx(math.degrees(math.atan(300 / 400)))


def marked_by_arcs(outline: Outline, display: Display) -> tuple[list[shapely.Point], Any]:
    """Where a person comes who does what the arcs say, found as the crossing of two circles by shapely."""
    marking = marking_of(outline, display)
    at = [shapely.Point(corner) for corner in marking.rounded]
    for swing in marking.swings:
        # circles of 4000 sides: within r (1 - cos(pi / 4000)) = 3e-7 r of true ones
        one, other = (
            shapely.Point(at[centre]).buffer(radius, quad_segs=1000).exterior
            for centre, radius in zip(swing.centres, swing.radii, strict=True)
        )
        crossings = shapely.get_parts(one.intersection(other))
        at[swing.corner] = min(crossings, key=shapely.Point(outline[swing.corner]).distance)
    return at, marking


@pytest.mark.parametrize("display", [Display(), Display("in", Fraction(1, 16))])
@pytest.mark.parametrize(
    "outline",
    [
        ((0.0, 0.0), (412.3, 0.0), (480.7, 220.2), (210.1, 390.9), (-60.4, 180.3)),
        ((0.0, 0.0), (903.3, 0.0), (903.1, 448.7), (-2.2, 451.1)),
        ((0.0, 0.0), (640.2, 0.0), (588.8, 233.3)),
    ],
)
def test_arcs_land_on_the_corner(outline: Outline, display: Display) -> None:
    at, marking = marked_by_arcs(outline, display)
    assert [swing.corner for swing in marking.swings] == list(range(2, len(outline)))
    for swing in marking.swings:
        true = outline[swing.corner]
        assert 30 <= swing.crossing <= 150
        assert all(centre < swing.corner for centre in swing.centres)
        ways = [np.array(true) - (at[centre].x, at[centre].y) for centre in swing.centres]
        for way, radius in zip(ways, swing.radii, strict=True):
            assert abs(radius - np.linalg.norm(way)) <= step(display) / 2 + 1e-3
        between = np.arccos(ways[0] @ ways[1] / np.linalg.norm(ways[0]) / np.linalg.norm(ways[1]))
        assert swing.crossing == pytest.approx(np.degrees(between), abs=1e-3)
        # two lines half a step off either way cross this far from where they should, at the worst
        sharp = min(math.sin(between / 2), math.cos(between / 2))
        assert at[swing.corner].distance(shapely.Point(true)) <= step(display) / 2 / sharp * 1.01
    for check in marking.swing_checks:
        assert abs(check.shown - at[check.start].distance(at[check.end])) <= step(display) / 2 + 2e-3


def test_arcs_and_their_checks_measure_every_proving_length_once() -> None:
    outline = ((0.0, 0.0), (903.3, 0.0), (903.1, 448.7), (-2.2, 451.1))
    marking = marking_of(outline)
    swung = [frozenset((swing.corner, centre)) for swing in marking.swings for centre in swing.centres]
    left = [frozenset((check.start, check.end)) for check in marking.swing_checks]
    assert not set(swung) & set(left)
    assert {frozenset(pair) for pair in proving_pairs(4)} <= {*swung, *left, frozenset((0, 1))}
    assert left  # a diagonal or a side is over to prove it by


@pytest.mark.parametrize(
    "outline",
    [((0.0, 0.0), (900.0, 0.0), (450.0, 60.0)), ((0.0, 0.0), (2.0, 0.0), (2.0, 900.0))],
    ids=["flat", "needle"],
)
def test_arcs_that_would_cross_too_flat_are_left_out(outline: Outline) -> None:
    # atan(60 / 450) = 7.6 degrees at either end: the arcs cross at 165; a needle's cross at 0.1
    assert marking_of(outline).swings == ()
    assert marking_of(outline).swing_checks == ()


def test_corners_that_the_drill_makes_are_not_marked_by_arcs_either() -> None:
    pan = {"family": "pan", "length": 420, "width": 260, "height": 60, "inside_radius": 2}
    (blank,) = calc.plan(sheet_of(pan)).blanks
    marked = set(blank.marked_corners)
    assert len(marked) < len(blank.cut_outline)
    marking = blank.marking
    used = {corner for swing in marking.swings for corner in (swing.corner, *swing.centres)}
    used |= {end for check in marking.swing_checks for end in (check.start, check.end)}
    assert used <= marked
    # common practice: nobody swings an arc of less than 20 mm to find a corner
    assert min(radius for swing in marking.swings for radius in swing.radii) >= 20
    assert calc.plan(sheet_of(pan)).rounding.gap > 0  # type: ignore[union-attr]


def test_a_rule_coarser_than_the_blank_still_marks_it() -> None:
    marking = marking_of(((0.0, 0.0), (3.0, 0.0), (3.0, 2.0)), Display("in", Fraction(1)))
    assert marking.rounded == ((0.0, 0.0),) * 3
    assert marking.swings == ()
    assert [check.shown for check in marking.checks] == [0.0, 0.0, 0.0]


def test_holes_and_bends_are_marked_out_too() -> None:
    blank = calc.plan(sheet_of(SKEW)).blanks[0]
    fold = FoldLine(((10.3, 0.0), (10.3, 90.9)), 90.0, 1.5, 3.2)
    (marked,) = mark_out([replace(blank, holes=(Hole((50.2, 30.8), 32.0),), folds=(fold,))])
    assert marked.marking.hole_centres == ((50.0, 31.0),)
    assert marked.marking.fold_ends == (((10.5, 0.0), (10.5, 91.0)),)


def flat_pair(width: float) -> tuple[Any, list[Blank]]:
    """Two rectangles side by side on a level shell, the left one as wide as told, and the blanks that they are."""
    vertices = ((0, 0, 0), (width, 0, 0), (width, 50, 0), (0, 50, 0), (width + 80, 0, 0), (width + 80, 50, 0))
    faces = [Face("A", (0, 1, 2, 3)), Face("B", (1, 4, 5, 2))]
    usual = calc.plan(sheet_of(SKEW)).blanks[0]
    blanks = []
    for face, across in zip(faces, (width, 80.0), strict=True):
        other = "B" if face.name == "A" else "A"
        seam = [set(edge) == {1, 2} for edge in face.edges]
        edges = tuple(
            BlankEdge("weld", edge, face.name, other) if welded else BlankEdge("free", edge, face.name, None)
            for edge, welded in zip(face.edges, seam, strict=True)
        )
        outline = ((0.0, 0.0), (across, 0.0), (across, 50.0), (0.0, 50.0))
        blanks.append(
            replace(usual, name=face.name, cut_outline=outline, net_outline=outline, edges=edges, same_as=None)
        )
    return join_faces(vertices, faces), blanks


@pytest.mark.parametrize(("width", "gap"), [(100.2, 0.2), (100.3, 0.2), (100.0, 0.0), (99.9, 0.1)])
def test_the_gap_of_two_plates_edge_to_edge(width: float, gap: float) -> None:
    # marked 100.0, 100.5, 100.0, 100.0 on a rule of half a millimetre: the other plate begins at its own corner 1
    shell, blanks = flat_pair(width)
    rounding = rounding_of(mark_out(blanks), shell, Display())
    assert rounding.gap == pytest.approx(gap, abs=1e-9)
    assert rounding.corner == pytest.approx(gap, abs=1e-9)
    assert (rounding.rule, rounding.gap_at) == (0.5, "A-B")


def laid_on(pattern: Outline, marked: Outline, other: Outline, *, over: bool) -> Outline:
    """The marked corners of a pattern carried to where the other blank has them (least squares, Kabsch's method)."""
    source, target = np.array(pattern), np.array(other)
    best: tuple[float, Any] | None = None
    order = range(len(target))
    for shift in order:
        turned = np.roll(target[::-1] if over else target, -shift, axis=0)
        middle, goal = source.mean(axis=0), turned.mean(axis=0)
        u, _, v = np.linalg.svd((source - middle).T @ (turned - goal))
        turn = u @ np.diag([1.0, (-1.0 if over else 1.0) * np.sign(np.linalg.det(u @ v))]) @ v
        misfit = float(np.abs((source - middle) @ turn + goal - turned).max())
        if best is None or misfit < best[0]:
            carried = np.roll((np.array(marked) - middle) @ turn + goal, shift, axis=0)
            best = (misfit, carried[::-1] if over else carried)
    assert best is not None
    assert best[0] < 0.01
    return tuple((float(x), float(y)) for x, y in best[1])


@pytest.mark.parametrize("shape", [SKEW, FIVE, REFLEX, TRIANGLE, MIRROR, ring(12)])
@pytest.mark.parametrize("making", [{}, {"units": "in"}])
def test_the_worst_seam_of_a_tray(shape: dict[str, Any], making: dict[str, str]) -> None:
    plan = calc.plan(sheet_of(shape, making=making))
    by_name = {blank.name: blank for blank in plan.blanks}
    worst: dict[str, float] = {}
    for joint in plan.shell.joints:
        sums = dict.fromkeys(joint.edge, 0.0)
        for name in joint.between:
            blank = by_name[name]
            pattern = by_name[blank.same_as or name]
            marked = laid_on(
                pattern.cut_outline, pattern.marking.rounded, blank.cut_outline, over=blank.mirrored != pattern.mirrored
            )
            body = shapely.Polygon(blank.cut_outline)
            for index, edge in enumerate(blank.edges):
                if frozenset(edge.edge) != frozenset(joint.edge):
                    continue
                ends = [np.array(blank.cut_outline[at % len(blank.cut_outline)]) for at in (index, index + 1)]
                along = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
                square = np.array([along[1], -along[0]])
                assert not body.contains(shapely.Point((ends[0] + ends[1]) / 2 + square * 0.01))
                for vertex, at in zip(edge.edge, (index, index + 1), strict=True):
                    sums[vertex] += float((np.array(marked[at % len(marked)]) - ends[at - index]) @ square)
        worst[joint.name] = max(map(abs, sums.values()))
    assert plan.rounding is not None
    assert plan.rounding.gap == pytest.approx(max(worst.values()), abs=3e-3)  # alike blanks agree to 1e-3
    assert worst[plan.rounding.gap_at] == pytest.approx(plan.rounding.gap, abs=3e-3)
    rule = plan.sheet.making.rule
    assert plan.rounding.corner <= rule * math.sqrt(0.5) + CLOSE
    assert plan.rounding.gap <= 2 * rule * math.sqrt(0.5) + CLOSE


def test_blanks_without_seams_have_no_gap() -> None:
    shell, blanks = flat_pair(100.2)
    loose = [replace(blank, edges=()) for blank in blanks]
    rounding = rounding_of(mark_out(loose), shell, Display())
    assert (rounding.gap, rounding.gap_at) == (0.0, "")
