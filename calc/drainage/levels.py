"""How much is held up to each level: exactly, slice by slice, from the triangles that the wet faces are made of.

The surface of still water over a flat triangle grows as the square of the depth between two of its corners' levels, so that
the area of the whole is quadratic between two levels at which the shell has a corner, and its volume there is a prismatoid's.
"""

from collections.abc import Sequence
from itertools import pairwise

from calc.drainage.records import Slice

SAME_LEVEL = 1e-6  # [mm] corners nearer than this are at one level
Triangle = tuple[tuple[int, int, int], float]  # three vertices, and the area seen from above [mm2]


def slices_of(triangles: Sequence[Triangle], heights: Sequence[float], brim: float) -> tuple[Slice, ...]:
    """What is held up to a brim, from the lowest corner up.

    triangles: of the wet faces; heights [mm]: of each vertex; brim [mm]. Empty where nothing lies below the brim.

    >>> [(s.low, s.high, s.area_high, s.full) for s in slices_of([((0, 1, 2), 600.0)], [-30.0, 0.0, 0.0], 0.0)]
    [(-30.0, 0.0, 600.0, 6000.0)]
    """
    levels = _merged(sorted({heights[index] for corners, _ in triangles for index in corners} | {brim}), brim)
    snapped = [(_snapped(corners, heights, levels), area) for corners, area in triangles]
    slices: list[Slice] = []
    volume = 0.0
    for low, high in pairwise(levels):
        bottom, middle, top = (
            sum(_area_below(z, area, level, low, high) for z, area in snapped)
            for level in (low, (low + high) / 2, high)
        )
        found = Slice(low, high, bottom, middle, top, volume)
        volume = found.full
        slices.append(found)
    return tuple(slices)


def area_at(slices: Sequence[Slice], level: float) -> float:
    """The area of the water surface at a level [mm2]; 0 below the lowest, past the brim the brim's."""
    for piece in slices:
        if level < piece.high:
            q0, q1, q2 = piece.quadratic
            share = (level - piece.low) / piece.height
            return 0.0 if share < 0 else q0 + share * (q1 + share * q2)
    return slices[-1].area_high if slices else 0.0


def volume_at(slices: Sequence[Slice], level: float) -> float:
    """What is held below a level [mm3]; 0 below the lowest, past the brim what is held to the brim."""
    for piece in slices:
        if level < piece.high:
            q0, q1, q2 = piece.quadratic
            share = max(0.0, (level - piece.low) / piece.height)
            return piece.volume + piece.height * share * (q0 + share * (q1 / 2 + share * q2 / 3))
    return slices[-1].full if slices else 0.0


def _merged(levels: Sequence[float], brim: float) -> list[float]:
    """Rising levels up to the brim, those that are one but for rounding once."""
    found: list[float] = []
    for level in levels:
        if level <= brim and (not found or level - found[-1] > SAME_LEVEL):
            found.append(level)
    return found


def _snapped(corners: Sequence[int], heights: Sequence[float], levels: Sequence[float]) -> list[float]:
    """The corners' heights in rising order, each at the level that it counts as."""
    return sorted(
        next((level for level in levels if abs(level - heights[index]) <= SAME_LEVEL), heights[index])
        for index in corners
    )


def _area_below(z: Sequence[float], area: float, level: float, low: float, high: float) -> float:
    """How much of a triangle, seen from above, lies below a level between two neighbouring ones [mm2]."""
    least, middle, most = z
    if most <= low:
        return area
    if least >= high:
        return 0.0
    if middle >= high:
        return area * (level - least) ** 2 / ((middle - least) * (most - least))
    return area * (1.0 - (most - level) ** 2 / ((most - middle) * (most - least)))
