"""Rims: the outline of a tray's upper edge, as corners or as the lengths a tape gives, and the checks that make it one."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import shapely

from calc.distances import fit_corners, laid_along, lengths_between
from calc.reading import Field, number_as_typed
from calc.records import Outline, Point

LONGEST = 20_000.0  # [mm] the largest length of a shape
SHORTEST = 0.01  # [mm] the least; nearer points count as one
STRAIGHT = 1e-6  # sine of the turn at a corner below which its neighbours are in line
TAPE_AT_FAULT = 10.0  # [mm] a measured length further than this from the best fit was misread (common practice)
CORNERS_LEAST, CORNERS_MOST = 3, 24


@dataclass(frozen=True, slots=True)
class MeasuredRim:
    """A four-cornered rim as measured: sides from corner to corner round, and the diagonals 0-2 and 1-3 [mm]."""

    sides: tuple[float, float, float, float]
    diagonals: tuple[float, float]


Rim = Outline | MeasuredRim


def read_rim(field: Field, least: int = CORNERS_LEAST, most: int = CORNERS_MOST) -> Rim | None:
    """A rim as so many points, or as four sides and the diagonals; None where it is at fault."""
    if isinstance(field.value, Mapping):
        return _read_measured(field)
    return read_outline(field, least, most)


def read_outline(field: Field, least: int = CORNERS_LEAST, most: int = CORNERS_MOST) -> Outline | None:
    """A sound outline of so many corners, in either direction; None where it is at fault."""
    points = field.list_of(lambda item: item.point(LONGEST), least, most, "corners")
    return None if points is None or not is_sound(field, points) else points


def is_sound(field: Field, points: Outline) -> bool:
    """Whether corners make an outline: no side too long, no two the same, none in line with its neighbours, none crossed."""
    return all(check(field, points) for check in (_all_short, _all_distinct, _all_turn, _uncrossed))


def _read_measured(field: Field) -> MeasuredRim | None:
    if not field.mapping(("sides", "diagonals"), required=("sides", "diagonals")):
        return None
    sides = field.at("sides").list_of(lambda item: item.length(SHORTEST, LONGEST), 4, 4, "sides")
    diagonals = field.at("diagonals").list_of(lambda item: item.length(SHORTEST, LONGEST), 2, 2, "diagonals")
    if sides is None or diagonals is None:
        return None
    measured = MeasuredRim((sides[0], sides[1], sides[2], sides[3]), (diagonals[0], diagonals[1]))
    return measured if _closes(field, measured) else None


def _closes(field: Field, measured: MeasuredRim) -> bool:
    """Whether each diagonal makes a triangle with the sides on either side of it."""
    a, b, c, d = measured.sides
    triangles = ((0, a, b, "1 and 2"), (0, c, d, "3 and 4"), (1, d, a, "4 and 1"), (1, b, c, "2 and 3"))
    sound = True
    for index, one, other, names in triangles:
        diagonal = measured.diagonals[index]
        if not abs(one - other) < diagonal < one + other:
            field.at("diagonals").at(index).fault(
                f"makes no triangle with sides {names}: must be between {number_as_typed(abs(one - other))} and "
                f"{number_as_typed(one + other)} mm (got {number_as_typed(diagonal)})"
            )
            sound = False
    return sound and _agrees(field, measured)


def _agrees(field: Field, measured: MeasuredRim) -> bool:
    """Whether six lengths make one rim: a sound outline, none of them further from it than a tape can be."""
    corners = corners_of(measured)
    if not _all_turn(field, corners) or not _uncrossed(field, corners):
        return False
    worst = max(abs(error) for error in disagreements(measured))
    if worst > TAPE_AT_FAULT:
        field.fault(
            f"sides and diagonals can't all be true: the nearest rim is {worst:.0f} mm from one of them; tape all six again"
        )
        return False
    return True


def _all_short(field: Field, points: Outline) -> bool:
    sound = True
    for index, here in enumerate(points):
        side = math.dist(here, points[(index + 1) % len(points)])
        if side > LONGEST:
            field.at(index).fault(
                f"side {index + 1} from here must be at most {number_as_typed(LONGEST)} mm (got {number_as_typed(round(side))})"
            )
            sound = False
    return sound


def _all_distinct(field: Field, points: Outline) -> bool:
    sound = True
    for (i, first), (j, second) in combinations(enumerate(points), 2):
        if math.dist(first, second) < SHORTEST:
            field.at(j).fault(f"is the same point as corner {i + 1}; leave one of them out")
            sound = False
    return sound


def _all_turn(field: Field, points: Outline) -> bool:
    sound = True
    for index, here in enumerate(points):
        before, after = points[index - 1], points[(index + 1) % len(points)]
        if abs(sine_of_turn(before, here, after)) < STRAIGHT:
            item = field.at(index) if isinstance(field.value, list | tuple) else field
            item.fault(f"corner {index + 1} lies in one straight line with its neighbours; leave it out or move it")
            sound = False
    return sound


def _uncrossed(field: Field, points: Outline) -> bool:
    count, whole = len(points), shapely.Polygon(points)
    if whole.is_valid and shapely.minimum_clearance(whole) > SHORTEST:
        return True  # no corner is near another side: only then are the sides compared pair by pair, to name two
    sides = [shapely.LineString((points[i], points[(i + 1) % count])) for i in range(count)]
    for i, j in combinations(range(count), 2):
        neighbours = j - i in (1, count - 1)
        if not neighbours and sides[i].distance(sides[j]) < SHORTEST:
            field.fault(
                f"crosses itself: side {i + 1} (corner {i + 1} to {(i + 1) % count + 1}) meets side {j + 1} "
                f"(corner {j + 1} to {(j + 1) % count + 1}); give the corners in the order they come round"
            )
            return False
    return True


def sine_of_turn(before: Point, here: Point, after: Point) -> float:
    """The sine of the turn at a corner, positive to the left; 0 where the three points are in line."""
    ax, ay = here[0] - before[0], here[1] - before[1]
    bx, by = after[0] - here[0], after[1] - here[1]
    return (ax * by - ay * bx) / (math.hypot(ax, ay) * math.hypot(bx, by))


def distance_in_front(start: Point, end: Point, point: Point) -> float:
    """How far a point lies to the left of the line from start to end [mm]; negative to the right.

    >>> distance_in_front((0, 0), (4, 0), (1, 3))
    3.0
    """
    along = (end[0] - start[0], end[1] - start[1])
    return (along[0] * (point[1] - start[1]) - along[1] * (point[0] - start[0])) / math.hypot(*along)


def signed_area(points: Outline) -> float:
    """The area [mm2] within an outline, negative where it runs clockwise.

    >>> signed_area(((0, 0), (4, 0), (4, 2), (0, 2)))
    8.0
    """
    x0, y0 = points[0]
    return (
        sum(
            (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)
            for (x1, y1), (x2, y2) in zip(points, points[1:] + points[:1], strict=True)
        )
        / 2
    )


def anticlockwise(points: Outline) -> Outline:
    """The same outline, run anticlockwise from the same first corner.

    >>> anticlockwise(((0, 0), (0, 2), (4, 2), (4, 0)))
    ((0, 0), (4, 0), (4, 2), (0, 2))
    """
    return points if signed_area(points) > 0 else points[:1] + points[:0:-1]


def corners_of(rim: Rim) -> Outline:
    """The corners of a rim, anticlockwise seen from above [mm].

    A measured rim is laid with corner 0 at (0, 0), side 0 along +x and the rest above it. Six lengths fix five
    coordinates, so where they disagree the corners are those of least squares.
    """
    if not isinstance(rim, MeasuredRim):
        return anticlockwise(rim)
    a, b, _, d = rim.sides
    p, q = rim.diagonals
    start = ((0.0, 0.0), (a, 0.0), _apex(a, p, b), _apex(a, d, q))
    return laid_along(fit_corners(start, PAIRS, rim.sides + rim.diagonals))


PAIRS = ((0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3))  # the corners that each measured length runs between


def _apex(base: float, from_start: float, from_end: float) -> tuple[float, float]:
    """The third corner above a base along x, from its distances to the base's ends."""
    x = (base**2 + from_start**2 - from_end**2) / (2 * base)
    return x, math.sqrt(max(from_start**2 - x**2, 0.0))


def disagreements(rim: MeasuredRim) -> tuple[float, ...]:
    """What each measured length lacks of the corners of `corners_of`: the four sides, then the diagonals [mm]."""
    corners = corners_of(rim)
    lengths = lengths_between(corners, PAIRS)
    return tuple(length - taped for length, taped in zip(lengths, rim.sides + rim.diagonals, strict=True))
