"""One page of the templates: what its window shows of a pattern, with ticks, crosses, check bars and a map of the pages."""

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely.affinity import rotate
from shapely.ops import polylabel

from calc.blank import FoldLine, Hole
from calc.drawing.lettering import elide, text_width
from calc.drawing.places import between, readable_angle
from calc.papers.full_size import FullSize
from calc.papers.pattern import Pattern, corner_spots
from calc.papers.tiling import LEFT, OVERLAP, RIGHT, TOP, Tile, Tiling
from calc.records import Point
from calc.units import INCH, Display

TICK_FROM, TICK_TO = 0.7, 4.2  # [mm] outside the window
CROSS = 3.0  # [mm] from its middle to the end of an arm
SEGMENTS = 128  # to a quarter circle: a hole of 200 mm radius that runs off the page is true to 0.004 mm
NUMBER, SMALL, BAR_WORDS = 4.2, 3.0, 3.6  # [mm] lettering: corner numbers; bends, holes and margins; check bars
BEYOND = 2.5  # [mm] that centre lines reach past a hole
NAMES = ((9.0, 4.0), (5.5, 3.0), (3.5, 2.2))  # [mm] lettering of the name and of the words under it, as room allows
MAP = (34.0, 13.0)  # [mm] room for the map of the pages


def bar_of(display: Display) -> tuple[float, str]:
    """The length of a check bar [mm] and what it says: a round figure on the rule that the shop has in hand."""
    return (100.0, "100 mm") if display.unit == "mm" else (float(4 * INCH), "4 in")


def page_drawing(pattern: Pattern, tiling: Tiling, tile: Tile, display: Display) -> str:
    """A page at true size, the whole sheet of paper. Returns SVG."""
    paper = tiling.paper
    page = _Page(pattern, tiling, tile)
    _ticks(page)
    _crosses(page)
    _check_bars(page, display)
    draw_map(page.drawing, pattern, tiling, tile, (paper.width - RIGHT - MAP[0], page.bottom + 5.0), MAP)
    page.outline()
    for fold in pattern.blank.folds:
        page.lines(shapely.LineString([page.at(point) for point in fold.line]), "bend")
    for hole in pattern.blank.holes:
        _hole(page, hole)
    _corner_numbers(page)
    for hole in pattern.blank.holes:
        _hole_words(page, hole, display)
    for fold in pattern.blank.folds:
        _bend_words(page, fold)
    _name(page)
    return page.drawing.svg(paper.width, paper.height, f"{pattern.blank.name}, page {tile.number}")


class _Page:
    """A page being drawn, in its own frame: x to the right, y down, from the paper's upper left corner [mm]."""

    def __init__(self, pattern: Pattern, tiling: Tiling, tile: Tile) -> None:
        self.pattern, self.tiling, self.tile = pattern, tiling, tile
        self.drawing = FullSize()
        width, height = tiling.paper.window
        self.left, self.right, self.top, self.bottom = LEFT, LEFT + width, TOP, TOP + height
        self.window = shapely.box(self.left, self.top, self.right, self.bottom)
        self.body = shapely.Polygon([self.at(corner) for corner in pattern.blank.cut_outline])
        self.taken: list[shapely.Geometry] = []
        lines = [shapely.LineString([self.at(point) for point in fold.line]) for fold in pattern.blank.folds]
        self.ink: list[shapely.Geometry] = [self.body.exterior, *lines]

    def at(self, point: Point) -> Point:
        """Where a point of the blank comes on the page, within its window or not."""
        x, y = self.tiling.turn(point)
        return self.left + x - self.tile.corner[0], self.bottom - (y - self.tile.corner[1])

    def outline(self) -> None:
        """What the window shows of the outline."""
        if self.window.contains(self.body):
            self.drawing.line(_points(self.body.exterior)[:-1], "outline", closed=True)
        else:
            self.lines(self.body.exterior, "outline")

    def lines(self, line: shapely.LineString, style: str) -> list[shapely.LineString]:
        """What the window shows of a line, drawn; returns it in pieces."""
        shown = shapely.line_merge(line.intersection(self.window))
        pieces = [piece for piece in shapely.get_parts(shown).tolist() if piece.geom_type == "LineString"]
        for piece in pieces:
            self.drawing.line(_points(piece), style)
        return pieces

    def write(self, text: str, centre: Point, size: float, *, angle: float = 0.0, bold: bool = False) -> None:
        """Lettering that others keep clear of."""
        self.taken.append(_box(text, centre, size, angle, bold))
        self.drawing.write(text, centre, size, angle=angle, bold=bold)

    def is_free(self, box: shapely.Polygon) -> bool:
        """Whether lettering may stand here: on the page whole, and clear of all other."""
        return bool(self.window.contains(box)) and not any(box.intersects(other) for other in self.taken)


def _points(line: shapely.Geometry) -> list[Point]:
    return [(x, y) for x, y in shapely.get_coordinates(line).tolist()]


def _box(text: str, centre: Point, size: float, angle: float = 0.0, bold: bool = False) -> shapely.Polygon:
    half, high = text_width(text, size, bold) / 2, size * 0.55
    level = shapely.box(centre[0] - half, centre[1] - high, centre[0] + half, centre[1] + high)
    return rotate(level, angle, origin=centre) if angle else level


def _neighbours(page: _Page) -> Iterator[tuple[int, int, Tile]]:
    for right, up in ((-1, 0), (1, 0), (0, -1), (0, 1)):
        other = page.tiling.beside(page.tile, right, up)
        if other:
            yield right, up, other


def _ticks(page: _Page) -> None:
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


def _crosses(page: _Page) -> None:
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


def _check_bars(page: _Page, display: Display) -> None:
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
        drawing.line([at(point) for point in _points(window)[:-1]], "map", closed=True, filled=tile == here)
        if here is None:
            size = min(5.0, window.length * scale / 16)
            drawing.write(str(tile.number), at((window.centroid.x, window.centroid.y)), size)
    drawing.line([at(point) for point in tiling.turn_all(pattern.blank.cut_outline)], "map", closed=True)


def _hole(page: _Page, hole: Hole) -> None:
    """A hole with its centre lines."""
    centre, radius = page.at(hole.centre), hole.diameter / 2
    middle = shapely.Point(centre)
    if page.window.contains(middle.buffer(radius)):
        page.drawing.circle(centre, radius, "hole")
    else:
        page.lines(middle.buffer(radius, quad_segs=SEGMENTS).exterior, "hole")
    reach = radius + BEYOND
    for dx, dy in ((reach, 0.0), (0.0, reach)):
        ends = [(centre[0] - dx, centre[1] - dy), (centre[0] + dx, centre[1] + dy)]
        page.lines(shapely.LineString(ends), "centre")


def _hole_words(page: _Page, hole: Hole, display: Display) -> None:
    """What a hole is for and its size, beside it, where least else stands."""
    (x, y), reach = page.at(hole.centre), hole.diameter / 2 + BEYOND
    words = f"{hole.purpose} Ø {display.fine(hole.diameter)}"
    half = text_width(words, SMALL) / 2
    far = [reach + SMALL * 0.7 + more for more in (0.0, 4.0, 8.0)]
    spots = [(x + aside, y + away * side) for away in far for aside in (0.0, half, -half) for side in (1, -1)]
    spots += [(x + (reach + 0.5 + half) * side, y + lift) for lift in (0.0, -4.0, 4.0) for side in (1, -1)]
    boxes = [_box(words, spot, SMALL) for spot in spots]
    free = [place for place, box in enumerate(boxes) if page.is_free(box)]
    clear = [place for place in free if not any(boxes[place].intersects(line) for line in page.ink)]
    for place in (clear or free)[:1]:
        page.write(words, spots[place], SMALL)
    page.taken.append(shapely.Point(x, y).buffer(hole.diameter / 2))


def _corner_numbers(page: _Page) -> None:
    for number, spot in corner_spots(page.pattern.blank).items():
        centre, text = page.at(spot), str(number)
        if page.window.contains(_box(text, centre, NUMBER, bold=True)):
            page.write(text, centre, NUMBER, bold=True)


def _bend_words(page: _Page, fold: FoldLine) -> None:
    """The way of a bend and its angle along what the page shows of it, on either side, where nothing else stands."""
    shown = shapely.LineString([page.at(point) for point in fold.line]).intersection(page.window)
    if shown.geom_type != "LineString" or shown.is_empty:
        return
    start, *_, end = _points(shown)
    angle = readable_angle(start, end)
    spots = list(_along(start, end))
    boxes = [_box(fold.words, spot, SMALL, angle) for spot in spots]
    whole = [place for place, box in enumerate(boxes) if page.window.contains(box)]
    free = [place for place in whole if page.is_free(boxes[place])]
    clear = [place for place in free if not any(boxes[place].intersects(line) for line in page.ink)]
    is_all_here = shown.length > 0.99 * math.dist(*fold.line)  # a bend that goes on is told on another page
    for place in (clear or free or (whole if is_all_here else []))[:1]:
        page.write(fold.words, spots[place], SMALL, angle=angle)


def _along(start: Point, end: Point) -> Iterator[Point]:
    """Places beside a line, on either side, its middle first."""
    length = shapely.Point(start).distance(shapely.Point(end)) or 1.0
    off = (-(end[1] - start[1]) / length * SMALL * 0.85, (end[0] - start[0]) / length * SMALL * 0.85)
    for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.03, 0.97):
        x, y = between(start, end, share)
        for side in (-1, 1):
            yield x + off[0] * side, y + off[1] * side


def _name(page: _Page) -> None:
    """The blank's name and which face is up, in the widest room that the page has within the blank."""
    blank = page.pattern.blank
    shown = shapely.buffer(page.body.intersection(page.window), -1.0)
    bends = [shapely.LineString([page.at(point) for point in fold.line]).buffer(1.0) for fold in blank.folds]
    room = shown.difference(shapely.union_all([*bends, *(shapely.buffer(taken, 1.0) for taken in page.taken)]))
    pieces = [
        piece for piece in shapely.get_parts(room).tolist() if piece.geom_type == "Polygon" and not piece.is_empty
    ]
    if not pieces:
        return
    spot = max((polylabel(piece, 2.0) for piece in pieces), key=room.boundary.distance)
    reach = room.boundary.distance(spot)
    for size, small in NAMES:
        lines = _name_lines(elide(blank.name, size, 70.0, True), size, small, (spot.x, spot.y))
        if all(spot.distance(shapely.Point(corner)) <= reach for box in lines for corner in _points(box[3])):
            for text, centre, letters, _ in lines:
                page.write(text, centre, letters, bold=letters == size)
            return


def _name_lines(
    name: str, size: float, small: float, centre: Point
) -> Sequence[tuple[str, Point, float, shapely.Polygon]]:
    x, y = centre
    above, below = (x, y - small * 0.7), (x, y + size * 0.65)
    face = "wet face up"
    return (name, above, size, _box(name, above, size, bold=True)), (face, below, small, _box(face, below, small))
