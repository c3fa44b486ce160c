"""The nearest place to a point that is free, exact: in front of every line, clear of every box and side.

Each bound of the free places is a straight line or a circle, so the nearest of them lies where the point is square to a bound
or where two bounds cross: all such spots are looked at, nearest first.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from calc.records import Outline, Point

Points = NDArray[np.float64]
ON_BOUND = 1e-7  # [mm] a spot that lies this far behind a bound, by rounding, is still on it
BEYOND = 1e-9  # [mm] a place is free only where it is past every bound by this: touching is not free
LOOKED_AT_ONCE = 512
STEPS_OFF = (-2, -1, 0, 1, 2)


@dataclass(frozen=True, slots=True)
class Line:
    """A free place lies to the left of the line from start to end, at least `margin` [mm] from it."""

    start: Point
    end: Point
    margin: float


@dataclass(frozen=True, slots=True)
class Side:
    """A free place lies farther than `margin` [mm] from the segment from start to end; a point where the two are one."""

    start: Point
    end: Point
    margin: float


@dataclass(frozen=True, slots=True)
class Box:
    """A free place lies farther than `margin` [mm] from the rectangle between its lower left and upper right corners."""

    lower: Point
    upper: Point
    margin: float

    def distance(self, point: Point) -> float:
        """How far a point is from the rectangle [mm]; 0 inside it."""
        return float(_past((self,), np.array([point]))[0, 0] + self.margin)


Bound = Line | Side | Box


def clear_of(rim: Outline, margin: float) -> tuple[Side, ...]:
    """The bounds of what is farther than `margin` [mm] from every side of a rim."""
    return tuple(Side(start, end, margin) for start, end in zip(rim, rim[1:] + rim[:1], strict=True))


def nearest_free(point: Point, bounds: Sequence[Bound], steps: Sequence[float]) -> Point | None:
    """The nearest place to a point that all bounds leave free, on a grid that a person can type; None where there is none.

    steps: of the grid [mm], the coarsest first; a finer one is taken where the coarser has no free place there.

    >>> nearest_free((4.0, 5.0), [Box((0.0, 0.0), (5.0, 10.0), 2.0)], [0.1])
    (7.1, 5.0)
    """
    spots = _spots(np.array(point), bounds)
    spots = spots[np.argsort(np.linalg.norm(spots - np.array(point), axis=1), kind="stable")]
    for first in range(0, len(spots), LOOKED_AT_ONCE):
        some = spots[first : first + LOOKED_AT_ONCE]
        for spot in some[_past(bounds, some).min(axis=1) >= -ON_BOUND]:
            for step in steps:
                if (place := _on_grid(point, spot, bounds, step)) is not None:
                    return place
    return None


def _on_grid(point: Point, spot: Points, bounds: Sequence[Bound], step: float) -> Point | None:
    """The free place of a grid next to a spot that is nearest to a point."""
    middle = np.round(spot / step)
    grid = np.array([middle + np.array(off) for off in product(STEPS_OFF, STEPS_OFF)]) * step
    free = grid[_past(bounds, grid).min(axis=1) >= BEYOND]
    if not len(free):
        return None
    x, y = free[int(np.argmin(np.linalg.norm(free - np.array(point), axis=1)))]
    return round(float(x), 7), round(float(y), 7)


def _past(bounds: Sequence[Bound], points: Points) -> Points:
    """How far each point is on the free side of each bound [mm], (points, bounds)."""
    columns = [np.full(len(points), math.inf)]
    for bound in bounds:
        if isinstance(bound, Box):
            outside = np.maximum(np.maximum(np.array(bound.lower) - points, points - np.array(bound.upper)), 0.0)
            distance = np.linalg.norm(outside, axis=1)
        else:
            start, along = np.array(bound.start), np.array(bound.end) - np.array(bound.start)
            length = float(np.linalg.norm(along))
            from_start = points - start
            if isinstance(bound, Line):
                distance = (along[0] * from_start[:, 1] - along[1] * from_start[:, 0]) / length
            else:
                share = np.clip(from_start @ along / length**2, 0.0, 1.0) if length else np.zeros(len(points))
                distance = np.linalg.norm(from_start - share[:, None] * along, axis=1)
        columns.append(distance - bound.margin)
    return np.stack(columns[1:] or columns, axis=1)


def _spots(point: Points, bounds: Sequence[Bound]) -> Points:
    """Where the nearest free place may lie: at the point, square from it to a bound, where two bounds cross."""
    lines = np.array([line for bound in bounds for line in _lines(bound)]).reshape(-1, 3)
    circles = np.array([circle for bound in bounds for circle in _circles(bound)]).reshape(-1, 3)
    off = point - circles[:, :2]
    away = np.linalg.norm(off, axis=1)[:, None]
    outward = np.where(away > 0, off / np.where(away > 0, away, 1.0), np.array([1.0, 0.0]))
    return np.concatenate(
        [
            point[None, :],
            point + (lines[:, 2] - lines[:, :2] @ point)[:, None] * lines[:, :2],
            circles[:, :2] + outward * circles[:, 2:],
            _lines_crossing(lines),
            _on_circles(lines, circles),
            _circles_crossing(circles),
        ]
    )


def _lines(bound: Bound) -> Iterator[tuple[float, float, float]]:
    """The straight parts of a bound, each as a unit normal and the line's distance from the origin along it."""
    match bound:
        case Box((left, low), (right, high), margin):
            yield from ((1.0, 0.0, left - margin), (1.0, 0.0, right + margin))
            yield from ((0.0, 1.0, low - margin), (0.0, 1.0, high + margin))
        case Line(start, end, margin) | Side(start, end, margin) if start != end:
            length = math.dist(start, end)
            nx, ny = (start[1] - end[1]) / length, (end[0] - start[0]) / length
            from_origin = nx * start[0] + ny * start[1]
            yield nx, ny, from_origin + margin
            if isinstance(bound, Side):
                yield nx, ny, from_origin - margin


def _circles(bound: Bound) -> Iterator[tuple[float, float, float]]:
    """The round parts of a bound, each as a centre and a radius."""
    match bound:
        case Box((left, low), (right, high), margin):
            yield from ((x, y, margin) for x in (left, right) for y in (low, high))
        case Side(start, end, margin):
            yield from ((*start, margin), (*end, margin))


def _lines_crossing(lines: Points) -> Points:
    one, other = np.triu_indices(len(lines), 1)
    (ax, ay, a), (bx, by, b) = lines[one].T, lines[other].T
    turn = ax * by - ay * bx
    crosses: NDArray[np.bool_] = np.abs(turn) > ON_BOUND
    safe = np.where(crosses, turn, 1.0)
    crossings: Points = np.stack([(a * by - b * ay) / safe, (b * ax - a * bx) / safe], axis=1)
    return crossings[crosses]


def _on_circles(lines: Points, circles: Points) -> Points:
    line, circle = (index.ravel() for index in np.indices((len(lines), len(circles))))
    return _two_points(circles[circle], lines[line])


def _circles_crossing(circles: Points) -> Points:
    """Where circles cross: on the line between the crossings of each two."""
    one, other = np.triu_indices(len(circles), 1)
    apart = circles[other, :2] - circles[one, :2]
    distance = np.linalg.norm(apart, axis=1)
    kept = distance > ON_BOUND
    first, second, normals = circles[one][kept], circles[other][kept], apart[kept] / distance[kept][:, None]
    share = (distance[kept] ** 2 + first[:, 2] ** 2 - second[:, 2] ** 2) / (2 * distance[kept])
    from_origin = (first[:, :2] * normals).sum(axis=1) + share
    return _two_points(first, np.column_stack([normals, from_origin]))


def _two_points(circles: Points, lines: Points) -> Points:
    """Where each line crosses its circle."""
    short = lines[:, 2] - (lines[:, :2] * circles[:, :2]).sum(axis=1)
    half = circles[:, 2] ** 2 - short**2
    crosses = half >= 0
    foot = (circles[:, :2] + short[:, None] * lines[:, :2])[crosses]
    along = np.column_stack([-lines[:, 1], lines[:, 0]])[crosses] * np.sqrt(half[crosses])[:, None]
    return np.concatenate([foot + along, foot - along])
