"""The order of folds, and where each bend line is set out from: plain arithmetic on outside sizes."""

import math
from typing import Any

import pytest
from hypothesis import assume, given

from calc import SheetFaults, read_sheet
from calc.blank import Blank
from calc.folding import Folding, fold_order
from calc.joins import folded
from calc.unfold import unfold
from tests.shapes import NAMED, fall_tray, pan, pans, sheet_of


def folds_of(shape: dict[str, Any], thickness: float = 1.5) -> tuple[Blank, tuple[Folding, ...]]:
    sheet = read_sheet({**sheet_of(shape), "material": {"alloy": "5052-H32", "thickness": thickness}})
    (blank,) = unfold(sheet.shape.shell(thickness), sheet)
    return blank, fold_order(blank)


def deduction(radius: float, thickness: float) -> float:
    """What a bend of 90 degrees takes off its two legs over all: 2 (R + T) less the allowance, K by DIN 6935."""
    k = 0.65 + 0.5 * math.log10(radius / thickness)
    return 2 * (radius + thickness) - math.pi / 2 * (radius + k / 2 * thickness)


def test_returns_come_before_walls_and_long_before_short() -> None:
    """Common practice: from the outside in, so that the jaw still gets in; 600 is the longer side."""
    _, order = folds_of(pan(600, 400, 50, inside_radius=2, return_width=20))
    assert [fold.name for fold in order] == ["B-Br", "D-Dr", "C-Cr", "E-Er", "A-B", "A-D", "A-C", "A-E"]
    assert [fold.way for fold in order] == ["DOWN"] * 4 + ["UP"] * 4


def test_a_pan_that_is_wider_than_long() -> None:
    _, order = folds_of(pan(400, 600, 50, inside_radius=2))
    assert {fold.name for fold in order[:2]} == {"A-C", "A-E"}
    assert {fold.name for fold in order[2:]} == {"A-B", "A-D"}


@pytest.mark.parametrize(("radius", "thickness"), [(2.0, 1.5), (1.0, 1.0), (4.0, 3.0)])
def test_bend_lines_of_a_pan_from_the_edge(radius: float, thickness: float) -> None:
    """A wall's bend line lies its height less half a deduction from the edge: the middle of a bend is half an allowance past
    the tangent line, and that R + T short of the outside."""
    blank, order = folds_of(pan(600, 400, 50, inside_radius=radius), thickness)
    assert [fold.distance for fold in order] == pytest.approx([50 - deduction(radius, thickness) / 2] * 4)
    assert all(fold.edge is not None and blank.edges[fold.edge[0]].kind == "free" for fold in order)


def test_bend_lines_of_a_pan_with_returns() -> None:
    """From the return's edge: its width less half a deduction; then width and height less one and a half."""
    _, order = folds_of(pan(600, 400, 50, inside_radius=2, return_width=20))
    less = deduction(2.0, 1.5)
    assert [fold.distance for fold in order[:4]] == pytest.approx([20 - less / 2] * 4)
    assert [fold.distance for fold in order[4:]] == pytest.approx([20 + 50 - 1.5 * less] * 4)


@given(pans())
def test_every_fold_is_made_once_from_the_outside_in(shape: dict[str, Any]) -> None:
    try:
        blank, order = folds_of(shape)
    except SheetFaults:
        assume(False)
        raise
    assert sorted(fold.name for fold in order) == sorted(fold.name for fold in blank.folds)
    names = [fold.name for fold in order]
    for wall in "BCDE":
        if f"{wall}-{wall}r" in names:
            assert names.index(f"{wall}-{wall}r") < names.index(f"A-{wall}")


@given(pans())
def test_a_bend_line_runs_at_its_distance_from_its_edge(shape: dict[str, Any]) -> None:
    try:
        blank, order = folds_of(shape)
    except SheetFaults:
        assume(False)
        raise
    for fold in order:
        if fold.edge is None:
            continue
        assert fold.distance is not None
        (ax, ay), (bx, by) = (blank.cut_outline[corner] for corner in fold.edge)
        length = math.dist((ax, ay), (bx, by))
        for x, y in fold.fold.line:
            assert abs((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length == pytest.approx(fold.distance, abs=1e-3)


def test_a_bend_line_that_runs_along_no_edge_has_its_ends_told() -> None:
    """On a falling floor the bend lines along it slope to the walls' level tops."""
    _, order = folds_of(pan(600, 400, 50, inside_radius=2, fall=12))
    by_name = {fold.name: fold for fold in order}
    assert (by_name["A-B"].edge, by_name["A-B"].distance) == (None, None)
    assert by_name["A-E"].edge is not None
    assert by_name["A-C"].edge is not None


def test_a_lap_from_its_edge() -> None:
    """Square tray 400, 40 deep: the lap turns down by atan(40/200), a ridge; from its edge to the middle of the bend it is the
    width less (R + T) tan(bend / 2) plus half an allowance."""
    shape = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 40)
    sheet = read_sheet(sheet_of({**shape, "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 1.5}}))
    blanks = unfold(sheet.shape.shell(1.5), sheet)
    bend = math.atan2(40, 200)
    wanted = 25 - 3 * math.tan(bend / 2) + bend * (1.5 + 0.65 / 2 * 1.5) / 2
    for blank in blanks:
        (fold,) = fold_order(blank)
        assert (fold.way, fold.distance) == ("DOWN", pytest.approx(wanted))


def test_facets_folded_together_turn_up_at_valleys_and_down_at_ridges() -> None:
    sheet = read_sheet(sheet_of(NAMED["reflex"]))
    shell = sheet.shape.shell(1.5)
    ways = {joint.name: "UP" if joint.dihedral < 180 else "DOWN" for joint in shell.joints}
    assert "DOWN" in ways.values()
    for joint in shell.joints:
        made = folded(shell, frozenset([frozenset(joint.edge)]), 2.0)
        found = [fold for blank in unfold(made, sheet) for fold in fold_order(blank)]
        assert [(fold.name, fold.way) for fold in found] == [(joint.name, ways[joint.name])]
        assert found[0].edge is None  # it runs from the rim to the low point
