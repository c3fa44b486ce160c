"""What every page of a pattern has about its window: ticks, crosses, check bars, and a map of the pages."""

from collections.abc import Iterator

import shapely

from calc.drawing.lettering import text_width
from calc.papers.full_size import FullSize
from calc.papers.pattern import Pattern
from calc.papers.tile_page import SMALL, TilePage, points_of
from calc.papers.tiling import OVERLAP, Tile, Tiling
from calc.records import Point
from calc.units import INCH, Display

TICK_FROM, TICK_TO = 0.7, 4.2  # [mm] outside the window
CROSS = 3.0  # [mm] from its middle to the end of an arm
BAR_WORDS = 3.6  # [mm] lettering of the check bars


def bar_of(display: Display) -> tuple[float, str]:
    """The length of a check bar [mm] and what it says: a round figure on the rule that the shop has in hand."""
    return (100.0, "100 mm") if display.unit == "mm" else (float(4 * INCH), "4 in")


def _neighbours(page: TilePage) -> Iterator[tuple[int, int, Tile]]:
    for right, up in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        other = page.tiling.beside(page.tile, right, up)
        if other:
            yield right, up, other


def draw_ticks(page: TilePage) -> None:
    """Where to trim: the window's corners; and where the next page's trimmed edge comes to lie. In the margins only."""
    across, down = [page.left, page.right], [page.top, page.bottom]
    for right, up, other in _neighbours(page):
        words = f"page {other.number}"
        if right:
            across.append(page.right - OVERLAP if right > 0 else page.left + OVERLAP)
            centre = (page.right + 3.0 if right > 0 else page.left - 3.0, page.top + 0.3 * (page.bottom - page.top))
            page.drawing.write(words, centre, SMALL, angle=-90.0)
        else:
            down.append(page.top + OVERLAP if up > 0 else page.bottom - OVERLAP)
            centre = ((page.left + page.right) / 2, page.top - 3.0 if up > 0 else page.bottom + 2.4)
            page.drawing.write(words, centre, SMALL)
    for x in across:
        page.drawing.line(((x, page.top - TICK_TO), (x, page.top - TICK_FROM)), "tick")
        page.drawing.line(((x, page.bottom + TICK_FROM), (x, page.bottom + TICK_TO)), "tick")
    for y in down:
        page.drawing.line(((page.left - TICK_TO, y), (page.left - TICK_FROM, y)), "tick")
        page.drawing.line(((page.right + TICK_FROM, y), (page.right + TICK_TO, y)), "tick")


def draw_crosses(page: TilePage) -> None:
    """Two crosses in each overlap, which the page beside it has at the same places of the blank."""
    width, height = page.right - page.left, page.bottom - page.top
    for right, up, _ in _neighbours(page):
        for share in (0.25, 0.75):
            if right:
                x = page.right - OVERLAP / 2 if right > 0 else page.left + OVERLAP / 2
                y = page.top + height * share
            else:
                x = page.left + width * share
                y = page.top + OVERLAP / 2 if up > 0 else page.bottom - OVERLAP / 2
            page.drawing.line(((x - CROSS, y), (x + CROSS, y)), "cross")
            page.drawing.line(((x, y - CROSS), (x, y + CROSS)), "cross")
            page.taken.append(shapely.box(x - CROSS, y - CROSS, x + CROSS, y + CROSS))


def draw_check_bars(page: TilePage, display: Display) -> None:
    """A bar along the page and one up it: a printer may stretch one way and not the other."""
    length, words = bar_of(display)
    x, y, end = page.left, page.bottom + 18.6, 1.3
    level = ((x, y - end), (x, y + end), (x, y), (x + length, y), (x + length, y - end), (x + length, y + end))
    page.drawing.line(level, "bar")
    page.drawing.write(words, (x + length + 2.0 + text_width(words, BAR_WORDS) / 2, y), BAR_WORDS)
    x, y = page.left - 5.8, page.bottom - 30.0
    upright = ((x - end, y), (x + end, y), (x, y), (x, y - length), (x - end, y - length), (x + end, y - length))
    page.drawing.line(upright, "bar")
    page.drawing.write(words, (x, y - length - 2.0 - text_width(words, BAR_WORDS) / 2), BAR_WORDS, angle=-90.0)


def draw_map(
    drawing: FullSize, pattern: Pattern, tiling: Tiling, here: Tile | None, corner: Point, room: tuple[float, float]
) -> None:
    """The map of a pattern's pages in a room from its upper left corner, the page that it stands on filled in.

    Without such a page every page is numbered.
    """
    windows = [tiling.window(tile) for tile in tiling.tiles]
    left, low, right, high = shapely.union_all(windows).bounds
    scale = min(room[0] / (right - left), room[1] / (high - low))

    # at the room's left where it stands alone, at its right in the corner of a page
    start = corner[0] + (0.0 if here is None else room[0] - (right - left) * scale)

    def at(point: Point) -> Point:
        return start + (point[0] - left) * scale, corner[1] + (high - point[1]) * scale

    for tile, window in zip(tiling.tiles, windows, strict=True):
        drawing.line([at(point) for point in points_of(window)[:-1]], "map", closed=True, filled=tile == here)
        if here is None:
            size = min(5.0, window.length * scale / 16)
            drawing.write(str(tile.number), at((window.centroid.x, window.centroid.y)), size)
    drawing.line([at(point) for point in tiling.turn_all(pattern.blank.cut_outline)], "map", closed=True)
