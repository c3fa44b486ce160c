"""The error budget: against blanks with errors drawn at random and put together, and against figures by hand."""

import math
from typing import Any

import numpy as np
import pytest

from calc import Plan, plan
from calc.budget import budget_of, put_together, rim_edges
from calc.records import as_json, from_json
from calc.shell import Face, Shell, join_faces
from calc.turns import in_turn
from tests.calc.laid_up import LaidUp, unit
from tests.shapes import FLAT, NAMED, SKEW, SUMPS, VALLEYS, fall_tray, pan, sheet_of

DRAWS = 20_000
MARKING, CUTTING = 0.4, 0.7
OFTEN = 1.96
SQUARE = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 40)
LAPPED = {**SKEW, "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}}
UPSTAND = {**SQUARE, "rim_finish": {"kind": "upstand", "height": 30, "inside_radius": 1.5}}
RETURNED = pan(620, 410, 55, inside_radius=2, fall=12, return_width=20)
DRAWN = {
    "square": (SQUARE, "weld-all"),
    "skew": (SKEW, "weld-all"),
    "skew, folded": (SKEW, "fewest-welds"),
    "pan": (RETURNED, "weld-all"),
    "lapped": (LAPPED, "weld-all"),
    "upstand": (UPSTAND, "weld-all"),
    "valley": (VALLEYS["twisted"], "weld-all"),
    "sump": (SUMPS["five"], "weld-all"),
}


def planned(shape: dict[str, Any], joins: str = "weld-all", **making: Any) -> Plan:
    errors = {"marking_error": MARKING, "cutting_error": CUTTING}
    return plan(sheet_of(shape, making={"joins": joins, **errors, **making}))


def worst(vectors: Any) -> float:
    """How far apart, 19 times in 20, in the direction in which that is worst."""
    return OFTEN * math.sqrt(float(np.linalg.eigvalsh(np.cov(vectors.T)).max()))


def often(lengths: Any) -> float:
    return OFTEN * float(np.std(lengths))


# Of so many draws a standard deviation is known to one part in root 2n; five of these are met once in a million.
SAMPLED = 5 / math.sqrt(2 * DRAWS)


@pytest.mark.parametrize("case", DRAWN.values(), ids=list(DRAWN))
def test_blanks_drawn_at_random_and_put_together_are_out_by_as_much(case: tuple[dict[str, Any], str]) -> None:
    made = planned(*case)
    budget = made.budget
    assert budget is not None
    laid = put_together(made.shell, MARKING, CUTTING)
    drawn = LaidUp(as_json(made.shell, 15), DRAWS)
    drawn.draw(MARKING, CUTTING, seed=20)
    drawn.lay_up([as_json(joint) for joint in in_turn(made.shell.welds, made.shell)])
    assert drawn.most_turned < 1e-9  # edges moved square to themselves keep their directions

    assert [joint["between"] for joint in drawn.left_over] == [list(joint.between) for joint in laid.closing]
    for joint, closing in zip(drawn.left_over, laid.closing, strict=True):
        ends = drawn.ends(joint)
        apart = [drawn.corner(joint["between"][1], v) - drawn.corner(joint["between"][0], v) for v in ends]
        along = unit(drawn.points[ends[1]] - drawn.points[ends[0]])
        across = [gap - np.outer(gap @ along, along) for gap in apart]
        found = laid.gap(closing)
        assert found.across == pytest.approx(worst(across[0]), rel=SAMPLED)
        assert found.across == pytest.approx(worst(across[1]), rel=SAMPLED)
        assert (found.rim, found.low) == pytest.approx((worst(apart[0]), worst(apart[1])), rel=SAMPLED)

    rim = rim_of(drawn)
    mean = {v: sum(drawn.corner(name, v) for name in owners(drawn, v)) / len(owners(drawn, v)) for v in rim}
    for (side, (one, other)), place in zip(laid.sides(), range(len(rim)), strict=True):
        start, end = rim[one - 1], rim[other - 1]
        (name,) = (name for name in owners(drawn, start) if name in owners(drawn, end))
        assert one == place + 1
        assert side == pytest.approx(often(spans(drawn.corner(name, start), drawn.corner(name, end))), rel=SAMPLED)
    for diagonal, (one, other) in laid.diagonals():
        assert diagonal == pytest.approx(often(spans(mean[rim[one - 1]], mean[rim[other - 1]])), rel=SAMPLED)
    lowest = [v for v in range(len(drawn.points)) if drawn.points[v][2] < drawn.points[:, 2].min() + 1e-9]
    depths = []
    for v in lowest:
        low = sum(drawn.corner(name, v) for name in owners(drawn, v)) / len(owners(drawn, v))
        depths.append(often(sum(corner[:, 2] for corner in mean.values()) / len(mean) - low[:, 2]))
    assert budget.depth == pytest.approx(max(depths), rel=SAMPLED)


def owners(drawn: LaidUp, vertex: int) -> list[str]:
    return [name for name, loop in drawn.loops.items() if vertex in loop and drawn.roles[name] != "strip"]


def rim_of(drawn: LaidUp) -> list[int]:
    """The rim's corners in the order in which they are numbered in the shell, which runs round it."""
    return sorted(drawn.rim)


def spans(one: Any, other: Any) -> Any:
    return np.linalg.norm(other - one, axis=1)


@pytest.mark.parametrize("shape", [*NAMED.values(), *VALLEYS.values(), *SUMPS.values(), LAPPED, RETURNED])
def test_what_is_told_is_the_last_and_the_worst(shape: dict[str, Any]) -> None:
    made = planned(shape)
    budget, laid = made.budget, put_together(made.shell, MARKING, CUTTING)
    assert budget is not None
    assert budget.last_seam == in_turn(made.shell.welds, made.shell)[-1].name
    gaps = {joint.name: laid.gap(joint) for joint in laid.closing}
    assert (budget.gap, budget.gap_rim, budget.gap_low) == gaps[budget.last_seam]
    assert (budget.worst_gap, budget.worst_rim, budget.worst_low) == gaps[budget.worst_seam]
    assert budget.worst_gap == max(gap.across for gap in gaps.values())
    assert budget.side == max(side for side, _ in laid.sides())
    assert budget.diagonal == max((diagonal for diagonal, _ in laid.diagonals()), default=None)
    assert (budget.marking, budget.cutting) == (MARKING, CUTTING)


# --- by hand


def test_a_square_tray_by_hand() -> None:
    """Each side is out by its two seams' errors over the sine of their angle with it, and by its own error times twice the
    cotangent. Round the rim opposite sides add up: the ring is open by two sides' variances along x, and as much along y."""
    budget = planned(SQUARE).budget
    assert budget is not None
    angle = math.atan2(math.hypot(200, 40), 200)
    variance = (MARKING**2 + CUTTING**2) / 4 * (2 / math.sin(angle) ** 2 + (2 / math.tan(angle)) ** 2)
    assert budget.side == pytest.approx(OFTEN * math.sqrt(variance))
    assert budget.gap == pytest.approx(OFTEN * math.sqrt(2 * variance))
    assert budget.gap_rim == pytest.approx(budget.gap)


def test_a_plain_pan_by_hand() -> None:
    """At a corner each wall's end is out by its cut, and the wall beside it by the fold it stands on; the depth by the mean of
    four walls, each out by its top and its fold."""
    budget = planned(pan(300, 200, 40, inside_radius=2)).budget
    assert budget is not None
    cut, fold = (MARKING**2 + CUTTING**2) / 4, MARKING**2 / 4
    assert budget.gap == pytest.approx(OFTEN * math.sqrt(cut + fold))
    assert budget.worst_gap == pytest.approx(budget.gap)
    assert budget.depth == pytest.approx(OFTEN * math.sqrt((cut + fold) / 4))
    assert budget.side == pytest.approx(OFTEN * math.sqrt(2 * cut))


def two_triangles() -> Shell:
    """Two triangles on sides of 300 and 400 mm of a rim that turns at a right angle, welded down to a point 50 mm deep."""
    vertices = ((0.0, 0.0, 0.0), (300.0, 0.0, 0.0), (300.0, 400.0, 0.0), (180.0, 150.0, -50.0))
    return join_faces(vertices, [Face("A", (0, 1, 3)), Face("B", (1, 2, 3))])


def test_two_triangles_by_trigonometry() -> None:
    """The far ends of their rims, 500 mm apart by Pythagoras: d = hypot(a, b), so dd = (a da + b db) / d; and the sides' own
    errors by their angles, which follow from the lengths by the law of cosines."""
    shell = two_triangles()
    laid = put_together(shell, MARKING, CUTTING)
    assert laid.closing == []
    assert rim_edges(shell) == ((0, 1), (1, 2))
    cut = (MARKING**2 + CUTTING**2) / 4
    variances = []
    for side, (start, end) in ((300.0, (0, 1)), (400.0, (1, 2))):
        one, other = (math.dist(shell.vertices[v], shell.vertices[3]) for v in (start, end))
        at_start = math.acos((side**2 + one**2 - other**2) / (2 * side * one))
        at_end = math.acos((side**2 + other**2 - one**2) / (2 * side * other))
        cotangents = 1 / math.tan(at_start) + 1 / math.tan(at_end)
        variances.append(cut * (1 / math.sin(at_start) ** 2 + 1 / math.sin(at_end) ** 2 + cotangents**2))
    assert [side for side, _ in laid.sides()] == pytest.approx([OFTEN * math.sqrt(v) for v in variances])
    apart = np.array([0.6, 0.8, 0.0]) @ (laid.corner(2) - laid.corner(0))
    by_pythagoras = (300 / 500) ** 2 * variances[0] + (400 / 500) ** 2 * variances[1]
    assert float(apart @ apart) == pytest.approx(by_pythagoras)


# --- what it hangs on


def test_no_error_no_gap() -> None:
    budget = planned(SKEW, marking_error=0.0, cutting_error=0.0).budget
    assert budget is not None
    assert (budget.gap, budget.worst_gap, budget.side, budget.diagonal, budget.depth) == (0.0,) * 5


def test_twice_the_errors_twice_the_gap() -> None:
    one, twice = (planned(LAPPED, marking_error=0.2 * n, cutting_error=0.3 * n).budget for n in (1, 2))
    assert one is not None
    assert twice is not None
    for name in ("gap", "gap_rim", "gap_low", "worst_gap", "side", "diagonal", "depth"):
        assert getattr(twice, name) == pytest.approx(2 * getattr(one, name))


def test_folds_are_marked_and_not_cut() -> None:
    """With nothing but cutting errors the folds of a pan are true: its corners gape by their cuts alone."""
    budget = planned(pan(300, 200, 40, inside_radius=2), marking_error=0.0, cutting_error=1.0).budget
    assert budget is not None
    assert budget.gap == pytest.approx(OFTEN * 0.5)


@pytest.mark.parametrize("shape", FLAT.values(), ids=list(FLAT))
def test_loose_parts_have_none(shape: dict[str, Any]) -> None:
    assert plan(sheet_of(shape)).budget is None


# --- in words, and stored


def test_a_gap_that_filler_bridges_is_left_alone() -> None:
    """As a square tray by hand: 1.96 sqrt(2 x 0.005 (2 / 0.5098 + 4 x 0.9615)) = 0.546 mm."""
    budget = planned(SQUARE, marking_error=0.1, cutting_error=0.1).budget
    assert budget is not None
    assert budget.words == (
        f"Seam {budget.worst_seam} may gape or bind by 0.5 mm beyond its root gap, no more than the 1.5 mm that filler "
        "bridges (about one thickness: common practice)."
    )


def test_a_wider_one_says_what_to_do_in_the_shops_unit() -> None:
    budget = planned(SKEW, units="in").budget
    assert budget is not None
    assert "more than the 0.059 in that filler bridges" in budget.words
    assert budget.words.endswith("trim it to fit when the others are tacked.")


@pytest.mark.parametrize("shape", [SKEW, NAMED["triangle"], RETURNED, FLAT["one"]])
def test_a_stored_plan_keeps_it(shape: dict[str, Any]) -> None:
    data = plan(sheet_of(shape)).as_json()
    again = Plan.from_json(data)
    assert as_json(again.budget) == data["budget"]
    del data["budget"]
    assert Plan.from_json(data).budget is None  # a plan of an earlier day
    assert from_json(type(again), again.as_json()) == again


def test_it_is_the_plans_own() -> None:
    made = planned(SKEW)
    assert made.budget == budget_of(made.shell, made.sheet)
