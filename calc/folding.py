"""Folding a blank by hand: in which order, and where each bend line lies.

The order, so that the folder's jaw still gets in: bends farther out before those nearer the face that most hang on
(a return before its wall); of those, long ones before short ones, since the last bends are made between parts that stand
already and the jaw set between them is then the short one (common practice).
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.blank import Blank, FoldLine
from calc.records import Point

PARALLEL = 1e-3  # [mm] an edge whose ends are as far from a bend line as this is parallel to it


@dataclass(frozen=True, slots=True)
class Folding:
    """One bend as it is made. edge: a free edge of the blank, as two corners, that the bend line is parallel to, and
    distance [mm] from it; None where there is none: the line is then set out by its two ends in the blank's frame."""

    fold: FoldLine
    edge: tuple[int, int] | None
    distance: float | None

    @property
    def way(self) -> str:
        """UP where the wet faces close, DOWN where they open, the blank lying wet face up."""
        return "UP" if self.fold.angle > 0 else "DOWN"

    @property
    def length(self) -> float:
        """How long the bend line is [mm]."""
        return math.dist(*self.fold.line)

    @property
    def name(self) -> str:
        """The bend by the two faces it joins."""
        return self.fold.name


def fold_order(blank: Blank) -> tuple[Folding, ...]:
    """The bends of a blank in the order they are made."""
    depths = _depths(blank.folds, blank.faces)
    ordered = sorted(
        enumerate(blank.folds),
        key=lambda pair: (-depths[pair[1].between], -round(math.dist(*pair[1].line), 3), pair[0]),
    )
    return tuple(_folding(blank, fold) for _, fold in ordered)


def _depths(folds: Sequence[FoldLine], faces: Sequence[str]) -> dict[tuple[str, str], int]:
    """How many bends from the middle face each bend is; the middle one has most bends, of equals it comes first."""
    bends = {face: sum(face in fold.between for fold in folds) for face in faces}
    inner = {max(faces, key=lambda face: bends[face])} if folds else set[str]()
    depths: dict[tuple[str, str], int] = {}
    while len(depths) < len(folds):
        ring = [fold for fold in folds if fold.between not in depths and inner & set(fold.between)]
        depths |= dict.fromkeys((fold.between for fold in ring), len(set(depths.values())))
        inner |= {name for fold in ring for name in fold.between}
    return depths


def _folding(blank: Blank, fold: FoldLine) -> Folding:
    """The bend with the nearest free edge that is parallel to its line and lies over against it."""
    outline = blank.cut_outline
    found = []
    for index, start in enumerate(outline):
        end = outline[(index + 1) % len(outline)]
        one, other = _from_line(fold, start), _from_line(fold, end)
        beside = min(max(one[0], other[0]), math.dist(*fold.line)) - max(min(one[0], other[0]), 0.0)
        parallel = abs(one[1] - other[1]) < PARALLEL and beside > math.dist(*fold.line) / 2
        if blank.edges[index].kind == "free" and parallel:
            found.append((abs(one[1]), index))
    if not found:
        return Folding(fold, None, None)
    distance, index = min(found)
    return Folding(fold, (index, (index + 1) % len(outline)), distance)


def _from_line(fold: FoldLine, point: Point) -> tuple[float, float]:
    """How far along a bend line a point is, and how far square to it [mm]; positive to its left."""
    (x, y), (end_x, end_y) = fold.line
    length = math.hypot(end_x - x, end_y - y)
    ux, uy = (end_x - x) / length, (end_y - y) / length
    return ux * (point[0] - x) + uy * (point[1] - y), ux * (point[1] - y) - uy * (point[0] - x)
