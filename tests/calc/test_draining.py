"""A tray in use: what it holds by level, the outlet at the pump's flow, out of level each way, and what it is told of them."""

import heapq
import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from calc import Plan, SheetFaults, plan, read_sheet
from calc.drainage import Drainage, drainage_of
from calc.drainage.basin import Basin, basin_of, lip_of
from calc.drainage.levels import area_at, slices_of, volume_at
from calc.drainage.openings import drop_outlet
from calc.drainage.standing import standing_in
from calc.drawing import capacity
from calc.papers.drain_lines import drain_lines
from calc.shell import Shell, volume_below
from calc.tables.outlets import USUAL_OUTLETS
from calc.units import Display, parse_length
from tests.shapes import (
    NAMED,
    PLATES,
    SUMPS,
    VALLEYS,
    fall_tray,
    fall_trays,
    finished_trays,
    pan,
    pans,
    sheet_of,
    sump_trays,
    valley_tray,
    valley_trays,
)

RECTANGLE = [[0, 0], [600, 0], [600, 400], [0, 400]]
TRAY = fall_tray(RECTANGLE, [210, 200], 40, outlet={"bore": 32})
any_tray = st.one_of(fall_trays(), valley_trays(), sump_trays(), pans(), finished_trays())


def shell_of(shape: dict[str, Any]) -> Shell:
    return read_sheet(sheet_of(shape)).shape.shell(1.5)


def drained(shape: dict[str, Any], mass: float = 3.0, **duty: Any) -> Drainage:
    sheet = read_sheet(sheet_of(shape, duty=duty))
    found = drainage_of(sheet, sheet.shape.shell(1.5), mass)
    assert found is not None
    return found


def planned(shape: dict[str, Any], **duty: Any) -> Plan:
    return plan(sheet_of(shape, duty=duty))


def told(made: Plan) -> dict[str, str]:
    return {warning.code: warning.text for warning in made.warnings}


# --- what is held by level


@settings(max_examples=60, deadline=None)
@given(any_tray, st.floats(0, 1))
def test_volumes_are_those_of_faces_cut_at_the_level(shape: dict[str, Any], share: float) -> None:
    """`volume_below` cuts each face at the level and sums prisms: another way to the same."""
    try:
        shell = shell_of(shape)
    except SheetFaults:  # laps that have no room
        return
    basin = basin_of(shell)
    slices = slices_of(basin.triangles, basin.heights, basin.brim)
    level = slices[0].low + share * (basin.brim - slices[0].low)
    tolerance = 1e-9 * slices[-1].full
    assert volume_at(slices, level) == pytest.approx(volume_below(shell, level), rel=1e-7, abs=tolerance)
    step = 1e-4 * (basin.brim - slices[0].low)
    near = [volume_at(slices, at) for at in (level - step, level + step)]
    if all(abs(level - piece.low) > step for piece in slices) and level + step < basin.brim and share > 0.01:
        assert area_at(slices, level) == pytest.approx((near[1] - near[0]) / (2 * step), rel=1e-3)


def test_levels_past_either_end() -> None:
    basin = basin_of(shell_of(TRAY))
    slices = slices_of(basin.triangles, basin.heights, basin.brim)
    assert (area_at(slices, -41.0), volume_at(slices, -41.0)) == (0.0, 0.0)
    assert (area_at(slices, 5.0), volume_at(slices, 5.0)) == pytest.approx((240_000, 3.2e6))
    assert slices_of(basin.triangles, basin.heights, -50.0) == ()
    assert (area_at((), 0.0), volume_at((), 0.0)) == (0.0, 0.0)


def test_an_upstand_holds_more_and_a_lap_no_more() -> None:
    """600 x 400 x 25 above a rim that holds a third of 600 x 400 x 40 below it."""
    upstand = {"kind": "upstand", "height": 25, "inside_radius": 2}
    lap = {"kind": "lap", "width": 25, "inside_radius": 2}
    high, flat = (drained({**TRAY, "rim_finish": finish}) for finish in (upstand, lap))
    assert (high.brim, flat.brim) == (25.0, 0.0)
    assert high.slices[-1].full == pytest.approx(600 * 400 * (40 / 3 + 25))
    assert flat.slices[-1].full == pytest.approx(600 * 400 * 40 / 3)
    assert flat.tilts == drained(TRAY).tilts  # a lap lies outside: it runs over at the fold


def test_weighs_full() -> None:
    """Metal 3 kg, 3.2 litres of oil at 0.9 kg/l, 25 kg/m2 of chips on 0.24 m2."""
    found = drained(TRAY, coolant_density=0.9, chips=25)
    assert found.full == pytest.approx(3.0 + 3.2 * 0.9 + 25 * 0.24)


# --- the outlet


@settings(max_examples=60, deadline=None)
@given(st.one_of(fall_trays(), valley_trays(), sump_trays()), st.floats(0.05, 0.95))
def test_no_place_round_the_hole_is_higher_than_its_lip(shape: dict[str, Any], share: float) -> None:
    """A thousand places round the circle, each on the face that shapely finds there."""
    read = read_sheet(sheet_of(shape)).shape
    shell, radius = read.shell(1.5), share * read.most_bore / 2
    lip = lip_of(basin_of(shell), read.lowest, radius)
    angles = np.linspace(0, 2 * math.pi, 1000)
    circle = np.array(read.lowest) + radius * np.column_stack((np.cos(angles), np.sin(angles)))
    highest = -math.inf
    for face in shell.faces:
        corners = shell.corners(face)
        inside = circle[shapely.contains_xy(shapely.Polygon(corners[:, :2]), circle)]
        if len(inside):
            a, b = corners[1] - corners[0], corners[-1] - corners[0]
            shares = np.linalg.solve(np.column_stack((a[:2], b[:2])), (inside - corners[0, :2]).T)
            highest = max(highest, float((corners[0, 2] + a[2] * shares[0] + b[2] * shares[1]).max()))
    depth = shell.depth
    assert lip >= highest - 1e-6 * depth
    assert lip == pytest.approx(highest, abs=2e-2 * depth)


def test_at_the_pumps_flow_by_hand() -> None:
    """A sump 90 x 60, 40 deep, bore 32, open: at h = D/2 it passes 32 x 16^1.5 / 7500 l/s, which leaves 40 - 16."""
    found = drained(SUMPS["rectangle"], pump_flow=32 * 64 / 7500 * 60, strainer=False, freeboard=10).outlet
    assert found.lip == pytest.approx(-40)
    assert (found.running.head, found.running.level, found.running.freeboard) == pytest.approx((16, -24, 24))
    assert found.running.governs == "weir"
    assert found.passes == pytest.approx(32**2 * math.sqrt(40) / 15000 * 60)
    assert found.passes_dry == pytest.approx(32**2 * math.sqrt(30) / 15000 * 60)
    assert found.depth is None


def test_a_strainer_halves_what_passes() -> None:
    """So that the head is four times as high where the orifice governs."""
    open_, strained = (drained(TRAY, pump_flow=30, strainer=lies).outlet for lies in (False, True))
    assert strained.passes == pytest.approx(open_.passes / 2)
    assert strained.running.head == pytest.approx(4 * open_.running.head)
    assert strained.seconds == pytest.approx(2 * open_.seconds)


@settings(max_examples=40, deadline=None)
@given(fall_trays(4, 6), st.floats(2, 60), st.floats(0, 15))
def test_the_smallest_usual_outlet_that_does(shape: dict[str, Any], flow: float, freeboard: float) -> None:
    """With its bore the freeboard is kept; with the one below it is not, nor with any that has room where none does."""
    read = read_sheet(sheet_of(shape)).shape
    rows = [row for row in USUAL_OUTLETS if row.bore < read.most_bore]
    if not rows:
        return
    duty = {"pump_flow": flow, "freeboard": freeboard}

    def left(bore: float, deep: float = shape["depth"]) -> float:
        outlet = drained({**shape, "depth": deep, "outlet": {"bore": bore}}, **duty).outlet
        return float(outlet.running.freeboard)

    enough = drained({**shape, "outlet": {"bore": rows[0].bore}}, **duty).outlet.enough
    if enough is None:  # as deep as no tray may be
        assert left(rows[-1].bore, 20_000.0) < freeboard
    elif enough.depth is None:
        assert left(enough.bore) >= freeboard
        assert all(left(row.bore) < freeboard for row in rows if row.bore < enough.bore)
    else:
        assert all(left(row.bore) < freeboard for row in rows)
        shallower = round(enough.depth * 0.999, 6)
        assert all(left(row.bore, shallower) < freeboard for row in rows)
        assert left(enough.bore, round(enough.depth, 6)) == pytest.approx(freeboard, abs=1e-4)


def test_how_deep_for_the_outlet_as_it_is() -> None:
    """Made as deep as it says, it keeps the freeboard just so."""
    found = drained(TRAY, pump_flow=14, freeboard=12)
    assert found.outlet.running.freeboard < 12
    deeper = drained({**TRAY, "depth": round(found.outlet.depth, 7)}, pump_flow=14, freeboard=12)
    assert deeper.outlet.running.freeboard == pytest.approx(12, abs=1e-5)


def test_room_for_an_outlet() -> None:
    """The low point is 200 from the nearest sides; a leg that begins 30 to its right; a sump 60 wide."""
    leg = {"at": [240, 150], "length": 40, "width": 90, "name": "leg"}
    for shape, most in ((TRAY, 400), ({**TRAY, "keep_clear": [leg]}, 60), (SUMPS["rectangle"], 60), (PLATES, 0)):
        assert read_sheet(sheet_of(shape)).shape.most_bore == pytest.approx(most)


def test_without_a_pump_and_without_an_outlet() -> None:
    no_flow = drained(TRAY).outlet
    assert (no_flow.running, no_flow.enough, no_flow.depth) == (None, None, None)
    assert no_flow.passes > no_flow.passes_dry > 0
    assert drained(pan(620, 410, 55), pump_flow=30).outlet is None
    assert drained(NAMED["mirror"]).outlet is None
    assert planned(PLATES).drainage is None


def test_a_brim_below_the_film_is_empty_at_once() -> None:
    """1.2 mm deep where the hole is as wide as there is room: its lip lies 0.6 mm under the rim, less than a film."""
    found = drained(fall_tray(RECTANGLE, [300, 200], 1.2, outlet={"bore": 300}))
    assert found.outlet.seconds is None
    assert found.outlet.passes_dry == 0.0


# --- out of level


def test_falls_out_of_level_by_hand() -> None:
    """The right side 6 lower over 600: 0.01 a mm. The seam from the low point to the corner at (600, 0) falls 40 over
    hypot(390, 200) when level; that corner comes 0.01 x 390 lower against the low point."""
    right = next(tilt for tilt in drained(TRAY, out_of_level=6).tilts if tilt.low == "right")
    assert right.least_fall == pytest.approx((40 - 3.9) / math.hypot(390, 200), rel=1e-9)
    assert right.least_fall_at == "seam A-B"


@settings(max_examples=30, deadline=None)
@given(st.one_of(fall_trays(), valley_trays(), sump_trays()), st.floats(0.5, 20))
def test_litres_out_of_level(shape: dict[str, Any], drop: float) -> None:
    """The same faces with their corners moved up and down, cut at the lowest of the rim's."""
    shell, rim = shell_of(shape), read_sheet(sheet_of(shape)).shape.corners
    spans = [max(place) - min(place) for place in zip(*rim, strict=True)]
    ways = {"left": (1, 0), "right": (-1, 0), "front": (0, 1), "back": (0, -1)}
    for tilt in drained(shape, out_of_level=round(drop, 7)).tilts:
        along_x, along_y = (sign * tilt.drop / span for sign, span in zip(ways[tilt.low], spans, strict=True))
        moved = replace(shell, vertices=tuple((x, y, z + along_x * x + along_y * y) for x, y, z in shell.vertices))
        brim = min(along_x * x + along_y * y for x, y in rim)
        assert tilt.litres == pytest.approx(volume_below(moved, brim) * 1e-6, rel=1e-6, abs=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.one_of(fall_trays(), valley_trays()), st.floats(0.5, 60))
def test_true_within_is_where_the_least_fall_turns(shape: dict[str, Any], drop: float) -> None:
    within = drained(shape).true_within
    tilts = drained(shape, out_of_level=round(drop, 6)).tilts
    least = min(tilt.least_fall for tilt in tilts)
    if within is not None and abs(within - drop) > 1e-4 * drop:
        assert (least > 0) == (drop < within)


def test_no_tilt_is_told_of_a_tray_set_up_true() -> None:
    found = drained(TRAY, out_of_level=0)
    assert (found.tilts, found.worst) == ((), None)


LONG = valley_tray([[0, 0], [900, 0], [900, 400], [0, 400]], [[200, 200, 50], [700, 200, 52]], outlet={"bore": 20})


def test_a_valley_that_runs_away_from_its_outlet_holds_what_a_raster_does() -> None:
    """Left side 9 low over 900, 0.01: the valley falls 2 in 500 towards the outlet, and now 3 in 500 away from it. Up to
    the hole's edge, 490 along, it is 2.94 deep."""
    left = next(tilt for tilt in drained(LONG, out_of_level=9).tilts if tilt.low == "left")
    assert left.least_fall == pytest.approx(-0.006)
    assert left.deep == pytest.approx(0.006 * 490, rel=1e-9)
    basin = basin_of(shell_of(LONG)).tilted(0.01, 0.0)
    assert left.stands * 1e6 == pytest.approx(flooded(basin, (700, 200), 10.0, 2.0), rel=0.02)


def test_a_sump_out_of_level_holds_a_wedge() -> None:
    """A floor 300 x 200 out by 0.03 along x, the hole's lip 20 from the middle: 130 x 0.03 deep at the low end."""
    tray = fall_tray(RECTANGLE, [300, 200], 40, sump={"length": 300, "width": 200}, outlet={"bore": 40})
    left = next(tilt for tilt in drained(tray, out_of_level=18).tilts if tilt.low == "left")
    basin = basin_of(shell_of(tray)).tilted(0.03, 0.0)
    raster = flooded(basin, (300, 200), 20.0, 2.0)
    # edges leave the hole towards the corners, where its lip is a little higher: told on the safe side
    assert 130 * 0.03 <= left.deep <= 130 * 0.03 + 20 * 0.03 * (1 - 150 / math.hypot(150, 100)) + 1e-9
    assert raster <= left.stands * 1e6 <= 1.2 * raster


def flooded(basin: Basin, at: tuple[float, float], radius: float, cell: float) -> float:
    """What stands in a basin by a raster of so many mm, filled from the outlet and the rim the lowest way first [mm3]."""
    heights: dict[tuple[int, int], float] = {}
    for corners, _ in basin.triangles:
        spots = np.array([basin.spots[index] for index in corners])
        low, high = np.floor(spots.min(axis=0) / cell), np.ceil(spots.max(axis=0) / cell)
        grid = np.stack(np.meshgrid(np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1)), axis=-1).reshape(
            -1, 2
        )
        a, b = spots[1] - spots[0], spots[2] - spots[0]
        shares = np.linalg.solve(np.column_stack((a, b)), (grid * cell - spots[0]).T)
        inside = (shares >= -1e-9).all(axis=0) & (shares.sum(axis=0) <= 1 + 1e-9)
        z0, z1, z2 = (basin.heights[index] for index in corners)
        levels = z0 + shares[0] * (z1 - z0) + shares[1] * (z2 - z0)
        heights |= {(int(x), int(y)): float(z) for (x, y), z in zip(grid[inside], levels[inside], strict=True)}
    beside = [(dx, dy) for dx in (-1, 0, 1) for dy in (-1, 0, 1) if dx or dy]
    waiting = [
        (z, spot)
        for spot, z in heights.items()
        if math.dist((spot[0] * cell, spot[1] * cell), at) <= radius
        or any((spot[0] + dx, spot[1] + dy) not in heights for dx, dy in beside)
    ]
    heapq.heapify(waiting)
    filled: dict[tuple[int, int], float] = {}
    while waiting:
        level, spot = heapq.heappop(waiting)
        if spot in filled:
            continue
        filled[spot] = level
        for dx, dy in beside:
            other = spot[0] + dx, spot[1] + dy
            if other in heights and other not in filled:
                heapq.heappush(waiting, (max(level, heights[other]), other))
    return sum(level - heights[spot] for spot, level in filled.items()) * cell**2


@settings(max_examples=40, deadline=None)
@given(st.one_of(fall_trays(), valley_trays(), sump_trays()))
def test_nothing_stands_in_a_level_tray(shape: dict[str, Any]) -> None:
    read = read_sheet(sheet_of(shape)).shape
    assert standing_in(basin_of(read.shell(1.5)), read.lowest, read.most_bore / 3, 1.0) == (0.0, 0.0)


def test_freeboard_out_of_level() -> None:
    """A sump in the middle of 600 x 400: the brim comes down by half of what the side is low, the lip's high side up."""
    tray = fall_tray(RECTANGLE, [300, 200], 40, sump={"length": 90, "width": 60}, outlet={"bore": 32})
    found = drained(tray, pump_flow=8, out_of_level=6)
    for tilt in found.tilts:
        span = 600 if tilt.low in ("left", "right") else 400
        assert tilt.freeboard == pytest.approx(found.outlet.running.freeboard - 3 - 16 * 6 / span)


# --- what is told


def test_told_what_runs_over_and_what_would_do() -> None:
    made = planned(TRAY, pump_flow=20)
    text = told(made)["overflows"]
    enough = made.drainage.outlet.enough
    passes = 0.5 * 32**2 * math.sqrt(-made.drainage.outlet.lip) / 15000 * 60  # an orifice, strained, at the brim
    assert text.startswith(
        f"With coolant at the brim the outlet passes {passes:.0f} l/min through its strainer, and the pump"
    )
    assert "sends 20 l/min: it runs over" in text
    assert f"a {enough.name} outlet" in text.lower().replace("(dn", "(DN")
    cured = planned({**TRAY, "outlet": {"bore": round(enough.bore, 4)}}, pump_flow=20)
    assert {"overflows", "freeboard-short"}.isdisjoint(told(cured))


def test_told_a_freeboard_that_is_short() -> None:
    made = planned(TRAY, pump_flow=11.5, freeboard=15)
    assert 0 < made.drainage.outlet.running.freeboard < 15
    assert "of the 15 mm freeboard" in told(made)["freeboard-short"]
    assert "overflows" not in told(made)


@pytest.mark.parametrize("short", [0.01, 0.1, 0.24])
@pytest.mark.parametrize("making", [{}, {"units": "in"}])
def test_a_freeboard_that_is_hardly_short_is_not_told_as_all_of_it(short: float, making: dict[str, Any]) -> None:
    left = planned(TRAY, pump_flow=11.5).drainage.outlet.running.freeboard
    made = plan(sheet_of(TRAY, duty={"pump_flow": 11.5, "freeboard": round(left + short, 6)}, making=making))
    found = re.search(r"leaves (.+?) of the (.+?) freeboard", told(made)["freeboard-short"])
    assert found is not None
    assert parse_length(found[1]) < parse_length(found[2])
    lines = {line.label: line for line in drain_lines(made, made.sheet.making.display)}
    assert lines["Freeboard left"].figure == found[1]
    assert lines["Freeboard left"].aside == f"{found[2]} wanted"


def test_no_head_is_told_that_nothing_can_stand_to() -> None:
    """10 000 l/min would need a head of kilometres over a bore of 32: told is what passes at the brim."""
    made = planned(TRAY, pump_flow=10_000)
    assert "stands" not in told(made)["overflows"]
    lines = {line.label: (line.figure, line.aside) for line in drain_lines(made, Display())}
    assert not any(label.startswith("Over the outlet") for label in lines)
    assert lines["Freeboard left"] == ("none", "10000 l/min runs over; 10 mm wanted")


def test_told_that_a_narrower_outlet_would_do() -> None:
    """In facets as steep as 500 over 200 a hole 390 wide has its lip 487.5 above the lowest point, right under the rim."""
    deep = fall_tray(RECTANGLE, [300, 200], 500, outlet={"bore": 390})
    made = planned(deep, pump_flow=20)
    enough = made.drainage.outlet.enough
    assert enough.bore < 390
    assert enough.depth is None
    assert f"{enough.name} outlet" in told(made)["freeboard-short"]


def test_told_how_deep_for_the_usual_fall_and_it_cures() -> None:
    """The seam to the corner at (600, 400) falls 4 over hypot(390, 200)."""
    shallow = {**TRAY, "depth": 4}
    deeper = math.ceil(2 * 0.01 * math.hypot(390, 200)) / 2  # on a rule of half a mm
    assert f"Make the tray {deeper:g} mm deep" in told(planned(shallow))["fall-low"]
    assert "fall-low" not in told(planned({**TRAY, "depth": deeper}))


def test_flows_are_told_as_the_shop_says_them() -> None:
    """8 US gal/min are 30.28 l/min (NIST SP 811)."""
    made = plan(sheet_of(TRAY, duty={"pump_flow": "8 US gal/min"}, making={"units": "in"}))
    assert "the pump sends 8 US gal/min" in told(made)["overflows"]
    display = made.sheet.making.display
    said = " ".join(f"{line.label} {line.figure} {line.aside}" for line in drain_lines(made, display))
    assert "US gal/min" in said
    assert " l/min" not in said + capacity(made, display)


def test_told_that_no_outlet_has_room_but_in_a_deeper_tray() -> None:
    made = planned(SUMPS["rectangle"], pump_flow=45)
    larger = made.drainage.outlet.enough
    assert larger.depth is not None
    assert f"{math.ceil(larger.depth * 2) / 2:g} mm deep" in told(made)["overflows"]


def test_told_what_a_pump_does_where_nothing_lets_it_out() -> None:
    """13.4 litres at 30 l/min: under half a minute."""
    made = planned(pan(620, 410, 55, inside_radius=2), pump_flow=30)
    assert f"{made.drainage.litres / 30 * 60:.0f} s" in told(made)["no-outlet"]
    assert "no-outlet" not in told(planned(pan(620, 410, 55, inside_radius=2)))


def test_told_what_stands_out_of_level_and_the_cure_cures() -> None:
    made = planned(LONG, out_of_level=9)
    text = told(made)["stands-out-of-level"]
    assert text.startswith("With the left side 9 mm low, seam E-F falls away from the outlet and")
    # 2 in 500 is lost at 0.004 x 900 = 3.6 mm
    assert made.drainage.true_within == pytest.approx(3.6)
    assert "true within 3.6 mm" in text
    deeper = 9 / 3.6 * 1.0001
    cured = {**LONG, "valley": [[200, 200, 50 * deeper], [700, 200, 52 * deeper]]}
    assert "stands-out-of-level" not in told(planned(cured, out_of_level=9))
    assert "stands-out-of-level" not in told(planned(LONG, out_of_level=3.5))


def test_no_depth_is_told_that_no_shape_has() -> None:
    """0.1 in 500 is lost at 0.18 over 900: 9 out would want 50 times the depth, which is more than 20 m of one 500 deep."""
    for depth, told_of in ((50, "2505 mm deep"), (500, "Set it up true within 0.1 mm.")):
        valley = [[200, 200, depth], [700, 200, depth + 0.1]]
        assert told_of in told(planned({**LONG, "valley": valley}, out_of_level=9))["stands-out-of-level"]
    flat = {**LONG, "valley": [[200, 200, 50], [700, 200, 50.01]]}
    assert "as good as level as drawn" in told(planned(flat, out_of_level=9))["stands-out-of-level"]


def test_told_of_a_level_valley_out_of_level() -> None:
    shape = {**VALLEYS["level"], "outlet": {"bore": 32}}
    assert "level as drawn" in told(planned(shape, out_of_level=9))["stands-out-of-level"]


def test_a_pump_runs_over_only_out_of_level() -> None:
    """Freeboard asked for: none. Level it just holds."""
    tray = fall_tray(RECTANGLE, [300, 200], 40, sump={"length": 90, "width": 60}, outlet={"bore": 32})
    flow = drop_outlet(32, strainer=True).flow(39.0)
    made = planned(tray, pump_flow=flow, freeboard=0, out_of_level=8)
    assert "overflows" not in told(made)
    text = told(made)["overflows-out-of-level"]
    assert "low the pump's flow runs over. Set it up truer, or make it" in text
    deeper = float(text.split("or make it ")[1].split(" mm")[0])
    cured = told(planned({**tray, "depth": deeper}, pump_flow=flow, freeboard=0, out_of_level=8))
    assert {"overflows", "overflows-out-of-level"}.isdisjoint(cured)


@pytest.mark.parametrize("shape", [TRAY, LONG, pan(620, 410, 55, inside_radius=2), SUMPS["five"], NAMED["reflex"]])
def test_a_plan_comes_back_from_its_json_and_an_earlier_one_is_worked_out(shape: dict[str, Any]) -> None:
    made = planned(shape, pump_flow=12)
    stored = made.as_json()
    assert Plan.from_json(stored).as_json() == stored
    assert Plan.from_json(stored).draining == Plan.from_json(stored).drainage
    added = ("slices", "brim", "full", "outlet", "tilts", "true_within")
    early = {**stored, "drainage": {key: value for key, value in stored["drainage"].items() if key not in added}}
    again = Plan.from_json(early)
    assert again.drainage.full is None
    anew, kept = again.draining, made.drainage
    assert anew.full == pytest.approx(kept.full, rel=1e-6)
    assert [tilt.litres for tilt in anew.tilts] == pytest.approx([tilt.litres for tilt in kept.tilts], rel=1e-6)
    assert (anew.outlet is None) == (kept.outlet is None)
