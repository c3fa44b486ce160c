"""The tables against figures from outside: the source stands beside each, "memory" where no print was at hand."""

import math

import pytest

from calc.tables.alloys import ALLOYS, alloy, least_inside_radius
from calc.tables.fillers import FILLERS, filler, filler_for, unfit
from calc.tables.gauges import gauge_thickness
from calc.tables.lookup import NotListedError
from calc.tables.sawing import HAND_HELD, feed, rim_speed, saw_range
from calc.tables.tolerances import (
    angular_iso13920,
    linear_iso2768,
    linear_iso13920,
    thickness_en485,
)
from calc.tables.welding import TIG, settings_for_estimate, tig_settings

INCH = 25.4


# --- metals


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        # Densities as handbooks print them, kg/m3; where they differ, both ends.
        ("1050A-H14", 2705, 2710),
        ("3003-H14", 2730, 2730),
        ("5052-H32", 2680, 2680),
        ("5052-H34", 2680, 2680),
        ("5083-H111", 2660, 2660),
        ("5754-H111", 2660, 2690),
        ("5754-H22", 2660, 2690),
        ("6061-T6", 2700, 2700),
        ("DC01", 7850, 7850),  # mild steel, memory
        ("S235JR", 7850, 7850),  # memory
        ("304", 7900, 8000),  # EN 10088-1; data sheets
        ("316", 8000, 8000),  # data sheets
    ],
)
def test_density_is_the_heavier_that_is_printed(name, least, most):
    assert least <= alloy(name).density == most


def test_sheet_weight_of_6061_by_a_printed_example():
    # Printed: 728 x 380 x 3 mm at 2.7 g/cm3 weighs 2.24 kg.
    assert round(0.728 * 0.380 * 0.003 * alloy("6061-T6").density, 2) == 2.24


def test_a_printed_sheet_weight_bounds_every_aluminium():
    # Printed: 0.80 mm, 1.25 x 2.5 m at 2.80 g/cm3 weighs 7.00 kg; no metal here is so heavy, none 10 % lighter.
    weights = [1.25 * 2.5 * 0.8e-3 * metal.density for metal in ALLOYS.values() if metal.family == "aluminium"]
    assert 0.9 * 7.00 < min(weights) <= max(weights) < 7.00


def test_modulus_and_expansion():
    for metal in ALLOYS.values():
        # Handbooks: aluminium 69 to 71 GPa and 23.1e-6/K; steel 210 and 12e-6; 304 200 GPa, 16.0e-6 (EN 10088-1)
        # or 17.2e-6 (memory).
        modulus, expansion = {
            "aluminium": ((69, 71), (23.1e-6, 23.1e-6)),
            "steel": ((210, 210), (12e-6, 12e-6)),
            "stainless": ((200, 200), (16.0e-6, 17.2e-6)),
        }[metal.family]
        assert modulus[0] <= metal.modulus <= modulus[1]
        assert expansion[0] <= metal.expansion <= expansion[1]


@pytest.mark.parametrize(
    ("name", "multiples"),
    [
        # Aluminum Association, multiples of the thickness at 1/32, 1/16 and 1/8 in.
        ("1100-H14", (0, 0, 1)),
        ("3003-H14", (0, 0, 1)),  # memory
        ("5052-H32", (0, 1, 1.5)),
        ("5052-H34", (1, 1.5, 2)),
        ("6061-T6", (1, 1.5, 2.5)),
    ],
)
def test_least_radius_by_the_aluminum_association(name, multiples):
    for thickness, multiple in zip((INCH / 32, INCH / 16, INCH / 8), multiples, strict=True):
        assert least_inside_radius(alloy(name), thickness).radius == pytest.approx(multiple * thickness)


@pytest.mark.parametrize(
    ("name", "thickness", "radius"),
    [
        # EN 485-2: 0.5 t to 1.5 mm, 1.0 t to 3 mm, 1.5 t to 6 mm.
        ("1050A-H14", 1.5, 0.75),
        ("1050A-H14", 1.6, 1.6),
        ("1050A-H14", 3, 3),
        ("1050A-H14", 6, 9),
        # DIN 6935, steel to 390 N/mm2: s to 1, 1.5, 2.5, 3, 4 mm.
        ("DC01", 1, 1),
        ("DC01", 1.2, 1.6),
        ("S235JR", 2.5, 2.5),
        ("DX51D+Z", 2.6, 3),
        ("DC01", 4, 5),
    ],
)
def test_least_radius_by_standard(name, thickness, radius):
    assert least_inside_radius(alloy(name), thickness).radius == pytest.approx(radius)


def test_between_two_rows_the_larger_radius_is_taken():
    # 1.0 mm 5052-H32 lies between 1/32 in (0 t) and 1/16 in (1 t).
    assert least_inside_radius(alloy("5052-H32"), 1.0).radius == 1.0


@pytest.mark.parametrize("metal", ALLOYS.values(), ids=lambda metal: metal.name)
def test_least_radius_never_falls_with_thickness_and_names_its_source(metal):
    found = [least_inside_radius(metal, t / 10) for t in range(2, 61)]
    radii = [row.radius for row in found]
    assert radii == sorted(radii)
    assert all(row.source for row in found)


def test_a_row_from_memory_says_so():
    assert "memory" in least_inside_radius(alloy("5052-H32"), 6).source
    assert "memory" not in least_inside_radius(alloy("5052-H32"), 3).source


def test_names_are_read_in_either_case_and_by_the_standards_number():
    assert alloy(" 5052-h32 ") is ALLOYS["5052-H32"]
    assert alloy("1.4301") is ALLOYS["304"]
    assert all(alloy(name) is metal for name, metal in ALLOYS.items())


# --- rods


@pytest.mark.parametrize(
    ("name", "rods"),
    [
        # Filler charts of welding handbooks.
        ("5052-H32", {"ER5356"}),
        ("5083-H111", {"ER5183", "ER5356"}),
        ("6061-T6", {"ER4043", "ER5356"}),
        ("1050A-H14", {"ER4043", "ER1100"}),
        ("1100-H14", {"ER4043", "ER1100"}),
        ("3003-H14", {"ER4043", "ER1100"}),
        ("304", {"ER308L"}),
        ("316", {"ER316L"}),
    ],
)
def test_rod_by_metal(name, rods):
    assert filler_for(alloy(name)).name in rods
    assert filler_for(name) is filler_for(alloy(name))


def test_a_silicon_rod_never_meets_over_two_and_a_half_per_cent_magnesium():
    # Handbooks: 5083 never with 4043 (over 2.5 % Mg). EN 573-3 (memory) puts 5754 over it as well.
    for name in ("5083-H111", "5754-H111", "5754-H22"):
        assert "ER4043" not in alloy(name).fillers
        assert "brittle" in unfit(filler("ER4043"), alloy(name))
    assert unfit(filler("ER4043"), alloy("6061-T6")) == ""


# EN 573-3, from memory, magnesium [%]: 5052 2.2 to 2.8, 5083 4.0 to 4.9, 5754 2.6 to 3.6, 6061 0.8 to 1.2, the others traces.
@pytest.mark.parametrize(
    ("name", "least", "most"),
    [
        *(("5052-H32", 2.2, 2.8), ("5052-H34", 2.2, 2.8), ("5083-H111", 4.0, 4.9), ("5754-H111", 2.6, 3.6)),
        *(("5754-H22", 2.6, 3.6), ("6061-T6", 0.8, 1.2), ("1050A-H14", 0.0, 0.05), ("1100-H14", 0.0, 0.05)),
        *(("3003-H14", 0.0, 0.05), ("DC01", 0.0, 0.0), ("304", 0.0, 0.0)),
    ],
)
def test_the_most_magnesium_a_metal_may_hold(name, least, most):
    metal = alloy(name)
    assert metal.magnesium_up_to == pytest.approx(most, abs=0.05)
    assert least <= metal.magnesium <= metal.magnesium_up_to


# Filler charts of welding handbooks, from memory: pairs at room heat and in service above 65 °C; None: none for it.
@pytest.mark.parametrize(
    ("one", "other", "usual", "hot"),
    [
        ("1050A-H14", "5052-H32", "ER5356", "ER5554"),
        ("1100-H14", "5052-H34", "ER5356", "ER5554"),
        ("3003-H14", "5052-H32", "ER5356", "ER5554"),
        ("3003-H14", "5754-H22", "ER5356", "ER5554"),
        ("1050A-H14", "5083-H111", "ER5356", None),  # 5083 itself is not for continued service above 65 °C
        ("5052-H32", "5052-H32", "ER5356", "ER5554"),
        ("6061-T6", "1100-H14", "ER4043", "ER4043"),
        ("6061-T6", "6061-T6", "ER4043", "ER4043"),
    ],
)
def test_rods_of_the_charts_by_pair_and_heat(one, other, usual, hot):
    for pair in ((one, other), (other, one)):
        assert filler_for(*pair).name == usual
        if hot is None:
            with pytest.raises(NotListedError, match="no filler"):
                filler_for(*pair, service=80)
        else:
            assert filler_for(*pair, service=80).name == hot


def test_no_5356_above_65_degrees():
    # Handbooks: above 65 C in service not 5356.
    for metal in ALLOYS.values():
        try:
            assert filler_for(metal, service=66).name not in {"ER5356", "ER5183"}
        except NotListedError:
            assert metal.name == "5083-H111"
    assert filler_for("5052-H32", service=65).name == "ER5356"


@pytest.mark.parametrize(
    ("one", "other", "rod"),
    [
        ("304", "DC01", "ER309L"),  # handbooks: stainless to mild
        ("S235JR", "316", "ER309L"),
        ("6061-T6", "5083-H111", "ER5356"),  # 4043 is ruled out by the 5083
        ("6061-T6", "3003-H14", "ER4043"),
        ("5052-H32", "5754-H111", "ER5356"),
        ("5052-H32", "3003-H14", "ER5356"),  # filler charts of handbooks, memory: 1xxx and 3xxx to 5xxx
        ("1050A-H14", "5083-H111", "ER5356"),
    ],
)
def test_rod_between_two_metals_is_one_that_suits_both_either_way(one, other, rod):
    assert filler_for(one, other).name == rod
    assert filler_for(other, one).name == rod


@pytest.mark.parametrize(
    ("name", "density"),
    # Handbooks; ER70S-6 as steel, memory.
    [("ER4043", 2690), ("ER5356", 2640), ("ER70S-6", 7850)],
)
def test_rod_density(name, density):
    assert filler(name).density == density


def test_every_rod_that_a_metal_names_is_listed_and_weighs_about_the_same():
    for metal in ALLOYS.values():
        for name in metal.fillers:
            assert filler(name).density == pytest.approx(metal.density, rel=0.04)
            assert unfit(filler(name), metal) == ""
    assert len({rod.name for rod in FILLERS}) == len(FILLERS)


# --- gauges


@pytest.mark.parametrize(
    ("kind", "number", "inches"),
    [
        # Printed gauge tables, inches to four decimals.
        ("steel", 14, 0.0747),
        ("steel", 16, 0.0598),
        ("steel", 18, 0.0478),
        ("steel", 20, 0.0359),
        ("galvanised", 16, 0.0635),
        ("stainless", 16, 0.0625),
        ("aluminium", 14, 0.0641),
        ("aluminium", 16, 0.0508),
        ("aluminium", 18, 0.0403),
        ("aluminium", 36, 0.0050),  # the formula's own fixed points, ASTM B258 (memory): No. 36 and 0000
        ("aluminium", 0, 0.3249),  # memory
        ("aluminium", 10, 0.1019),  # memory
    ],
)
def test_gauges_as_printed(kind, number, inches):
    assert round(gauge_thickness(kind, number) / INCH, 4) == inches


# The U.S. Standard gauge was set by weight, ounces a square foot (Act of 1893, memory). Steel mills turn it into
# thickness by 41.82 lb/ft2 per inch [printed]; galvanised carries 2.5 oz more; stainless is ounces / 640 in (memory).
OUNCES = dict(
    zip(
        range(8, 29),
        (110, 100, 90, 80, 70, 60, 50, 45, 40, 36, 32, 28, 24, 22, 20, 18, 16, 14, 12, 11, 10),
        strict=True,
    )
)


@pytest.mark.parametrize("number", OUNCES)
def test_gauges_by_the_weights_that_they_were_made_from(number):
    ounces = OUNCES[number]
    assert gauge_thickness("steel", number) / INCH == pytest.approx(ounces / 16 / 41.82, abs=6e-5)
    assert gauge_thickness("galvanised", number) / INCH == pytest.approx((ounces + 2.5) / 16 / 41.82, abs=6e-5)
    assert gauge_thickness("stainless", number) / INCH == pytest.approx(ounces / 640, abs=6e-5)


def test_brown_and_sharpe_goes_up_in_equal_ratios():
    # 39 equal steps from No. 36, 0.005 in, to No. 0000, 0.46 in (ASTM B258, memory): 36 of them to No. 0.
    ratios = {round(gauge_thickness("aluminium", n) / gauge_thickness("aluminium", n + 1), 12) for n in range(36)}
    assert ratios == {round((0.46 / 0.005) ** (1 / 39), 12)}


# --- tolerances


@pytest.mark.parametrize(
    ("cls", "deviations"),
    [
        # ISO 2768-1, memory, read across two prints; ranges end at 3, 6, 30, 120, 400, 1000, 2000, 4000 mm.
        ("f", (0.05, 0.05, 0.1, 0.15, 0.2, 0.3, 0.5, None)),
        ("m", (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2)),
        ("c", (0.2, 0.3, 0.5, 0.8, 1.2, 2, 3, 4)),
        ("v", (None, 0.5, 1, 1.5, 2.5, 4, 6, 8)),
    ],
)
def test_iso_2768(cls, deviations):
    begins = 0.5
    for ends, deviation in zip((3, 6, 30, 120, 400, 1000, 2000, 4000), deviations, strict=True):
        for size in (begins, (begins + ends) / 2, ends):
            if deviation is None:
                with pytest.raises(NotListedError, match="gives class"):
                    linear_iso2768(size, cls)
            else:
                assert linear_iso2768(size, cls) == deviation
        begins = math.nextafter(ends, math.inf) + 1e-3


@pytest.mark.parametrize(
    ("cls", "deviations"),
    [
        # ISO 13920, printed, to 30, 120, 400, 1000, 2000 and 4000 mm; the last four, to 20 m, memory.
        ("A", (1, 1, 1, 2, 3, 4, 5, 6, 7, 8)),
        ("B", (1, 2, 2, 3, 4, 6, 8, 10, 12, 14)),
        ("C", (1, 3, 4, 6, 8, 11, 14, 18, 21, 24)),
        ("D", (1, 4, 7, 9, 12, 16, 21, 27, 32, 36)),
    ],
)
def test_iso_13920_lengths(cls, deviations):
    begins = 2.0
    ends_at = (30, 120, 400, 1000, 2000, 4000, 8000, 12000, 16000, 20000)
    for ends, deviation in zip(ends_at, deviations, strict=True):
        assert [linear_iso13920(size, cls) for size in (begins, ends)] == [deviation, deviation]
        begins = ends + 1e-3


@pytest.mark.parametrize(
    ("cls", "minutes", "mm_a_metre"),
    [
        # ISO 13920, printed: minutes of angle to 400, to 1000, over; and the same in mm a metre (memory).
        ("A", (20, 15, 10), (6, 4.5, 3)),
        ("B", (45, 30, 20), (13, 9, 6)),
        ("C", (60, 45, 30), (18, 13, 9)),
        ("D", (90, 75, 60), (26, 22, 18)),
    ],
)
def test_iso_13920_angles_in_degrees_and_by_their_tangents(cls, minutes, mm_a_metre):
    legs = ((1, 400), (400.1, 1000), (1000.1, 20_000))
    for (short, long), angle, slope in zip(legs, minutes, mm_a_metre, strict=True):
        assert angular_iso13920(short, cls) == angular_iso13920(long, cls) == pytest.approx(angle / 60)
        assert 1000 * math.tan(math.radians(angular_iso13920(long, cls))) == pytest.approx(slope, abs=0.55)


def test_a_computed_size_on_a_limit_keeps_the_tighter_row():
    assert linear_iso2768(120 + 1e-9) == linear_iso2768(120) == 0.3
    assert linear_iso13920(math.fsum([0.1] * 300)) == linear_iso13920(30)


@pytest.mark.parametrize(
    ("thickness", "deviation"),
    # EN 485-4, printed, group II, 1250 wide: 1.5 to 1.8, to 2.0, 2.5 to 3.0 mm; to 2.5 memory.
    [(1.5, 0.12), (1.8, 0.12), (1.9, 0.13), (2.0, 0.13), (2.5, 0.14), (2.6, 0.15), (3.0, 0.15)],
)
def test_en_485(thickness, deviation):
    assert thickness_en485(thickness) == deviation


# --- TIG


@pytest.mark.parametrize(
    ("thickness", "amps", "rod", "flow", "travel"),
    [
        # Welding handbooks, aluminium, butt, AC.
        (1.6, (60, 80), 1.6, (6, 7), 400),
        (3.2, (125, 145), 2.4, (7, 7), 300),
        (4.8, (180, 220), 3.2, (6.5, 10), 250),
    ],
)
def test_tig_aluminium(thickness, amps, rod, flow, travel):
    found = tig_settings("aluminium", thickness)
    assert found.amps == pytest.approx(amps)
    assert (found.filler, found.flow, found.travel) == (rod, flow, pytest.approx(travel))


@pytest.mark.parametrize(("thickness", "amps"), [(1.6, (60, 70)), (3.2, (70, 95))])  # welding handbooks
def test_tig_stainless(thickness, amps):
    assert tig_settings("stainless", thickness).amps == pytest.approx(amps)


@pytest.mark.parametrize("thickness", [1.0, 1.2, 1.6, 2.0, 2.5, 3.0, 3.2, 4.0])
def test_tig_aluminium_is_about_one_amp_a_thou(thickness):
    # Handbooks: one amp for each thousandth of an inch, from about 1 to 4 mm; "about" taken as a fifth.
    low, high = tig_settings("aluminium", thickness).amps
    assert (low + high) / 2 == pytest.approx(thickness / 0.0254, rel=0.2)


@pytest.mark.parametrize("family", TIG)
def test_thicker_sheet_takes_more_amps_and_is_never_faster(family):
    steps = [tig_settings(family, t / 10) for t in range(10, 33)]
    assert [s.amps[0] for s in steps] == sorted(s.amps[0] for s in steps)
    assert [s.travel for s in steps] == sorted((s.travel for s in steps), reverse=True)
    speeds = [settings_for_estimate(family, t / 10, "TIG").row.travel for t in range(2, 251)]
    assert speeds == sorted(speeds, reverse=True)
    assert min(speeds) > 0


def test_an_estimate_outside_the_rows_says_so():
    assert settings_for_estimate("aluminium", 2.0, "TIG").caution == ""
    assert "1 to 4.8 mm" in settings_for_estimate("aluminium", 10, "TIG").caution
    assert "1 to 4.8 mm" in settings_for_estimate("aluminium", 0.5, "TIG").caution


# --- what no table answers

REFUSALS = [
    (lambda: alloy("unobtainium"), r"1050A-H14.*5052-H32.*316.*\(got unobtainium\)"),
    (lambda: alloy("5052"), r"5052-H32, 5052-H34.*\(got 5052\)"),
    (lambda: alloy(""), "use one of"),
    (lambda: least_inside_radius(alloy("5052-H32"), 6.4), "5052-H32 ends at 6.35 mm.*6.4 mm"),
    (lambda: least_inside_radius(alloy("DC01"), 0), "nothing is listed for 0 mm"),
    (lambda: filler("ER9999"), r"ER4043.*\(got ER9999\)"),
    (lambda: filler_for("5083-H111", service=80), "5083-H111 at 80 °C .*65 °C"),
    (lambda: filler_for("5052-H32", "DC01"), "5052-H32 to DC01"),
    (lambda: gauge_thickness("copper", 16), r"steel, galvanised, stainless, aluminium \(got copper\)"),
    (lambda: gauge_thickness("steel", 7), "8 to 28: there is no 7"),
    (lambda: gauge_thickness("steel", 29), "8 to 28"),
    (lambda: gauge_thickness("steel", 16.5), "whole numbers"),
    (lambda: gauge_thickness("aluminium", -1), "0 to 36"),
    (lambda: gauge_thickness("aluminium", 37), "0 to 36"),
    (lambda: linear_iso2768(0.4), "begins at 0.5 mm"),
    (lambda: linear_iso2768(4000.1), "ends at 4000 mm"),
    (lambda: linear_iso2768(-30), "nothing is listed for -30 mm"),
    (lambda: linear_iso2768(math.nan), "nothing is listed for nan mm"),
    (lambda: linear_iso2768(math.inf), "nothing is listed for inf mm"),
    (lambda: linear_iso2768(30, "x"), r"f, m, c, v \(got x\)"),
    (lambda: linear_iso2768(30, "mc"), r"\(got mc\)"),
    (lambda: linear_iso2768(30, ""), r"f, m, c, v"),
    (lambda: linear_iso13920(1.9), "begins at 2 mm"),
    (lambda: linear_iso13920(20_001), "ends at 20000 mm"),
    (lambda: linear_iso13920(30, "E"), r"A, B, C, D \(got E\)"),
    (lambda: angular_iso13920(0), "nothing is listed for 0 mm"),
    (lambda: thickness_en485(1.4), "begins at 1.5 mm"),
    (lambda: thickness_en485(3.1), "ends at 3 mm"),
    (lambda: thickness_en485(2, 1500), "1250 mm wide"),
    (lambda: tig_settings("aluminium", 0.9), "1 to 4.8 mm"),
    (lambda: tig_settings("stainless", 3.3), "1 to 3.2 mm"),
    (lambda: tig_settings("copper", 2), r"aluminium, stainless, steel \(got copper\)"),
    (lambda: settings_for_estimate("steel", 0, "TIG"), "above 0 mm"),
    (lambda: settings_for_estimate("steel", math.nan, "TIG"), "above 0 mm"),
]


@pytest.mark.parametrize(("look_up", "says"), REFUSALS)
def test_past_the_table_is_refused_in_a_sentence(look_up, says):
    with pytest.raises(NotListedError, match=says):
        look_up()


# Saws: V = pi D n / 60, feed Z n Sz / 1000; carbide in aluminium 50 to 80 or 90 m/s at the rim and 0.04 to 0.20 mm a tooth,
# as quoted in print. Hand-held saws at 25 to 55 m/s: common practice.


@pytest.mark.parametrize(
    ("diameter", "speed", "metres"),
    # by hand: 3.14159 x 0.165 x 5000 / 60 = 43.197; 0.250 x 3.14159 x 3800 / 60 = 49.742; 0.305 x 3.14159 x 4000 / 60 = 63.879
    [(165, 5000, 43.197), (250, 3800, 49.742), (305, 4000, 63.879)],
)
def test_rim_speed_by_hand(diameter, speed, metres):
    assert rim_speed(diameter, speed) == pytest.approx(metres, abs=5e-4)


def test_feed_by_hand():
    # 48 teeth x 4500 a minute = 216000 bites of 0.04 and of 0.20 mm
    assert feed(48, 4500, 0.04) == pytest.approx(8.64)
    assert feed(48, 4500, 0.20) == pytest.approx(43.2)


def test_the_published_range_for_aluminium():
    found = saw_range("aluminium")
    assert (found.slowest, found.fastest, found.fastest_of_any) == (50, 80, 90)
    assert (found.least_feed, found.most_feed) == (0.04, 0.20)
    assert HAND_HELD == (25, 55)


@pytest.mark.parametrize("family", ["steel", "stainless"])
def test_no_saw_range_is_made_up_for_a_metal_that_has_none(family):
    with pytest.raises(NotListedError, match=f"no rim speed or feed is listed for sawing {family}"):
        saw_range(family)
