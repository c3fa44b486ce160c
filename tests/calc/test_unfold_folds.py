"""Folded blanks: folded up again they land on the shell, they nowhere lie on themselves, reliefs where bends meet."""

import math
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc import SheetFaults, plan, read_sheet
from calc.bends import pieces
from calc.blank import Blank
from calc.flat import NotFlatError
from calc.joins import folded, is_between_facets
from calc.records import as_json
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.unfold import Flattening, unfold
from tests.calc.refold import misfit, refold, split
from tests.shapes import MAKING_OF, NAMED, fall_tray, fall_trays, finished_trays, methods, pan, pans, ring, sheet_of

DIGITS = 12  # finer than a plan is stored, so that what is measured is the unfolding and not the rounding
LANDS = 1e-6  # [mm]
thicknesses = st.sampled_from((0.8, 1.5, 3.0))


def unfolded(shape: dict[str, Any], making: dict[str, Any], thickness: float) -> tuple[JobSheet, Shell, list[Blank]]:
    sheet = read_sheet({**sheet_of(shape, making=making), "material": {"alloy": "5052-H32", "thickness": thickness}})
    shell = sheet.shape.shell(thickness)
    return sheet, shell, list(unfold(shell, sheet))


def roomy(shape: dict[str, Any], making: dict[str, Any], thickness: float) -> tuple[JobSheet, Shell, list[Blank]]:
    try:
        return unfolded(shape, making, thickness)
    except SheetFaults:
        assume(False)
        raise


def lands(sheet: JobSheet, shell: Shell, blank: Blank) -> bool:
    """Whether a blank folded up lies on the shell's faces, and falls apart in faces and bends with nothing over."""
    data = as_json(blank, DIGITS)
    cores, zones = split(data)
    assert set(cores) == set(blank.faces)
    whole = shapely.Polygon(blank.cut_outline)
    assert whole.is_valid
    parts = math.fsum(core.area for core in cores.values()) + math.fsum(zone.area for zone in zones)
    assert parts == pytest.approx(whole.area, rel=1e-9)
    return misfit(as_json(shell, DIGITS), data, sheet.material.thickness, sheet.making.seam_gap) < LANDS


# --- folded up again


@settings(max_examples=60)
@given(finished_trays(), methods, thicknesses)
def test_trays_with_rims_fold_up_to_their_shell(
    shape: dict[str, Any], making: dict[str, Any], thickness: float
) -> None:
    sheet, shell, blanks = roomy(shape, making, thickness)
    assert all(lands(sheet, shell, blank) for blank in blanks)


@settings(max_examples=60)
@given(pans(), methods, thicknesses)
def test_pans_fold_up_to_their_shell(shape: dict[str, Any], making: dict[str, Any], thickness: float) -> None:
    sheet, shell, (blank,) = roomy(shape, making, thickness)
    assert lands(sheet, shell, blank)


@pytest.mark.parametrize("making", MAKING_OF.values(), ids=list(MAKING_OF))
@pytest.mark.parametrize(
    "shape",
    [
        {**NAMED["reflex"], "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}},
        {**NAMED["skew"], "rim_finish": {"kind": "upstand", "height": 30, "inside_radius": 1.5}},
        pan(620, 410, 55, inside_radius=2, fall=12, return_width=20),
    ],
    ids=["lapped", "upstand", "pan"],
)
def test_a_plan_as_it_is_stored_folds_up(shape: dict[str, Any], making: dict[str, Any]) -> None:
    """Stored lengths are round to 1e-7 mm, which a long flat beside a short fold makes some times more."""
    data = plan(sheet_of(shape, making=making)).as_json()
    for blank in data["blanks"]:
        assert misfit(data["shell"], blank, 1.5, 0.5) < LANDS


def test_folding_up_notices_a_wrong_allowance() -> None:
    sheet, shell, (blank,) = unfolded(pan(300, 200, 40, inside_radius=2), {}, 1.5)
    data = as_json(blank, DIGITS)
    assert misfit(as_json(shell, DIGITS), data, 1.5, sheet.making.seam_gap) < LANDS
    data["folds"][0]["inside_radius"] += 0.1
    assert misfit(as_json(shell, DIGITS), data, 1.5, sheet.making.seam_gap) > 0.05
    data["folds"][0]["angle"] = -90
    assert refold(data, 1.5)["B"][:, 2].min() < -20  # the wall goes down


# --- every choice of folds


def choices(shell: Shell) -> Iterator[frozenset[frozenset[int]]]:
    """Every set of facets' joints that closes no ring: round one low point all but the whole of them."""
    joints = [frozenset(joint.edge) for joint in shell.joints if is_between_facets(joint, shell)]
    for count in range(len(joints)):
        yield from (frozenset(chosen) for chosen in combinations(joints, count))


@settings(max_examples=8)
@given(st.one_of(fall_trays(3, 6), finished_trays(3, 5)), methods)
def test_every_choice_of_folds_folds_up(shape: dict[str, Any], making: dict[str, Any]) -> None:
    sheet, shell, _ = roomy(shape, making, 1.5)
    for chosen in choices(shell):
        made = folded(shell, chosen, 2.0)
        flattening = Flattening.of(made, sheet)
        for faces in pieces(made.faces, made.joints):
            try:
                blank = flattening.blank(faces)
            except (NotFlatError, SheetFaults):
                assert sum(face.role == "facet" for face in faces) > 1
            else:
                assert lands(sheet, made, blank)


def test_folds_all_the_way_round_are_refused() -> None:
    sheet, shell, _ = unfolded(NAMED["skew"], {}, 1.5)
    made = folded(shell, frozenset(frozenset(joint.edge) for joint in shell.joints), 2.0)
    with pytest.raises(
        NotFlatError, match=r"all the way round the faces A, B, C, D: one of their joints must be a weld"
    ):
        Flattening.of(made, sheet).blank(made.faces)
    with pytest.raises(SheetFaults, match=r"^sheet\.\S+: folds go all the way round"):
        unfold(made, sheet)


def test_a_piece_that_lies_on_itself_is_refused() -> None:
    """Round a low point with ridges there may be more than a full turn of metal: here the angles of six facets that rise
    and fall by turns come to over 360 degrees (law of cosines), so that five of them in one piece overlap."""
    star = [[r * math.cos(i * math.pi / 4), r * math.sin(i * math.pi / 4)] for i, r in enumerate([600, 120] * 4)]
    sheet, shell, _ = unfolded(fall_tray(star, [0, 0], 220), {}, 1.5)
    assert math.fsum(angle_at_low_point(shell, i) for i in range(8)) > 360 + 2
    *most, _ = (frozenset(joint.edge) for joint in shell.joints)
    made = folded(shell, frozenset(most), 2.0)
    with pytest.raises(NotFlatError, match=r"the faces A, B, C, D, E, F, G, H overlap when laid flat in one piece"):
        Flattening.of(made, sheet).blank(made.faces)


def angle_at_low_point(shell: Shell, face: int) -> float:
    one, other, low = (shell.vertices[index] for index in shell.faces[face].loop)
    a, b, c = math.dist(one, low), math.dist(other, low), math.dist(one, other)
    return math.degrees(math.acos((a * a + b * b - c * c) / (2 * a * b)))


# --- reliefs


def test_one_fold_alone_has_no_relief() -> None:
    """Two facets folded together: at the low point and at the rim their bend ends between welds."""
    sheet, shell, _ = unfolded(NAMED["skew"], {}, 1.5)
    made = folded(shell, frozenset([frozenset(shell.joints[0].edge)]), 2.0)
    assert all(blank.holes == () for blank in unfold(made, sheet))


@pytest.mark.parametrize(("radius", "thickness"), [(0.5, 1.5), (2.0, 1.5), (4.0, 3.0)])
def test_reliefs_of_a_pan(radius: float, thickness: float) -> None:
    """Two bends of 90 degrees meet at each floor corner, square to each other: at least the greater of R + T and
    w / (2 sin 45), w = pi/2 (R + k/2 T) wide with k of DIN 6935."""
    _, _, (blank,) = unfolded(pan(300, 200, 60, inside_radius=radius), {}, thickness)
    k = 0.65 + 0.5 * math.log10(radius / thickness)
    width = math.pi / 2 * (radius + k / 2 * thickness)
    wanted = 2 * max(radius + thickness, width / (2 * math.sin(math.pi / 4)))
    assert [hole.purpose for hole in blank.holes] == ["relief"] * 4
    assert {hole.diameter for hole in blank.holes} == {math.ceil(2 * wanted) / 2}


def test_reliefs_of_a_pan_in_inches_are_drilled_by_sixty_fourths() -> None:
    """R 2 and T 1.5: 3.5 in radius, 7 / 25.4 = 17.64 sixty-fourths across."""
    _, _, (blank,) = unfolded(pan(300, 200, 60, inside_radius=2), {"units": "in"}, 1.5)
    assert [hole.diameter for hole in blank.holes] == pytest.approx([18 / 64 * 25.4] * 4)


def test_reliefs_of_returns() -> None:
    """Bends of neighbouring returns end at one corner of the pan, each on its own wall: both walls are drilled there."""
    _, _, (blank,) = unfolded(pan(300, 200, 60, inside_radius=2, return_width=20), {}, 1.5)
    assert len(blank.holes) == 4 + 2 * 4


def test_a_relief_covers_where_the_bends_run_into_each_other() -> None:
    _, _, (blank,) = unfolded(pan(300, 200, 60, inside_radius=3), {}, 1.5)
    _, zones = split(as_json(blank, DIGITS))
    for hole in blank.holes:
        disc = shapely.Point(hole.centre).buffer(hole.diameter / 2, quad_segs=64)
        assert sum(zone.intersects(disc) for zone in zones) == 2
    discs = shapely.union_all([shapely.Point(hole.centre).buffer(hole.diameter / 2) for hole in blank.holes])
    left = [zone.difference(discs) for zone in zones]
    assert all(one.distance(other) > 0 for one, other in combinations(left, 2))


@settings(max_examples=20)
@given(fall_trays(4, 6), st.floats(0.0, 4.0))
def test_reliefs_at_a_low_point_are_wide_enough(shape: dict[str, Any], radius: float) -> None:
    """max(R + T, w / (2 sin(phi / 2))): phi the angle of the one facet between two folds, by the law of cosines; w the wider
    bend, each its angle times (R + k/2 T)."""
    sheet, shell, _ = roomy(shape, {"bend_method": "k-factor", "k_factor": 0.4}, 1.5)
    by_face = {frozenset(joint.between): joint for joint in shell.joints}
    pair = [by_face[frozenset(names)] for names in (("A", "B"), ("B", "C"))]
    made = folded(shell, frozenset(frozenset(joint.edge) for joint in pair), radius)
    try:
        blank = next(blank for blank in unfold(made, sheet) if "B" in blank.faces)
    except SheetFaults:
        assume(False)
        raise
    width = max(math.radians(abs(180 - joint.dihedral)) * (radius + 0.4 * 1.5) for joint in pair)
    phi = math.radians(angle_at_low_point(shell, 1))
    (hole,) = blank.holes
    least = 2 * max(radius + 1.5, width / (2 * math.sin(phi / 2)))
    assert least - 1e-6 <= hole.diameter < least + 0.5
    assert hole.diameter % 0.5 == 0


@pytest.mark.parametrize(("bore", "purpose", "diameter"), [(40, "outlet", 40), (5, "relief", 2 * 3.5)])
def test_the_outlet_serves_as_the_relief_where_it_is_large_enough(bore: float, purpose: str, diameter: float) -> None:
    """R 2 and T 1.5: at least 3.5 in radius; the shallow bends of a tray are far narrower than that."""
    sheet, shell, _ = unfolded({**NAMED["skew"], "outlet": {"bore": bore}}, {}, 1.5)
    joints = [frozenset(joint.edge) for joint in shell.joints[:3]]
    made = folded(shell, frozenset(joints), 2.0)
    (blank,) = unfold(made, sheet)
    assert [(hole.purpose, hole.diameter) for hole in blank.holes] == [(purpose, pytest.approx(diameter))]


def test_holes_are_in_the_plan_and_off_the_mass() -> None:
    planned = plan(sheet_of(ring(6), making={"joins": "fewest-welds"}))
    (blank,) = planned.blanks
    (data,) = planned.as_json()["blanks"]
    (hole,) = data["holes"]
    assert set(hole) >= {"centre", "diameter"}
    assert (hole["purpose"], hole["diameter"]) == ("outlet", 32.0)
    disc = shapely.Point(hole["centre"]).buffer(16, quad_segs=256)
    cut = shapely.Polygon(data["cut_outline"]).difference(disc)
    assert blank.mass == pytest.approx(cut.area * 1.5 * 2680e-9, rel=1e-5)
