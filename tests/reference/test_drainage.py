"""Orifice, weir and emptying against textbooks and general-purpose libraries; volumes against the prismatoid."""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import fluids
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from calc import read_sheet
from calc.drainage.basin import basin_of, lip_of
from calc.drainage.emptying import seconds_to_empty
from calc.drainage.levels import area_at, slices_of, volume_at
from calc.drainage.openings import PER_MINUTE, Opening, drop_outlet
from calc.drainage.records import Slice
from calc.shell import Shell, normal
from tests.shapes import fall_tray, fall_trays, pan, pans, sheet_of, sump_trays, valley_trays

LITRES_A_SECOND = 60.0  # [l/min]
CUBIC_METRES_A_SECOND = 60_000.0  # [l/min]
ROOT = math.sqrt(2 * 9806.65)  # of 2 g, standard gravity (ISO 80000-3) [mm^0.5/s]
any_tray = st.one_of(fall_trays(), valley_trays(), sump_trays(), pans())


def shell_of(shape: dict[str, Any]) -> Shell:
    return read_sheet(sheet_of(shape)).shape.shell(1.5)


def curve_of(shape: dict[str, Any]) -> tuple[Slice, ...]:
    basin = basin_of(shell_of(shape))
    return slices_of(basin.triangles, basin.heights, basin.brim)


# --- what passes


@pytest.mark.parametrize(
    ("head", "litres_a_second"),
    [
        (25.0, 100 * 125 / 7500),  # a weir: 25^1.5 = 125
        (50.0, 100 * 50**1.5 / 7500),  # where both rules meet
        (100.0, 100**2 * 10 / 15000),  # an orifice
    ],
)
def test_drop_outlet_of_en_12056_3(head: float, litres_a_second: float) -> None:
    """From memory, EN 12056-3: of an outlet 100 mm wide; a strainer halves it."""
    opening = drop_outlet(100.0, strainer=False)
    assert opening.flow(head) == pytest.approx(litres_a_second * LITRES_A_SECOND, rel=1e-12)
    assert drop_outlet(100.0, strainer=True).flow(head) == pytest.approx(opening.flow(head) / 2, rel=1e-12)
    assert opening.change_over == pytest.approx(50.0, rel=1e-12)
    assert opening.governs(head) == ("orifice" if head > 50 else "weir")


def orifice(area: float, coefficient: float) -> float:
    """What stands before the root of the head in Q = Cd A sqrt(2 g h), of any textbook [l/min per mm^0.5]. area [mm2]."""
    return coefficient * area * ROOT * PER_MINUTE


def test_orifice_of_fluids() -> None:
    """`fluids.flow_meter`: an orifice in a wall far wider than itself, water, the head as a pressure. Handbooks have Cd 0.60 to
    0.62 of a sharp edge, and the standard's outlet lies between, whatever its bore."""
    head, density = 0.18, 998.0
    for bore in (0.032, 0.1):
        low, high = (
            fluids.flow_meter.flow_meter_discharge(
                D=100.0, Do=bore, P1=density * 9.80665 * head, P2=0.0, rho=density, C=coefficient
            )
            for coefficient in (0.60, 0.62)
        )
        flow = drop_outlet(bore * 1000, strainer=False).flow(head * 1000) / CUBIC_METRES_A_SECOND
        assert low / density < flow < high / density


def test_orifice_of_the_textbook() -> None:
    """Bansal, A Textbook of Fluid Mechanics (from memory): 40 mm, head 10 m, Cd 0.6: 0.01056 m3/s. Ours is 0.606."""
    flow = drop_outlet(40.0, strainer=False).flow(10_000.0)
    assert flow / CUBIC_METRES_A_SECOND == pytest.approx(0.01056, rel=0.015)


def test_weir_of_fluids() -> None:
    """`fluids.open_flow`, Rehbock, a sharp crest as long as the outlet's edge, the water no deeper than the head below it: it
    passes more than the standard's, which has a crest bent to a circle, and less than one and a half times as much."""
    bore, head = 80.0, 25.0
    straight = fluids.open_flow.Q_weir_rectangular_full_Rehbock(h1=head / 1000, h2=1e6, b=math.pi * bore / 1000)
    ours = drop_outlet(bore, strainer=False).flow(head) / CUBIC_METRES_A_SECOND
    assert ours < straight < 1.5 * ours


@given(st.floats(10, 150), st.floats(0.01, 2000), st.booleans())
def test_the_head_for_a_flow_passes_it(bore: float, flow: float, strainer: bool) -> None:
    opening = drop_outlet(bore, strainer=strainer)
    assert opening.flow(opening.head(flow)) == pytest.approx(flow, rel=1e-9)


# --- what is held


def test_moscow_papyrus() -> None:
    """Problem 14: a frustum of sides 4 and 2, height 6, holds 56; in cm, as a tray with a sump."""
    tray = fall_tray([[0, 0], [40, 0], [40, 40], [0, 40]], [20, 20], 60, sump={"length": 20, "width": 20})
    slices = curve_of(tray)
    assert slices[-1].full == pytest.approx(56_000, rel=1e-12)
    assert [slices[0].area_low, slices[-1].area_high] == pytest.approx([400, 1600], rel=1e-9)
    assert area_at(slices, -30.0) == pytest.approx(900, rel=1e-9)  # halfway its sides are 3


def test_a_pointed_tray_holds_what_a_cone_does() -> None:
    """`fluids.geometry`: to any level a cone holds what a tray does that falls to a point, of the same area and depth."""
    slices = curve_of(fall_tray([[0, 0], [700, 0], [650, 420], [-30, 390]], [400, 150], 60))
    across = math.sqrt(4 * slices[-1].area_high / math.pi)
    for height in (1.0, 12.5, 59.0):
        cone = fluids.geometry.V_vertical_conical(D=across / 1000, a=0.06, h=height / 1000) * 1e9
        assert volume_at(slices, height - 60.0) == pytest.approx(cone, rel=1e-9)


def test_a_falling_pan_is_a_wedge_below_a_box() -> None:
    """Inside 600 by 400, its floor 20 lower at one end: to the floor's upper end a wedge of 600 x 20 / 2 x 400."""
    slices = curve_of(pan(603, 403, 80, fall=20))
    floor, box = slices[0], slices[-1]
    assert floor.height == pytest.approx(20 * 600 / 603, rel=1e-9)
    assert floor.full == pytest.approx(600 * floor.height / 2 * 400, rel=1e-9)
    assert floor.area_middle == pytest.approx(300 * 400, rel=1e-9)
    assert [box.area_low, box.area_middle, box.area_high] == pytest.approx([600 * 400] * 3, rel=1e-12)


# --- emptying


def test_emptying_of_the_textbook() -> None:
    """Bansal (from memory): a tank 4 m across, orifice 0.5 m, Cd 0.6: from 5 to 2 m 39.58 s, empty in 107.7 s."""
    area = math.pi * 4000**2 / 4
    tank = [Slice(0.0, 5000.0, area, area, area, 0.0)]
    opening = Opening(math.inf, orifice(math.pi * 500**2 / 4, 0.6))
    assert seconds_to_empty(tank, opening, 0.0, 5000.0, 2000.0) == pytest.approx(39.58, abs=0.02)
    assert seconds_to_empty(tank, opening, 0.0, 5000.0, 0.0) == pytest.approx(107.7, abs=0.1)


@given(fall_trays())
def test_a_pointed_tray_takes_a_fifth_of_a_straight_one(shape: dict[str, Any]) -> None:
    """Area as (h/H)^2: the integral of h^1.5 from 0 to 1 is 2/5, that of h^-0.5 is 2."""
    slices, depth = curve_of(shape), shape["depth"]
    area = slices[-1].area_high
    opening = Opening(math.inf, orifice(math.pi * 20**2, 0.6))
    straight = 2 * area * math.sqrt(depth) / opening.orifice * PER_MINUTE
    assert seconds_to_empty(slices, opening, -depth, 0.0, 0.0) == pytest.approx(straight / 5, rel=1e-9)


def test_a_weir_takes_twice_as_long_for_the_last_quarter_of_a_root() -> None:
    """Straight sides, weir alone: 2 A (1/sqrt(h2) - 1/sqrt(h1)) / factor; from 4 to 1 mm 2 A (1 - 1/2)."""
    tank = [Slice(0.0, 4.0, 5e5, 5e5, 5e5, 0.0)]
    assert seconds_to_empty(tank, Opening(2.0, math.inf), 0.0, 4.0, 1.0) == pytest.approx(5e5 / 2.0 * PER_MINUTE)


@settings(max_examples=25, deadline=None)
@given(any_tray, st.floats(12, 60), st.booleans())
def test_emptying_is_the_quadrature_of_the_areas_that_shapely_cuts(
    shape: dict[str, Any], bore: float, strainer: bool
) -> None:
    """`scipy.integrate.quad` of area over flow, each area cut by shapely out of the faces seen from above."""
    shell, slices, opening = shell_of(shape), curve_of(shape), drop_outlet(bore, strainer=strainer)
    lip = slices[0].low
    brim = slices[-1].high
    area = surface_of(shell)
    breaks = sorted({lip + opening.change_over, *(piece.low for piece in slices)})
    ends = [lip + 1.0, *(level for level in breaks if lip + 1.0 < level < brim), brim]
    seconds = sum(
        quad(lambda level: area(level) / opening.flow(level - lip), low, high, epsrel=1e-9)[0]
        for low, high in pairwise(ends)
    )
    assert seconds_to_empty(slices, opening, lip, brim) == pytest.approx(seconds * PER_MINUTE, rel=1e-6)


def surface_of(shell: Shell) -> Callable[[float], float]:
    """The area of the water surface at a level: each face seen from above, cut along the line at that level by shapely."""
    far = 1e5
    planes = []
    for face in shell.faces:
        corners, (nx, ny, nz) = shell.corners(face), normal(shell.corners(face))
        if face.role != "strip" and abs(nz) > 1e-9:
            planes.append((shapely.Polygon(corners[:, :2]), corners[0], nx, ny, nz, corners[:, 2]))

    def area(level: float) -> float:
        total = 0.0
        for flat, (x, y, z), nx, ny, nz, heights in planes:
            if heights.max() <= level:
                total += flat.area
            elif heights.min() < level:
                size = math.hypot(nx, ny)
                ux, uy = nx / size, ny / size  # downhill; the line at the level lies so far along it
                along = (z - level) * nz / size + ux * x + uy * y
                px, py = ux * along, uy * along
                below = [
                    (px - uy * far, py + ux * far),
                    (px + uy * far, py - ux * far),
                    (px + uy * far + ux * far, py - ux * far + uy * far),
                    (px - uy * far + ux * far, py + ux * far + uy * far),
                ]
                total += shapely.intersection(flat, shapely.Polygon(below)).area
        return total

    return area


def test_the_lip_in_a_trough_of_known_falls() -> None:
    """600 x 400, low point in the middle, 60 deep: facets fall 60/200 and 60/300; a hole of 40 lies highest at 20 x 0.3."""
    basin = basin_of(shell_of(fall_tray([[0, 0], [600, 0], [600, 400], [0, 400]], [300, 200], 60)))
    assert lip_of(basin, (300.0, 200.0), 20.0) == pytest.approx(-60 + 20 * 0.3, rel=1e-12)
