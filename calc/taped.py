"""An offcut as a tape gives it: its sides in turn, and the diagonals from corner 1 that cut it into triangles."""

import math

from calc.reading import Field, number_as_typed
from calc.records import Outline
from calc.stock import LARGEST_SHEET, MOST_CORNERS, read_convex

SHORTEST = 1.0  # [mm] of a side
FINE = 4  # decimals of a mm that a corner is kept to: no tape gives more


def read_taped(item: Field) -> Outline | None:
    """The outline of an offcut [mm] from {"sides": [...], "diagonals": [...]}; None where it is at fault.

    Corners are numbered anticlockwise; side k runs from corner k to the next, the last back to corner 1. The diagonals run
    from corner 1 to corners 3, 4 ... in turn: none for three sides, one for four, n - 3 for n. The outline must be convex, and
    is as `read_convex` gives it.

    >>> read_taped(Field({"sides": [300, 400, 300, 400], "diagonals": [500]}))
    ((0.0, 0.0), (300.0, 0.0), (300.0, 400.0), (0.0, 400.0))
    """
    if not item.mapping(("sides", "diagonals"), required=("sides", "diagonals")):
        return None
    sides = item.at("sides").list_of(_length, 3, MOST_CORNERS, "sides")
    if sides is None:
        return None
    few = len(sides) - 3
    diagonals = item.at("diagonals").list_of(_length, few, few, f"diagonals, for {len(sides)} sides")
    if diagonals is None or not _closes(item, sides, diagonals):
        return None
    return read_convex(Field(_corners(sides, diagonals), item.path, item.faults))


def _length(field: Field) -> float | None:
    return field.length(SHORTEST, LARGEST_SHEET)


def _closes(item: Field, sides: tuple[float, ...], diagonals: tuple[float, ...]) -> bool:
    """Whether each triangle of the fan closes; the fault is that of the diagonal, of three sides that of the last."""
    sound = True
    rays = (sides[0], *diagonals, sides[-1])
    for place, side in enumerate(sides[1:-1]):
        near, far = rays[place], rays[place + 1]
        if abs(near - far) < side < near + far:
            continue
        sound = False
        # The second leg of the last triangle is a side: there the diagonal before it is at fault, if there is one.
        is_last = place == len(diagonals)
        blamed, other = (near, far) if is_last and diagonals else (far, near)
        index = place - 1 if is_last else place
        field = item.at("diagonals").at(index) if diagonals else item.at("sides").at(len(sides) - 1)
        field.fault(
            f"makes no triangle with {_ray(place + 1 if blamed is near else place, len(sides))} and side {place + 2}: must be "
            f"between {number_as_typed(abs(side - other))} and {number_as_typed(side + other)} mm "
            f"(got {number_as_typed(blamed)})"
        )
    return sound


def _ray(place: int, count: int) -> str:
    """What runs from corner 1 to corner place + 2."""
    if place == 0:
        return "side 1"
    return f"side {count}" if place == count - 2 else f"diagonal 1-{place + 2}"


def _corners(sides: tuple[float, ...], diagonals: tuple[float, ...]) -> Outline:
    """The corners, corner 1 at (0, 0) and side 1 along x: each ray turned on from the last by the law of cosines."""
    rays, angle = (sides[0], *diagonals, sides[-1]), 0.0
    corners = [(0.0, 0.0), (sides[0], 0.0)]
    for side, near, far in zip(sides[1:-1], rays, rays[1:], strict=False):
        cosine = (near * near + far * far - side * side) / (2 * near * far)
        angle += math.acos(max(-1.0, min(1.0, cosine)))
        corners.append((far * math.cos(angle), far * math.sin(angle)))
    return tuple((round(x, FINE), round(y, FINE)) for x, y in corners)
