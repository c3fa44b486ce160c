"""Lettering on a page of a pattern: corner numbers, holes, bends and the blank's name, each where there is room for it."""

import math
from collections.abc import Iterator, Sequence

import shapely
from shapely.ops import polylabel

from calc.blank import FoldLine, Hole
from calc.drawing.lettering import elide, text_width
from calc.drawing.places import between, readable_angle
from calc.papers.pattern import corner_spots
from calc.papers.tile_page import BEYOND, NUMBER, SMALL, TilePage, box_of, points_of
from calc.records import Point
from calc.units import Display

NAMES = ((9.0, 4.0), (5.5, 3.0), (3.5, 2.2))  # [mm] lettering of the name and of the words under it, as room allows


def write_hole(page: TilePage, hole: Hole, display: Display) -> None:
    """What a hole is for and its size, beside it, where least else stands."""
    (x, y), reach = page.at(hole.centre), hole.diameter / 2 + BEYOND
    words = f"{page.pattern.holes or hole.purpose} ø{display.fine(hole.diameter)}"
    half = text_width(words, SMALL) / 2
    far = [reach + SMALL * 0.7 + more for more in (0.0, 4.0, 8.0)]
    spots = [(x + aside, y + away * side) for away in far for aside in (0.0, half, -half) for side in (1, -1)]
    spots += [(x + (reach + 0.5 + half) * side, y + lift) for lift in (0.0, -4.0, 4.0) for side in (1, -1)]
    boxes = [box_of(words, spot, SMALL) for spot in spots]
    free = [place for place, box in enumerate(boxes) if page.is_free(box)]
    clear = [place for place in free if not any(boxes[place].intersects(line) for line in page.ink)]
    for place in (clear or free)[:1]:
        page.write(words, spots[place], SMALL)
    page.taken.append(shapely.Point(x, y).buffer(hole.diameter / 2))


def write_corner_numbers(page: TilePage) -> None:
    for number, spot in corner_spots(page.pattern.blank).items():
        centre, text = page.at(spot), str(number)
        if page.window.contains(box_of(text, centre, NUMBER, bold=True)):
            page.write(text, centre, NUMBER, bold=True)


def write_bend(page: TilePage, fold: FoldLine) -> None:
    """The way of a bend and its angle along what the page shows of it, on either side, where nothing else stands."""
    shown = shapely.LineString([page.at(point) for point in fold.line]).intersection(page.window)
    if shown.geom_type != "LineString" or shown.is_empty:
        return
    start, *_, end = points_of(shown)
    angle = readable_angle(start, end)
    spots = list(_along(start, end))
    boxes = [box_of(fold.words, spot, SMALL, angle) for spot in spots]
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


def write_name(page: TilePage) -> None:
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
        name = elide(blank.name, size, 70.0, True)
        lines = _name_lines(name, page.pattern.face_side, size, small, (spot.x, spot.y))
        if all(spot.distance(shapely.Point(corner)) <= reach for box in lines for corner in points_of(box[3])):
            for text, centre, letters, _ in lines:
                page.write(text, centre, letters, bold=letters == size)
            return


def _name_lines(
    name: str, face_side: str, size: float, small: float, centre: Point
) -> Sequence[tuple[str, Point, float, shapely.Polygon]]:
    x, y = centre
    above, below = (x, y - small * 0.7), (x, y + size * 0.65)
    face = f"{face_side} up"
    return (name, above, size, box_of(name, above, size, bold=True)), (face, below, small, box_of(face, below, small))
