"""A pattern over sheets of paper: windows that overlap, each printed on a page, numbered through.

Frame of a tiling: the blank's own, or the blank turned a quarter anticlockwise where that takes fewer pages; [mm], y up.
"""

import math
from dataclasses import dataclass

import shapely

from calc.records import Outline, Point

OVERLAP = 10.0  # [mm] what is on two neighbouring pages both
CLEAR = 4.0  # [mm] at least between the outline and the edge of the outermost windows
# [mm] from a page's edges to its window. Printers leave 4 to 7 mm blank (common practice); ticks, words and check bars
# stand in what is left of the margins.
LEFT, TOP, RIGHT, BOTTOM = 18.0, 12.0, 12.0, 32.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A size of paper, upright [mm]."""

    name: str
    width: float
    height: float

    @property
    def window(self) -> tuple[float, float]:
        """Width and height of what one page shows of a pattern."""
        return self.width - LEFT - RIGHT, self.height - TOP - BOTTOM


# ISO 216:2007 for the A sizes; ANSI/ASME Y14.1 for Letter, 8 1/2 x 11 in
PAPERS = {
    paper.name: paper
    for paper in (Paper("A4", 210.0, 297.0), Paper("A3", 297.0, 420.0), Paper("Letter", 8.5 * 25.4, 11 * 25.4))
}


@dataclass(frozen=True, slots=True)
class Tile:
    """A page of a pattern: its number, its row from the top and its column from the left, its window's lower left corner."""

    number: int
    row: int
    column: int
    corner: Point


@dataclass(frozen=True, slots=True)
class Tiling:
    """The pages of one pattern on this paper. turned: whether the blank is turned a quarter."""

    paper: Paper
    turned: bool
    columns: int
    rows: int
    tiles: tuple[Tile, ...]

    def turn(self, point: Point) -> Point:
        """A point of the blank in the tiling's frame."""
        return (-point[1], point[0]) if self.turned else point

    def turn_all(self, outline: Outline) -> Outline:
        """Points of the blank in the tiling's frame."""
        return tuple(self.turn(point) for point in outline)

    def window(self, tile: Tile) -> shapely.Polygon:
        """What a page shows, in the tiling's frame."""
        (x, y), (width, height) = tile.corner, self.paper.window
        return shapely.box(x, y, x + width, y + height)

    def beside(self, tile: Tile, right: int, up: int) -> Tile | None:
        """The page so many columns to the right and rows up of another, if there is one."""
        place = (tile.row - up, tile.column + right)
        return next((other for other in self.tiles if (other.row, other.column) == place), None)


def tile(outline: Outline, paper: Paper, first: int = 1) -> Tiling:
    """The pattern of this outline over pages numbered from `first`, whichever way round takes fewer of them.

    outline: (n, 2) [mm]. Pages that would show nothing of the blank are left out.

    >>> [(found.turned, len(found.tiles)) for found in [tile(((0, 0), (440, 0), (440, 150), (0, 150)), PAPERS["A4"])]]
    [(True, 2)]
    """
    return min((_tiled(outline, paper, first, turned) for turned in (False, True)), key=lambda found: len(found.tiles))


def pages_at_least(outline: Outline, paper: Paper) -> int:
    """How many pages a pattern can't be on fewer than: its area over a window's, so that none is tiled in vain."""
    width, height = paper.window
    return math.ceil(shapely.Polygon(outline).area / (width * height))


def _tiled(outline: Outline, paper: Paper, first: int, turned: bool) -> Tiling:
    empty = Tiling(paper, turned, 0, 0, ())
    body = shapely.Polygon(empty.turn_all(outline))
    left, low, right, high = body.bounds
    width, height = paper.window
    columns, rows = _windows(right - left, width), _windows(high - low, height)
    # the spare room is shared out, half to each side
    start_x = (left + right - _reach(columns, width)) / 2
    start_y = (low + high - _reach(rows, height)) / 2
    found: list[Tile] = []
    shapely.prepare(body)
    for row in range(rows):
        for column in range(columns):
            x, y = start_x + column * (width - OVERLAP), start_y + (rows - 1 - row) * (height - OVERLAP)
            if body.intersects(shapely.box(x, y, x + width, y + height)):
                found.append(Tile(first + len(found), row, column, (x, y)))
    return Tiling(paper, turned, columns, rows, tuple(found))


def _windows(span: float, window: float) -> int:
    """How many overlapping windows it takes to show so much, with room about it."""
    return max(1, math.ceil((span + 2 * CLEAR - OVERLAP) / (window - OVERLAP) - 1e-9))


def _reach(count: int, window: float) -> float:
    return count * (window - OVERLAP) + OVERLAP
