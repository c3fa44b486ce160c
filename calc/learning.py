"""What a shop's own trays, measured after welding, say of how much its seams shrink.

A side of the rim comes out short by half of what the seam at each end shrinks across, over the sine of the angle between the
two in the facet, and by what its facet's seams shrink along, as far as they run along it; the first so many times the published
estimate (one factor for all seams across), the second too (one for all along). What was allowed on the blanks is taken off.

The two factors are found by a normal regression with known noise and a conjugate prior (Gelman et al., Bayesian Data Analysis,
chapters 3 and 14): before any tray both are 1, with half the published range as standard deviation; a side's noise is that of
the tape and of its blanks, by the error budget. Factors multiply formulas, so trays of different thickness go together.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calc import Plan
from calc.budget import put_together, rim_edges, rim_face
from calc.flat import true_shape
from calc.making import LEAST_TIMES, MOST_TIMES, OwnShrinkage
from calc.shell import Face, Vectors
from calc.shrinkage import allowances, published_across, published_along

WANTED = 5  # trays; fewer say less than the published range (common practice)
DIGITS = 3  # of a factor: finer than any shop knows it, and the same when it comes back from a stored sheet
TAPE = 0.5  # [mm] what a tape misses by, either way, 19 times in 20 (common practice)


@dataclass(frozen=True, slots=True)
class Tray:
    """A tray that was measured after welding: its plan, and by the side's number (from 1) what each side of the rim came out
    longer than planned, negative for shorter [mm]. suspect: whether one of its measurements looks wrong."""

    plan: Plan
    deviations: Mapping[int, float]
    suspect: bool = False


@dataclass(frozen=True, slots=True)
class TooFew:
    """So many trays can be used, and so many are wanted; left_out: were measured, but are suspect or say nothing."""

    count: int
    left_out: int = 0
    wanted: int = WANTED


def own_shrinkage(trays: Sequence[Tray]) -> OwnShrinkage | TooFew:
    """What these trays say of shrinkage, or that they are too few; see the module.

    Raises ValueError for trays of more than one family of metals or process, and for a side that a rim has not.

    >>> own_shrinkage([])
    TooFew(count=0, left_out=0, wanted=5)
    """
    _of_one_kind(trays)
    used = usable(trays)
    if len(used) < WANTED:
        return TooFew(len(used), len(trays) - len(used))
    sides = [_sides_of(tray) for tray in used]
    spread = np.array([_spread_across(used), published_along().high / published_along().likely - 1])
    precision = np.diag(1 / spread**2)
    weighed = precision @ np.ones(2)
    for shares, short, noise in sides:
        weights = np.linalg.solve(noise, shares).T
        precision = precision + weights @ shares
        weighed = weighed + weights @ short
    across, along = np.clip(np.linalg.solve(precision, weighed), LEAST_TIMES, MOST_TIMES)
    across_spread, along_spread = np.sqrt(np.diag(np.linalg.inv(precision)))
    told = (round(float(figure), DIGITS) for figure in (across, along, across_spread, along_spread))
    return OwnShrinkage(*told, trays=len(used))


def usable(trays: Iterable[Tray]) -> tuple[Tray, ...]:
    """The trays that can be learnt from: none suspect, each with a side measured that a seam ends on."""
    return tuple(
        tray for tray in trays if not tray.suspect and any(_side(tray.plan, side)[0] for _, side in _measured(tray))
    )


def _of_one_kind(trays: Sequence[Tray]) -> None:
    kinds = {(tray.plan.sheet.material.properties.family, tray.plan.sheet.making.process) for tray in trays}
    if len(kinds) > 1:
        found = ", ".join(sorted(f"{process} in {family}" for family, process in kinds))
        raise ValueError(f"trays must be of one family of metals and one process (got {found})")


def _sides_of(tray: Tray) -> tuple[Vectors, Vectors, Vectors]:
    """Of the sides that were measured: what one factor across and one along shorten each by (k, 2), by how much each is short,
    what was allowed added (k,), and the covariance of what it is out by otherwise (k, k) [mm]."""
    making, measured = tray.plan.sheet.making, _measured(tray)
    told = [_side(tray.plan, edge) for _, edge in measured]
    short = [allowed - tray.deviations[number] for (number, _), (_, _, allowed) in zip(measured, told, strict=True)]
    rows = put_together(tray.plan.shell, making.marking_error, making.cutting_error).side_rows()
    rows = rows[[number - 1 for number, _ in measured]]
    noise = rows @ rows.T + np.eye(len(measured)) * (TAPE / 2) ** 2
    return np.array([side[:2] for side in told]), np.array(short), noise


def _measured(tray: Tray) -> list[tuple[int, tuple[int, int]]]:
    """The sides that were measured: their numbers, and the vertices they run between."""
    rim = rim_edges(tray.plan.shell)
    if strange := set(tray.deviations) - set(range(1, len(rim) + 1)):
        raise ValueError(f"sides must be numbered 1 to {len(rim)} (got {', '.join(map(str, sorted(strange)))})")
    return [(number, rim[number - 1]) for number in sorted(tray.deviations)]


def _side(plan: Plan, edge: tuple[int, int]) -> tuple[float, float, float]:
    """How much shorter a side of the rim is likely to be for its seams across and along, how much longer it was cut [mm]."""
    face = rim_face(plan.shell, edge)
    net = np.array(true_shape(plan.shell.corners(face)))
    place = face.edges.index(edge)
    before, after = (place - 1) % len(net), (place + 1) % len(net)
    runs = np.roll(net, -1, axis=0) - net
    lengths = np.linalg.norm(runs, axis=1)
    along = runs[place] / lengths[place]
    across = np.abs(along[0] * runs[:, 1] - along[1] * runs[:, 0]) / lengths  # sines of the angles with the side
    likely = _likely_across(plan, face)
    over_it = -runs @ along  # how far each edge runs back along the side
    by_seams = sum(over_it[i] for i, shrinks in enumerate(likely) if shrinks is not None)
    out = allowances(plan.shell, plan.sheet, face, tuple((float(x), float(y)) for x, y in net))
    cotangents = sum(over_it[i] / lengths[i] / across[i] for i in (before, after))
    return (
        sum((likely[i] or 0.0) / 2 / across[i] for i in (before, after)),
        published_along().likely / 1000 * by_seams,
        sum(out[i] / across[i] for i in (before, after)) + out[place] * cotangents,
    )


def _likely_across(plan: Plan, face: Face) -> list[float | None]:
    """What the published figures expect across the seam on each edge of a face [mm]; None where there is none."""
    welds = {frozenset(joint.edge): joint for joint in plan.shell.joints_of(face.name) if joint.kind == "weld"}
    found = (welds.get(frozenset(edge)) for edge in face.edges)
    return [None if joint is None else published_across(plan.sheet, joint.groove or 0.0).likely for joint in found]


def _spread_across(trays: Sequence[Tray]) -> float:
    """Half the published range across, as a share of the likely figure, in the mean of all seams."""
    spreads = [
        published_across(tray.plan.sheet, joint.groove or 0.0) for tray in trays for joint in tray.plan.shell.welds
    ]
    return sum(each.high - each.likely for each in spreads) / sum(each.likely for each in spreads)
