"""The fewest welds: against every choice there is, within the shop's limits, and never more weld than welding all."""

import math
from dataclasses import replace
from itertools import chain, combinations
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

from calc import Plan, SheetFaults, plan, read_sheet
from calc.bends import pieces
from calc.blank import Blank
from calc.flat import NotFlatError
from calc.joins import fewest_welds, fits_sheet, folded, join
from calc.outlines import longest_side
from calc.records import Outline
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.unfold import Flattening, unfold
from tests.shapes import NAMED, fall_tray, fall_trays, pan, ring, sheet_of

FEWEST = {"joins": "fewest-welds"}


def shelled(shape: dict[str, Any], **keys: Any) -> tuple[JobSheet, Shell]:
    making = {**FEWEST, **keys.pop("making", {})}
    sheet = read_sheet(sheet_of(shape, making=making, **keys))
    return sheet, sheet.shape.shell(1.5)


def weld_length(shell: Shell) -> float:
    return math.fsum(joint.length for joint in shell.welds)


def blanks_of(shell: Shell, sheet: JobSheet) -> list[Blank] | None:
    """The blanks of a choice of folds; None where one of them can't be laid flat."""
    flattening = Flattening.of(shell, sheet)
    try:
        return [flattening.blank(faces) for faces in pieces(shell.faces, shell.joints)]
    except (NotFlatError, SheetFaults):
        return None


def lies_on(outline: Outline, length: float, width: float) -> bool:
    """Whether an outline, turned with one side of its hull along the sheet's, lies on a sheet of this size."""
    hull = shapely.Polygon(outline).convex_hull
    corners = shapely.get_coordinates(hull)
    for along in np.diff(corners, axis=0):
        turned = affinity.rotate(hull, -math.degrees(math.atan2(along[1], along[0])), origin=(0, 0))
        west, south, east, north = turned.bounds
        sides = sorted((east - west, north - south))
        if sides[0] <= min(length, width) + 1e-6 and sides[1] <= max(length, width) + 1e-6:
            return True
    return False


def longest(outline: Outline) -> float:
    """The longer side of a box round an outline, turned so that this is least: by trying every hundredth of a degree."""
    hull = shapely.get_coordinates(shapely.Polygon(outline).convex_hull)
    sides = np.diff(hull, axis=0)
    turns = np.concatenate([np.radians(np.linspace(0, 90, 9001)), np.arctan2(sides[:, 1], sides[:, 0])])
    spans = [np.ptp(hull @ [np.cos(angle), np.sin(angle)], axis=0) for angle in (turns, turns + np.pi / 2)]
    return float(np.maximum(*spans).min())


def may_be(shell: Shell, sheet: JobSheet) -> bool:
    """Whether a choice of folds may be made within the shop's limits."""
    if any(joint.length > sheet.making.longest_fold for joint in shell.folds):
        return False
    blanks = blanks_of(shell, sheet)
    trim = sheet.making.edge_trim
    return blanks is not None and all(
        longest(blank.cut_outline) <= sheet.making.largest_blank
        and any(lies_on(blank.cut_outline, size.length - 2 * trim, size.width - 2 * trim) for size in sheet.stock)
        for blank in blanks
        if blank.folds
    )


def least_of_all(shell: Shell, sheet: JobSheet) -> float:
    """The least weld length over every set of joints folded, by trying them all."""
    edges = [frozenset(joint.edge) for joint in shell.welds]
    sets = chain.from_iterable(combinations(edges, count) for count in range(len(edges) + 1))
    tried = (folded(shell, frozenset(chosen), sheet.making.fold_radius) for chosen in sets)
    return min(weld_length(made) for made in tried if may_be(made, sheet))


# --- against every choice


@settings(max_examples=10)
@given(fall_trays(3, 6), st.sampled_from(({}, {"longest_fold": 420}, {"largest_blank": 700})))
def test_no_choice_leaves_less_to_weld(shape: dict[str, Any], limits: dict[str, float]) -> None:
    try:
        sheet, shell = shelled(shape, making=limits)
        unfold(shell, sheet)
    except SheetFaults:
        assume(False)
        raise
    assert weld_length(fewest_welds(shell, sheet)) == pytest.approx(least_of_all(shell, sheet), abs=1e-6)


def test_a_blank_grown_larger_is_never_taken_for_shorter() -> None:
    """By the box least in area, the longer side of this tray's pieces shrinks as a facet is added: from over 700 to under."""
    rim = [[170, 0], [29, 74], [-59, 54], [-525, -79], [-35, -153], [120, -151]]
    sheet, shell = shelled(fall_tray(rim, [0, 0], 46), making={"largest_blank": 700})
    assert weld_length(fewest_welds(shell, sheet)) == pytest.approx(least_of_all(shell, sheet), abs=1e-6)


def test_the_longer_side_of_a_box() -> None:
    """By hand: a rectangle is as long as it is; a square on its corner, sides of 100, lies in a box of 100."""
    assert longest_side(((0, 0), (2500, 0), (2500, 1250), (0, 1250))) == pytest.approx(2500)
    corner = math.sqrt(2) * 50
    assert longest_side(((corner, 0), (2 * corner, corner), (corner, 2 * corner), (0, corner))) == pytest.approx(100)


@given(fall_trays(3, 9))
def test_the_longer_side_of_a_box_by_trying_every_turn(shape: dict[str, Any]) -> None:
    rim = tuple((x, y) for x, y in shape["rim"])
    assert longest(rim) - 0.15 < longest_side(rim) < longest(rim) + 1e-6


@pytest.mark.parametrize("name", NAMED)
def test_named_trays_against_every_choice(name: str) -> None:
    sheet, shell = shelled(NAMED[name])
    assert weld_length(join(shell, sheet)) == pytest.approx(least_of_all(shell, sheet), abs=1e-6)


def test_seven_facets_on_a_small_sheet_against_every_choice() -> None:
    sheet, shell = shelled(ring(7, 400.0), stock=[{"length": 1000, "width": 700}])
    made = fewest_welds(shell, sheet)
    assert weld_length(made) == pytest.approx(least_of_all(shell, sheet), abs=1e-6)
    assert 1 < len(made.welds) < 7  # the sheet is too small for all of it in one


def test_a_square_tray_leaves_one_seam() -> None:
    """By hand: four equal seams, three folds at the most, so that one seam of hypot(200, 200, 40) stays."""
    sheet, shell = shelled(fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 40))
    assert weld_length(fewest_welds(shell, sheet)) == pytest.approx(math.hypot(200, 200, 40))


def test_the_shortest_seam_is_what_stays() -> None:
    """By hand: the low point of this tray is nearest to corner 2, and all else can be folded."""
    sheet, shell = shelled(fall_tray([[0, 0], [500, 0], [500, 400], [0, 400]], [420, 120], 40))
    (left,) = fewest_welds(shell, sheet).welds
    assert left.length == pytest.approx(math.hypot(80, 120, 40))


def test_of_equal_welds_the_least_sheet_is_taken() -> None:
    """Any one of four equal seams may stay: what is taken of the sheet is no more than with any other of them."""
    sheet, shell = shelled(NAMED["mirror"], stock=[{"length": 1250, "width": 1000}])
    planned = plan(sheet)
    lengths = sorted(joint.length for joint in shell.welds)
    assert lengths[0] == pytest.approx(lengths[1])  # low point half-way up: the seams pair off
    taken = []
    for left in shell.welds:
        chosen = frozenset(frozenset(joint.edge) for joint in shell.welds if joint is not left)
        made = folded(shell, chosen, sheet.making.fold_radius)
        if weld_length(made) < lengths[0] + 1e-6:
            taken.append(sheet_taken(plan_of(made, sheet)))
    assert len(taken) == 2
    assert sheet_taken(planned) <= min(taken) + 1e-3


def plan_of(shell: Shell, sheet: JobSheet) -> Plan:
    """A plan with a given choice of folds, through the layout."""
    from calc.layout.job import lay_out_job

    blanks = unfold(shell, sheet)
    return replace(plan(sheet), shell=shell, blanks=blanks, layout=lay_out_job(blanks, sheet))


def sheet_taken(planned: Plan) -> float:
    opened = math.fsum(used.length * used.width for used in planned.layout.sheets)
    return opened - math.fsum(
        shapely.Polygon(kept.outline).area for used in planned.layout.sheets for kept in used.offcuts
    )


# --- the shop's limits


@settings(max_examples=10)
@given(fall_trays(3, 9), st.floats(100.0, 900.0), st.floats(300.0, 1500.0))
def test_limits_are_kept_and_nothing_is_lost(shape: dict[str, Any], fold: float, blank: float) -> None:
    try:
        sheet, shell = shelled(shape, making={"longest_fold": fold, "largest_blank": blank})
        unfold(shell, sheet)
    except SheetFaults:
        assume(False)
        raise
    made = fewest_welds(shell, sheet)
    assert all(joint.length <= fold for joint in made.folds)
    assert all(longest(each.cut_outline) <= blank + 0.1 for each in unfold(made, sheet) if each.folds)
    assert weld_length(made) <= weld_length(shell)
    assert [frozenset(joint.edge) for joint in made.joints] == [frozenset(joint.edge) for joint in shell.joints]


def test_a_folder_too_short_for_any_seam_folds_none() -> None:
    sheet, shell = shelled(NAMED["skew"], making={"longest_fold": 20})
    assert join(shell, sheet) == shell


def test_blanks_that_would_need_a_larger_sheet_are_left_apart() -> None:
    """The tray is 742 x 398: on sheets of 760 x 220 no two facets go together, as each pair is wider than that."""
    sheet, shell = shelled(NAMED["skew"], stock=[{"length": 760, "width": 220}])
    assert join(shell, sheet).folds == ()


def test_weld_all_is_left_alone() -> None:
    sheet, shell = shelled(NAMED["skew"], making={"joins": "weld-all"})
    assert join(shell, sheet) is shell


def test_a_pan_has_no_say_in_its_joins() -> None:
    sheet, shell = shelled(pan(300, 200, 40, inside_radius=2))
    assert [joint.kind for joint in join(shell, sheet).joints] == [joint.kind for joint in shell.joints]


def test_flat_laps_keep_facets_apart() -> None:
    """Two laps take 270 degrees round a corner of the rim and the facets, which dip, more than the 90 that are left."""
    shape = {**NAMED["skew"], "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}}
    planned = plan(sheet_of(shape, making=FEWEST))
    assert [blank.faces for blank in planned.blanks] == [(name, f"{name}r") for name in "ABCD"]
    assert planned.takeoff.weld_length == plan(sheet_of(shape)).takeoff.weld_length


def test_upstands_stay_folded_beside_folds_of_facets() -> None:
    shape = {**NAMED["skew"], "rim_finish": {"kind": "upstand", "height": 25, "inside_radius": 2}}
    planned = plan(sheet_of(shape, making=FEWEST))
    assert len(planned.blanks) == 1
    assert planned.takeoff.fold_count == 3 + 4
    assert planned.takeoff.weld_length < plan(sheet_of(shape)).takeoff.weld_length


def test_grain_along_the_sheet_is_kept() -> None:
    """An outline 900 x 300 turned by nothing but half turns does not lie across a sheet 400 x 1000."""
    outline = ((0.0, 0.0), (900.0, 0.0), (900.0, 300.0), (0.0, 300.0))
    size = [{"length": 400, "width": 1000}]
    metal = {"alloy": "304", "thickness": 1.5}
    free = read_sheet({**sheet_of(NAMED["skew"], stock=size), "material": metal})
    grained = read_sheet({**sheet_of(NAMED["skew"], stock=size), "material": {**metal, "grain": True}})
    assert fits_sheet(outline, free.stock[0], free)
    assert not fits_sheet(outline, grained.stock[0], grained)


def test_a_dozen_facets_are_planned_in_one_piece() -> None:
    planned = plan(sheet_of(ring(12), making=FEWEST))
    assert len(planned.shell.welds) == 1
    assert planned.takeoff.fold_count == 11
