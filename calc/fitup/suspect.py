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
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calc import Plan
from calc.distances import TAPE, slopes
from calc.fitup.measurements import Wanted
from calc.tables.lookup import NotListedError
from calc.tables.tolerances import linear_iso13920

CRITICAL = 3.29  # standard deviations that an honest figure is past, either way, once in 1000
SHRUNK = (
    2e-3  # of its length, one standard deviation of how much a thing has shrunk as a whole in welding (common practice)
)
LEAST_PLAY = 1.0  # [mm] of a corner, one standard deviation: no shop welds sheet nearer (common practice)
Vectors = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Suspect:
    """A measurement that looks wrong: what was measured, what the others say it is, by how much it is long [mm], in words."""

    key: str
    what: str
    measured: float
    likely: float
    by: float
    words: str


def suspect_of(plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float]) -> Suspect | None:
    """The measurement that looks wrong most, if any does. lines: those of `wanted` that were measured."""
    around = [line for line in lines if line.between]
    found = [
        *_of_outline(plan, around, measured),
        *_of_sizes(plan, [line for line in lines if not line.between], measured),
    ]
    times, line, by = max(found, key=lambda each: each[0])
    return _told(plan, line, measured[line.key], by) if times > CRITICAL else None


def _of_outline(
    plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float]
) -> list[tuple[float, Wanted, float]]:
    """Of each side and diagonal: how many times its spread it is out, and by how much [mm]."""
    rim, tape = plan.sheet.shape.corners, _tape(plan)
    lengths = np.array([line.nominal for line in lines])
    grows = slopes(rim, [line.between for line in lines if line.between])
    corner = max(LEAST_PLAY, _tolerance(plan, float(lengths.max())) / 2)
    spread = tape**2 * np.eye(len(lines)) + corner**2 * grows @ grows.T + SHRUNK**2 * np.outer(lengths, lengths)
    inverse = np.linalg.inv(spread)
    pull = inverse @ (np.array([measured[line.key] for line in lines]) - lengths)
    own = np.diag(inverse)
    return [
        (abs(float(pull[row])) / math.sqrt(own[row]), line, float(pull[row] / own[row]))
        for row, line in enumerate(lines)
    ]


def _of_sizes(plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float]) -> list[tuple[float, Wanted, float]]:
    """The same of depths and widths, by how far they are from the plan."""
    found = []
    for line in lines:
        by = measured[line.key] - line.nominal
        spread = math.hypot(_tape(plan), max(LEAST_PLAY, _tolerance(plan, line.nominal)))
        found.append((abs(by) / spread, line, by))
    return found


def _tape(plan: Plan) -> float:
    """How far a reading may be out: the tape's own error, and half a step of the rule either way [mm], one deviation."""
    return math.hypot(TAPE / 2, plan.sheet.making.rule / math.sqrt(12))


def _tolerance(plan: Plan, size: float) -> float:
    try:
        return linear_iso13920(size, plan.sheet.making.tolerance_class)
    except NotListedError:
        return 0.0


def _told(plan: Plan, line: Wanted, measured: float, by: float) -> Suspect:
    display, likely = plan.sheet.making.display, measured - by
    way = ("long" if by > 0 else "short") if line.kind in ("side", "diagonal") else "over" if by > 0 else "under"
    says = f"the others say {display.length(likely)}" if line.between else f"{display.length(likely)} was planned"
    words = f"{line.what} looks {display.length(abs(by))} {way}: {says}. Measure it again."
    return Suspect(line.key, line.what, measured, likely, by, words)
