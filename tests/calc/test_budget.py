"""The error budget: against blanks with errors drawn at random and put together, and against figures by hand."""

import math
from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

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
STEEP = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 12], 40)  # one side too steep to be turned
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
    "valley, folded": (VALLEYS["twisted"], "fewest-welds"),
    "sump": (SUMPS["five"], "weld-all"),
    "sump, folded": (SUMPS["skew"], "fewest-welds"),
    "one side steep": (STEEP, "weld-all"),
    "corner drawn in": (NAMED["reflex"], "weld-all"),
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
    drawn = drawn_of(made, MARKING, CUTTING)

    left_over = {tuple(joint["between"]): joint for joint in drawn.left_over}
    assert left_over.keys() == {joint.between for joint in laid.closing}
    for closing in laid.closing:
        joint = left_over[closing.between]
        ends = drawn.ends(joint)
        apart = [drawn.corner(joint["between"][1], v) - drawn.corner(joint["between"][0], v) for v in ends]
        along = unit(drawn.points[ends[1]] - drawn.points[ends[0]])
        across = max(worst(gap - np.outer(gap @ along, along)) for gap in apart)
        assert laid.gap(closing) == pytest.approx((across, worst(apart[0]), worst(apart[1])), rel=SAMPLED)

    rim = rim_of(drawn)
    mean = {v: mean_of(drawn, v) for v in rim}
    for (side, (one, other)), place in zip(laid.sides(), range(len(rim)), strict=True):
        start, end = rim[one - 1], rim[other - 1]
        (name,) = (name for name in owners(drawn, start) if name in owners(drawn, end))
        assert one == place + 1
        assert side == pytest.approx(often(spans(drawn.corner(name, start), drawn.corner(name, end))), rel=SAMPLED)
    for diagonal, (one, other) in laid.diagonals():
        assert diagonal == pytest.approx(often(spans(mean[rim[one - 1]], mean[rim[other - 1]])), rel=SAMPLED)
    lowest = [v for v in range(len(drawn.points)) if drawn.points[v][2] < drawn.points[:, 2].min() + 1e-9]
    depths = [often(heights_over(np.stack(list(mean.values()), axis=1), mean_of(drawn, v))) for v in lowest]
    assert budget.depth == pytest.approx(max(depths), rel=SAMPLED)


def drawn_of(made: Plan, marking: float, cutting: float) -> LaidUp:
    """The plan's blanks drawn at random and put together: welds that begin at the rim first, mitres of strips last."""
    drawn = LaidUp(as_json(made.shell, 15), DRAWS)
    drawn.draw(marking, cutting, seed=20)
    tacked = [as_json(joint) for joint in in_turn(made.shell.welds, made.shell)]
    mitres = [joint for joint in tacked if "strip" in (drawn.roles[name] for name in joint["between"])]
    at_rim = [joint for joint in tacked if joint not in mitres and drawn.rim & set(joint["edge"])]
    drawn.lay_up([*at_rim, *(joint for joint in tacked if joint not in at_rim + mitres), *mitres])
    return drawn


def mean_of(drawn: LaidUp, vertex: int) -> Any:
    names = owners(drawn, vertex)
    return sum(drawn.corner(name, vertex) for name in names) / len(names)


def heights_over(rims: Any, spots: Any) -> Any:
    """How far spots (draws, 3) lie from the planes through rims (draws, m, 3) with the least squares square to them."""
    middles = rims.mean(axis=1)
    uprights = np.linalg.svd(rims - middles[:, None])[2][:, 2]
    return np.abs(np.einsum("ni,ni->n", uprights, spots - middles))


def test_what_is_cut_out_parallel_only_turns_nothing() -> None:
    """Without marking errors all edges keep their directions, so every face keeps its slope and seams gape alike end to end."""
    made = planned(SKEW, marking_error=0.0)
    assert drawn_of(made, 0.0, CUTTING).most_turned < 1e-9
    assert drawn_of(made, MARKING, 0.0).most_turned > 1e-3
    laid = put_together(made.shell, 0.0, CUTTING)
    for joint in laid.closing:
        one, other = (laid.apart(joint, vertex) for vertex in joint.edge)
        along = unit(made.shell.points[joint.edge[1]] - made.shell.points[joint.edge[0]])
        assert np.cross(one, along, axis=0) == pytest.approx(np.cross(other, along, axis=0), abs=1e-9)


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
    assert budget.last_seam == laid.closing[-1].name
    gaps = {joint.name: laid.gap(joint) for joint in laid.closing}
    assert (budget.gap, budget.gap_rim, budget.gap_low) == gaps[budget.last_seam]
    assert (budget.worst_gap, budget.worst_rim, budget.worst_low) == gaps[budget.worst_seam]
    assert budget.worst_gap == max(gap.across for gap in gaps.values())
    assert budget.side == max(side for side, _ in laid.sides())
    assert budget.diagonal == max((diagonal for diagonal, _ in laid.diagonals()), default=None)
    assert (budget.marking, budget.cutting) == (MARKING, CUTTING)


# --- by hand

MARKED, CUT = (MARKING / 2) ** 2, (CUTTING / 2) ** 2  # variances


class Facet(NamedTuple):
    """A triangle on a side of the rim: the angles at its start and end, the side's length."""

    start: float
    end: float
    side: float


def facet(side: float, one: float, other: float) -> Facet:
    """By the law of cosines, from its side and the edges that rise from its start and its end."""
    return Facet(
        math.acos((side**2 + one**2 - other**2) / (2 * side * one)),
        math.acos((side**2 + other**2 - one**2) / (2 * side * other)),
        side,
    )


def facet_errors(at: Facet, marked: float, cut: float) -> Any:
    """The covariance of a facet's angles and side. Corners (0, 0), (side, 0) and the low one are marked out by x and y each; an
    edge's direction errs by what its ends do across it, over its length. A cut moves an edge out and turns nothing: the side is
    longer by that of an edge at its end over the sine of the angle there, and by its own times the cotangents."""
    sine, cosine, other_sine, other_cosine = (f(angle) for angle in at[:2] for f in (math.sin, math.cos))
    one = at.side * other_sine / math.sin(at.start + at.end)
    other = at.side * sine / math.sin(at.start + at.end)
    base = np.array([0, -1, 0, 1, 0, 0]) / at.side
    up = np.array([sine, -cosine, 0, 0, -sine, cosine]) / one
    down = np.array([0, 0, other_sine, other_cosine, -other_sine, -other_cosine]) / other
    by_marks = np.array([up - base, base - down, [-1, 0, 1, 0, 0, 0]])
    by_cuts = np.array([[0, 0, 0], [0, 0, 0], [cosine / sine + other_cosine / other_sine, 1 / other_sine, 1 / sine]])
    return marked * by_marks @ by_marks.T + cut * by_cuts @ by_cuts.T


def walk(facets: Sequence[Facet], slope: float) -> Any:
    """Where the side of the last facet ends on the plate, the first side running from (0, 0) along x and its facet so steep.

    Spherical trigonometry of what meets at a corner of the rim: in either facet the seam climbs by asin(sin angle sin slope),
    and it lies over the plate at acos(cos angle / cos climb) from either side.
    """
    heading, spot, before = 0.0, np.zeros(2), None
    for each in facets:
        if before is not None:
            climb = math.asin(math.sin(before.end) * math.sin(slope))
            heading += math.pi - sum(math.acos(math.cos(angle) / math.cos(climb)) for angle in (before.end, each.start))
            slope = math.asin(math.sin(climb) / math.sin(each.start))
        spot = spot + each.side * np.array([math.cos(heading), math.sin(heading)])
        before = each
    return spot


def spread_of(told: Callable[[Sequence[Facet]], Any], facets: Sequence[Facet], marked: float, cut: float) -> Any:
    """The covariance of what facets come to, by differences of a hundred-thousandth of a radian and of a millimetre."""
    total, step = 0.0, 1e-5
    for place, at in enumerate(facets):
        slopes = []
        for nudge in np.eye(3) * step:
            moved = [
                told([*facets[:place], Facet(*(np.array(at) + way * nudge)), *facets[place + 1 :]]) for way in (1, -1)
            ]
            slopes.append((moved[0] - moved[1]) / (2 * step))
        total = total + np.array(slopes).T @ facet_errors(at, marked, cut) @ np.array(slopes)
    return total


def ring_gap(made: Plan, marked: float = MARKED, cut: float = CUT) -> float:
    """How far the rim of a tray of triangles gapes where its last seam is: walked round from the first facet both ways."""
    points, tacked = made.shell.points, in_turn(made.shell.welds, made.shell)
    first, count = made.shell.faces.index(made.shell.face(tacked[0].between[0])), len(made.shell.faces)
    (last,) = (vertex for vertex in tacked[-1].edge if points[vertex][2] == 0)
    lengths = [math.dist(points[i], points[-1]) for i in range(count)]
    facets = [
        facet(math.dist(points[i], points[(i + 1) % count]), lengths[i], lengths[(i + 1) % count]) for i in range(count)
    ]
    up = facets[first]
    slope = math.asin(-points[-1][2] / (lengths[first] * math.sin(up.start)))
    onward = [(first + i) % count for i in range((last - first - 1) % count + 1)]
    back = [(first - i) % count for i in range((first - last) % count + 1)]

    def apart(told: Sequence[Facet]) -> Any:
        there = walk([told[i] for i in onward], slope)
        mirrored = walk([Facet(told[i].end, told[i].start, told[i].side) for i in back], slope)
        return there - np.array([told[first].side - mirrored[0], mirrored[1]])

    assert np.abs(apart(facets)).max() < 1e-9
    return OFTEN * math.sqrt(float(np.linalg.eigvalsh(spread_of(apart, facets, marked, cut))[-1]))


@pytest.mark.parametrize("shape", [SQUARE, SKEW, NAMED["five"]])
def test_a_ring_of_triangles_by_spherical_trigonometry(shape: dict[str, Any]) -> None:
    budget = planned(shape).budget
    assert budget is not None
    assert budget.gap_rim == pytest.approx(ring_gap(planned(shape)), rel=1e-5)


def test_a_square_tray_by_hand() -> None:
    """Marks at both ends of a side, a cut over the sine of the angle at both, its own cut by twice the cotangent. With cuts
    alone nothing turns: opposite sides add up, and the ring is open by two sides' variances along x, and as much along y."""
    budget, cut_only = planned(SQUARE).budget, planned(SQUARE, marking_error=0.0).budget
    assert budget is not None
    assert cut_only is not None
    angle = math.atan2(math.hypot(200, 40), 200)
    by_cuts = CUT * (2 / math.sin(angle) ** 2 + (2 / math.tan(angle)) ** 2)
    assert budget.side == pytest.approx(OFTEN * math.sqrt(2 * MARKED + by_cuts))
    assert cut_only.gap == pytest.approx(OFTEN * math.sqrt(2 * by_cuts))
    assert cut_only.gap_rim == pytest.approx(cut_only.gap)


def test_a_plain_pan_by_hand() -> None:
    """At a corner's foot each wall's end is out by its mark and its cut, and the wall beside it by the mark of the fold it
    stands on. At the top both lean along themselves too, by the marks of their folds over their lengths; what moves a wall
    out at its end leans it as well, so the two ways hang together.

    The depth at a corner of the floor is by a plane through the tops: three quarters of the top above it, a quarter of each
    next to it, less a quarter of that across. A corner of the rim is the mean of two walls, each out by the marks of its top
    and its fold; by their cuts the two walls at the corner across count nothing, those at the corner a half each.
    """
    budget = planned(pan(300, 200, 40, inside_radius=2)).budget
    assert budget is not None
    lean, other = 38.5 / 297, 38.5 / 197  # inside, of metal 1.5 thick
    foot = 2 * MARKED + CUT
    shared = MARKED * (lean + other)
    top = np.array([[foot + 2 * lean**2 * MARKED, shared], [shared, foot + 2 * other**2 * MARKED]])
    assert budget.gap == pytest.approx(OFTEN * math.sqrt(np.linalg.eigvalsh(top)[-1]))
    assert budget.worst_gap == pytest.approx(budget.gap)
    assert budget.gap_low == pytest.approx(OFTEN * math.sqrt(foot))
    marks = (9 + 1 + 1 + 1) / 16 * (2 * MARKED + 2 * MARKED) / 4
    assert budget.depth == pytest.approx(OFTEN * math.sqrt(marks + 2 * CUT / 4))
    assert budget.side == pytest.approx(OFTEN * math.sqrt(2 * MARKED + 2 * CUT))


def two_triangles() -> Shell:
    """Two triangles on sides of 300 and 400 mm of a rim that turns at a right angle, welded down to a point 50 mm deep."""
    vertices = ((0.0, 0.0, 0.0), (300.0, 0.0, 0.0), (300.0, 400.0, 0.0), (180.0, 150.0, -50.0))
    return join_faces(vertices, [Face("A", (0, 1, 3)), Face("B", (1, 2, 3))])


def test_two_triangles_by_trigonometry() -> None:
    """The far ends of their rims are 500 mm apart by Pythagoras, and by the law of cosines as far as lengths and the angle
    between them have it."""
    shell = two_triangles()
    laid = put_together(shell, MARKING, CUTTING)
    assert laid.closing == []
    assert rim_edges(shell) == ((0, 1), (1, 2))
    lengths = [math.dist(shell.vertices[v], shell.vertices[3]) for v in (0, 1, 2)]
    facets = [facet(300.0, *lengths[:2]), facet(400.0, *lengths[1:])]
    sides = [OFTEN * math.sqrt(facet_errors(at, MARKED, CUT)[2, 2]) for at in facets]
    assert [side for side, _ in laid.sides()] == pytest.approx(sides)
    slope = math.atan2(50, 150)  # the low point lies 150 off the first side
    assert walk(facets, slope) == pytest.approx([300, 400])

    def far_ends(told: Sequence[Facet]) -> Any:
        return np.array([np.linalg.norm(walk(told, slope))])

    apart = np.array([0.6, 0.8, 0.0]) @ (laid.corner(2) - laid.corner(0))
    assert float(apart @ apart) == pytest.approx(float(spread_of(far_ends, facets, MARKED, CUT)[0, 0]), rel=1e-5)


# --- in which order


@pytest.mark.parametrize("shape", [LAPPED, UPSTAND])
def test_facets_are_put_together_before_mitres_of_their_strips(shape: dict[str, Any]) -> None:
    """So one seam of the body closes its ring, the last of them that is tacked, and every mitre closes one of its own."""
    made = planned(shape)
    strips = {face.name for face in made.shell.faces if face.role == "strip"}
    laid = put_together(made.shell, MARKING, CUTTING)
    tacked = in_turn(made.shell.welds, made.shell)
    body = [joint for joint in tacked if strips.isdisjoint(joint.between)]
    assert laid.closing == [joint for joint in tacked if joint not in body[:-1]]


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
    """As the rim of a square tray by trigonometry, where its last seam gapes most."""
    made = planned(SQUARE, marking_error=0.1, cutting_error=0.1)
    budget, gap = made.budget, round(ring_gap(made, 0.05**2, 0.05**2), 1)
    assert budget is not None
    assert budget.words == (
        "Reckoned with the rim flat on a plate and the rim end of each seam clamped there before it is tacked. "
        f"Seam {budget.worst_seam} may gape or bind by {gap} mm beyond its root gap, no more than the 1.5 mm that filler "
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
