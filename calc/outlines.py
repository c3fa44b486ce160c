"""Outlines in the plane: edges taken off, the edge to mark out from, what of them lies on the hull, which are the same.

Outlines run anticlockwise, no repeated closing point; lengths [mm].
"""

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from calc.records import Outline, Point

ALIKE = 1e-3  # [mm] corners nearer than this are the same when outlines are compared
LEAST_WIDTH = 0.5  # [mm] a piece that is narrower nowhere can be cut
Complex = NDArray[np.complex128]


def take_off(outline: Outline, margins: Sequence[float]) -> Outline | None:
    """The outline with each edge i moved inward by margins[i] [mm], outward where that is negative; None where nothing sound
    is left of it.

    >>> take_off(((0, 0), (10, 0), (10, 8), (0, 8)), [0, 1, 0, -1])
    ((-1.0, 0.0), (9.0, 0.0), (9.0, 8.0), (-1.0, 8.0))
    """
    count = len(outline)
    moved = []
    for index in range(count):
        (x, y), (end_x, end_y) = outline[index], outline[(index + 1) % count]
        length = math.hypot(end_x - x, end_y - y)
        ux, uy = (end_x - x) / length, (end_y - y) / length
        moved.append((x - uy * margins[index], y + ux * margins[index], ux, uy))
    corners = tuple(_crossing(moved[index - 1], moved[index]) for index in range(count))
    left = shapely.Polygon(corners)
    keeps_sense = all(
        (corners[(i + 1) % count][0] - corners[i][0]) * ux + (corners[(i + 1) % count][1] - corners[i][1]) * uy > 0
        for i, (_, _, ux, uy) in enumerate(moved)
    )
    sound = keeps_sense and left.is_valid and not left.buffer(-LEAST_WIDTH / 2).is_empty
    return corners if sound else None


def _crossing(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> Point:
    """Where two lines cross, each given by a point and a direction; no two following edges are parallel."""
    x1, y1, ux, uy = one
    x2, y2, vx, vy = other
    along = ((x2 - x1) * vy - (y2 - y1) * vx) / (ux * vy - uy * vx)
    return (x1 + ux * along, y1 + uy * along)


def base_edge(outline: Outline) -> int:
    """The index of the edge to mark out from: the longest that has all corners on its left.

    Longest, so that an error of the square turns into the least error of a corner.
    """
    best, longest = 0, -1.0
    for index, clear in enumerate(edges_on_hull(outline)):
        length = math.dist(outline[index], outline[(index + 1) % len(outline)])
        if clear and length > longest + ALIKE:
            best, longest = index, length
    return best


def edges_on_hull(outline: Outline) -> tuple[bool, ...]:
    """For each edge, whether all corners lie on its left: a straight cut along it touches nothing of the piece.

    >>> edges_on_hull(((0, 0), (9, 0), (9, 9), (5, 2)))
    (True, True, False, False)
    """
    corners = np.array(outline, dtype=np.float64)
    along = np.roll(corners, -1, axis=0) - corners
    along = along / np.linalg.norm(along, axis=1)[:, None]
    from_start = corners[None, :, :] - corners[:, None, :]
    left = along[:, None, 0] * from_start[:, :, 1] - along[:, None, 1] * from_start[:, :, 0]
    return tuple(bool(clear) for clear in (left >= -ALIKE).all(axis=1))


def flipped(outline: Outline) -> Outline:
    """The outline seen from its other side, turned over about the x axis; still anticlockwise.

    >>> flipped(((0, 0), (4, 0), (1, 2)))
    ((1, -2), (4, 0), (0, 0))
    """
    return tuple((x, -y + 0) for x, y in reversed(outline))


def as_complex(points: Sequence[Point]) -> Complex:
    """Points as complex numbers x + iy: turning is then a product."""
    return np.array([complex(x, y) for x, y in points], dtype=np.complex128)


def landings(outline: Outline, other: Outline, *, grain: bool = False) -> Iterator[tuple[complex, complex]]:
    """Each way an outline, moved and turned, lies on another: (turn, shift), a point z comes to turn z + shift.

    grain: turned by 0 or 180 degrees only.
    """
    if len(outline) != len(other):
        return
    own, target = as_complex(outline), as_complex(other)
    step = target[1] - target[0]
    if not abs(step):
        return
    reach = float(np.abs(target - target[0]).max())
    for first in range(len(own)):
        moved = np.roll(own, -first)
        start = moved[1] - moved[0]
        if not abs(start):
            continue
        turn = complex(step / start / abs(step / start))
        if grain and abs(turn.imag) * reach > ALIKE:
            continue
        shift = complex(target[0] - turn * moved[0])
        if float(np.abs(turn * moved + shift - target).max()) < ALIKE:
            yield turn, shift


def is_alike(outline: Outline, other: Outline, *, grain: bool = False) -> bool:
    """Whether an outline lies on another when moved and turned (by 0 or 180 degrees only where there is a grain)."""
    return next(landings(outline, other, grain=grain), None) is not None


def longest_side(outline: Outline) -> float:
    """How long an outline is [mm]: the longer side of a box round it, turned so that this is least.

    An outline within another is never longer than that, which holds for no box that is least in area.

    >>> longest_side(((0, 0), (40, 0), (40, 30), (0, 30)))
    40.0
    """
    hull = shapely.get_coordinates(shapely.Polygon(outline).convex_hull)
    edges = np.arctan2(*np.diff(hull, axis=0).T[::-1])
    turns = np.unique(np.concatenate([edges % (math.pi / 2), [0.0, math.pi / 2]]))
    middles = (turns[:-1] + turns[1:]) / 2
    # between two turns the same corners are the outermost, so both sides go as sines: the longer is least at an end, or
    # where the two are equal
    (ax, ay), (bx, by) = _spanned(hull, middles), _spanned(hull, middles + math.pi / 2)
    equal = np.arctan2(-(ax - by), ay + bx) % math.pi
    between = equal[(equal > turns[:-1]) & (equal < turns[1:])]
    tried = np.concatenate([turns, between])
    sides = [np.ptp(hull @ np.array([np.cos(angle), np.sin(angle)]), axis=0) for angle in (tried, tried + math.pi / 2)]
    return float(np.maximum(*sides).min())


def _spanned(hull: NDArray[np.float64], angles: NDArray[np.float64]) -> NDArray[np.float64]:
    """From one outermost corner to the other along each of these directions, (2, n) [mm]."""
    along = hull @ np.array([np.cos(angles), np.sin(angles)])
    return np.asarray((hull[along.argmax(axis=0)] - hull[along.argmin(axis=0)]).T)
