"""Circular saws: how fast a blade's rim runs and how fast it may be fed, against the published range for the metal.

For steel and stainless no range is listed here: none was found in print that holds for a hand-held saw.
"""

import math
from dataclasses import dataclass

from calc.tables.alloys import Family
from calc.tables.lookup import NotListedError

# Hand-held saws are not made to reach the range: their rims run at this [m/s] (common practice)
HAND_HELD = (25.0, 55.0)


@dataclass(frozen=True, slots=True)
class SawRange:
    """The speed of the rim [m/s] and the feed of each tooth [mm] that are published for a metal.

    `fastest` is the end that all sources give, `fastest_of_any` the one that some do; `blades` is what it is published for.
    """

    slowest: float
    fastest: float
    fastest_of_any: float
    least_feed: float
    most_feed: float
    blades: str


# Carbide-tipped blades in aluminium: 50 to 80 m/s, to 90 by some, 0.04 to 0.20 mm a tooth; as quoted in print for
# circular saws in general.
RANGES: dict[Family, SawRange] = {
    "aluminium": SawRange(50.0, 80.0, 90.0, 0.04, 0.20, "carbide-tipped blades in aluminium"),
}


def saw_range(family: Family) -> SawRange:
    """The published range for a metal. Raises NotListedError where none is."""
    found = RANGES.get(family)
    if found is None:
        raise NotListedError(f"no rim speed or feed is listed for sawing {family}: go by what the blade's maker gives")
    return found


def rim_speed(diameter: float, speed: float) -> float:
    """How fast a blade's rim runs [m/s]: V = pi D n / 60.

    diameter [mm], speed [rev/min].

    >>> round(rim_speed(165, 5000), 1)
    43.2
    """
    return math.pi * diameter / 1000 * speed / 60


def feed(teeth: int, speed: float, each: float) -> float:
    """How fast a saw is fed [m/min]: Z n Sz / 1000.

    speed [rev/min], each: what a tooth takes [mm].

    >>> round(feed(48, 4500, 0.04), 2)
    8.64
    """
    return teeth * speed * each / 1000
