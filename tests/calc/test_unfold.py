"""Blanks: true shapes, gaps, alike ones; what must hold for any tray."""

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings

from calc import SheetFaults, read_sheet
from calc.blank import Blank
from calc.outlines import base_edge, flipped, is_alike, take_off
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.unfold import unfold
from tests.shapes import MIRROR, NAMED, fall_tray, fall_trays, sheet_of


def unfolded(shape: dict[str, Any], **keys: Any) -> tuple[JobSheet, Shell, tuple[Blank, ...]]:
    sheet = read_sheet(sheet_of(shape, **keys))
    shell = sheet.shape.shell(1.5)
    return sheet, shell, unfold(shell, sheet)


def roomy(shape: dict[str, Any]) -> tuple[JobSheet, Shell, tuple[Blank, ...]]:
    try:
        return unfolded(shape)
    except SheetFaults:
        assume(False)
        raise


def space_from_blank(blank: Blank, shell: Shell) -> tuple[Any, Any]:
    """The rigid move (3 x 2 matrix, offset) that lays a blank's net outline on its face, by least squares."""
    net = np.array(blank.net_outline)
    space = np.array([shell.vertices[edge.edge[0]] for edge in blank.edges])
    flat, solid = net - net.mean(axis=0), space - space.mean(axis=0)
    left, _, right = np.linalg.svd(solid.T @ flat, full_matrices=False)
    turn = left @ right
    return turn, space.mean(axis=0) - turn @ net.mean(axis=0)


def off_line(point: Any, start: Any, end: Any) -> float:
    """How far a point in space is from the line through two others."""
    return float(np.linalg.norm(np.cross(end - start, point - start)) / np.linalg.norm(end - start))


@given(fall_trays())
def test_edges_are_the_edges_in_space(shape: dict[str, Any]) -> None:
    _, shell, blanks = roomy(shape)
    for blank in blanks:
        for i, edge in enumerate(blank.edges):
            flat = math.dist(blank.net_outline[i], blank.net_outline[(i + 1) % len(blank.edges)])
            solid = math.dist(shell.vertices[edge.edge[0]], shell.vertices[edge.edge[1]])
            assert flat == pytest.approx(solid, abs=1e-6)


@given(fall_trays())
def test_net_areas_sum_to_the_wet_surface(shape: dict[str, Any]) -> None:
    _, shell, blanks = roomy(shape)
    points = shell.points
    wet = sum(
        float(np.linalg.norm(np.cross(points[b] - points[a], points[c] - points[a]))) / 2
        for a, b, c in (face.loop for face in shell.faces)
    )
    assert math.fsum(blank.area for blank in blanks) == pytest.approx(wet, rel=1e-9)
    assert math.fsum(shapely.Polygon(blank.net_outline).area for blank in blanks) == pytest.approx(wet, rel=1e-9)


@settings(max_examples=60)
@given(fall_trays())
def test_cut_blanks_held_a_gap_apart_land_on_the_rim(shape: dict[str, Any]) -> None:
    sheet, shell, blanks = roomy(shape)
    gap = sheet.making.seam_gap
    for blank in blanks:
        turn, offset = space_from_blank(blank, shell)
        cut = [turn @ np.array(corner) + offset for corner in blank.cut_outline]
        for i, edge in enumerate(blank.edges):
            start, end = (np.array(shell.vertices[index]) for index in edge.edge)
            wanted = gap / 2 if edge.meets else 0.0
            for corner in (cut[i], cut[(i + 1) % len(cut)]):
                assert off_line(corner, start, end) == pytest.approx(wanted, abs=1e-6)


@given(fall_trays())
def test_outlines_lie_as_the_contract_says(shape: dict[str, Any]) -> None:
    _, _, blanks = roomy(shape)
    for blank in blanks:
        cut = shapely.Polygon(blank.cut_outline)
        assert cut.is_valid
        assert cut.exterior.is_ccw
        assert shapely.Polygon(blank.net_outline).exterior.is_ccw
        assert blank.cut_outline[0] == (0.0, 0.0)
        assert blank.cut_outline[1][1] == 0.0
        assert blank.cut_outline[1][0] > 0
        assert all(y > -1e-9 for _, y in blank.cut_outline)
        assert cut.within(shapely.Polygon(blank.net_outline).buffer(1e-9))


def test_mirrored_facets_are_found_alike() -> None:
    _, _, blanks = unfolded(MIRROR)
    assert [(blank.name, blank.same_as, blank.mirrored) for blank in blanks] == [
        ("A", None, False),
        ("B", None, False),
        ("C", "A", True),
        ("D", None, False),
    ]


def test_a_finished_face_is_never_turned_over() -> None:
    _, _, blanks = unfolded(MIRROR, material={"alloy": "304", "thickness": 1.5, "finished_face": True})
    assert [blank.same_as for blank in blanks] == [None, None, None, None]


def test_facets_alike_by_turning_need_no_turning_over() -> None:
    square = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 40)
    _, _, blanks = unfolded(square, material={"alloy": "304", "thickness": 1.5, "finished_face": True})
    assert [(blank.same_as, blank.mirrored) for blank in blanks] == [(None, False)] + [("A", False)] * 3


@given(fall_trays(), fall_trays())
def test_alike_is_told_from_unlike(one: dict[str, Any], other: dict[str, Any]) -> None:
    """A moved, turned or turned-over outline is alike; one of another tray is not (random ones never agree)."""
    _, _, blanks = roomy(one)
    outline = blanks[0].cut_outline
    turned = tuple((0.6 * x - 0.8 * y + 7, 0.8 * x + 0.6 * y - 3) for x, y in outline[1:] + outline[:1])
    assert is_alike(turned, outline)
    assert is_alike(flipped(flipped(outline)), outline)
    if one != other:
        strange = roomy(other)[2][0].cut_outline
        lengths = [sorted(math.dist(p, q) for p, q in zip(o, o[1:] + o[:1], strict=True)) for o in (outline, strange)]
        if not np.allclose(lengths[0], lengths[1], atol=1e-2):
            assert not is_alike(strange, outline)


def test_grain_lets_a_blank_turn_by_half_a_turn_only() -> None:
    parallelogram = ((0.0, 0.0), (80.0, 0.0), (100.0, 30.0), (20.0, 30.0))
    half_turned = tuple((100 - x, 30 - y) for x, y in parallelogram)
    quarter_turned = tuple((-y, x) for x, y in parallelogram)
    assert is_alike(half_turned, parallelogram, grain=True)
    assert is_alike(quarter_turned, parallelogram)
    assert not is_alike(quarter_turned, parallelogram, grain=True)


def test_a_gap_that_leaves_nothing_is_a_fault_of_the_gap() -> None:
    with pytest.raises(SheetFaults, match=r"sheet\.making\.seam_gap: leaves nothing of blank") as caught:
        unfolded(fall_tray([[0, 0], [8, 0], [8, 6], [0, 6]], [4, 3], 1), making={"seam_gap": 5})
    assert "\n" not in str(caught.value)


def test_too_many_blanks_are_a_fault_of_the_quantity() -> None:
    with pytest.raises(SheetFaults, match=r"sheet\.quantity: must be at most 400"):
        unfolded(NAMED["five"], quantity=401)


def test_the_base_is_the_longest_edge_that_all_lies_on_one_side_of() -> None:
    arrow = ((0.0, 0.0), (100.0, 0.0), (40.0, 20.0), (30.0, 90.0))  # the inner edges are longer than neither hull edge
    assert base_edge(arrow) == 0
    assert base_edge(((0.0, 0.0), (40.0, 0.0), (40.0, 90.0))) == 2


def test_take_off_moves_each_edge_by_its_own_margin() -> None:
    moved = take_off(((0, 0), (100, 0), (0, 100)), (0, 5, 10))
    assert moved is not None
    left = shapely.Polygon(moved)
    assert left.area == pytest.approx((90 - 5 * math.sqrt(2)) ** 2 / 2)  # legs 100 - 10 - 5 sqrt(2), by hand
    assert take_off(((0, 0), (10, 0), (0, 10)), (5, 5, 5)) is None


def test_area_and_mass() -> None:
    """Heron's area of the three true edges; the mass of what is cut, at 2680 kg/m3 and 1.5 mm."""
    _, shell, blanks = unfolded(NAMED["skew"])
    for blank, face in zip(blanks, shell.faces, strict=True):
        a, b, c = (shell.edge_length(edge) for edge in face.edges)
        half = (a + b + c) / 2
        assert blank.area == pytest.approx(math.sqrt(half * (half - a) * (half - b) * (half - c)))
        assert blank.mass == pytest.approx(shapely.Polygon(blank.cut_outline).area * 1.5 * 2680e-9)
