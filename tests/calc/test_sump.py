"""Sumps: level floors that the facets fall to, round any convex rim; their outlet; every fault in words."""

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
from calc.blank import Blank
from calc.drainage import depth_for_fall, drain, litres
from calc.joins import fewest_welds, folded, join, may_fold
from calc.shell import Face, Shell, normal
from calc.unfold import Flattening, unfold
from tests.calc.asking import faults_of, planned, shell_of
from tests.calc.test_joins import lies_on
from tests.shapes import FIVE, REFLEX, SUMP, SUMPS, fall_tray, sheet_of, sump_trays

RECTANGLE = SUMPS["rectangle"]


def floor_of(shell: Shell) -> Face:
    (floor,) = (face for face in shell.faces if face.role == "sump")
    return floor


def sound(shape: dict[str, Any]) -> Shell:
    """The shell of a drawn tray; where the rim's sides run together before the sump's ends, the drawing is dropped."""
    try:
        return shell_of(shape)
    except SheetFaults as error:
        assume("run together" not in str(error))
        raise


@given(sump_trays())
def test_the_shell_is_the_lower_hull_of_rim_and_sump(shape: dict[str, Any]) -> None:
    """The definition: no corner of the shell lies below the plane of any face, and the faces cover the rim once."""
    shell = sound(shape)
    points = shell.points
    size = np.abs(points - points.mean(axis=0)).max()
    plans = []
    for face in shell.faces:
        corners = shell.corners(face)
        upward = normal(corners)
        assert upward[2] > 0
        assert ((points - corners.mean(axis=0)) @ upward).min() > -2e-6 * size
        assert np.linalg.svd(corners - corners.mean(axis=0), compute_uv=False)[-1] <= 3e-6 * size
        plans.append(shapely.Polygon(corners[:, :2]))
    rim = shapely.Polygon(shape["rim"])
    assert all(facet.is_valid and facet.exterior.is_ccw for facet in plans)
    assert math.fsum(facet.area for facet in plans) == pytest.approx(rim.area, rel=1e-9)
    assert len(shell.free_edges()) == len(shape["rim"])


@given(sump_trays())
def test_volume_and_area_by_a_mesh_library(shape: dict[str, Any]) -> None:
    """trimesh: with a lid the shell is watertight; its volume and the area of its faces."""
    shell = sound(shape)
    triangles = [
        (face.loop[0], face.loop[i], face.loop[i + 1]) for face in shell.faces for i in range(1, len(face.loop) - 1)
    ]
    count = len(shape["rim"])
    lid = [(0, i + 1, i) for i in range(1, count - 1)]
    mesh = trimesh.Trimesh(shell.points, [*triangles, *lid], process=False)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert litres(shell) == pytest.approx(abs(mesh.volume) * 1e-6, rel=1e-6)
    sheet = read_sheet(sheet_of(shape))
    blanks: tuple[Blank, ...] = ()
    try:
        blanks = unfold(shell, sheet)
    except SheetFaults:
        assume(False)
    wet = trimesh.Trimesh(shell.points, triangles, process=False).area
    assert math.fsum(blank.area for blank in blanks) == pytest.approx(wet, rel=1e-9)


@given(sump_trays(4, 4))
def test_round_four_corners_the_sump_is_parallel_to_the_rim(shape: dict[str, Any]) -> None:
    """Its sides run as the rim's do, two half the length from the low point, two half the width; all is flat."""
    shell = sound(shape)
    floor = shell.corners(floor_of(shell))[:, :2]
    rim = np.array(shell.vertices[:4])[:, :2]
    low = shapely.Point(shape["low_point"])
    reaches = []
    for index in range(4):
        side, own = rim[(index + 1) % 4] - rim[index], floor[(index + 1) % 4] - floor[index]
        assert side @ own == pytest.approx(np.linalg.norm(side) * np.linalg.norm(own), rel=1e-9)
        middle, along = floor[index], own / np.linalg.norm(own)
        reaches.append(abs(float(np.cross(np.append(along, 0), np.append(np.array(low.coords[0]) - middle, 0))[2])))
    halves = [shape["sump"]["length"] / 2, shape["sump"]["width"] / 2]
    first = np.abs(rim[1] - rim[0])[0] / np.linalg.norm(rim[1] - rim[0])
    assert reaches[:2] == pytest.approx(reaches[2:], rel=1e-6)
    assert sorted(reaches[:2]) == pytest.approx(sorted(halves), rel=1e-6)
    assert shapely.Polygon(floor).contains(low.buffer(min(halves) * 0.999))
    assert [len(face.loop) for face in shell.faces] == [4] * 5
    assert 0 <= first <= 1


def test_the_length_lies_along_the_sides_nearer_the_x_axis() -> None:
    """The rim's corners may begin anywhere: it is the drawing that says which way the length lies."""
    rim = RECTANGLE["rim"]
    for first in range(4):
        shell = shell_of({**RECTANGLE, "rim": rim[first:] + rim[:first]})
        assert np.ptp(shell.corners(floor_of(shell)), axis=0)[:2] == pytest.approx([SUMP["length"], SUMP["width"]])


def test_round_another_rim_the_sump_is_a_rectangle_along_x_and_y() -> None:
    shell = shell_of(SUMPS["five"])
    corners = shell.corners(floor_of(shell))
    assert corners.min(axis=0) == pytest.approx([430 - 45, 210 - 30, -52])
    assert corners.max(axis=0) == pytest.approx([430 + 45, 210 + 30, -52])


def test_facets_that_lie_in_one_plane_are_one() -> None:
    """Of the five-cornered rim's sides that along x is parallel to one of the sump: one four-sided facet, others are triangles.
    The side at x = 0 runs along y, as the sump's does."""
    shell = shell_of(SUMPS["five"])
    assert {face.name: len(face.loop) for face in shell.faces} == {
        "A": 4, "B": 3, "C": 3, "D": 3, "E": 4, "F": 4, "G": 3, "H": 3,
    }  # fmt: skip
    assert floor_of(shell).name == "F"


def test_by_hand() -> None:
    """600 x 400, low point (240, 180), sump 90 x 60, 40 deep: falls 40 over 180 - 30, 360 - 45, 220 - 30, 240 - 45; the seam of
    corner 3 (600, 400) runs 315 and 190 in plan. Prismatoid rule, H/6 (A1 + 4 Am + A2), Am of the mid sides 345 x 230."""
    found = planned(RECTANGLE)
    assert [round(fall.fall, 9) for fall in found.drainage.falls] == [
        round(40 / run, 9) for run in (180 - 30, 360 - 45, 220 - 30, 240 - 45)
    ]
    assert found.drainage.least_fall == pytest.approx(40 / math.hypot(315, 190), rel=1e-9)
    assert found.drainage.least_fall_at == "seam B-C"
    assert found.drainage.litres == pytest.approx(40 / 6 * (600 * 400 + 4 * 345 * 230 + 90 * 60) * 1e-6, rel=1e-9)


@pytest.mark.parametrize("name", SUMPS)
def test_the_floor_of_a_sump_and_its_edges_take_no_part_in_the_falls(name: str) -> None:
    found = planned(SUMPS[name])
    floor = floor_of(found.shell).name
    assert floor not in [fall.face for fall in found.drainage.falls]
    assert not [seam for seam in found.drainage.seams if floor in seam.between]
    assert found.drainage.least_fall > 0
    assert "level" not in [warning.code for warning in found.warnings]


@given(sump_trays(), st.floats(0.005, 0.2))
def test_the_depth_for_a_wanted_fall_gives_it(shape: dict[str, Any], wanted: float) -> None:
    depth = depth_for_fall(sound(shape), wanted)
    assume(0.1 < depth < 19_000)
    assert drain(shell_of({**shape, "depth": depth})).least_fall == pytest.approx(wanted, rel=1e-6)


def floor_blank(found: Plan) -> Blank:
    name = floor_of(found.shell).name
    return next(blank for blank in found.blanks if name in blank.faces)


@pytest.mark.parametrize("joins", ["weld-all", "fewest-welds"])
@pytest.mark.parametrize("name", SUMPS)
def test_the_outlet_is_a_hole_of_the_blank_that_holds_the_floor(name: str, joins: str) -> None:
    shape = {**SUMPS[name], "outlet": {"bore": 28}}
    found = planned(shape, joins=joins)
    bored = [(blank.name, hole) for blank in found.blanks for hole in blank.holes if hole.purpose == "outlet"]
    (only,) = bored
    blank = floor_blank(found)
    assert only[0] == blank.name
    assert only[1].diameter == 28
    assert shapely.Polygon(blank.cut_outline).contains(shapely.Point(only[1].centre).buffer(14))
    steps = [step.key for step in found.steps]
    assert steps.count("outlet:bore") == 1
    assert steps.index("outlet:bore") < next(i for i, step in enumerate(found.steps) if step.kind in ("fit", "fold"))
    (text,) = (step.text for step in found.steps if step.key == "outlet:bore")
    assert f"in {blank.name} at " in text
    assert "before anything is folded or welded" in text
    assert "outlet:fitting" in steps
    assert Plan.from_json(found.as_json()).as_json() == found.as_json()


def test_the_hole_lies_at_the_low_point_and_weighs_nothing() -> None:
    """In the floor's blank the hole is as far from each corner as the low point is from the sump's; its disc has no mass."""
    found = planned(RECTANGLE, seam_gap=0)
    blank = floor_blank(found)
    (hole,) = blank.holes
    assert [math.dist(hole.centre, corner) for corner in blank.cut_outline] == pytest.approx([math.hypot(45, 30)] * 4)
    assert blank.mass == pytest.approx((90 * 60 - math.pi * 16**2) * 1.5 * 2680e-9, rel=1e-4)
    assert blank.area == pytest.approx(90 * 60)


def test_no_outlet_no_hole() -> None:
    found = planned({**SUMPS["five"], "outlet": None})
    assert not [hole for blank in found.blanks for hole in blank.holes]
    assert not [step for step in found.steps if step.kind == "outlet"]


@pytest.mark.parametrize("finish", [{"kind": "lap", "width": 25}, {"kind": "upstand", "height": 20}])
@pytest.mark.parametrize("name", SUMPS)
def test_rims_may_be_lapped_or_upstanding(name: str, finish: dict[str, Any]) -> None:
    found = planned({**SUMPS[name], "rim_finish": finish})
    strips = [face for face in found.shell.faces if face.role == "strip"]
    assert len(strips) == len(SUMPS[name]["rim"])
    assert not found.layout.unplaced


@settings(max_examples=5)
@given(sump_trays(3, 4))
def test_no_choice_of_folds_leaves_less_to_weld(shape: dict[str, Any]) -> None:
    """Every forest of folds is tried, those between facets and floor among them."""
    shell = sound(shape)
    sheet = read_sheet(sheet_of(shape, making={"largest_blank": 20000, "seam_gap": 0.2}))
    joints = [joint for joint in shell.welds if may_fold(joint, shell, sheet)]
    whole = math.fsum(joint.length for joint in shell.welds)
    best = whole
    for count in range(len(shell.faces)):
        for some in itertools.combinations(joints, count):
            length = whole - math.fsum(joint.length for joint in some)
            if length < best - 1e-6 and lies_flat(
                folded(shell, frozenset(frozenset(j.edge) for j in some), 1.5), sheet
            ):
                best = length
    found = fewest_welds(join(shell, sheet), sheet)
    assert math.fsum(joint.length for joint in found.welds) == pytest.approx(best, abs=1e-5)


def lies_flat(shell: Shell, sheet: Any) -> bool:
    """Whether every piece lies flat in one, on a sheet of the stock with the trim kept clear."""
    try:
        blanks = [Flattening.of(shell, sheet).blank(faces) for faces in pieces(shell.faces, shell.joints)]
    except ValueError:
        return False
    length, width = (size - 2 * sheet.making.edge_trim for size in (sheet.stock[0].length, sheet.stock[0].width))
    return all(lies_on(blank.cut_outline, length, width) for blank in blanks if blank.folds)


INWARD = {key: REFLEX[key] for key in ("rim", "low_point")}
TAPERED = {"rim": [[0, 0], [900, 120], [900, 180], [0, 300]], "low_point": [700, 150]}
BAD = [
    ({"sump": 7}, "sheet.shape.sump: must be an object with keys and values (got 7)"),
    ({"sump": {"length": 90}}, "sheet.shape.sump.width: missing"),
    ({"sump": {**SUMP, "depth": 9}}, "sheet.shape.sump.depth: unknown key"),
    ({"sump": {**SUMP, "length": 0}}, "sheet.shape.sump.length: must be more than 0 mm (got 0)"),
    ({"sump": {**SUMP, "length": -3}}, "sheet.shape.sump.length: must be more than 0 mm (got -3)"),
    ({"sump": {**SUMP, "width": 1e9}}, "sheet.shape.sump.width: must be at most 20000 mm"),
    ({"sump": {**SUMP, "width": math.nan}}, "sheet.shape.sump.width: must be a number in mm (got NaN)"),
    ({"sump": {**SUMP, "width": "wide"}}, "sheet.shape.sump.width: "),
    # 240 from the low point to side 4, 180 to side 1, less 1 mm, twice
    ({"sump": {**SUMP, "length": 600}}, "sheet.shape.sump.length: must be at most 478 mm, for the sump to lie 1 mm inside"),
    ({"sump": {**SUMP, "width": 400}}, "sheet.shape.sump.width: must be at most 358 mm, for the sump to lie 1 mm inside"),
    ({"outlet": {"bore": 60}}, "sheet.shape.outlet.bore: must be less than 60.0 mm, the room across the floor of the sump"),
    ({"outlet": {"bore": 59.8}}, "sheet.shape.outlet.bore: must be less than 59.5 mm, what is flat of the sump's floor"),
    (INWARD, "sheet.shape.sump: needs a rim that is convex, but the corner at [520, 320]"),
    ({**TAPERED, "sump": {"length": 390, "width": 8}}, "sheet.shape.sump.length: must be at most"),
    ({**FIVE, "sump": {"length": 450, "width": 600}}, "sheet.shape.sump.width: must be at most"),
]  # fmt: skip


@pytest.mark.parametrize(("keys", "says"), BAD)
def test_a_fault_names_its_field_in_words(keys: dict[str, Any], says: str) -> None:
    found = faults_of({**RECTANGLE, **keys})
    assert any(line.startswith(says) for line in found), found


@settings(max_examples=60)
@given(sump_trays(), st.floats(1.0, 20.0), st.floats(1.0, 20.0))
def test_the_most_that_a_fault_allows_is_taken(shape: dict[str, Any], longer: float, wider: float) -> None:
    """Sumps made too long, too wide or both: with every bound that is told kept, in turn, the tray can be planned."""
    sump = {"length": shape["sump"]["length"] * longer, "width": shape["sump"]["width"] * wider}
    for _ in range(6):
        try:
            shell_of({**shape, "sump": sump})
            return
        except SheetFaults as error:
            for fault in error.faults:
                key = fault.path.rsplit(".", 1)[1]
                sizes = fault.text.split("must be at most ")[1].split(" mm")[0].split(" by ")
                for name, most in zip(list(sump) if key == "sump" else [key], sizes, strict=True):
                    assert float(most) < sump[name]
                    sump[name] = float(most)
    raise AssertionError("never satisfied")


def test_a_fold_radius_larger_than_the_floor_is_no_fold() -> None:
    """The fewest welds leave out a fold that would use a floor up; nothing fails."""
    found = planned(
        {**RECTANGLE, "outlet": None, "sump": {"length": 12, "width": 6}, "depth": 200},
        joins="fewest-welds",
        fold_radius=150,
    )
    assert not [fold for fold in found.shell.folds if floor_of(found.shell).name in fold.between]


def test_a_sump_needs_no_low_point_of_its_own() -> None:
    text = {step.key: step.text for step in planned(RECTANGLE).steps}
    assert "the middle of the sump from two sides" in text["measure:rim"]
    assert "depth 40 mm" in text["check:tacked"]


def test_a_tray_without_a_sump_is_as_it_was() -> None:
    assert shell_of({**FIVE, "sump": None}) == shell_of(FIVE)
    assert fall_tray([[0, 0], [9, 0], [0, 9]], [2, 2], 1).get("sump") is None
