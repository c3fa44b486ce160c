"""How warm the metal still is from earlier runs where a run begins.

Each run is an instantaneous line source through a thin plate (Carslaw and Jaeger, Conduction of Heat in Solids, 10.3; so
Rosenthal's thin plate), half-way through its arc time and at its middle. The plate has no edges here and loses nothing to the
air, and the way is taken straight through space: a measure to compare orders by, not a temperature to weld by.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calc.sheet import JobSheet
from calc.tables.alloys import Alloy
from calc.tables.heat import conduction_of
from calc.welding.records import Warmth
from calc.welding.runs import Piece

Array = NDArray[np.float64]
AT_ONCE = 256  # runs looked at in one go, so that thousands of them need no more memory


@dataclass(frozen=True, slots=True)
class Pace:
    """Of a weld: travel [mm/min]; elapsed minutes of each mm, arc time and all; net heat [kJ/mm]."""

    travel: float
    minutes: float
    heat: float


def warmer(metal: Alloy, source: Array, passed: Array, apart: Array) -> Array:
    """How much warmer a plate is [K] that took heat along a line through it: dT = (q/t) / (4 pi k dt) exp(-r^2 / (4 a dt)).

    source: the heat q over the thickness t [J/m]; passed: the time since, dt [s]; apart: the distance r [m]. Any shapes that
    go together.
    """
    carries = conduction_of(metal)
    spread = 4 * carries.diffusivity(metal.density) * passed
    return np.asarray(
        source / (4 * math.pi * carries.conductivity * passed) * np.exp(-(apart**2) / spread), dtype=np.float64
    )


def residual(sheet: JobSheet, ordered: Sequence[Piece], paces: Sequence[Pace]) -> Array:
    """How much warmer than the shop [K] each run finds the place where it begins, in this order."""
    if not ordered:
        return np.zeros(0)
    lengths = np.array([abs(piece.ends - piece.begins) for piece in ordered])
    travel, minutes, heat = (
        np.array([getattr(paces[piece.weld], part) for piece in ordered]) for part in ("travel", "minutes", "heat")
    )
    starts = np.concatenate(([0.0], np.cumsum(lengths * minutes)[:-1])) * 60
    amid = starts + lengths / travel * 30  # [s] half-way through the arc time
    begins = np.array([piece.line[0] for piece in ordered])
    middles = np.array([piece.middle for piece in ordered])
    source = heat * lengths * 1000 / (sheet.material.thickness / 1000)
    sums = []
    for first in range(0, len(ordered), AT_ONCE):
        rows, before = slice(first, first + AT_ONCE), slice(0, min(first + AT_ONCE, len(ordered)))
        passed = starts[rows, None] - amid[None, before]
        apart = np.linalg.norm(begins[rows, None, :] - middles[None, before, :], axis=2) / 1000
        earlier = np.tri(passed.shape[0], passed.shape[1], first - 1, dtype=bool)
        found = warmer(sheet.material.properties, source[None, before], np.where(earlier, passed, 1.0), apart)
        sums.append(np.where(earlier, found, 0.0).sum(axis=1))
    return np.concatenate(sums)


def warmth(found: Sequence[Array]) -> Warmth:
    """The worst and the mean over runs that were made in several goes, each go begun cold."""
    together = np.concatenate(found) if found else np.zeros(0)
    return Warmth(float(together.max()), float(together.mean())) if len(together) else Warmth(0.0, 0.0)
