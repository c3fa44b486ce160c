"""The opening to cut in the bench: the tray passes it, the lap covers it, it lies where it is set out."""

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, reject, settings
from hypothesis import strategies as st

from calc import Plan, plan
from calc.aperture import Aperture, Cutting, Place, PlaceFault, SetOut, open_up, place_cautions, set_out
from calc.aperture.corners import angle_at, largest_arc
from calc.aperture.opening import LEAST_COVER, cut_shape
from calc.fitup import fit, wanted
from calc.records import Outline
from calc.sheet import SheetFaults
from calc.shell import normal
from calc.units import Display
from tests.shapes import (
    PLATES,
    REFLEX,
    SKEW,
    TRIANGLE,
    TWISTED,
    fall_tray,
    fall_trays,
    finished_trays,
    pan,
    ring,
    sheet_of,
    sump_trays,
    valley_trays,
)

RECTANGLE = fall_tray([[0, 0], [900, 0], [900, 400], [0, 400]], [300, 200], 50)
NEAR = 2e-3  # [mm] arcs in short straights


def lap(width: float = 25.0, radius: float = 2.0) -> dict[str, Any]:
    return {"kind": "lap", "width": width, "inside_radius": radius}


def upstand(height: float = 30.0) -> dict[str, Any]:
    return {"kind": "upstand", "height": height}


def planned(shape: dict[str, Any], **keys: Any) -> Plan:
    return plan(sheet_of(shape, **keys))


def opened(made: Plan, cutting: Cutting | None = None, rim: Outline | None = None) -> Aperture:
    aperture = open_up(made, rim or made.sheet.shape.corners, cutting or Cutting())
    assert aperture is not None
    return aperture


def cut_of(aperture: Aperture, cutting: Cutting) -> shapely.Polygon:
    return cut_shape(aperture.outline, aperture.corners, cutting.cutter_radius)


# How far out each side is cut


def test_a_bare_rim_clears_its_dry_side() -> None:
    # side 1 falls 50 in 200, side 2 50 in 600: sin(atan(50/200)), sin(atan(50/600)) of 1.5 mm, and 1 mm clear
    found = opened(planned(RECTANGLE))
    slopes = [math.atan2(50, run) for run in (200, 600, 200, 300)]
    assert found.out == pytest.approx([1.5 * math.sin(slope) + 1 for slope in slopes], abs=1e-9)
    wide, deep = 900 + found.out[1] + found.out[3], 400 + found.out[0] + found.out[2]
    assert found.sides == pytest.approx([wide, deep, wide, deep], abs=1e-9)
    assert found.diagonals == pytest.approx([math.hypot(wide, deep)] * 2, abs=1e-9)
    assert (found.cover, found.covers, found.faults) == (None, True, ())


@pytest.mark.parametrize("shape", [SKEW, REFLEX, TWISTED, TRIANGLE])
def test_the_dry_edge_of_a_bare_rim_is_one_thickness_along_the_facets_normal(shape: dict[str, Any]) -> None:
    made = planned(shape)
    found = opened(made, Cutting(clearance=0.0, cutter_radius=0.0))
    rim = made.sheet.shape.corners
    for index, start in enumerate(rim):
        edge = (index, (index + 1) % len(rim))
        face = next(face for face in made.shell.faces if edge in face.edges)
        dry = np.array(start) - 1.5 * normal(made.shell.corners(face))[:2]
        assert _line_distance(found.outside[index], found.outside[edge[1]], dry) < 1e-9


def _line_distance(start: Any, end: Any, point: Any) -> float:
    along = np.array(end) - np.array(start)
    out = np.array(point) - np.array(start)
    return float(abs(along[0] * out[1] - along[1] * out[0]) / np.linalg.norm(along))


def test_a_lap_lies_flat_past_the_bend() -> None:
    # the bend's tangent on the lap is the outside setback of the fold, (r + t) tan(bend / 2), from the sharp edge
    found = opened(planned({**RECTANGLE, "rim_finish": lap(25, 2)}))
    slopes = [math.atan2(50, run) for run in (200, 600, 200, 300)]
    assert found.out == pytest.approx([(1.5 + 2) * math.tan(slope / 2) + 1 for slope in slopes], abs=1e-9)
    assert found.cover == pytest.approx(25 - max(found.out), abs=1e-6)


def test_the_underside_of_a_lap_runs_into_the_dry_face_inside_the_opening() -> None:
    """The section of a fold drawn with arcs and offsets by another library: nothing below the bench's face is further out."""
    thickness, radius, slope = 1.5, 2.0, math.atan2(50, 60)
    # wet side: the lap level from the left to the sharp edge at (0, 0), then the side falling to the right
    wet = shapely.LineString([(-60, 0), (0, 0), (60 * math.cos(slope), -60 * math.sin(slope))])
    under = wet.offset_curve(-thickness, join_style="mitre", mitre_limit=50)
    body = shapely.Polygon([*wet.coords, *reversed(under.coords)])
    hollow = shapely.box(-60, -60, 60, 0).difference(body)
    # the inside radius fills the hollow corner under the fold as far as a ball of it does not reach
    rounded = body.union(hollow.difference(hollow.buffer(-radius, quad_segs=400).buffer(radius, quad_segs=400)))
    below = rounded.intersection(shapely.box(-30, -40, 40, -thickness - 1e-3))
    reach = -below.bounds[0]
    made = planned(
        {**fall_tray([[0, 0], [400, 0], [400, 120], [0, 120]], [200, 60], 50), "rim_finish": lap(25, radius)}
    )
    found = opened(made, Cutting(clearance=0.0))
    assert found.out[0] == pytest.approx((thickness + radius) * math.tan(slope / 2), abs=1e-9)
    assert reach <= found.out[0] + 1e-6
    assert reach == pytest.approx(found.out[0], abs=0.1)  # a thousandth below the face the fillet has hardly begun


def test_an_upstand_passes_by_its_outer_face() -> None:
    found = opened(planned({**RECTANGLE, "rim_finish": upstand()}), Cutting(clearance=0.5))
    assert found.out == pytest.approx([2.0] * 4)  # 1.5 mm thick and 0.5 clear


@pytest.mark.parametrize("shape", [pan(600, 400, 60), pan(600, 400, 60, return_width=20), PLATES])
def test_what_stands_free_has_no_opening(shape: dict[str, Any]) -> None:
    made = planned(shape)
    rim = made.sheet.shape.corners if shape["family"] == "pan" else ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
    assert open_up(made, rim, Cutting()) is None


# Corners


@pytest.mark.parametrize("angle", [20, 45, 60, 90, 120, 150, 160])
@pytest.mark.parametrize("clearance", [0.5, 1.0, 2.0])
def test_the_largest_arc_just_touches_the_trays_corner(angle: float, clearance: float) -> None:
    """By construction in another library: a wedge with its corner rounded, and the same one moved in by the clearance."""
    half, far = math.radians(angle) / 2, 4000.0
    out, up = far * math.cos(half), far * math.sin(half)
    wedge = shapely.Polygon([(0, 0), (out, -up), (out, up)])
    tray = shapely.Point(clearance / math.sin(half), 0)
    for times, clears in ((0.999, True), (1.001, False)):
        radius = times * largest_arc(clearance, angle)
        rounded = wedge.buffer(-radius, join_style="mitre", mitre_limit=100).buffer(radius, quad_segs=4000)
        assert rounded.covers(tray) is clears


def test_a_square_corner_by_hand() -> None:
    # c / (1 - sin 45) = 3.414 c: 3 mm passes at 1 mm clear and 4 mm does not
    made = planned({**RECTANGLE, "rim_finish": upstand()})
    assert [corner.relieved for corner in opened(made, Cutting(1.0, 3.4)).corners] == [False] * 4
    relieved = opened(made, Cutting(1.0, 4.0)).corners
    assert [corner.relieved for corner in relieved] == [True] * 4
    # an 8 mm hole through the opening's corner, which is 2.5 mm out each way: its middle 4 mm along the diagonal
    relief = relieved[0].relief
    assert relief is not None
    assert relief.diameter == 8.0
    assert relief.centre == pytest.approx([-2.5 + 4 / math.sqrt(2)] * 2)
    assert "drill 8 mm" in relieved[0].words


def test_a_sharp_point_takes_a_wider_hole() -> None:
    # 20 degrees: the arc of 3 mm meets the sides 3 cot 10 = 17 mm from the corner; 3 / (2 sin 10) = 8.64, 17.28 mm across,
    # is drilled 17.5 mm
    wedge = fall_tray(
        [[0, 0], [600, 0], [600 * math.cos(math.radians(20)), 600 * math.sin(math.radians(20))]], [400, 70], 40
    )
    corner = opened(planned({**wedge, "rim_finish": upstand()})).corners[0]
    assert corner.relief is not None
    assert corner.relief.diameter == 17.5


def test_a_corner_that_turns_outward_is_cut_round() -> None:
    corner = opened(planned(REFLEX)).corners[3]
    assert (corner.radius, corner.relieved) == (0.0, False)
    assert "cutter goes round it" in corner.words


def test_only_a_bare_rim_has_its_reliefs_filled() -> None:
    for shape, filled in ((TRIANGLE, True), ({**TRIANGLE, "rim_finish": lap()}, False)):
        words = [corner.words for corner in opened(planned(shape), Cutting(0.5, 5.0)).corners]
        assert all(("filled as it is welded" in each) is filled for each in words)


cuttings = st.builds(Cutting, clearance=st.floats(0.2, 4.0), cutter_radius=st.floats(0.0, 8.0))


def as_built(made: Plan, cutting: Cutting, seed: int) -> Aperture:
    """The opening for a tray whose corners came out a millimetre from where they were planned."""
    corners = made.sheet.shape.corners
    rim = np.array(corners) + np.random.default_rng(seed).normal(0, 1.0, (len(corners), 2))
    return opened(made, cutting, tuple((float(x), float(y)) for x, y in rim))


def any_passes(shape: dict[str, Any], cutting: Cutting, seed: int) -> None:
    """Of those that can be made and cut at all: a lap may be wider than there is room for, a cutter too large."""
    try:
        made = planned(shape)
    except SheetFaults:
        reject()
    found = as_built(made, cutting, seed)
    assume(not any("cutter" in fault or "near itself" in fault for fault in found.faults))
    check_passes(found, cutting)


def check_passes(found: Aperture, cutting: Cutting) -> None:
    cut, outside = cut_of(found, cutting), shapely.Polygon(found.outside)
    # the tray passes, and clears every straight of the opening by the clearance
    assert cut.buffer(NEAR).contains(outside)
    clear = outside.buffer(cutting.clearance - 1e-6, join_style="mitre", mitre_limit=1000)
    assert shapely.Polygon(found.outline).buffer(1e-6).contains(clear)
    assert outside.buffer(1e-6).contains(shapely.Polygon(found.rim))
    # a relief takes all that the arc leaves: there the opening is open to its sharp corner
    for corner in found.corners:
        if corner.relieved:
            x, y = corner.at
            inward = np.array(corner.relief.centre) - corner.at
            inward *= 1e-3 / np.linalg.norm(inward)
            assert cut.buffer(NEAR).covers(shapely.Point(x + inward[0], y + inward[1]))


@settings(max_examples=30, deadline=None)
@given(shape=st.one_of(fall_trays(), valley_trays(), sump_trays()), cutting=cuttings, seed=st.integers(0, 2**31))
def test_any_bare_tray_passes_its_opening(shape: dict[str, Any], cutting: Cutting, seed: int) -> None:
    any_passes(shape, cutting, seed)


@settings(max_examples=30, deadline=None)
@given(shape=finished_trays(), cutting=cuttings, seed=st.integers(0, 2**31))
def test_any_lap_or_upstand_passes_its_opening(shape: dict[str, Any], cutting: Cutting, seed: int) -> None:
    any_passes(shape, cutting, seed)


@pytest.mark.parametrize("count", [3, 5, 12, 24])
def test_rims_of_many_corners_pass(count: int) -> None:
    for dent in (0.0, 0.2):
        if count * dent < 8 * 0.2:
            found = as_built(planned(ring(count, dent=dent if count > 5 else 0.0)), Cutting(), count)
            assert found.faults == ()
            check_passes(found, Cutting())


def test_sides_almost_in_line_are_cut_alike() -> None:
    """Two sides that turn by half a degree: cut by their own slopes, their corner would run far along."""
    bent = fall_tray([[0, 0], [450, -2], [900, 0], [900, 400], [0, 400]], [200, 120], 60)
    found = opened(planned(bent))
    assert found.out[0] == found.out[1]
    assert math.dist(found.outline[1], found.rim[1]) == pytest.approx(found.out[0], abs=1e-3)
    assert angle_at(found.outline, 1) == pytest.approx(angle_at(found.rim, 1), abs=1e-9)


# What must not be cut


def test_a_lap_must_cover_by_ten_millimetres() -> None:
    narrow, wide = (opened(planned({**RECTANGLE, "rim_finish": lap(width)})) for width in (11.0, 12.0))
    assert wide.covers
    assert wide.faults == ()
    assert wide.cover == pytest.approx(12 - max(wide.out), abs=1e-6)
    assert not narrow.covers
    assert narrow.cover == pytest.approx(11 - max(narrow.out), abs=1e-6)
    assert len(narrow.faults) == 1
    assert "at least 10 mm is wanted" in narrow.faults[0]


def test_a_lap_must_cover_its_reliefs_too() -> None:
    # 30 mm cutter: a hole of 60 through each corner reaches (1 - sin 45) 30 = 8.8 mm past the sides
    made = planned({**RECTANGLE, "rim_finish": lap(20)})
    assert opened(made).covers
    found = opened(made, Cutting(1.0, 30.0))
    assert found.cover == pytest.approx(20 - max(found.out) - 30 * (1 - math.sqrt(0.5)), abs=0.4)
    assert not found.covers
    assert "corner" in found.faults[0]


def test_a_lap_measured_narrower_covers_less() -> None:
    made = planned({**RECTANGLE, "rim_finish": lap(25)})
    found = open_up(made, made.sheet.shape.corners, Cutting(), reach=11.0)
    assert found is not None
    assert not found.covers


@settings(max_examples=20, deadline=None)
@given(shape=finished_trays(), cutting=cuttings)
def test_cover_is_what_lies_between_opening_and_lap(shape: dict[str, Any], cutting: Cutting) -> None:
    """Sampled along the edge of the cut, each point held against the outer corners of the shell's own strips."""
    if shape["rim_finish"]["kind"] != "lap":
        return
    try:
        made = planned(shape)
    except SheetFaults:
        return
    found = opened(made, cutting)
    if any("near itself" in fault for fault in found.faults):
        return
    strips = shapely.union_all(
        [shapely.Polygon(made.shell.corners(face)[:, :2]) for face in made.shell.faces if face.role == "strip"],
        grid_size=1e-6,
    )
    tray = shapely.union_all([strips, shapely.Polygon(found.rim)], grid_size=1e-6)
    edge = shapely.segmentize(cut_of(found, cutting).exterior, 2.0)
    spots = shapely.points(shapely.get_coordinates(edge))
    least = float(np.where(shapely.contains(tray, spots), shapely.distance(tray.exterior, spots), 0.0).min())
    assert found.cover is not None
    assert found.cover == pytest.approx(least, abs=0.05)
    assert found.covers == (found.cover >= LEAST_COVER - 1e-3)
    assert found.covers == (not any("lap" in fault for fault in found.faults))


def test_an_upstand_comes_through_the_bench() -> None:
    made = planned({**RECTANGLE, "rim_finish": upstand(20)}, bench={"thickness": 25})
    assert "does not come through a bench 25 mm thick" in opened(made).faults[0]
    assert opened(made, Cutting(bench_thickness=20.0)).faults == ()
    assert opened(planned({**RECTANGLE, "rim_finish": upstand(20)})).faults == ()  # nobody said how thick


def test_a_slot_that_would_close_up_is_not_cut() -> None:
    # a tongue of the bench 3 mm wide between two arms of the rim: 1 mm clear and the dry side from either leave nothing
    rim = [[0, 0], [400, 0], [400, 300], [201.5, 300], [200, 150], [198.5, 300], [0, 300]]
    found = opened(planned(fall_tray(rim, [200, 75], 40)))
    assert "nothing can be cut for it" in found.faults[0]


def test_a_cutter_too_large_for_the_opening_is_refused() -> None:
    found = opened(planned(fall_tray([[0, 0], [60, 0], [60, 40], [0, 40]], [30, 20], 20)), Cutting(1.0, 30.0))
    assert "can't follow this opening" in found.faults[0]


def test_a_gap_wider_than_the_metal_is_hard_to_weld() -> None:
    assert any("hard to weld shut" in each for each in opened(planned(RECTANGLE), Cutting(2.0)).cautions)
    assert not any("hard to weld shut" in each for each in opened(planned(RECTANGLE), Cutting(1.0)).cautions)


# Where it lies in the bench


def test_set_out_from_the_bench_by_hand() -> None:
    made = planned({**RECTANGLE, "rim_finish": upstand()})  # 2.5 mm out all round
    found = set_out(opened(made), Place(1, 200, 100, 100))
    assert [each.number for each in found] == [1, 2, 3, 4]
    assert _spots(found) == pytest.approx(np.array([(197.5, 97.5), (1102.5, 97.5), (1102.5, 502.5), (197.5, 502.5)]))
    by_right = set_out(opened(made), Place(1, 1100, 100, 100, "right"))
    assert _spots(by_right) == pytest.approx(np.array([(1102.5, 97.5), (197.5, 97.5), (197.5, 502.5), (1102.5, 502.5)]))


def _spots(found: tuple[SetOut, ...]) -> np.ndarray:
    return np.array([(each.along, each.square) for each in found])


@settings(max_examples=20, deadline=None)
@given(
    shape=fall_trays(),
    corner=st.integers(1, 9),
    end=st.sampled_from(["left", "right"]),
    along=st.floats(1500, 4000),
    near=st.floats(2600, 3000),
    share=st.floats(-0.6, 0.6),
)
def test_set_out_keeps_every_length_and_finds_its_corner(
    shape: dict[str, Any], corner: int, end: Any, along: float, near: float, share: float
) -> None:
    made = planned(shape)
    found = opened(made)
    count = len(found.rim)
    corner = (corner - 1) % count + 1
    side = math.dist(found.rim[corner - 1], found.rim[corner % count])
    place = Place(corner, along, near, near + share * side, end)
    spots = [(each.along, each.square) for each in set_out(found, place)]
    lengths = [math.dist(spots[i], spots[(i + 1) % count]) for i in range(count)]
    assert lengths == pytest.approx(found.sides, abs=1e-6)
    # the rim's own two corners stand out by the same from the opening's as in the plan
    assert math.dist(spots[corner - 1], (along, near)) == pytest.approx(
        math.dist(found.outline[corner - 1], found.rim[corner - 1]), abs=1e-6
    )
    turned = shapely.Polygon(spots).exterior.is_ccw
    assert turned is (end == "left")


@pytest.mark.parametrize(
    ("place", "key", "words"),
    [
        (Place(1, 200, 2.0, 2.0), "from_edge", "past the bench's edge"),
        (Place(1, 2.0, 100, 100), "from_end", "past the bench's end"),
        (Place(9, 200, 100, 100), "corner", "1 to 4 (got 9)"),
        (Place(1, 200, 100, 1100), "from_edge_next", "more than the side is long, 900 mm"),
    ],
)
def test_a_place_that_can_not_be_is_refused(place: Place, key: str, words: str) -> None:
    aperture = opened(planned({**RECTANGLE, "rim_finish": upstand()}))
    with pytest.raises(PlaceFault) as caught:
        set_out(aperture, place)
    assert caught.value.key == key
    assert words in caught.value.text


def test_a_hole_may_not_break_through_the_benchs_edge() -> None:
    # 20 degrees at corner 1: the hole of 17.5 mm lies along the line that halves it, 8.75 mm from the corner, so that it
    # reaches 8.75 - 8.75 sin 10 = 7.2 mm below the side, and 8.75 - 8.75 cos 10 = 0.13 mm past the corner
    far = 600 * math.cos(math.radians(20)), 600 * math.sin(math.radians(20))
    wedge = fall_tray([[0, 0], [600, 0], list(far)], [400, 70], 40)
    aperture = opened(planned({**wedge, "rim_finish": upstand()}))  # the opening 2.5 mm outside the rim
    reaches = 2.5 + 8.75 - 8.75 * math.sin(math.radians(10))
    assert len(set_out(aperture, Place(1, 200, reaches + 0.1, reaches + 0.1))) == 3
    with pytest.raises(PlaceFault, match="the hole at corner 1 would break through the bench's edge: move it in"):
        set_out(aperture, Place(1, 200, reaches - 0.1, reaches - 0.1))


@pytest.mark.parametrize(("thickness", "least"), [(None, 10.0), (2.0, 10.0), (6.0, 18.0)])
def test_little_land_is_cautioned(thickness: float | None, least: float) -> None:
    # 10 mm, or three times the bench; the opening is 2.5 mm outside the rim
    aperture = opened(planned({**RECTANGLE, "rim_finish": upstand()}))
    enough = least + 2.5
    assert place_cautions(aperture, Place(1, enough, enough, enough), thickness) == ()
    told = place_cautions(aperture, Place(1, 200, enough - 1, enough - 1), thickness)
    assert len(told) == 1
    assert f"Only {least - 1:g} mm of the bench would be left between its edge and corner 1" in told[0]
    assert f"less than {least:g} mm" in told[0]
    assert "its end and corner" in place_cautions(aperture, Place(1, enough - 1, 200, 200), thickness)[0]


def test_a_side_askew_to_the_edge_is_asked_about() -> None:
    # a side of 900: 31.4 in 900 is 2 degrees, 156.3 is 10
    aperture = opened(planned({**RECTANGLE, "rim_finish": upstand()}))
    length = math.dist(*aperture.rim[:2])
    assert place_cautions(aperture, Place(1, 300, 300, 300 + length * math.sin(math.radians(1.9))), None) == ()
    (told,) = place_cautions(aperture, Place(1, 300, 300, 300 + length * math.sin(math.radians(10))), None)
    assert "Side 1–2 would lie 10° askew" in told
    assert "farther from it" in told
    (told,) = place_cautions(aperture, Place(1, 300, 400, 400 - length * math.sin(math.radians(3))), None)
    assert "nearer to it" in told


@pytest.mark.parametrize(("clearance", "is_told"), [(0.0, True), (0.4, True), (0.5, False), (1.0, False)])
def test_no_clearance_to_speak_of_is_cautioned(clearance: float, is_told: bool) -> None:
    told = opened(planned(RECTANGLE), Cutting(clearance, 0.1)).cautions
    assert any("hardly drops in" in words for words in told) == is_told


def test_faults_and_cautions_are_in_the_shops_own_unit() -> None:
    inches = Display("in")
    made = planned({**RECTANGLE, "rim_finish": lap(25)}, making={"units": "in"})
    aperture = opened(made)
    told = list(
        place_cautions(opened(planned({**RECTANGLE, "rim_finish": upstand()})), Place(1, 9, 200, 200), 3.0, inches)
    )
    for place in (Place(1, 200, 20.0, 20.0), Place(1, 200, 100, 1100)):
        with pytest.raises(PlaceFault) as caught:
            set_out(aperture, place, inches)
        told.append(caught.value.text)
    small = planned(fall_tray([[0, 0], [60, 0], [60, 40], [0, 40]], [30, 20], 20), making={"units": "in"})
    told += opened(small, Cutting(1.0, 30.0)).faults
    assert len(told) == 4
    for words in told:
        assert "mm" not in words
        assert " in" in words


# From the tape to the opening


def test_the_opening_follows_the_tray_as_built_not_as_drawn() -> None:
    made = planned({**RECTANGLE, "rim_finish": upstand()})
    true = [(0, 0), (897, 0), (901, 398), (2, 399)]
    taped = {line.key: math.dist(*(true[i] for i in line.between)) for line in wanted(made) if line.between}
    found = opened(made, rim=fit(made, taped).outline)
    # 2.5 mm outside the sides as measured: the bottom side's line is parallel to corner 1 to 2
    assert found.sides[0] == pytest.approx(897 + 2.5 * sum(_reach(true, corner) for corner in (0, 1)), abs=1e-6)


def test_a_lap_may_not_stand_over_the_benchs_edge() -> None:
    aperture = opened(planned({**RECTANGLE, "rim_finish": lap(25)}))
    assert len(set_out(aperture, Place(1, 200, 25.0, 25.0))) == 4
    with pytest.raises(PlaceFault, match="lap would stand 5 mm over the bench's edge"):
        set_out(aperture, Place(1, 200, 20.0, 20.0))
    with pytest.raises(PlaceFault, match="lap would stand 5 mm over the bench's end"):
        set_out(aperture, Place(1, 20.0, 200, 200))


def _reach(rim: list[tuple[float, float]], index: int) -> float:
    """How far along a side the corner of an outline moved out by 1 stands past the rim's: cot of half its angle."""
    return 1 / math.tan(math.radians(angle_at(tuple(rim), index)) / 2)
