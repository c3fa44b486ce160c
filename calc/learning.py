"""What a shop's own trays, measured after welding, say of how much its seams shrink.

A side of the rim comes out short by half of what the seam at each end shrinks across, over the sine of the angle between the
two in the facet, and by what its facet's seams shrink along, as far as they run along it; the first so many times the published
estimate (one factor for all seams across), the second too (one for all along). What was allowed on the blanks is taken off.

Every tray has factors of its own, scattered about the shop's from tray to tray by so much, which is not known either: a normal
hierarchy with known noise (Gelman et al., Bayesian Data Analysis, 5.4, 5.7 and 14). Before any tray the shop's factors are 1,
with half of what the published formulas differ by as standard deviation, and the scatter is half-normal; a side's noise is that
of tape and rule, and of its blanks by the error budget. It is worked out for each scatter of a grid, all weighed by how likely
they make the trays. The spread that is told is that of the next tray: what is not known of the shop's factor, and the scatter.
Factors multiply formulas, so trays of different thickness go together.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from calc import Plan
from calc.budget import put_together, rim_edges, rim_face
from calc.distances import TAPE
from calc.flat import true_shape
from calc.making import LEAST_TIMES, MOST_TIMES, OwnShrinkage
from calc.shell import Face, Vectors
from calc.shrinkage import TRAY_TO_TRAY, allowances, published_across, published_along

WANTED = 5  # trays; fewer say less than the published range (common practice)
DIGITS = 3  # of a factor: finer than any shop knows it, and the same when it comes back from a stored sheet
SCATTERS = np.arange(0.04, 2.0, 0.08)  # from tray to tray, that are tried: of either factor
TIGHTER = 0.95  # of what was not known of a factor before: where more is left, nothing was learnt of it


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
    spread = np.array([_spread_across(used), published_along().high / published_along().likely - 1])
    shop, left, scatter = _weighed([_says(tray) for tray in used], spread)
    times, spreads = np.clip(shop, LEAST_TIMES, MOST_TIMES), np.sqrt(left + scatter)
    across, along, across_spread, along_spread = (round(float(figure), DIGITS) for figure in (*times, *spreads))
    if math.sqrt(left[1]) > TIGHTER * spread[1]:
        return OwnShrinkage(across, None, across_spread, 0.0, len(used))
    return OwnShrinkage(across, along, across_spread, along_spread, len(used))


def _weighed(said: Sequence[tuple[Vectors, Vectors]], spread: Vectors) -> tuple[Vectors, Vectors, Vectors]:
    """The shop's two factors, the variance that is left of each, and that from tray to tray, each (2,), in the mean over all
    scatters by how likely these make the trays. said: of each tray, see `_says`; spread: of the factors before any tray."""
    squares = np.array([(one * one, other * other) for one, other in product(SCATTERS, SCATTERS)])  # (n, 2)
    likely = -squares.sum(axis=1) / (2 * TRAY_TO_TRAY**2)  # the logarithm, before any tray: half-normal
    between = squares[:, :, None] * np.eye(2)
    precision = np.broadcast_to(np.diag(1 / spread**2), between.shape)
    weighed = precision.sum(axis=2)
    for known, pull in said:
        apart = np.eye(2) + known @ between
        gain = between @ np.linalg.inv(apart)  # of what the tray says, how much is its own
        likely = likely + pull @ (gain @ pull).T / 2 - np.linalg.slogdet(apart)[1] / 2
        precision = precision + known - known @ gain @ known
        weighed = weighed + pull - (gain @ pull) @ known
    left = np.linalg.inv(precision)
    means = (left @ weighed[:, :, None])[:, :, 0]
    likely = likely + (weighed * means).sum(axis=1) / 2 - np.linalg.slogdet(precision)[1] / 2
    shares = np.exp(likely - likely.max())
    shares = shares / shares.sum()
    shop = shares @ means
    unknown = shares @ (np.diagonal(left, axis1=1, axis2=2) + (means - shop) ** 2)
    return shop, unknown, shares @ squares


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


def _says(tray: Tray) -> tuple[Vectors, Vectors]:
    """What a tray says of its two factors: how closely it knows them (2, 2), and that times what it finds them to be (2,)."""
    making, measured = tray.plan.sheet.making, _measured(tray)
    told = [_side(tray.plan, edge) for _, edge in measured]
    shares = np.array([side[:2] for side in told])  # what one factor across and one along shorten each side by [mm]
    short = [allowed - tray.deviations[number] for (number, _), (_, _, allowed) in zip(measured, told, strict=True)]
    rows = put_together(tray.plan.shell, making.marking_error, making.cutting_error).side_rows()
    rows = rows[[number - 1 for number, _ in measured]]
    read = (TAPE / 2) ** 2 + making.rule**2 / 12  # the tape's own error, and half a step of the rule either way
    weights = np.linalg.solve(rows @ rows.T + np.eye(len(measured)) * read, shares).T
    return weights @ shares, weights @ np.array(short)


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
