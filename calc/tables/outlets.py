"""Outlets: what a drop outlet passes, and the bores that are usual.

Flow of a drop outlet, EN 12056-3 (from memory): for a circular outlet of bore D [mm] and a head h [mm] over its lip, with free
discharge below, in l/s:

- as a weir, h <= D/2: Q = ko D h^1.5 / 7500
- as an orifice, h > D/2: Q = ko D^2 h^0.5 / 15000

ko is 1 for an open outlet and 0.5 for one with a strainer or grating. Both rules give the same at h = D/2, and the smaller of
the two is the one that the standard takes on either side of it. They are the textbook weir (2/3) Cd (pi D) sqrt(2 g) h^1.5 of
Cd 0.455, and the sharp-edged orifice Cd (pi D^2/4) sqrt(2 g h) of Cd 0.606.

Bores: steel pipe to ASME B36.10M, schedule 40, 1/2 to 2 in as quoted in handbooks; 2 1/2 in and larger from memory.
"""

from typing import NamedTuple

INCH = 25.4  # [mm]
WEIR, ORIFICE = 7500.0, 15000.0  # divisors of the two rules above
OPEN, STRAINED = 1.0, 0.5  # ko


class OutletRow(NamedTuple):
    """A usual outlet: the nominal size of its pipe, in inches and as DN, and its bore [mm]."""

    name: str
    bore: float


USUAL_OUTLETS = (
    OutletRow("1/2 in (DN 15)", 0.622 * INCH),
    OutletRow("3/4 in (DN 20)", 0.824 * INCH),
    OutletRow("1 in (DN 25)", 1.049 * INCH),
    OutletRow("1 1/4 in (DN 32)", 1.380 * INCH),
    OutletRow("1 1/2 in (DN 40)", 1.610 * INCH),
    OutletRow("2 in (DN 50)", 2.067 * INCH),
    OutletRow("2 1/2 in (DN 65)", 2.469 * INCH),
    OutletRow("3 in (DN 80)", 3.068 * INCH),
    OutletRow("4 in (DN 100)", 4.026 * INCH),
)
