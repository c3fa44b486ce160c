"""The sump of a fall tray: a small level floor at the low point, which takes a fitting, and the facets that fall to it.

Where the rim has four corners, the sump is bounded by four lines parallel to the rim's sides, so that each facet is a flat
trapezoid. Its length is measured along the pair of opposite sides that lies nearer the x axis (of equals, sides 1 and 3); the
ends of the sump, parallel to the other pair, lie half the length from the low point, its long sides half the width, each
measured square to the side. On a rim that is a rectangle this is a rectangle `length` by `width`; on any other the low point
still lies midway between each two opposite sides, and a circle round it as wide as the lesser size lies on the floor.

On another rim the sump is a rectangle, `length` along x and `width` along y, its middle the low point. Rim and sump are two
convex outlines in level planes, so each facet of the lower hull stands on a side of one of them and goes to the corner of the
other that lies farthest out from that side; where a side of the sump is parallel to one of the rim the two facets are one.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from calc.families.free_place import Line
from calc.families.rims import LONGEST, SHORTEST, distance_in_front, sine_of_turn
from calc.families.tray import INSIDE
from calc.reading import Field, as_typed, number_as_typed
from calc.records import Outline, Point, Point3
from calc.shell import Face, face_name, is_flat

FOUR = 4
NO_SHARE = 1e-12  # a length that counts for less than this in a side's distance doesn't count
KEYS = ("length", "width")


@dataclass(frozen=True, slots=True)
class Sump:
    """A level floor at the tray's depth: its length and width [mm]; see the module for how they lie."""

    length: float
    width: float

    @property
    def sizes(self) -> tuple[float, float]:
        """Length and width [mm]."""
        return self.length, self.width

    def reaches(self, rim: Outline) -> tuple[float, ...]:
        """How far the sump reaches from the low point towards each side of the rim, square to it [mm]."""
        return tuple((along * self.length + across * self.width) / 2 for along, across in _shares(rim))

    def places(self, rim: Outline) -> tuple[Line, ...]:
        """Where the low point may lie for the sump to lie inside the rim."""
        sides = zip(rim, rim[1:] + rim[:1], self.reaches(rim), strict=True)
        return tuple(Line(start, end, reach + INSIDE) for start, end, reach in sides)

    def corners(self, rim: Outline, low_point: Point) -> Outline:
        """The four corners, anticlockwise [mm]; round a rim of four corners corner i lies towards corner i of the rim."""
        x, y = low_point
        if len(rim) != FOUR:
            dx, dy = self.length / 2, self.width / 2
            return ((x - dx, y - dy), (x + dx, y - dy), (x + dx, y + dy), (x - dx, y + dy))
        return tuple((x + dx, y + dy) for dx, dy in _parallel(rim, self.sizes))


def read_sump(field: Field, rim: Outline | None, low_point: Point | None) -> Sump | None:
    """The sump in a field; None where there is none or it is at fault. rim, low_point: where they are known."""
    if field.value is None or not field.mapping(KEYS, required=KEYS):
        return None
    length, width = (field.at(key).length(SHORTEST, LONGEST) for key in KEYS)
    if length is None or width is None or rim is None or low_point is None:
        return None
    sump = Sump(length, width)
    checks = (_is_convex, _fits, _keeps_sides)
    return sump if all(check(field, sump, rim, low_point) for check in checks) else None


def _is_convex(field: Field, _sump: Sump, rim: Outline, _low_point: Point) -> bool:
    for index, here in enumerate(rim):
        if sine_of_turn(rim[index - 1], here, rim[(index + 1) % len(rim)]) < 0:
            field.fault(
                f"needs a rim that is convex, but the corner at [{number_as_typed(here[0])}, {number_as_typed(here[1])}] turns "
                "inward: straighten the rim there, or leave the sump out"
            )
            return False
    return True


def _fits(field: Field, sump: Sump, rim: Outline, low_point: Point) -> bool:
    """Whether the sump lies inside the rim; where not, the fault names the most that does."""
    rooms = [
        2 * (distance_in_front(start, end, low_point) - INSIDE)
        for start, end in zip(rim, rim[1:] + rim[:1], strict=True)
    ]
    over = [
        (room, shares)
        for room, shares, reach in zip(rooms, _shares(rim), sump.reaches(rim), strict=True)
        if 2 * reach > room
    ]
    for which, key in enumerate(KEYS):
        if not over:
            return True
        other = sump.sizes[1 - which]
        if all(shares[which] <= NO_SHARE for _, shares in over):
            continue  # it is the other length that is too much
        bounds = [
            (room - shares[1 - which] * other) / shares[which] for room, shares in over if shares[which] > NO_SHARE
        ]
        if min(bounds) >= SHORTEST:
            _too_much(field.at(key), min(bounds), f"for the sump to lie {number_as_typed(INSIDE)} mm inside the rim")
            over = [(room, shares) for room, shares in over if shares[which] <= NO_SHARE]
            if not over:
                return False
    if over and not any(fault.path.startswith(field.path) for fault in field.faults):
        share = min(room / (2 * reach) for room, reach in zip(rooms, sump.reaches(rim), strict=True))
        most = " by ".join(_rounded_down(share * size) for size in sump.sizes)
        field.fault(
            f"must be at most {most} mm, in this proportion, for the sump to lie {number_as_typed(INSIDE)} mm inside the rim"
            if share > 0
            else "has no room at this low point: move it farther from the rim"
        )
    return False


def _keeps_sides(field: Field, sump: Sump, rim: Outline, _low_point: Point) -> bool:
    """Whether each side of a sump parallel to the rim has a length left where the rim's sides run together."""
    if len(rim) != FOUR:
        return True
    lengths = _side_lengths(rim, sump.sizes)
    by_length, by_width = _side_lengths(rim, (1.0, 0.0)), _side_lengths(rim, (0.0, 1.0))
    for index, (length, along, across) in enumerate(zip(lengths, by_length, by_width, strict=True)):
        if length < SHORTEST:
            which = 0 if along < 0 else 1  # what takes from this side: the one that lies along the other two
            loss, gain = (along, across * sump.width) if which == 0 else (across, along * sump.length)
            why = f"or side {index + 1} of the sump comes to nothing where the sides of the rim run together"
            _too_much(field.at(KEYS[which]), (SHORTEST - gain) / loss, why)
            return False
    return True


def _too_much(field: Field, most: float, why: str) -> None:
    field.fault(f"must be at most {_rounded_down(most)} mm, {why} (got {as_typed(field.value)})")


def _rounded_down(size: float) -> str:
    return number_as_typed(math.floor(size * 10) / 10 or math.floor(size * 1000) / 1000)


def _shares(rim: Outline) -> list[tuple[float, float]]:
    """How much of the length and of the width counts in the sump's reach, twice, towards each side."""
    directions = _directions(rim)
    if len(rim) != FOUR:
        return [(abs(dy), abs(dx)) for dx, dy in directions]  # of the side's outward direction (dy, -dx)
    (ax, _), (bx, _), (cx, _), (dx, _) = directions
    first_pair_lies_along_x = abs(ax - cx) >= abs(bx - dx) - NO_SHARE
    long_side, end = (0.0, 1.0), (1.0, 0.0)
    return [long_side, end] * 2 if first_pair_lies_along_x else [end, long_side] * 2


def _directions(outline: Sequence[Point]) -> list[Point]:
    """The unit vector along each side."""
    sides = zip(outline, (*outline[1:], outline[0]), strict=True)
    return [
        ((x2 - x1) / size, (y2 - y1) / size) for (x1, y1), (x2, y2) in sides if (size := math.dist((x1, y1), (x2, y2)))
    ]


def _parallel(rim: Outline, sizes: tuple[float, float]) -> list[Point]:
    """The corners, from the low point, of the four lines parallel to the rim's sides."""
    directions = _directions(rim)
    reaches = [(along * sizes[0] + across * sizes[1]) / 2 for along, across in _shares(rim)]
    corners = []
    for index, (bx, by) in enumerate(directions):
        (ax, ay), before, here = directions[index - 1], reaches[index - 1], reaches[index]
        turn = ax * by - ay * bx
        corners.append(((ax * here - bx * before) / turn, (ay * here - by * before) / turn))
    return corners


def _side_lengths(rim: Outline, sizes: tuple[float, float]) -> list[float]:
    """The lengths of the sump's sides [mm], negative where a side is turned about: linear in the sizes."""
    corners = _parallel(rim, sizes)
    return [
        (after[0] - here[0]) * dx + (after[1] - here[1]) * dy
        for here, after, (dx, dy) in zip(corners, corners[1:] + corners[:1], _directions(rim), strict=True)
    ]


def sump_faces(rim: Sequence[Point3], sump: Sequence[Point3]) -> list[Face]:
    """The facets of a tray from its rim to its sump, both (n, 3) [mm] and anticlockwise, and the sump's floor.

    Vertices are those of the rim, then those of the sump. Facets on a side of the rim are named first, in order; then
    the floor, then facets that stand on a side of the sump alone.
    """
    count, corners = len(rim), len(sump)
    level = [(x, y) for x, y, _ in rim], [(x, y) for x, y, _ in sump]
    farthest = [_farthest(level[1], direction) for direction in _directions(level[0])]
    facets, shared = [], set[int]()
    for index, spot in enumerate(farthest):
        after = (index + 1) % count
        loop: tuple[int, ...] = (index, after, count + spot)
        for side in ((spot - 1) % corners, spot):
            ahead = (side + 1) % corners
            if is_flat(np.array([rim[index], rim[after], sump[ahead], sump[side]])) and _same_way(level, index, side):
                loop = (index, after, count + ahead, count + side)
                shared.add(side)
        facets.append(Face(face_name(index), loop))
    facets.append(Face(face_name(count), tuple(range(count, count + corners)), "sump"))
    for side, direction in enumerate(_directions(level[1])):
        if side not in shared:
            loop = (count + (side + 1) % corners, count + side, _farthest(level[0], direction))
            facets.append(Face(face_name(len(facets)), loop))
    return facets


def _farthest(outline: Sequence[Point], direction: Point) -> int:
    """The corner that lies farthest to the right of a direction: out from a side that runs that way, anticlockwise."""
    return max(
        range(len(outline)), key=lambda index: direction[1] * outline[index][0] - direction[0] * outline[index][1]
    )


def _same_way(level: tuple[Sequence[Point], Sequence[Point]], rim_side: int, sump_side: int) -> bool:
    (ax, ay), (bx, by) = _directions(level[0])[rim_side], _directions(level[1])[sump_side]
    return ax * bx + ay * by > 0
