"""What a shop's trays say of shrinkage: simulated shops whose factors are known, and sums by hand."""

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy.integrate import quad

from calc import Plan, plan
from calc.distances import TAPE as EITHER_WAY
from calc.learning import TooFew, Tray, own_shrinkage, usable
from calc.making import OwnShrinkage
from calc.records import as_json, from_json
from tests.shapes import FIVE, METAL, SKEW, SUMP, VALLEYS, fall_tray, pan, sheet_of

GAP = 0.5
RULE = 0.5  # [mm] a step of it
TAPE = EITHER_WAY / 2  # [mm] a standard deviation
SCATTER = 0.4  # of a factor from tray to tray before any is measured: half-normal with this scale
PRIOR_ALONG = (3.0 - 0.8) / (3.0 + 0.8)  # half the range over its middle
RIMS = (
    [[0, 0], [400, 0], [400, 400], [0, 400]],
    [[0, 0], [900, 0], [900, 450], [0, 450]],
    [[0, 0], [520, 12], [690, 280], [310, 470], [-20, 330]],
    [[0, 0], [742, 9], [731, 398], [-12, 371]],
    [[0, 0], [1500, 0], [1480, 700], [10, 690]],
)
LOWS = ([210, 190], [380, 230], [330, 220], [412, 188], [700, 340])


@cache
def tray_plan(number: int, thickness: float, allowed: bool = False) -> Plan:
    return made(fall_tray(RIMS[number], LOWS[number], 90 + 20 * number), thickness, allow_shrinkage=allowed)


def made(shape: dict[str, Any], thickness: float = 1.5, alloy: str = "5052-H32", **making: Any) -> Plan:
    return plan(sheet_of(shape, material={"alloy": alloy, "thickness": thickness}, making=making))


def likely_across(thickness: float, groove: float) -> float:
    """The mean of 0.10 A/t and 0.2 A/t + 0.05 d [mm]."""
    section = thickness**2 * math.tan(math.radians(abs(groove)) / 2) + GAP * thickness
    section += 2 / 3 * 0.3 * thickness * (3 * thickness + GAP)
    return (0.3 * section / thickness + 0.05 * GAP) / 2


LIKELY_ALONG = (0.8 + 3.0) / 2 / 3 / 1000


def crossing(one: tuple[Any, float], other: tuple[Any, float]) -> Any:
    return np.linalg.solve(np.array([one[0], other[0]]), np.array([one[1], other[1]]))


def welded_side(flat: Any, pulled: Any, smaller: float) -> float:
    """The first side of a triangle whose edges are moved in by so much, square to them, and which is then so much smaller."""
    lines = []
    for i in range(3):
        along = flat[(i + 1) % 3] - flat[i]
        out = np.array([along[1], -along[0]]) / np.linalg.norm(along)
        lines.append((out, float(out @ flat[i]) - pulled[i]))
    return (1 - smaller) * math.dist(crossing(lines[2], lines[0]), crossing(lines[0], lines[1]))


def came_out(made_so: Plan, across: float, along: float, rng: Any, exact: bool = False) -> dict[int, float]:
    """How far out the sides of a fall tray of triangles come, of a shop with these factors: its facets laid flat by the law of
    cosines from the corners in space, marked and cut, pulled in, shrunk and measured."""
    points = np.array(made_so.shell.vertices)
    grooves = {frozenset(joint.edge): joint.groove or 0.0 for joint in made_so.shell.joints}
    thickness, found = made_so.sheet.material.thickness, {}
    for number, face in enumerate(made_so.shell.faces, 1):
        one, other, low = points[list(face.loop)]
        side, start, end = math.dist(one, other), math.dist(one, low), math.dist(other, low)
        x = (side**2 + start**2 - end**2) / (2 * side)
        flat = np.array([[0.0, 0.0], [side, 0.0], [x, math.sqrt(start**2 - x**2)]])
        pulled = [0.0] + [across * likely_across(thickness, grooves[frozenset(edge)]) / 2 for edge in face.edges[1:]]
        sizes = (TAPE, ()), (0.5 / 2, (3, 2)), (0.5 / 2, 3)
        tape, marked, cut = (0.0 if exact else rng.normal(0.0, size, shape) for size, shape in sizes)
        length = welded_side(flat + marked, np.array(pulled) + cut, along * LIKELY_ALONG) + tape
        found[number] = (length if exact else round(length / RULE) * RULE) - side
    return found


def shop(rng: Any, across: float, along: float, trays: int, scatter: float = 0.0) -> OwnShrinkage:
    """scatter: how far a tray's factors are from the shop's, one standard deviation."""
    measured = []
    for _ in range(trays):
        made_so = tray_plan(int(rng.integers(len(RIMS))), float(rng.choice([1.5, 3.0, 5.0])))
        its = rng.normal((across, along), scatter)
        measured.append(Tray(made_so, came_out(made_so, *its, rng)))
    found = own_shrinkage(measured)
    assert isinstance(found, OwnShrinkage)
    assert found.trays == trays
    return found


# --- shops whose factors are known


@pytest.mark.parametrize(("shops", "trays", "scatter"), [(100, 20, 0.45), (200, 6, 0.45), (200, 6, 0.2)])
def test_the_next_tray_lies_within_what_is_told(shops: int, trays: int, scatter: float) -> None:
    """Two hundred shops, or half as many where each has many trays, their factors scattered as the published range has it and
    their trays about them by so much: the next tray lies within two spreads as good as 19 times in 20, where one mean for
    all trays held it 13 times."""
    rng, inside = np.random.default_rng(8), np.zeros(2)
    for _ in range(shops):
        truth = np.maximum(1 + rng.normal(size=2) * [1 / 3, PRIOR_ALONG], 0.1)
        found = shop(rng, *truth, trays=trays, scatter=scatter)
        assert found.along is not None
        out = np.array([found.across, found.along]) - rng.normal(truth, scatter)
        inside += np.abs(out) < 2 * np.array([found.across_spread, found.along_spread])
    assert (inside >= 0.88 * shops).all(), inside


def test_what_is_learnt_is_nearer_the_truth_than_what_is_published() -> None:
    rng, inside, before, after = np.random.default_rng(8), np.zeros(2), np.zeros(2), np.zeros(2)
    for _ in range(50):
        truth = np.maximum(1 + rng.normal(size=2) * [1 / 3, PRIOR_ALONG], 0.1)
        found = shop(rng, *truth, trays=int(rng.integers(5, 13)))
        assert found.along is not None
        out = np.array([found.across, found.along]) - truth
        inside += np.abs(out) < 2 * np.array([found.across_spread, found.along_spread])
        before, after = before + (1 - truth) ** 2, after + out**2
    assert (inside >= 47).all(), inside
    assert (after < before).all()


def test_more_trays_know_it_closer() -> None:
    """Far from the published figure a few trays lean to it and many do not; the spread shrinks with every tray, never below
    what trays differ by."""
    rng = np.random.default_rng(3)
    few, many = shop(rng, 2.2, 1.6, 5), shop(rng, 2.2, 1.6, 120)
    scattered = shop(rng, 2.2, 1.6, 120, scatter=0.5)
    assert few.along is not None
    assert many.along is not None
    assert many.across_spread < few.across_spread < math.hypot(1 / 3, SCATTER)
    assert many.along_spread < few.along_spread < math.hypot(PRIOR_ALONG, SCATTER)
    assert abs(many.across - 2.2) < 0.3
    assert abs(many.along - 1.6) < 0.6
    assert many.across_spread < 0.25
    assert 0.4 < scattered.across_spread < 0.65


def test_trays_cut_larger_by_what_they_shrink_come_out_right_and_say_so() -> None:
    """What was allowed on the blanks is added to what is missing: trays that come out to plan are of a shop that shrinks as
    published, those made without allowance that come out to plan of one that shrinks less."""
    allowed = [Tray(tray_plan(i, 3.0, allowed=True), dict.fromkeys(range(1, 5), 0.0)) for i in range(5)]
    found, plain = (
        own_shrinkage(allowed),
        own_shrinkage([Tray(tray_plan(i, 3.0), t.deviations) for i, t in enumerate(allowed)]),
    )
    assert isinstance(found, OwnShrinkage)
    assert isinstance(plain, OwnShrinkage)
    assert (found.across, found.along) == (1.0, 1.0)
    assert plain.across < 1
    assert plain.along < 1


def test_exact_trays_of_a_shop_as_published_change_nothing() -> None:
    """Sides short by just what is likely (moved in and shrunk: the two multiply, to a thousandth of a millimetre)."""
    trays = [Tray(made_so := tray_plan(i, 3.0), came_out(made_so, 1.0, 1.0, None, exact=True)) for i in range(5)]
    found = own_shrinkage(trays)
    assert isinstance(found, OwnShrinkage)
    assert (found.across, found.along) == pytest.approx((1.0, 1.0), abs=2e-3)


def test_a_shop_that_uses_its_own_figure_is_not_corrected_twice() -> None:
    """Trays cut larger by the shop's own figure that come out to plan say what others do that were not and come out short by
    it (moved in and shrunk: the two multiply, which a hundredth of the factor allows for)."""
    own = as_json(OwnShrinkage(1.5, 1.2, 0.1, 0.1, 6))
    shapes = [fall_tray(RIMS[i], LOWS[i], 100) for i in range(5)]
    larger = [made(shape, 3.0, allow_shrinkage=True, own_shrinkage=own) for shape in shapes]
    plain = [made(shape, 3.0) for shape in shapes]
    found = own_shrinkage([Tray(each, dict.fromkeys(range(1, 5), 0.0)) for each in larger])
    before = own_shrinkage([Tray(each, came_out(each, 1.5, 1.2, None, exact=True)) for each in plain])
    assert isinstance(found, OwnShrinkage)
    assert isinstance(before, OwnShrinkage)
    assert (found.across, found.along) == pytest.approx((before.across, before.along), abs=1e-2)
    assert found.across > 1.1


# --- by hand


@pytest.mark.parametrize("short", [0.0, 0.4, 1.3])
def test_pans_by_hand(short: float) -> None:
    """A pan's corner seams stand square to its tops and its floor is folded: only what shrinks across tells, so it is a normal
    hierarchy of one mean. For every scatter precisions add, and the mean is weighed by them (Gelman, Bayesian Data Analysis,
    2.5 and 5.4); scipy sums over scatters."""
    made_so = made(pan(500, 300, 60, inside_radius=2))
    likely, gap = likely_across(1.5, 90.0), 0.5
    length = likely / 0.15 - 0.05 * gap / 0.3  # A/t, from likely = (0.3 A/t + 0.05 d) / 2
    prior = (0.2 * length + 0.05 * gap) / likely - 1
    noise = 2 * (0.5**2 + 0.5**2) / 4 + TAPE**2 + RULE**2 / 12  # both ends of a wall are marked and cut
    trays = [Tray(made_so, dict.fromkeys((1, 2, 3, 4), -short))] * 6
    found = own_shrinkage(trays)
    assert isinstance(found, OwnShrinkage)
    each, says = noise / 4 / likely**2, short / likely  # what one tray finds, and its variance but for the scatter

    def likelihood(scatter: float) -> float:
        """Six trays that find the same: their mean about the published figure, and none of them about their mean."""
        of_mean = prior**2 + (each + scatter**2) / 6
        return math.exp(-(scatter**2) / 2 / SCATTER**2 - (says - 1) ** 2 / 2 / of_mean) / math.sqrt(
            of_mean * (each + scatter**2) ** 5
        )

    def precision(scatter: float) -> float:
        return 1 / prior**2 + 6 / (each + scatter**2)

    def mean(scatter: float) -> float:
        return (1 / prior**2 + 6 * says / (each + scatter**2)) / precision(scatter)

    def averaged(what: Callable[[float], float]) -> float:
        return float(quad(lambda s: what(s) * likelihood(s), 0, 2)[0] / quad(likelihood, 0, 2)[0])

    wanted = averaged(mean)
    variance = averaged(lambda s: s**2 + 1 / precision(s) + (mean(s) - wanted) ** 2)
    assert found.across == pytest.approx(wanted, abs=5e-3)
    assert found.across_spread == pytest.approx(math.sqrt(variance), rel=1e-2)
    assert found.along is None  # nothing is learnt of it


def test_a_side_that_a_fold_ends_on_is_pulled_from_the_other_only() -> None:
    """A square tray folded but for one seam: sides of the two facets at the seam tell, and the two between say nothing."""
    made_so = made(fall_tray(RIMS[0], [200, 200], 60), joins="fewest-welds")
    (seam,) = made_so.shell.welds
    at_seam = {made_so.shell.faces.index(made_so.shell.face(name)) + 1 for name in seam.between}
    assert len(usable([Tray(made_so, {number: -1.0}) for number in (1, 2, 3, 4)])) == 2
    assert len(usable([Tray(made_so, {number: -1.0}) for number in at_seam])) == 2


@pytest.mark.parametrize(
    "shape",
    [
        {**SKEW, "sump": SUMP},
        {**FIVE, "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}},
        VALLEYS["twisted"],
        VALLEYS["level"],
        pan(620, 410, 55, inside_radius=2, fall=12, return_width=20),
    ],
)
def test_every_shape_tells(shape: dict[str, Any]) -> None:
    """Sides that come out much shorter than published tell of a shop that shrinks more."""
    found = own_shrinkage([Tray(made(shape), dict.fromkeys((1, 2, 3, 4), -6.0))] * 5)
    assert isinstance(found, OwnShrinkage)
    assert found.across > 1.05


# --- which trays


def test_four_trays_are_too_few() -> None:
    trays = [Tray(tray_plan(0, 1.5), {1: -1.0})] * 4
    assert own_shrinkage(trays) == TooFew(4, 0, 5)
    assert own_shrinkage([]) == TooFew(0)
    assert isinstance(own_shrinkage([*trays, trays[0]]), OwnShrinkage)


def test_suspect_trays_are_left_out_and_counted() -> None:
    sound, suspect = Tray(tray_plan(0, 1.5), {1: -1.0}), Tray(tray_plan(0, 1.5), {1: 40.0}, suspect=True)
    nothing = Tray(tray_plan(0, 1.5), {})
    assert own_shrinkage([sound] * 4 + [suspect, suspect, nothing]) == TooFew(4, 3)
    assert own_shrinkage([sound] * 5 + [suspect]) == own_shrinkage([sound] * 5)


def test_one_family_and_process_at_a_time() -> None:
    shape = fall_tray(RIMS[0], LOWS[0], 60)
    mixed = [Tray(made(shape, alloy="304"), {1: -1.0}), Tray(made(shape), {1: -1.0})]
    with pytest.raises(ValueError, match=r"got TIG in aluminium, TIG in stainless"):
        own_shrinkage(mixed)
    with pytest.raises(ValueError, match=r"one process \(got MIG in aluminium, TIG in aluminium\)"):
        own_shrinkage([Tray(made(shape, process="MIG"), {1: -1.0}), mixed[1]])


def test_a_side_that_is_not_there_is_refused() -> None:
    with pytest.raises(ValueError, match=r"numbered 1 to 4 \(got 0, 9\)"):
        own_shrinkage([Tray(tray_plan(0, 1.5), {1: -1.0, 9: 2.0, 0: 1.0})])


def test_what_is_learnt_comes_back_from_a_sheet_as_it_was() -> None:
    """To a thousandth: a figure told finer would come back from the stored sheet as another one."""
    found = shop(np.random.default_rng(1), 1.3, 0.9, 6)
    assert from_json(OwnShrinkage, as_json(found)) == found
    assert found.across == round(found.across, 3)


def test_what_is_learnt_can_be_put_in_a_sheet() -> None:
    """However far out, it stays within what a sheet takes, and a plan made with it allows for it."""
    for short in (-60.0, 60.0):
        found = own_shrinkage([Tray(tray_plan(1, 1.5), dict.fromkeys((1, 2, 3, 4), -short))] * 5)
        assert isinstance(found, OwnShrinkage)
        again = plan({**sheet_of(SKEW, making={"own_shrinkage": as_json(found)}), "material": METAL})
        assert again.sheet.making.own_shrinkage is not None
        assert again.sheet.making.own_shrinkage.trays == 5
