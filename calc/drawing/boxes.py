"""Boxes that are turned: which overlap, and which lines run through them. Drawing units, y down, angles in degrees."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from calc.records import Point

Array = NDArray[Any]

STRIP = 5.0  # a dimension line keeps this far from another


@dataclass(frozen=True, slots=True)
class Box:
    """A box: centre, size, angle."""

    x: float
    y: float
    width: float
    height: float
    angle: float = 0.0


def rows_of(boxes: Sequence[Box]) -> Array:
    """Boxes as an array (n, 5): centre, half width, half height, angle."""
    rows = [(box.x, box.y, box.width / 2, box.height / 2, box.angle) for box in boxes]
    return np.array(rows, dtype=np.float64).reshape(-1, 5)


def strip(start: Point, end: Point) -> Box:
    """The room that a dimension line keeps to itself."""
    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    return Box((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, max(math.dist(start, end) - 2, 0.1), STRIP, angle)


def boxes_meet(some: Array, others: Array) -> Array:
    """Which boxes overlap, (k, b): rows as of `rows_of`; by separating axes, those of each box in turn."""
    one, other = some[:, None, :], others[None, :, :]
    dx, dy = other[..., 0] - one[..., 0], other[..., 1] - one[..., 1]
    turn = np.radians(one[..., 4] - other[..., 4])
    cosine, sine = np.abs(np.cos(turn)), np.abs(np.sin(turn))
    apart = np.zeros(turn.shape, dtype=bool)
    for own, far in ((one, other), (other, one)):
        along, across = np.cos(np.radians(own[..., 4])), np.sin(np.radians(own[..., 4]))
        apart |= np.abs(dx * along + dy * across) >= own[..., 2] + far[..., 2] * cosine + far[..., 3] * sine
        apart |= np.abs(dy * along - dx * across) >= own[..., 3] + far[..., 2] * sine + far[..., 3] * cosine
    return ~apart


def on_lines(boxes: Array, lines: Array) -> Array:
    """Which segments (middle, half vector) run through which boxes, (k, s)."""
    angle = np.radians(boxes[:, 4, None])
    cosine, sine = np.cos(angle), np.sin(angle)
    dx, dy = lines[:, 0] - boxes[:, 0, None], lines[:, 1] - boxes[:, 1, None]
    mx, my = dx * cosine + dy * sine, dy * cosine - dx * sine
    hx, hy = lines[:, 2] * cosine + lines[:, 3] * sine, lines[:, 3] * cosine - lines[:, 2] * sine
    wide, high = boxes[:, 2, None], boxes[:, 3, None]
    ax, ay = np.abs(hx), np.abs(hy)
    return np.asarray(
        (np.abs(mx) <= wide + ax) & (np.abs(my) <= high + ay) & (np.abs(mx * hy - my * hx) <= wide * ay + high * ax)
    )


def meets_boxes(runs: Array, boxes: Array) -> Array:
    """Which lines (start, end) run through which boxes, (k, b)."""
    middles, halves = (runs[:, :2] + runs[:, 2:]) / 2, (runs[:, 2:] - runs[:, :2]) / 2
    return on_lines(boxes, np.column_stack((middles, halves))).T
