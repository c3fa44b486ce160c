"""How much metal a bend takes: the published ways of working out a bend allowance, and the setback of a bend.

A bend allowance is the length of flat metal that goes into the bend between its two tangent lines. The sources differ (at
R = T = 2 mm and 90 degrees by a tenth), so a result names its method. Angles are turned through: 0 is flat, 90 a square
corner.
"""

import math
from typing import Literal

from calc.tables.alloys import Family

BendMethod = Literal["din-6935", "machinery", "faa", "k-factor"]

# What papers call each method.
METHODS: dict[BendMethod, str] = {
    "din-6935": "DIN 6935",
    "machinery": "Machinery's Handbook",
    "faa": "FAA AC 43.13-1B",
    "k-factor": "the shop's own K",
}

SHARPEST = 150.0  # [degrees] turned through; past it a bend is a hem, which this way of developing is not for
LEAST_RATIO = 0.1  # r/s: sharper than this the logarithm of DIN 6935 runs away; the bend is taken as this sharp
# Machinery's Handbook (from memory): L = (c T + 1.57 R) at 90 degrees, other angles in proportion. c: 0.55 soft copper and
# brass; 0.64 half-hard copper, soft steel, aluminium; 0.71 hard copper, cold-rolled and spring steel. Stainless is not in
# the rule; it work-hardens, so it is taken with the hard metals.
MACHINERY: dict[Family, float] = {"aluminium": 0.64, "steel": 0.64, "stainless": 0.71}


def k_of_din_6935(inside_radius: float, thickness: float) -> float:
    """The correction k of DIN 6935: the neutral line runs at k/2 of the thickness from the inside of the bend.

    inside_radius, thickness [mm]; k = 0.65 + 0.5 log10(r/s) up to r/s = 5, then 1. Below r/s = 0.1 the value at 0.1.

    >>> round(k_of_din_6935(6.0, 5.0), 3), k_of_din_6935(50.0, 2.0)
    (0.69, 1.0)
    """
    ratio = max(inside_radius / thickness, LEAST_RATIO)
    return min(1.0, 0.65 + 0.5 * math.log10(ratio)) if ratio <= 5.0 else 1.0


def bend_allowance(
    angle: float,
    inside_radius: float,
    thickness: float,
    *,
    method: BendMethod = "din-6935",
    metal: Family = "aluminium",
    k_factor: float | None = None,
) -> float:
    """The length of flat metal in a bend [mm].

    angle [degrees] turned through, 0 to 180; inside_radius, thickness [mm]; k_factor: the shop's own K, as a share of the
    thickness, which `k-factor` needs. Sources: DIN 6935 (neutral line at R + k/2 T); Machinery's Handbook, from memory;
    FAA AC 43.13-1B, (0.01743 R + 0.0078 T) a degree. Raises ValueError for `k-factor` without one.

    >>> [round(bend_allowance(90, 2.0, 2.0, method=way), 3) for way in ("faa", "machinery", "din-6935")]
    [4.541, 4.42, 4.163]
    """
    if method == "machinery":
        return angle / 90.0 * (MACHINERY[metal] * thickness + 1.57 * inside_radius)
    if method == "faa":
        return angle * (0.01743 * inside_radius + 0.0078 * thickness)
    if method == "k-factor":
        if k_factor is None:
            raise ValueError("the shop's own K is wanted and none is given")
        share = k_factor
    else:
        share = k_of_din_6935(inside_radius, thickness) / 2
    return math.radians(angle) * (inside_radius + share * thickness)


def setback(angle: float, radius: float) -> float:
    """From the sharp corner to the tangent line of a bend, along the flat [mm].

    angle [degrees] turned through, under 180; radius [mm] of the surface that it is measured on.

    >>> round(setback(90.0, 3.0), 9)
    3.0
    """
    return radius * math.tan(math.radians(angle) / 2)
