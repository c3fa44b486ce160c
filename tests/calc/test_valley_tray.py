"""Valley trays: flat facets without gaps that fall to the deep end, folds where they are split, every fault in words."""

import itertools
import math
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc import Plan, SheetFaults, read_sheet
from calc.bends import pieces
from calc.drainage import depth_for_fall, drain, litres, times_deeper
from calc.joins import fewest_welds, folded, join, may_fold
from calc.shell import Shell
from calc.unfold import Flattening, unfold
from tests.calc.asking import faults_of, planned, shell_of
from tests.calc.test_joins import lies_on
from tests.shapes import DEEP_FIRST, LEVEL_VALLEY, SKEW_RIM, TWISTED, VALLEYS, sheet_of, valley_tray, valley_trays

RECTANGLE = [[0, 0], [900, 0], [900, 400], [0, 400]]
REFLEX = [[0, 0], [900, 0], [450, 150], [0, 400]]


def told(shape: dict[str, Any]) -> list[str]:
    """The faults of a shape; none where it is sound."""
    try:
        read_sheet(sheet_of(shape))
    except SheetFaults as error:
        return [str(fault) for fault in error.faults]
    return []


def deepest(shell: Shell) -> int:
    return min(range(len(shell.vertices)), key=lambda index: shell.vertices[index][2])


@given(valley_trays())
def test_facets_are_flat(shape: dict[str, Any]) -> None:
    """The least singular value of a facet's corners about their middle: 0 where they lie in one plane."""
    shell = shell_of(shape)
    for face in shell.faces:
        spread = shell.corners(face) - shell.corners(face).mean(axis=0)
        assert np.linalg.svd(spread, compute_uv=False)[-1] <= 1e-6 * np.abs(spread).max() * 3


@given(valley_trays())
def test_facets_cover_the_rim_once(shape: dict[str, Any]) -> None:
    shell = shell_of(shape)
    rim = shapely.Polygon(shape["rim"])
    plans = [shapely.Polygon([vertex[:2] for vertex in shell.corners(face)]) for face in shell.faces]
    assert all(facet.is_valid and facet.exterior.is_ccw for facet in plans)
    assert math.fsum(facet.area for facet in plans) == pytest.approx(rim.area, rel=1e-9)
    for one, other in itertools.combinations(plans, 2):
        assert one.intersection(other).area < 1e-6 * rim.area
    assert {frozenset(edge) for edge in shell.free_edges()} == {frozenset((i, (i + 1) % 4)) for i in range(4)}


@given(valley_trays())
def test_with_a_lid_the_shell_is_closed(shape: dict[str, Any]) -> None:
    """trimesh: watertight, and the volume that it encloses. The lid is a fan over the deep end, which sees every side."""
    shell = shell_of(shape)
    low = deepest(shell)
    points = np.vstack([shell.points, [*shell.vertices[low][:2], 0.0]])
    triangles = [
        (face.loop[0], face.loop[i], face.loop[i + 1]) for face in shell.faces for i in range(1, len(face.loop) - 1)
    ]
    lid = [((i + 1) % 4, i, len(points) - 1) for i in range(4)]
    mesh = trimesh.Trimesh(points, [*triangles, *lid], process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert litres(shell) == pytest.approx(abs(mesh.volume) * 1e-6, rel=1e-6)


@given(valley_trays())
def test_every_way_down_ends_at_the_deep_end(shape: dict[str, Any]) -> None:
    """No corner but the deep end is lower than all its neighbours, and no facet is level."""
    shell = shell_of(shape)
    low = deepest(shell)
    assert shell.vertices[low][2] == -max(depth for _, _, depth in shape["valley"])
    level = shape["valley"][0][2] == shape["valley"][1][2]
    for index, (_, _, z) in enumerate(shell.vertices):
        around = {other for face in shell.faces for edge in face.edges if index in edge for other in edge} - {index}
        lower = min(shell.vertices[other][2] for other in around)
        assert index == low or lower < z or (level and lower == z)
    assert all(fall.fall > 0 for fall in drain(shell).falls)


@given(valley_trays())
def test_blanks_hold_all_the_metal(shape: dict[str, Any]) -> None:
    """trimesh: the area of the facets as a mesh."""
    sheet = read_sheet(sheet_of(shape))
    shell = join(sheet.shape.shell(1.5), sheet)
    try:
        blanks = unfold(shell, sheet)
    except SheetFaults:
        assume(False)
        raise
    triangles = [
        (face.loop[0], face.loop[i], face.loop[i + 1]) for face in shell.faces for i in range(1, len(face.loop) - 1)
    ]
    area = trimesh.Trimesh(shell.points, triangles, process=False).area
    assert math.fsum(blank.area for blank in blanks) == pytest.approx(area, rel=1e-9)
    assert math.fsum(shapely.Polygon(blank.net_outline).area for blank in blanks) == pytest.approx(area, rel=1e-6)


@given(valley_trays())
def test_a_rim_typed_the_other_way_round_is_the_same_tray(shape: dict[str, Any]) -> None:
    """Sides 3-0 and 1-2 are the same sides in a rim run backward, and keep their ends of the valley."""
    assert shell_of(shape) == shell_of({**shape, "rim": shape["rim"][::-1]})


def test_a_twisted_facet_is_split_from_the_corner_by_the_shallow_end() -> None:
    shell = shell_of(TWISTED)
    assert {face.name: face.loop for face in shell.faces} == {
        "A": (0, 1, 5), "B": (1, 2, 5), "C": (2, 3, 5), "D": (3, 0, 4), "E": (0, 5, 4), "F": (3, 4, 5),
    }  # fmt: skip
    assert {joint.name: frozenset(joint.edge) for joint in shell.folds} == {"A-E": {0, 5}, "C-F": {3, 5}}
    first_deep = shell_of(DEEP_FIRST)
    assert {joint.name: frozenset(joint.edge) for joint in first_deep.folds} == {"A-E": {1, 4}, "C-F": {2, 4}}


def test_facets_that_lie_flat_are_whole() -> None:
    """In a rectangle a level valley along the middle lets both long facets lie flat; a valley that falls lets neither."""
    assert [len(face.loop) for face in shell_of(LEVEL_VALLEY).faces] == [4, 3, 4, 3]
    falling = valley_tray(RECTANGLE, [[200, 200, 40], [700, 200, 50]])
    assert [face.name for face in shell_of(falling).faces] == list("ABCDEF")


def test_one_facet_may_be_split_and_the_other_whole() -> None:
    """By hand: the line through (200, 200, -40) and (700, 160, -32) rises to the rim at (2700, 0), on the line of side 1,
    so that side 1 and the valley lie in one plane; side 3 (y = 400) runs no such way."""
    shell = shell_of(valley_tray(RECTANGLE, [[200, 200, 40], [700, 160, 32]]))
    assert {face.name: len(face.loop) for face in shell.faces} == {"A": 4, "B": 3, "C": 3, "D": 3, "F": 3}


def test_the_deep_end_takes_the_outlet() -> None:
    assert read_sheet(sheet_of(TWISTED)).shape.outlet_at == (650, 215)
    assert read_sheet(sheet_of({**DEEP_FIRST, "outlet": {"bore": 30}})).shape.outlet_at == (190, 180)
    assert read_sheet(sheet_of({**LEVEL_VALLEY, "outlet": {"bore": 30}})).shape.outlet_at == (700, 200)


def test_a_level_valley_is_allowed_and_warned_of() -> None:
    found = planned(LEVEL_VALLEY)
    assert (found.drainage.least_fall, found.drainage.least_fall_at) == (0.0, "seam A-C")
    assert "level" in [warning.code for warning in found.warnings]
    with pytest.raises(ValueError, match="seam A-C is level"):
        depth_for_fall(found.shell, 0.02)


def test_falls_by_hand() -> None:
    """The valley drops 17 in hypot(500, 5); facet D falls 40 in the distance of (150, 210) from the line of side 4."""
    found = planned(TWISTED).drainage
    assert found.least_fall == pytest.approx(17 / math.hypot(500, 5), rel=1e-9)
    assert found.least_fall_at == "seam E-F"
    distance = shapely.LineString([[-5, 420], [0, 0]]).distance(shapely.Point(150, 210))
    assert {fall.face: fall.fall for fall in found.falls}["D"] == pytest.approx(40 / distance, rel=1e-9)


@given(valley_trays(), st.floats(0.002, 0.2))
def test_both_ends_are_deepened_together_for_a_wanted_fall(shape: dict[str, Any], wanted: float) -> None:
    shell = shell_of(shape)
    assume(drain(shell).least_fall > 1e-4)
    times = times_deeper(shell, wanted)
    assert depth_for_fall(shell, wanted) == pytest.approx(times * max(end[2] for end in shape["valley"]))
    deeper = {**shape, "valley": [[x, y, depth * times] for x, y, depth in shape["valley"]]}
    assume(all(0.02 < depth < 19_000 for _, _, depth in deeper["valley"]))
    assert drain(shell_of(deeper)).least_fall == pytest.approx(wanted, rel=1e-4)


def test_what_no_depth_gives_is_said_in_words() -> None:
    shell = shell_of(TWISTED)
    with pytest.raises(ValueError, match=r"would need a depth of \d+ mm, and no shape is deeper than 20000 mm"):
        depth_for_fall(shell, 50)
    for wanted in (0.0, -0.02, math.nan, math.inf):
        with pytest.raises(ValueError, match="the wanted fall must be more than 0"):
            depth_for_fall(shell, wanted)


@pytest.mark.parametrize("name", VALLEYS)
@pytest.mark.parametrize("finish", [{"kind": "bare"}, {"kind": "lap", "width": 25}, {"kind": "upstand", "height": 20}])
@pytest.mark.parametrize("joins", ["weld-all", "fewest-welds"])
def test_planned_whole(name: str, finish: dict[str, Any], joins: str) -> None:
    """Folds of split facets are there whatever the joins, at the making's radius; a stored plan reads as itself."""
    found = planned({**VALLEYS[name], "rim_finish": finish, "outlet": {"bore": 32}}, joins=joins)
    split = {joint.name: joint for joint in found.shell.joints if joint.name in {"A-E", "C-F"}}
    assert len(split) == (0 if name == "level" else 2)
    assert all((joint.kind, joint.inside_radius) == ("fold", 1.5) for joint in split.values())
    assert Plan.from_json(found.as_json()).as_json() == found.as_json()
    assert not found.layout.unplaced
    assert sum(fold.name in split for blank in found.blanks for fold in blank.folds) == len(split)
    assert len([step for step in found.steps if step.kind == "fold"]) > 0 or name == "level"


def test_the_fold_takes_the_radius_of_the_making() -> None:
    assert {joint.inside_radius for joint in planned(TWISTED, fold_radius=4).shell.folds} == {4.0}


def test_a_blank_that_a_slant_fold_crosses_is_sawn_straight() -> None:
    """Facet and part lie beside each other as one blank whose bend ends within a hair of its hull: nothing is cut by hand."""
    found = {blank.name: blank for blank in planned(TWISTED).blanks}
    assert set(found) == {"AE", "B", "CF", "D"}
    assert all(not blank.hand_cuts for blank in found.values())


@settings(max_examples=25)
@given(valley_trays())
def test_no_choice_of_folds_leaves_less_to_weld(shape: dict[str, Any]) -> None:
    """All choices are tried: those of the seams that close no ring and lie flat on the sheet leave no less."""
    sheet = read_sheet(sheet_of(shape, making={"largest_blank": 20000}))
    shell = join(sheet.shape.shell(1.5), sheet)
    joints = [joint for joint in shell.welds if may_fold(joint, shell, sheet)]
    kept = {frozenset(joint.edge) for joint in shell.folds}
    best = math.fsum(joint.length for joint in shell.welds)
    for count in range(len(joints) + 1):
        for some in itertools.combinations(joints, count):
            made = folded(shell, frozenset(frozenset(joint.edge) for joint in some), 1.5)
            if can_be_made(made, sheet):
                best = min(best, math.fsum(joint.length for joint in made.welds))
    found = fewest_welds(shell, sheet)
    assert math.fsum(joint.length for joint in found.welds) == pytest.approx(best, abs=1e-5)
    assert kept <= {frozenset(joint.edge) for joint in found.folds}


def can_be_made(shell: Shell, sheet: Any) -> bool:
    """Whether every piece lies flat in one, on a sheet of the stock with the trim kept clear."""
    try:
        blanks = [Flattening.of(shell, sheet).blank(faces) for faces in pieces(shell.faces, shell.joints)]
    except ValueError:
        return False
    length, width = (size - 2 * sheet.making.edge_trim for size in (sheet.stock[0].length, sheet.stock[0].width))
    return all(lies_on(blank.cut_outline, length, width) for blank in blanks if blank.folds)


def test_the_words_of_the_work_are_a_valley_s() -> None:
    text = {step.key: step.text for step in planned(TWISTED).steps}
    assert "both ends of the valley from two sides" in text["measure:rim"]
    assert "depths 40 mm and 57 mm at the ends of the valley" in text["check:tacked"]
    assert "depths 40 mm and 57 mm at the ends of the valley" in text["check:as-built"]
    assert "at the deep end of the valley, after welding" in text["outlet:bore"]


VALLEY = [[150, 200, 40], [700, 200, 57]]
BAD = [
    ({"rim": RECTANGLE[:3]}, "sheet.shape.rim: must hold 4 corners (got 3)"),
    ({"rim": [*RECTANGLE, [-50, 200]]}, "sheet.shape.rim: must hold 4 corners (got 5)"),
    ({"rim": [RECTANGLE[i] for i in (0, 2, 1, 3)]}, "sheet.shape.rim: crosses itself: side 1"),
    ({"rim": {"sides": [900, 400, 900, 400], "diagonals": [2000, 985]}}, "sheet.shape.rim.diagonals[0]: makes no triangle"),
    ({"valley": None}, "sheet.shape.valley: must be a list of points, [x, y, depth] (got null)"),
    ({"valley": VALLEY[:1]}, "sheet.shape.valley: must hold 2 points, [x, y, depth] (got 1)"),
    ({"valley": [[150, 200], VALLEY[1]]}, "sheet.shape.valley[0]: must hold 3 lengths, [x, y, depth] (got 2)"),
    ({"valley": [[150, 200, 0], VALLEY[1]]}, "sheet.shape.valley[0][2]: must be more than 0 mm (got 0)"),
    ({"valley": [VALLEY[0], [700, 200, -5]]}, "sheet.shape.valley[1][2]: must be more than 0 mm (got -5)"),
    ({"valley": [VALLEY[0], [700, 200, 1e300]]}, "sheet.shape.valley[1][2]: must be at most 20000 mm"),
    ({"valley": [VALLEY[0], [700, 200, 10**400]]}, "sheet.shape.valley[1][2]: must be a number of a sensible size"),
    ({"valley": [VALLEY[0], [math.nan, 200, 50]]}, "sheet.shape.valley[1][0]: must be a number in mm (got NaN)"),
    ({"valley": [VALLEY[0], ["700", 200, 50]]}, "sheet.shape.valley[1][0]: "),
    ({"valley": [VALLEY[0], [True, 200, 50]]}, "sheet.shape.valley[1][0]: must be a number in mm (got true)"),
    ({"valley": [VALLEY[0], [950, 200, 50]]}, "sheet.shape.valley[1]: must lie inside the rim (got [950, 200, 50]"),
    ({"valley": [[0.4, 200, 40], VALLEY[1]]}, "sheet.shape.valley[0]: must lie at least 1 mm inside the rim (got 0.4 mm)"),
    ({"valley": [VALLEY[0], [150.5, 200, 57]]}, "sheet.shape.valley[1]: must lie at least 1 mm from the valley's first point"),
    ({"valley": VALLEY[::-1]}, "sheet.shape.valley: must begin with the point by side 4 (corner 4 to 1)"),
    ({"valley": [[150, 20, 40], VALLEY[1]]}, "sheet.shape.valley[0]: must lie in the triangle of side 4 (corner 4 to 1)"),
    ({"valley": [[150, 200, 57], [700, 390, 40]]}, "sheet.shape.valley[1]: must lie in the triangle of side 2 (corner 2 to 3)"),
    ({"rim": REFLEX, "valley": [[100, 90, 40], [700, 50, 57]]}, "sheet.shape.valley[1]: must see side 3 (corner 3 to 4)"),
    ({"rim": REFLEX[::-1], "valley": [[100, 90, 40], [700, 50, 57]]}, "sheet.shape.valley[1]: must see side 1 (corner 1 to 2)"),
    ({"outlet": {"bore": 0}}, "sheet.shape.outlet.bore: must be more than 0 mm (got 0)"),
    ({"outlet": {"bore": 500}}, "sheet.shape.outlet.bore: must be less than 400.0 mm, the room round the valley's deep end"),
    ({"rim_finish": {"kind": "lap", "width": 3, "inside_radius": 40}}, "sheet.shape.rim_finish."),
    ({"sump": {"length": 9, "width": 9}}, "sheet.shape.sump: unknown key"),
    ({"depth": 57}, "sheet.shape.depth: unknown key"),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "says"), BAD)
def test_a_fault_names_its_field_in_words(keys: dict[str, Any], says: str) -> None:
    found = faults_of({**valley_tray(RECTANGLE, VALLEY), **keys})
    assert any(line.startswith(says) for line in found), found
    assert all("\n" not in line and "Traceback" not in line for line in found)


@settings(max_examples=60)
@given(valley_trays(), st.floats(-1.2, 1.2), st.floats(-1.2, 1.2), st.sampled_from([0, 1]))
def test_a_place_that_is_said_to_do_does(shape: dict[str, Any], right: float, up: float, end: int) -> None:
    """An end of the valley moved anywhere: what a fault says would do is taken, and where the end stays it is the same."""
    reach = 300.0
    ends = [list(point) for point in shape["valley"]]
    ends[end][0] += right * reach
    ends[end][1] += up * reach
    moved = {**shape, "valley": ends}
    text = "".join(told(moved))
    if not text:
        return
    assume("would do" in text)
    place = text[text.rindex("; [") + 3 : text.rindex("] would do")].split(", ")
    which = int(text[text.index("valley[") + 7])
    ends[which][:2] = [float(number) for number in place]
    again = told({**moved, "valley": ends})
    assert not any(f"valley[{which}]" in fault for fault in again)  # the other end may still have to move


def test_a_radius_larger_than_what_is_folded_is_a_fault_of_the_radius() -> None:
    small = valley_tray([[0, 0], [30, 0], [30, 14], [0, 14]], [[6, 7, 3], [22, 7, 9]])
    found = faults_of(small, fold_radius=200, seam_gap=0)
    assert found
    assert all(line.startswith("sheet.making.fold_radius: leaves nothing flat of face") for line in found), found


def test_a_rim_may_be_measured_by_tape() -> None:
    corners = [tuple(corner) for corner in SKEW_RIM]
    sides = [math.dist(corners[i], corners[(i + 1) % 4]) for i in range(4)]
    diagonals = [math.dist(corners[0], corners[2]), math.dist(corners[1], corners[3])]
    found = planned(valley_tray({"sides": sides, "diagonals": diagonals}, [[150, 210, 40], [650, 215, 57]]))
    assert found.shell.vertices[1] == pytest.approx((sides[0], 0.0, 0.0))
    assert not [warning for warning in found.warnings if warning.code == "tape-disagrees"]
