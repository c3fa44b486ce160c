"""The published answer: the nearest plate of the handbooks that is sure to sag no less than a panel does.

A panel lies within a rectangle round it. Held at its edges, the larger plate sags more under the same pressure, and a load sags
it most at its middle (of supported polygons that is a theorem: both are two membranes, one under the other). The pressure is
taken as even, at its greatest. Stress follows the same plate; supported or clamped, whichever is more.
"""

from dataclasses import dataclass

import numpy as np

from calc.records import Outline, Point
from calc.shell import Vectors
from calc.stiffness.loads import Load, Panel
from calc.tables import plates


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle round a panel [mm]: its short and its long side, or, where an edge is free, that edge and the side square to
    it."""

    width: float
    length: float
    has_free_edge: bool = False

    @property
    def is_tabled(self) -> bool:
        """Whether the tables reach it: of plates with a free edge they begin at half as high as long, and the next in them
        would say many times what a low wall sags."""
        return not self.has_free_edge or self.length / self.width >= plates.ONE_FREE[0].ratio


def rectangle_round(outline: Outline, free: int | None = None) -> Rectangle:
    """The rectangle round a convex outline that has the least short side; along its free side where it has one.

    >>> rectangle_round(((0, 0), (40, 0), (20, 15)))
    Rectangle(width=15.0, length=40.0, has_free_edge=False)
    """
    if free is None:
        return Rectangle(*min(_round(outline, side)[:2] for side in range(len(outline))))
    corners = np.array(outline, dtype=np.float64)
    along, across = _axes(corners, free)
    return Rectangle(float(np.ptp(corners @ along)), float(np.ptp(corners @ across)), has_free_edge=True)


def long_way(outline: Outline) -> Point:
    """The direction of the long side of the rectangle round a convex outline, either way along it.

    >>> [abs(each) for each in long_way(((0, 0), (30, 0), (30, 40), (0, 40)))]
    [0.0, 1.0]
    """
    return min(_round(outline, side) for side in range(len(outline)))[2]


def _round(outline: Outline, side: int) -> tuple[float, float, Point]:
    """The short and the long side of the rectangle along a side of an outline, and the direction of the long one."""
    corners = np.array(outline, dtype=np.float64)
    sides = [(float(np.ptp(corners @ way)), way) for way in _axes(corners, side)]
    (short, _), (long, way) = sorted(sides, key=lambda each: each[0])
    return short, long, (float(way[0]), float(way[1]))


def _axes(corners: Vectors, side: int) -> tuple[Vectors, Vectors]:
    """The directions along a side and square to it."""
    along = corners[(side + 1) % len(corners)] - corners[side]
    x, y = along / np.linalg.norm(along)
    return np.array([x, y]), np.array([-y, x])


def sag_of(round_it: Rectangle, load: Load, panel: Panel, rigidity: float) -> float | None:
    """The sag [mm] by the tables; None where they have no such case. rigidity: D [N mm]."""
    pressure = load.greatest(panel)
    if round_it.has_free_edge:
        has_case = round_it.is_tabled and not load.point
        row = plates.one_free(round_it.length / round_it.width)
        return row.sag * pressure * round_it.width**4 / rigidity if has_case else None
    ratio, a = round_it.length / round_it.width, round_it.width
    even = plates.supported(ratio).sag * pressure * a**4
    return (even + plates.point_load(ratio).sag * load.point * a**2) / rigidity


def stress_of(
    round_it: Rectangle, load: Load, panel: Panel, patch: float, thickness: float, poisson: float
) -> float | None:
    """The greatest bending stress [MPa] by the tables; None where they have no such case. patch: its radius [mm]."""
    pressure, a = load.greatest(panel), round_it.width
    if round_it.has_free_edge:
        moment = plates.one_free(round_it.length / a).moment * pressure * a**2
        return 6 * moment / thickness**2 if round_it.is_tabled and not load.point else None
    ratio = round_it.length / a
    row, clamped = plates.point_load(ratio), plates.clamped(ratio)
    middle = plates.across(plates.supported(ratio), poisson) * pressure * a**2
    edge = clamped.edge * pressure * a**2 + row.edge / 6 * load.point
    if load.point:
        middle += plates.patch_moment(row.stress, a, patch, poisson) * load.point
    return 6 * max(middle, edge) / thickness**2


def rigidity(modulus: float, thickness: float, poisson: float) -> float:
    """The bending stiffness D [N mm] of a plate: modulus [GPa], thickness [mm].

    >>> round(rigidity(69.0, 1.5, 0.33))
    21778
    """
    return modulus * 1e3 * thickness**3 / (12 * (1 - poisson**2))
