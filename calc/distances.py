"""Corners from the distances between them: the outline that best fits what a tape gave, by least squares.

Outlines are (n, 2) [mm]. Distances fix an outline but for where it lies, so each function says where it is laid.
"""

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calc.records import Outline

Pair = tuple[int, int]
Vectors = NDArray[np.float64]
TAPE = 1.0  # [mm] what a tape on welded sheet misses by, either way, 19 times in 20: two deviations (common practice)
ROUNDS = 60
CLOSE = 1e-10  # [mm] a step that moves no corner further is the last
SAME = 1e-9  # singular values below this share of the largest belong to motions that change no distance


def lengths_between(outline: Outline, pairs: Sequence[Pair]) -> tuple[float, ...]:
    """The distances between these pairs of corners [mm].

    >>> lengths_between(((0, 0), (4, 0), (4, 3)), [(0, 1), (0, 2)])
    (4.0, 5.0)
    """
    return tuple(math.dist(outline[i], outline[j]) for i, j in pairs)


def slopes(outline: Outline, pairs: Sequence[Pair]) -> Vectors:
    """How each distance grows as each corner moves, (m, 2n): row of the pair, columns x0, y0, x1, y1 ..."""
    corners = np.array(outline, dtype=np.float64)
    across = np.array([corners[j] - corners[i] for i, j in pairs])
    across /= np.maximum(np.linalg.norm(across, axis=1), 1e-12)[:, None]
    found = np.zeros((len(pairs), len(outline), 2))
    for row, (i, j) in enumerate(pairs):
        found[row, j] += across[row]
        found[row, i] -= across[row]
    return found.reshape(len(pairs), -1)


def looseness(outline: Outline, pairs: Sequence[Pair]) -> float:
    """How far corners that distances hold are out, as a root mean square [mm], for an error of 1 mm in each distance.

    Infinite where the corners can move with no distance changing at first.

    >>> round(looseness(((0, 0), (4, 0)), [(0, 1)]), 9)  # two points: half of the error goes to either
    0.5
    >>> looseness(((0, 0), (4, 0), (4, 3), (0, 3)), [(0, 1), (1, 2), (2, 3), (3, 0)])  # four sides swing
    inf
    """
    free = 2 * len(outline) - 3  # all ways to move, but for those that move or turn the whole
    if len(pairs) < free:
        return math.inf
    values = np.linalg.svd(slopes(outline, pairs), compute_uv=False)[:free]
    return math.inf if values[-1] <= SAME * values[0] else float(np.sqrt((1 / values**2).sum() / len(outline)))


def fit_corners(start: Outline, pairs: Sequence[Pair], lengths: Sequence[float]) -> Outline:
    """The corners whose distances come nearest to measured ones, least squares over all of them.

    start: corners near them, whose sense they keep; pairs: the corners that each length [mm] runs between. The answer lies
    about where the start lies: see `laid_on`. Gauss-Newton with a step that is halved until it is no worse (Nocedal and
    Wright, Numerical Optimization, 10.3); of the motions that change no distance it takes none.

    >>> pairs = [(0, 1), (1, 2), (2, 0)]
    >>> [round(length, 6) for length in lengths_between(fit_corners(((0, 0), (4, 0), (4, 4)), pairs, [4, 4, 5]), pairs)]
    [4.0, 4.0, 5.0]
    """
    wanted = np.array(lengths, dtype=np.float64)
    here = np.array(start, dtype=np.float64).ravel()
    lack = wanted - np.array(lengths_between(_outline(here), pairs))
    for _ in range(ROUNDS):  # quadratic near the answer: four or five do where the lengths agree
        step = np.linalg.lstsq(slopes(_outline(here), pairs), lack, rcond=SAME)[0]
        share, worse = 1.0, float(lack @ lack)
        while True:
            there = here + share * step
            new_lack = wanted - np.array(lengths_between(_outline(there), pairs))
            if float(new_lack @ new_lack) <= worse or share < 1e-6:
                break
            share /= 2
        if float(new_lack @ new_lack) <= worse:
            here, lack = there, new_lack
        if share * float(np.abs(step).max()) < CLOSE or share < 1e-6:
            break
    return _outline(here)


def laid_on(outline: Outline, place: Outline) -> Outline:
    """The outline moved and turned, never turned over, so that its corners lie nearest to those of another, least squares.

    Source: the turn of a plane's points onto others in closed form (Horn 1987, for two dimensions).

    >>> [(round(x, 6), round(y, 6)) for x, y in laid_on(((10, 10), (10, 14), (7, 14)), ((1, 0), (5, 0), (5, 3)))]
    [(1.0, 0.0), (5.0, 0.0), (5.0, 3.0)]
    """
    own, others = (np.array([complex(x, y) for x, y in points]) for points in (outline, place))
    middle, target = own.mean(), others.mean()
    sum_of_products = complex(np.sum(np.conj(own - middle) * (others - target)))
    turn = sum_of_products / abs(sum_of_products) if abs(sum_of_products) > 0 else 1.0
    moved = turn * (own - middle) + target
    return tuple((float(point.real), float(point.imag)) for point in moved)


def laid_along(outline: Outline) -> Outline:
    """The outline moved and turned so that corner 0 lies at (0, 0) and side 0 along +x.

    >>> laid_along(((5, 5), (5, 9), (2, 9)))
    ((0.0, 0.0), (4.0, 0.0), (4.0, 3.0))
    """
    points = [complex(x, y) - complex(*outline[0]) for x, y in outline]
    turn = points[1].conjugate() / abs(points[1])
    moved = [point * turn for point in points]
    return ((0.0, 0.0), (abs(points[1]), 0.0), *((point.real + 0.0, point.imag + 0.0) for point in moved[2:]))


def _outline(flat: Vectors) -> Outline:
    return tuple((float(x), float(y)) for x, y in flat.reshape(-1, 2))
