"""Welding against figures from outside: heat input, weights of fillets, the section of a groove as drawn, load voltages, the
tables' rows, and heat that neither comes nor goes in a plate."""

import math
from typing import Any

import numpy as np
import pytest
import shapely

from calc import read_sheet
from calc.seams import fillet_section, seam_section
from calc.sheet import JobSheet
from calc.tables.alloys import ALLOYS, alloy
from calc.tables.fillers import FILLERS, filler, filler_for, rule_of, unfit
from calc.tables.heat import CONDUCTION, conduction_of
from calc.tables.lookup import NotListedError
from calc.tables.welding import (
    ARCS,
    GASES,
    ROWS,
    arc_volts,
    heat_input,
    listed_settings,
    settings_for_estimate,
)
from calc.welding.runs import Piece
from calc.welding.warmth import Pace, residual, warmer
from tests.shapes import MIRROR, sheet_of

INCH = 25.4
POUND_A_FOOT = 0.45359237 / 0.3048  # kg/m


def sheet(metal: str = "5052-H32", thickness: float = 1.5, **making: Any) -> JobSheet:
    return read_sheet(sheet_of(MIRROR, material={"alloy": metal, "thickness": thickness}, making=making))


# Fillet welds in steel, leg [in], weight [lb/ft] and [kg/m]: tables of two welding handbooks.
@pytest.mark.parametrize(("leg", "pounds", "kilograms"), [(1 / 4, 0.106, 0.158), (1 / 2, 0.425, 0.632)])
def test_a_fillet_weighs_what_handbooks_say(leg: float, pounds: float, kilograms: float) -> None:
    mass = fillet_section(sheet("S235JR", leg * INCH)) * filler("ER70S-6").density * 1e-6
    assert mass == pytest.approx(kilograms, abs=0.0015)
    assert mass / POUND_A_FOOT == pytest.approx(pounds, abs=0.001)


@pytest.mark.parametrize(
    ("process", "volts", "amps", "travel", "kilojoules"),
    [
        # EN 1011-1: Q = k U I / (1000 v), k 0.6 by TIG and 0.8 by MIG; v 300, 400 and 600 mm/min are 5, 6 2/3 and 10 mm/s.
        ("TIG", 12.0, 100.0, 300.0, 0.6 * 12 * 100 / 5000),
        ("MIG", 24.0, 200.0, 400.0, 0.8 * 24 * 200 * 60 / 400_000),
        ("MIG", 20.0, 120.0, 600.0, 0.192),
    ],
)
def test_heat_input(process: str, volts: float, amps: float, travel: float, kilojoules: float) -> None:
    assert heat_input(process, volts, amps, travel) == pytest.approx(kilojoules)


# Conventional load voltages, IEC 60974-1, from memory: TIG 10 + 0.04 I, MIG 14 + 0.05 I.
@pytest.mark.parametrize(("process", "amps", "volts"), [("TIG", 75, 13.0), ("TIG", 150, 16.0), ("MIG", 100, 19.0)])
def test_load_voltage(process: str, amps: float, volts: float) -> None:
    assert arc_volts(process, amps) == pytest.approx(volts)


def drawn_groove(thickness: float, groove: float, gap: float) -> shapely.Polygon:
    """What is open between two plates cut square that stand at an angle, their wet edges a gap apart: drawn corner by corner.

    Wet faces above; the plates' dry faces, run on, meet below.
    """
    half = math.radians(groove) / 2
    right = [(gap / 2, 0.0), (gap / 2 + thickness * math.sin(half), -thickness * math.cos(half))]
    outside = (0.0, -thickness / math.cos(half) - gap / 2 * math.tan(half))
    return shapely.Polygon([*right, outside, *((-x, y) for x, y in reversed(right))])


def drawn_cap(thickness: float, gap: float) -> shapely.Polygon:
    """A cap 0.3 of the thickness high and three thicknesses and the gap wide (common practice), drawn as a parabola."""
    width, height = 3 * thickness + gap, 0.3 * thickness
    across = np.linspace(-width / 2, width / 2, 2001)
    return shapely.Polygon(np.column_stack((across, height * (1 - (2 * across / width) ** 2))))


@pytest.mark.parametrize("groove", [0.0, 5.7, 12.0, 19.9, 45.0, 90.0])
@pytest.mark.parametrize("thickness", [0.8, 1.5, 4.0])
def test_the_section_of_a_groove_is_what_is_drawn(groove: float, thickness: float) -> None:
    for gap, far in ((0.0, 1e-6), (0.5, 0.02 if groove < 20 else 0.2)):  # a gap is taken as deep as the plate is thick
        drawn = drawn_groove(thickness, groove, gap).area + drawn_cap(thickness, gap).area
        assert seam_section(sheet(thickness=thickness, seam_gap=gap), groove) == pytest.approx(drawn, rel=far)


@pytest.mark.parametrize("groove", [0.0, 12.0, 45.0, 90.0])
def test_from_the_wet_side_only_gap_and_cap_are_filled(groove: float) -> None:
    """The edges meet there: what is filled is what is drawn between two plates in line, however far they open below."""
    for gap in (0.0, 0.5):
        drawn = drawn_groove(1.5, 0.0, gap + 1e-9).area if gap else 0.0
        wet = seam_section(sheet(seam_gap=gap, weld_side="wet"), groove)
        assert wet == pytest.approx(drawn + drawn_cap(1.5, gap).area, rel=1e-5)


def test_a_bevelled_ridge_opens_nowhere() -> None:
    """What the dress step takes off the dry edges is all that would collide: what is left of them meets square."""
    assert seam_section(sheet(), -17.0) == pytest.approx(seam_section(sheet(), 0.0))


# --- rows


@pytest.mark.parametrize("process", ROWS)
@pytest.mark.parametrize("family", ["aluminium", "stainless", "steel"])
def test_every_row_is_in_order_and_says_where_it_is_from(process: str, family: str) -> None:
    rows = ROWS[process][family]
    assert [row.thickness for row in rows] == sorted({row.thickness for row in rows})
    for row in rows:
        assert row.source
        assert 0 < row.amps[0] <= row.amps[1]
        assert 0 < row.flow[0] <= row.flow[1]
    assert GASES[process][family].startswith("argon")  # ISO 14175 groups I1, M12 and M21, from memory
    steps = [listed_settings(family, t / 10, process) for t in range(10, int(rows[-1].thickness * 10))]  # type: ignore[arg-type]
    assert [step.amps for step in steps] == sorted(step.amps for step in steps)
    assert [step.travel for step in steps] == sorted((step.travel for step in steps), reverse=True)
    melted = [step.melted for step in steps]  # more amps melt more wire; a rod is fed by hand
    assert melted == sorted(melted)
    assert all((melts > 0) == (process == "MIG") for melts in melted)
    speeds = [settings_for_estimate(family, t / 10, process).row.travel for t in range(2, 251)]  # type: ignore[arg-type]
    assert speeds == sorted(speeds, reverse=True)


def test_mig_is_faster_than_tig_and_its_shielding_is_its_own() -> None:
    for family in ("aluminium", "stainless", "steel"):
        for thickness in (1.0, 1.6, 3.2):
            assert listed_settings(family, thickness, "MIG").travel > listed_settings(family, thickness, "TIG").travel
    assert GASES["MIG"]["steel"] != GASES["TIG"]["steel"] == "argon"


def test_outside_the_rows_a_setting_is_said_to_be_a_guess() -> None:
    assert settings_for_estimate("steel", 2.0, "MIG").caution == ""
    assert "1 to 6.4 mm" in settings_for_estimate("steel", 8.0, "MIG").caution
    thin = settings_for_estimate("aluminium", 0.8, "TIG")
    assert "1 to 4.8 mm" in thin.caution
    assert thin.row.amps == pytest.approx((30, 40))  # half of the 1.6 mm row's
    for wrong in (0.0, math.nan, math.inf):
        with pytest.raises(NotListedError, match="above 0"):
            settings_for_estimate("steel", wrong, "TIG")
    with pytest.raises(NotListedError, match=r"MIG setting.*\(got copper\)"):
        settings_for_estimate("copper", 2.0, "MIG")  # type: ignore[arg-type]


# --- rods


# Filler charts of welding handbooks; above 65 °C not ER5356, nor any of over 3 % magnesium.
@pytest.mark.parametrize(
    ("metal", "service", "rods"),
    [
        ("5052-H32", 20, {"ER5356"}),
        ("5052-H32", 66, {"ER5554"}),  # use above 65 °C from memory
        ("5083-H111", 20, {"ER5183", "ER5356"}),
        ("6061-T6", 20, {"ER4043", "ER5356"}),
        ("6061-T6", 120, {"ER4043"}),
        ("1050A-H14", 20, {"ER4043", "ER1100"}),
        ("3003-H14", 20, {"ER4043", "ER1100"}),
        ("304", 20, {"ER308L"}),
        ("316", 20, {"ER316L"}),
    ],
)
def test_the_rod_is_one_of_the_charts(metal: str, service: float, rods: set[str]) -> None:
    assert filler_for(metal, service=service).name in rods


def test_each_rule_is_said_where_it_could_be_broken() -> None:
    hot = "above 65 °C"
    assert hot in rule_of(filler("ER5356"), alloy("5052-H32"))
    assert "silicon" in rule_of(filler("ER5356"), alloy("5083-H111"))  # over 2.5 % magnesium
    assert hot in rule_of(filler("ER5356"), alloy("5083-H111"))
    assert "2.5 %" in rule_of(filler("ER4043"), alloy("3003-H14"))
    assert "without a rod" in rule_of(filler("ER4043"), alloy("6061-T6"))
    assert "silicon" in rule_of(filler("ER5356"), alloy("6061-T6"), alloy("5083-H111"))
    assert "brush" in rule_of(filler("ER308L"), alloy("304"))
    assert "ER309L" in rule_of(filler("ER309L"), alloy("304"), alloy("DC01"))
    assert "zinc" in rule_of(filler("ER309L"), alloy("304"), alloy("DX51D+Z"))
    assert "zinc" in rule_of(filler("ER70S-6"), alloy("DX51D+Z"))
    assert "scale" in rule_of(filler("ER70S-6"), alloy("DC01"))


def test_no_pair_of_metals_is_given_a_rod_that_is_unfit() -> None:
    for one in ALLOYS.values():
        for other in ALLOYS.values():
            for service in (20.0, 80.0):
                try:
                    rod = filler_for(one, other, service=service)
                except NotListedError:
                    continue
                assert unfit(rod, one, service=service) == unfit(rod, other, service=service) == ""
                assert rod in FILLERS
                rule = rule_of(rod, one, other)
                assert rule.endswith(".")
                assert rule[:-1].count(". ") == 0


# --- warmth


@pytest.mark.parametrize("metal", ["5052-H32", "1050A-H14", "DC01", "304"])
@pytest.mark.parametrize("seconds", [10.0, 60.0, 600.0])
def test_the_heat_of_a_run_is_all_in_the_plate(metal: str, seconds: float) -> None:
    """Carslaw and Jaeger: whatever the time, the warmth of an endless plate times its heat capacity is what was put in."""
    found = alloy(metal)
    apart = np.linspace(0.0, 3.0, 30_001)
    warm = warmer(found, np.array(1000.0), np.array(seconds), apart)
    heat = np.trapezoid(warm * 2 * np.pi * apart, apart) * found.density * conduction_of(found).capacity
    assert heat == pytest.approx(1000.0, rel=1e-4)


def test_a_place_that_was_just_welded_is_warmer_than_one_far_off_or_long_ago() -> None:
    job, pace = sheet(), Pace(400.0, 0.01, 0.08)
    first = Piece(0, 0.0, 75.0, ((0.0, 0.0, 0.0), (75.0, 0.0, 0.0)))
    near = Piece(0, 75.0, 150.0, ((75.0, 0.0, 0.0), (150.0, 0.0, 0.0)))
    far = Piece(0, 500.0, 575.0, ((500.0, 0.0, 0.0), (575.0, 0.0, 0.0)))
    (cold, after_near), (_, after_far) = residual(job, [first, near], [pace]), residual(job, [first, far], [pace])
    assert cold == 0.0
    assert after_near > 10 * after_far
    assert residual(job, [first, far, near], [pace])[2] < after_near


def test_how_metals_carry_heat() -> None:
    # EN 1999-1-2: 5xxx 0.1 T + 140 W/mK, others 0.07 T + 190, 0.41 T + 903 J/kgK; EN 1993-1-2: 54 - 0.0333 T, and 425 + 0.773 T
    # - 1.69e-3 T^2 + 2.22e-6 T^3; EN 10088-1: 304 and 316 15 W/mK, 500 J/kgK. All from memory, at 20 °C.
    assert CONDUCTION["aluminium with magnesium"].conductivity == pytest.approx(0.1 * 20 + 140)
    assert CONDUCTION["aluminium"].conductivity == pytest.approx(0.07 * 20 + 190, abs=0.5)
    assert CONDUCTION["aluminium"].capacity == pytest.approx(0.41 * 20 + 903, abs=0.5)
    assert CONDUCTION["steel"].conductivity == pytest.approx(54 - 0.0333 * 20, abs=0.05)
    assert CONDUCTION["steel"].capacity == pytest.approx(425 + 0.773 * 20 - 1.69e-3 * 400 + 2.22e-6 * 8000, abs=0.5)
    assert CONDUCTION["stainless"][:2] == (15.0, 500.0)
    assert all(row.source for row in CONDUCTION.values())
    assert ARCS["TIG"].efficiency == 0.6  # EN 1011-1
    assert ARCS["MIG"].efficiency == 0.8
