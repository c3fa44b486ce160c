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
PAUSES = np.arange(1, 61) / 2  # [min] that a run may wait
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
    """How much warmer than the shop [K] each run finds the place where it begins, in this order and without a pause."""
    if not ordered:
        return np.zeros(0)
    runs = _Runs(sheet, ordered, paces)
    starts = np.concatenate(([0.0], np.cumsum(runs.takes)[:-1]))
    sums = []
    for first in range(0, len(ordered), AT_ONCE):
        rows, before = slice(first, first + AT_ONCE), slice(0, min(first + AT_ONCE, len(ordered)))
        passed = starts[rows, None] - (starts + runs.amid)[None, before]
        apart = runs.apart(rows, before)
        earlier = np.tri(passed.shape[0], passed.shape[1], first - 1, dtype=bool)
        found = warmer(runs.metal, runs.source[None, before], np.where(earlier, passed, 1.0), apart)
        sums.append(np.where(earlier, found, 0.0).sum(axis=1))
    return np.concatenate(sums)


def cooled(sheet: JobSheet, ordered: Sequence[Piece], paces: Sequence[Pace], limit: float) -> tuple[Array, Array]:
    """The same where each run waits until the metal is no warmer than `limit` [K]: the warmth [K], and the pauses [min].

    A pause is so many whole half minutes, half an hour at the most.
    """
    found, pauses = residual(sheet, ordered, paces), np.zeros(len(ordered))
    if not (found > limit).any():
        return found, pauses
    runs, now = _Runs(sheet, ordered, paces), 0.0
    waits, done = np.concatenate(([0.0], PAUSES)), np.zeros(len(ordered))
    for place in range(len(ordered)):
        before = slice(0, place)
        apart = runs.apart(slice(place, place + 1), before)
        passed = (now - done[before])[None, :]
        found[place] = warmer(runs.metal, runs.source[None, before], passed, apart).sum()
        if found[place] > limit:
            later = warmer(runs.metal, runs.source[None, before], passed + waits[:, None] * 60, apart).sum(axis=1)
            enough = int(np.argmax(later <= limit)) if (later <= limit).any() else len(waits) - 1
            found[place], pauses[place] = later[enough], waits[enough]
            now += waits[enough] * 60
        done[place] = now + runs.amid[place]
        now += runs.takes[place]
    return found, pauses


class _Runs:
    """Runs in an order, as sources of heat. takes: seconds each, all in; amid: until it is half-way through its arc time."""

    def __init__(self, sheet: JobSheet, ordered: Sequence[Piece], paces: Sequence[Pace]) -> None:
        lengths = np.array([abs(piece.ends - piece.begins) for piece in ordered])
        travel, minutes, heat = (
            np.array([getattr(paces[piece.weld], part) for piece in ordered]) for part in ("travel", "minutes", "heat")
        )
        self.metal = sheet.material.properties
        self.takes: Array = lengths * minutes * 60
        self.amid: Array = lengths / travel * 30
        self.source: Array = heat * lengths * 1000 / (sheet.material.thickness / 1000)
        self._begins = np.array([piece.line[0] for piece in ordered])
        self._middles = np.array([piece.middle for piece in ordered])

    def apart(self, rows: slice, before: slice) -> Array:
        """How far the beginnings of some runs are from the middles of others [m]."""
        away = self._begins[rows, None, :] - self._middles[None, before, :]
        return np.asarray(np.linalg.norm(away, axis=2) / 1000, dtype=np.float64)


def warmth(found: Sequence[Array]) -> Warmth:
    """The worst and the mean over runs that were made in several goes, each go begun cold."""
    together = np.concatenate(found) if found else np.zeros(0)
    return Warmth(float(together.max()), float(together.mean())) if len(together) else Warmth(0.0, 0.0)
