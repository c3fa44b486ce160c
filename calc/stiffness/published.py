"""The published answer: the nearest plate of the handbooks that is sure to sag no less than a panel does.

A panel lies within a rectangle round it. Held at its edges, the larger plate sags more under the same pressure, and a load sags
it most at its middle (of supported polygons that is a theorem: both are two membranes, one under the other). The pressure is
taken as even, at its greatest. Stress follows the same plate; supported or clamped, whichever is more.
"""

from dataclasses import dataclass

import numpy as np

from calc.records import Outline
from calc.stiffness.loads import Load, Panel
from calc.tables import plates


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle round a panel [mm]: its short and its long side, or, where an edge is free, that edge and the side square to
    it."""

    width: float
    length: float
    has_free_edge: bool = False


def rectangle_round(outline: Outline, free: int | None = None) -> Rectangle:
    """The rectangle round a convex outline that has the least short side; along its free side where it has one.

    >>> rectangle_round(((0, 0), (40, 0), (20, 15)))
    Rectangle(width=15.0, length=40.0, has_free_edge=False)
    """
    corners = np.array(outline, dtype=np.float64)
    found = []
    for side in range(len(corners)) if free is None else (free,):
        along = corners[(side + 1) % len(corners)] - corners[side]
        x, y = along / np.linalg.norm(along)
        reach, height = np.ptp(corners @ np.array([[x, -y], [y, x]]), axis=0)
        if free is not None:
            return Rectangle(float(reach), float(height), has_free_edge=True)
        found.append((float(min(reach, height)), float(max(reach, height))))
    return Rectangle(*min(found))


def sag_of(round_it: Rectangle, load: Load, panel: Panel, rigidity: float) -> float | None:
    """The sag [mm] by the tables; None where they have no such case. rigidity: D [N mm]."""
    pressure = load.greatest(panel)
    if round_it.has_free_edge:
        row = plates.one_free(round_it.length / round_it.width)
        return None if load.point else row.sag * pressure * round_it.width**4 / rigidity
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
        return None if load.point else 6 * moment / thickness**2
    ratio = round_it.length / a
    row, clamped = plates.point_load(ratio), plates.clamped(ratio)
    middle = plates.across(plates.supported(ratio), poisson) * pressure * a**2
    edge = clamped.edge * pressure * a**2 + row.edge / 6 * load.point
    if load.point:
        middle += plates.patch_moment(row.stress, a, patch, poisson) * load.point
    return 6 * max(middle, edge) / thickness**2


def times_by_rib(round_it: Rectangle, *, point: bool) -> float:
    """By how much the sag goes down where a rib along the long side halves the short one, of 1: by the tables.

    >>> round(times_by_rib(Rectangle(100.0, 100.0), point=False), 3)  # 0.01013 / 16 over 0.00406
    0.156
    """
    whole, half = round_it.length / round_it.width, 2 * round_it.length / round_it.width
    if point:
        return plates.point_load(half).sag / plates.point_load(whole).sag / 4
    return plates.supported(half).sag / plates.supported(whole).sag / 16


def rigidity(modulus: float, thickness: float, poisson: float) -> float:
    """The bending stiffness D [N mm] of a plate: modulus [GPa], thickness [mm].

    >>> round(rigidity(69.0, 1.5, 0.33))
    21778
    """
    return modulus * 1e3 * thickness**3 / (12 * (1 - poisson**2))
