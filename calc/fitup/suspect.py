"""Which measurement looks wrong: the one that the others, and the plan a little, speak against.

The lengths taped on a rim hold at most one more than fix it, so what they lack of the nearest outline says that one is
wrong and hardly which. What is known beside them is that the thing was made to the plan: its corners lie near where they
were planned, all of it may have shrunk, and the tape errs a little. Then measured less planned has the covariance

    S = tape^2 I + corner^2 J J' + shrunk^2 L L'

with J how each length grows as each corner moves (`calc.distances.slopes`) and L the lengths. Of each length k

    blunder_k = (S^-1 r)_k / (S^-1)_kk,   w_k = (S^-1 r)_k / sqrt((S^-1)_kk)

are the error that explains r best if it alone is wrong, and how many times its own spread that is (data snooping: Baarda, A
testing procedure for use in geodetic networks, 1968; its level of 0.1 % is kept, two-sided). A size that no corner has a
part in is held against its planned size alone.

A thing that was really made otherwise than planned speaks against one of its lengths too. Lengths past what fixes the outline
tell the two apart. With R what is left of the identity when all that J can do is taken away, the others alone, no plan asked,
say that k is wrong by (R r)_k / R_kk, give or take tape / sqrt(R_kk). Where that speaks for the reading and against its being
wrong by blunder_k, nothing was misread. Where there is no such length, or it says too little, only the plan speaks, and so the
words say. A reading that was asked for again and came out the same is what it is: it is no suspect any more, and corners may
have been made as far from their places as it shows.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calc import Plan
from calc.distances import SAME, TAPE, slopes
from calc.fitup.measurements import Wanted
from calc.tables.lookup import NotListedError
from calc.tables.tolerances import linear_iso13920

CRITICAL = 3.29  # standard deviations that an honest figure is past, either way, once in 1000
CLEARLY = 2.58  # the same, once in 100: what the others say of it counts
CLOSE_BEHIND = 6.0  # of the squares of the times: odds of 20 to 1, and less tell too little of which it is
SHRUNK = (
    2e-3  # of its length, one standard deviation of how much a thing has shrunk as a whole in welding (common practice)
)
LEAST_PLAY = 1.0  # [mm] of a corner, one standard deviation: no shop welds sheet nearer (common practice)
AS_MADE = "If {reads} the same, that is how it was made, and it stands."
SAYS = 1e-6  # of R_kk: less is rounding, and no other length says anything of it
Vectors = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Suspect:
    """A measurement that looks wrong: what was measured, what it is likely to be, by how much it is long [mm], in words.

    likely: by the others where they can tell, else by the plan. others: keys of those that may be the wrong one just as well.
    """

    key: str
    what: str
    measured: float
    likely: float
    by: float
    words: str
    others: tuple[str, ...] = ()

    @property
    def keys(self) -> tuple[str, ...]:
        """All that are to be measured again."""
        return (self.key, *self.others)


@dataclass(frozen=True, slots=True)
class _Candidate:
    """How many times its spread a length is out, by how much it is long [mm], and whether the other lengths say so too."""

    times: float
    line: Wanted
    by: float
    others_say: bool = False


def suspect_of(
    plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float], confirmed: Collection[str] = ()
) -> Suspect | None:
    """The measurement that looks wrong most, if any does.

    lines: those of `wanted` that were measured; confirmed: keys of readings that came out the same when taken again.
    """
    around = [line for line in lines if line.between]
    sizes = [line for line in lines if not line.between]
    found = [*_of_outline(plan, around, measured, confirmed), *_of_sizes(plan, sizes, measured)]
    found = sorted((each for each in found if each.line.key not in confirmed), key=lambda each: -each.times)
    if not found or found[0].times <= CRITICAL:
        return None
    return _told(plan, [each for each in found if each.times**2 >= found[0].times ** 2 - CLOSE_BEHIND], measured)


def _of_outline(
    plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float], confirmed: Collection[str]
) -> list[_Candidate]:
    """The sides and diagonals, without those of which the others say that they were read right."""
    rim, tape = plan.sheet.shape.corners, _tape(plan)
    lengths = np.array([line.nominal for line in lines])
    out = np.array([measured[line.key] for line in lines]) - lengths
    grows = slopes(rim, [line.between for line in lines if line.between])
    made_out = max((abs(float(out[row])) for row, line in enumerate(lines) if line.key in confirmed), default=0.0)
    corner = max(LEAST_PLAY, _tolerance(plan, float(lengths.max())) / 2, made_out / 2)
    spread = tape**2 * np.eye(len(lines)) + corner**2 * grows @ grows.T + SHRUNK**2 * np.outer(lengths, lengths)
    inverse = np.linalg.inv(spread)
    pull, own = inverse @ out, np.diag(inverse)
    left = np.eye(len(lines)) - grows @ np.linalg.pinv(grows, rcond=SAME)
    found = []
    for row, line in enumerate(lines):
        by, says, share = float(pull[row] / own[row]), float(left[row] @ out), float(left[row, row])
        others_say = False
        if share > SAYS:
            gap, spread_of_gap = says / share, tape / math.sqrt(share)
            nearer = abs(gap - by) < abs(gap)
            if not nearer and abs(gap - by) > CLEARLY * spread_of_gap:
                continue
            others_say = nearer and abs(gap) > CLEARLY * spread_of_gap
        found.append(_Candidate(abs(float(pull[row])) / math.sqrt(own[row]), line, by, others_say))
    return found


def _of_sizes(plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float]) -> list[_Candidate]:
    """Depths and widths, by how far they are from the plan."""
    found = []
    for line in lines:
        by = measured[line.key] - line.nominal
        spread = math.hypot(_tape(plan), max(LEAST_PLAY, _tolerance(plan, line.nominal)))
        found.append(_Candidate(abs(by) / spread, line, by))
    return found


def reads_the_same(plan: Plan, one: float, other: float) -> bool:
    """Whether two readings of a length [mm] differ by no more than two honest ones do, 19 times in 20."""
    return abs(one - other) <= 2 * math.sqrt(2) * _tape(plan)


def _tape(plan: Plan) -> float:
    """How far a reading may be out: the tape's own error, and half a step of the rule either way [mm], one deviation."""
    return math.hypot(TAPE / 2, plan.sheet.making.rule / math.sqrt(12))


def _tolerance(plan: Plan, size: float) -> float:
    try:
        return linear_iso13920(size, plan.sheet.making.tolerance_class)
    except NotListedError:
        return 0.0


def _told(plan: Plan, found: Sequence[_Candidate], measured: Mapping[str, float]) -> Suspect:
    """found: what looks wrong most, and what may be wrong just as well."""
    show, first = plan.sheet.making.display.length, found[0]
    likely = measured[first.line.key] - first.by if first.others_say else first.line.nominal
    if len(found) == 1:
        looks = f"{first.line.what} looks {show(abs(first.by))} {_way(first)}"
        says = f"the others say {show(likely)}" if first.others_say else f"{show(likely)} was planned"
        words = f"{looks}: {says}. Measure it again. {AS_MADE.format(reads='it reads')}"
    else:
        each = [f"{named(one.line)} {show(abs(one.by))} {_way(one)}" for one in found]
        again = f"Measure them again. {AS_MADE.format(reads='they read')}"
        words = f"One looks wrong: {', '.join(each[:-1])} or {each[-1]}. {again}"
    line = first.line
    others = tuple(one.line.key for one in found[1:])
    return Suspect(line.key, line.what, measured[line.key], likely, first.by, words, others)


def named(line: Wanted) -> str:
    """What a length is called within a sentence."""
    return line.what[:1].lower() + line.what[1:]


def _way(found: _Candidate) -> str:
    if found.line.kind in ("side", "diagonal"):
        return "long" if found.by > 0 else "short"
    return "over" if found.by > 0 else "under"
