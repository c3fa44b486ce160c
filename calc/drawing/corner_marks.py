"""The corners of a blank that lies on a sheet: a dot in corner 1, and small numbers inside the corners that have room."""

import math
from collections.abc import Sequence

from calc.drawing.boxes import Box
from calc.drawing.labels import CLEAR, OFF_LINES, Block, Labels, Places, Spot, block_size
from calc.records import Point

MARK_SIZE = 9.2
DOT = 1.9  # radius
DEEPEST = 60.0  # how far in from its corner a number may stand and still be read as that corner's
NEARER = 0.45  # and no farther than this share of the way to another corner
SHARPEST = math.radians(1)


def dot_corner(labels: Labels, outline: Sequence[Point], index: int) -> None:
    """A filled dot just inside a corner of an outline, kept clear of labels."""
    inward = _inward(outline, index)
    if inward is None:
        return
    ux, uy, half = inward
    # as deep as makes it fit between the two edges, but in a sharp tip it had better cross them than leave the tip
    deep = min(DOT * 1.6 / math.sin(half), DOT * 7)
    corner = outline[index]
    centre = (corner[0] + ux * deep, corner[1] + uy * deep)
    labels.drawing.circle(centre, DOT, "tip corner-one")
    labels.reserve(Box(*centre, 2 * DOT, 2 * DOT))


def mark_corners(labels: Labels, outline: Sequence[Point], numbers: Sequence[int]) -> None:
    """Number the corners of an outline inside them, small; where a corner has no room it goes without.

    outline: in the drawing, either way round; numbers: of its corners in that order.
    """
    for index, number in enumerate(numbers):
        block: Block = ((str(number), MARK_SIZE, False),)
        found = labels.find(block, [_in_corner(outline, index)], OFF_LINES)
        if found and block_size(found[0])[1] <= block_size(block)[1]:
            labels.write(*found, style="figure corner-mark")


def _inward(outline: Sequence[Point], index: int) -> tuple[float, float, float] | None:
    """The direction that halves a corner, into the outline, and half its angle; None where it is dented or too sharp."""
    corner, before, after = outline[index], outline[index - 1], outline[(index + 1) % len(outline)]
    ways = []
    for x, y in (before, after):
        length = math.dist((x, y), corner)
        if length < 1e-9:
            return None
        ways.append(((x - corner[0]) / length, (y - corner[1]) / length))
    (ax, ay), (bx, by) = ways
    turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if turn * _sense(outline) >= 0 or abs(turn) < SHARPEST:
        return None
    x, y = ax + bx, ay + by
    length = math.hypot(x, y)
    return (x / length, y / length, abs(turn) / 2) if length > 1e-6 else None


def _sense(outline: Sequence[Point]) -> float:
    """Twice the area, positive where the outline runs from x to y."""
    ends = [*outline[1:], outline[0]]
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(outline, ends, strict=True))


def _in_corner(outline: Sequence[Point], index: int) -> Places:
    """On the line that halves a corner and a little to either side, as near as the box keeps clear of both edges."""
    inward, corner = _inward(outline, index), outline[index]
    others = [math.dist(corner, other) for place, other in enumerate(outline) if place != index]
    deepest = min(DEEPEST, NEARER * min(others))

    def places(width: float, height: float) -> list[Spot]:
        if inward is None:
            return []
        ux, uy, half = inward
        spots = []
        for lean in (0.0, 0.3, -0.3, 0.55, -0.55):
            x, y = _turned(ux, uy, lean * half)
            for step in range(12):
                reach = deepest * (step + 1) / 12
                spot = Spot(corner[0] + x * reach, corner[1] + y * reach, 0.0, reach * 0.4 + abs(lean) * 2)
                if _holds(outline, spot, width / 2 + CLEAR, height / 2 + CLEAR):
                    spots.append(spot)
        return spots

    return places


def _turned(x: float, y: float, angle: float) -> Point:
    cosine, sine = math.cos(angle), math.sin(angle)
    return (x * cosine - y * sine, x * sine + y * cosine)


def _holds(outline: Sequence[Point], spot: Spot, wide: float, high: float) -> bool:
    """Whether the corners of a level box about a spot are inside a convex outline."""
    sense = math.copysign(1.0, _sense(outline))
    ends = [*outline[1:], outline[0]]
    return all(
        sense * ((x2 - x1) * (spot.y + dy - y1) - (y2 - y1) * (spot.x + dx - x1)) > 0
        for (x1, y1), (x2, y2) in zip(outline, ends, strict=True)
        for dx, dy in ((wide, high), (wide, -high), (-wide, high), (-wide, -high))
    )
