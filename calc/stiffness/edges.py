"""How an edge holds a plate, said in the six values that each vertex of the mesh carries.

At a corner both edges hold: supported, that leaves the plate no slope there. True, but at an obtuse corner the slope fades only
as the distance to a power that goes to 0 with the corner opening, which no polynomial follows: held to it, a coarse mesh is far
too stiff (a fifth, at 165 degrees). So an obtuse supported corner is held as a point of an edge that runs midway between its
two: a slip that is the smaller the finer the mesh is there, and lets the plate sag a little more, never less.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calc.stiffness.element import DOFS, Array

Flags = NDArray[np.bool_]
SAME = 1e-6  # the sine under which two directions are one
OBTUSE = 100.0  # [degrees] inside, over which a supported corner is eased


def frames_of(outline: Array, held: tuple[bool, ...], sides: Sequence[tuple[int, ...]]) -> tuple[Array, Flags, Flags]:
    """For each vertex the combinations of its values that are solved for, and which of them are free.

    outline: (n, 2); held: which of its sides are; sides: those that each vertex lies on. Returns the frames (vertices, 6, 6), a
    column each, and which columns are free where held sides are supported, and where they are clamped, (vertices, 6) each.
    """
    along = np.roll(outline, -1, axis=0) - outline
    along = along / np.linalg.norm(along, axis=1)[:, None]
    found = {on: _frame([along[side] for side in on if held[side]]) for on in set(sides)}
    frames = np.empty((len(sides), DOFS, DOFS))
    supported, clamped = (np.ones((len(sides), DOFS), dtype=np.bool_) for _ in (0, 1))
    for vertex, on in enumerate(sides):
        frames[vertex], by_support, by_clamp = found[on]
        supported[vertex, :by_support] = False
        clamped[vertex, :by_clamp] = False
    return frames, supported, clamped


def _frame(directions: list[Array]) -> tuple[Array, int, int]:
    """An orthogonal frame (6, 6) whose first columns are nil on held edges of these directions: how many where the edges are
    supported, and how many where they are clamped."""
    eased = [_midway(*directions)] if len(directions) > 1 and is_obtuse(*directions) else directions
    support = [row for along in eased for row in _nil_where_supported(*along)]
    clamp = [row for along in directions for nil in (_nil_where_supported, _nil_where_clamped) for row in nil(*along)]
    frame = np.zeros((DOFS, DOFS))
    counts = []
    count = 0
    for rows in (support, clamp, np.eye(DOFS)):
        for row in rows:
            if count == DOFS:
                break
            rest = row - frame[:count].T @ (frame[:count] @ row)
            size = math.sqrt(rest @ rest)
            if size > SAME:
                frame[count] = rest / size
                count += 1
        counts.append(count)
    return frame.T, counts[0], counts[1]


def is_obtuse(before: Array, after: Array) -> bool:
    """Whether the corner between two edges, each along its unit direction, opens so wide that it is eased."""
    return float(before @ after) > -math.cos(math.radians(OBTUSE))


def _midway(before: Array, after: Array) -> Array:
    return np.asarray((before + after) / np.linalg.norm(before + after))


def _nil_where_supported(x: float, y: float) -> Array:
    """w, its slope along the edge and its curvature along it, (3, 6)."""
    return np.array([[1, 0, 0, 0, 0, 0], [0, x, y, 0, 0, 0], [0, 0, 0, x * x, 2 * x * y, y * y]], dtype=np.float64)


def _nil_where_clamped(x: float, y: float) -> Array:
    """Beside these the slope across the edge, and how that changes along it, (2, 6)."""
    return np.array([[0, y, -x, 0, 0, 0], [0, 0, 0, x * y, y * y - x * x, -x * y]], dtype=np.float64)
