"""The inspection table: what is measured on the tray as built, and how far it may be off."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc import Plan
from calc.drawing.parts import bottoms, has_walls, strip_reach, strip_word, wall_heights
from calc.reading import number_as_typed
from calc.records import Point
from calc.tables.lookup import NotListedError
from calc.tables.tolerances import linear_iso13920
from calc.units import Display


@dataclass(frozen=True, slots=True)
class InspectionLine:
    """A row of the inspection table."""

    what: str
    nominal: str
    tolerance: str


def inspection_lines(plan: Plan, display: Display) -> list[InspectionLine]:
    """The sizes that prove a tray or pan, each with its tolerance by ISO 13920 in the sheet's class."""
    grade = plan.sheet.making.tolerance_class
    sizes = [*(_pan_sizes(plan) if has_walls(plan.shell) else _tray_sizes(plan)), *_strip_sizes(plan)]
    return [InspectionLine(what, display.length(size), _tolerance(size, grade, display)) for what, size in sizes]


def _tray_sizes(plan: Plan) -> list[tuple[str, float]]:
    """Sides and diagonals of the rim, the depths, and the size of a sump [mm]."""
    rim = plan.sheet.shape.corners
    sizes = [(f"Side {i + 1}–{j + 1}", math.dist(rim[i], rim[j])) for i, j in _round(len(rim))]
    sizes += [(f"Diagonal {i + 1}–{j + 1}", math.dist(rim[i], rim[j])) for i, j in diagonals(rim)]
    sump = [(name, size) for name, size in plan.sheet.shape.sizes.items() if name.startswith("Sump")]
    return [*sizes, *depths(plan), *sump]


def depths(plan: Plan) -> list[tuple[str, float]]:
    """The depth below the rim, of a valley that of both its ends [mm], with what each is called."""
    found = bottoms(plan)
    if len(found) == 1:
        return [("Depth below the rim", found[0].depth)]
    return [(f"Depth, {bottom.name[:1].lower()}{bottom.name[1:]}", bottom.depth) for bottom in found]


def _pan_sizes(plan: Plan) -> list[tuple[str, float]]:
    """Length, width and diagonals outside, and the height of the walls outside [mm]."""
    corners, (near, far) = plan.sheet.shape.corners, wall_heights(plan)
    sizes = [("Length outside", math.dist(*corners[:2])), ("Width outside", math.dist(*corners[1:3]))]
    sizes += [(f"Diagonal {i + 1}–{j + 1} outside", math.dist(corners[i], corners[j])) for i, j in diagonals(corners)]
    if near == far:
        return [*sizes, ("Height outside", near)]
    return [*sizes, ("Height outside, side 4–1", near), ("Height outside, side 2–3", far)]


def _strip_sizes(plan: Plan) -> list[tuple[str, float]]:
    """How far the lap, upstand or return reaches [mm], where there is one."""
    word = strip_word(plan)
    return [(f"{word.capitalize()} {'high' if word == 'upstand' else 'wide'}", strip_reach(plan))] if word else []


def _round(count: int) -> list[tuple[int, int]]:
    return [(index, (index + 1) % count) for index in range(count)]


def diagonals(rim: Sequence[Point]) -> list[tuple[int, int]]:
    """The diagonals that fix a rim's corners: from corner 1 to each that is no neighbour, and the one across corner 1.

    >>> diagonals([(0, 0), (1, 0), (1, 1), (0, 1)])
    [(0, 2), (1, 3)]
    """
    count = len(rim)
    return [(0, index) for index in range(2, count - 1)] + ([(1, count - 1)] if count > 3 else [])


def _tolerance(size: float, grade: str, display: Display) -> str:
    try:
        either_way = linear_iso13920(size, grade)
    except NotListedError:
        return "agree"
    return f"± {number_as_typed(either_way)} mm" if display.unit == "mm" else f"± {either_way / 25.4:.3f} in"
