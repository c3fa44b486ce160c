"""Whether, and how, a part fits on an empty sheet."""

from collections.abc import Iterator
from math import pi
from random import Random

from calc.layout.parts import Part
from calc.layout.polygons import turned, turned_over
from calc.layout.strips import Strip
from calc.layout.tree import carvings

ANGLES_TRIED = 720  # of a part that stands on no edge of an empty sheet
ANGLES_KEPT = 8


def fitted(part: Part, strip: Strip) -> Part | None:
    """The part as it may lie on an empty sheet; None where it fits in no way."""
    chance = Random(0)  # noqa: S311
    for candidate in _ways_to_lie(part, strip):
        region = strip.region(strip.length)
        if any(carvings(region, spot, strip.kerf, 0.0, chance) for spot in region.spots_for(candidate)):
            return candidate
    return None


def _ways_to_lie(part: Part, strip: Strip) -> Iterator[Part]:
    """The part as it is; failing that without its dullest corners, or at angles at which no edge lies on the sheet's."""
    yield part
    yield from part.blunter(strip.kerf)
    if part.turns:
        return
    ways = []
    for over in part.faces:
        hull = turned_over(part.hull) if over else part.hull
        for k in range(ANGLES_TRIED):
            angle = 2 * pi * k / ANGLES_TRIED
            xs, ys = zip(*turned(hull, angle), strict=True)
            if max(xs) - min(xs) <= strip.length and max(ys) - min(ys) <= strip.width:
                ways.append((over, angle))
    if ways:
        step = -(-len(ways) // ANGLES_KEPT)
        yield part.held_to(ways[step // 2 :: step])
