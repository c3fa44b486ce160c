"""What an opening passes at a head over it: a weir while it is shallow, an orifice above, the smaller of the two governing.

Flows [l/min], heads over the lip [mm]. The stream falls free below: a hose that is long, or rises
anywhere, passes less.
"""

import math
from dataclasses import dataclass

from calc.tables.outlets import OPEN, ORIFICE, STRAINED, WEIR

PER_MINUTE = 60e-6  # [l/min] in a mm3/s


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening by the factors of its two rules: weir [l/min per mm^1.5], infinite where it has none; orifice [per mm^0.5]."""

    weir: float
    orifice: float

    @property
    def change_over(self) -> float:
        """The head at which both rules pass the same [mm]: below it the weir passes less, above it the orifice."""
        return self.orifice / self.weir

    def flow(self, head: float) -> float:
        """What passes at a head; nothing at or below the lip.

        >>> round(drop_outlet(40.0, strainer=False).flow(20.0), 3)  # at D/2 both rules give 60 x 40 x 20^1.5 / 7500
        28.622
        """
        return min(self.weir * head**1.5, self.orifice * math.sqrt(head)) if head > 0 else 0.0

    def governs(self, head: float) -> str:
        """Which rule passes less at a head: "weir" or "orifice"."""
        return "weir" if head <= self.change_over else "orifice"

    def head(self, flow: float) -> float:
        """The head at which a flow passes: `flow` turned about.

        >>> round(drop_outlet(40.0, strainer=False).head(28.6216701), 6)
        20.0
        """
        as_weir = float((flow / self.weir) ** (2 / 3))
        return as_weir if as_weir <= self.change_over else (flow / self.orifice) ** 2


def drop_outlet(bore: float, *, strainer: bool) -> Opening:
    """A round outlet in a floor, by EN 12056-3 (see `calc.tables.outlets`). bore [mm]; strainer: or a grid lies over it."""
    share = 60.0 * (STRAINED if strainer else OPEN)  # l/s to l/min
    return Opening(share * bore / WEIR, share * bore**2 / ORIFICE)
