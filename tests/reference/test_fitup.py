"""Fitting to what was made, against figures from outside: worked quadrilaterals, Bretschneider, ISO 13920."""

import math

import numpy as np
import pytest
import shapely

from calc import Plan, plan
from calc.fitup import AsBuilt, fit, wanted
from tests.shapes import fall_tray, sheet_of

# AB 5, BC 13, CD 16, DA 20, AC 12: two right-angled triangles on AC (5-12-13 and 12-16-20), area 30 + 96 = 126, BD the root of
# 585; a worked example of school geometry. Here 50 times as large, planned a few mm off.
TIMES = 50
AB, BC, CD, DA, AC = (TIMES * length for length in (5, 13, 16, 20, 12))


def planned(rim: list[list[float]], **making: str) -> Plan:
    middle = np.array(rim).mean(0)
    return plan(sheet_of(fall_tray(rim, middle.tolist(), 60), making=making))


def example() -> tuple[Plan, dict[str, float]]:
    # A at (0, 0), C at (600, 0): B 250 from A, square to AC there; D 800 from C, square to AC there
    rim = [[2, 1], [1, -251], [601, -1], [598, 802]]
    return planned(rim), {"side-1-2": AB, "side-2-3": BC, "side-3-4": CD, "side-4-1": DA, "diagonal-1-3": AC}


def test_four_sides_and_one_diagonal_fix_everything() -> None:
    made, taped = example()
    built = fit(made, taped)
    assert shapely.Polygon(built.outline).area == pytest.approx(126 * TIMES**2, rel=1e-9)
    assert math.dist(built.outline[1], built.outline[3]) == pytest.approx(math.sqrt(585) * TIMES, rel=1e-9)
    # AB stands square to AC at A, CD at C; B = atan(12/5), D = atan(12/16); A = 90 + atan(16/12), C = 90 + atan(5/12)
    degrees = [math.degrees(math.atan2(*legs)) for legs in ((16, 12), (12, 5), (5, 12), (12, 16))]
    wanted_angles = [90 + degrees[0], degrees[1], 90 + degrees[2], degrees[3]]
    assert [angle.built for angle in built.angles] == pytest.approx(wanted_angles, abs=1e-6)
    assert [line.residual for line in built.lines] == pytest.approx([0] * 5, abs=1e-8)


def test_either_diagonal_does() -> None:
    made, taped = example()
    taped["diagonal-2-4"] = math.sqrt(585) * TIMES
    del taped["diagonal-1-3"]
    built = fit(made, taped)
    assert math.dist(built.outline[0], built.outline[2]) == pytest.approx(AC, rel=1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_areas_by_bretschneider(seed: int) -> None:
    # K = sqrt(4 p2 q2 - (a2 - b2 + c2 - d2)2) / 4 of any quadrilateral with these sides and diagonals (Bretschneider 1842)
    chance = np.random.default_rng(seed)
    rim = np.array([[0, 0], [820, 0], [820, 430], [0, 430]]) + chance.normal(0, 25, (4, 2))
    made = planned(rim.round(1).tolist())
    true = np.array(made.sheet.shape.corners) + chance.normal(0, 2, (4, 2))
    taped = {line.key: math.dist(*true[list(line.between)]) for line in wanted(made) if line.between}
    a, b, c, d, p, q = taped.values()
    area = math.sqrt(4 * p**2 * q**2 - (a**2 - b**2 + c**2 - d**2) ** 2) / 4
    assert shapely.Polygon(fit(made, taped).outline).area == pytest.approx(area, rel=1e-9)


# ISO 13920:1996 table 1, deviations of 300, 900 and 1500 mm; table 2, of an angle whose shorter leg is 300 and 900 mm
ISO_13920 = {
    "A": ((1, 2, 3), (20 / 60, 15 / 60)),
    "B": ((2, 3, 4), (45 / 60, 30 / 60)),
    "C": ((4, 6, 8), (60 / 60, 45 / 60)),
    "D": ((7, 9, 12), (90 / 60, 75 / 60)),
}


def measured(made: Plan, **out: float) -> AsBuilt:
    return fit(made, {line.key: line.nominal + out.get(line.key.replace("-", "_"), 0.0) for line in wanted(made)})


@pytest.mark.parametrize("grade", ISO_13920)
def test_sides_pass_up_to_the_deviation_of_the_class(grade: str) -> None:
    (of_300, of_900, of_1500), _ = ISO_13920[grade]
    for long, either_way in ((900, of_900), (1500, of_1500)):
        made = planned([[0, 0], [long, 0], [long, 300], [0, 300]], tolerance_class=grade)
        lines = {line.key: line for line in measured(made).lines}
        assert (lines["side-1-2"].tolerance, lines["side-2-3"].tolerance) == (either_way, of_300)
        for out in (either_way, -either_way):
            built = measured(made, side_1_2=out)
            assert {line.key: line.within for line in built.lines}["side-1-2"] is True
            built = measured(made, side_1_2=out * 1.01)
            assert {line.key: line.within for line in built.lines}["side-1-2"] is False
            assert not built.passes
            assert built.worst == "side-1-2"


@pytest.mark.parametrize("grade", ISO_13920)
@pytest.mark.parametrize("which", [0, 1])
def test_angles_pass_up_to_the_deviation_of_the_class(grade: str, which: int) -> None:
    long, short = ((1500, 300), (1500, 900))[which]
    either_way = ISO_13920[grade][1][which]
    made = planned([[0, 0], [long, 0], [long, short], [0, short]], tolerance_class=grade)
    for share, within in ((0.99, True), (1.01, False)):
        # a parallelogram: every corner out by the same angle, the sides as planned
        lean = short * math.sin(math.radians(either_way * share)), short * math.cos(math.radians(either_way * share))
        corners = [(0, 0), (long, 0), (long + lean[0], lean[1]), lean]
        taped = {line.key: math.dist(*(corners[i] for i in line.between)) for line in wanted(made) if line.between}
        built = fit(made, taped)
        assert [angle.tolerance for angle in built.angles] == pytest.approx([either_way] * 4)
        assert [abs(angle.built - 90) for angle in built.angles] == pytest.approx([either_way * share] * 4)
        assert {angle.within for angle in built.angles} == {within}
        if not within:
            assert not built.passes
