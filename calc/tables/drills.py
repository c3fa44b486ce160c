"""Which drills there are. Common practice: a shop's drills go by half millimetres, or by sixty-fourths of an inch."""

import math
from typing import Literal

STEPS = {"mm": 0.5, "in": 25.4 / 64}  # [mm]
SAME = 1e-6  # [mm]


def next_drill(least: float, units: Literal["mm", "in"]) -> float:
    """The smallest drill [mm] that is no smaller than `least` [mm].

    >>> next_drill(17.75, "mm"), next_drill(18.5, "mm"), next_drill(17.75, "in") / 25.4 * 64
    (18.0, 18.5, 45.0)
    """
    return math.ceil((least - SAME) / STEPS[units]) * STEPS[units]
