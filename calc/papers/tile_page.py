"""A page of a pattern being drawn: where the blank's points come on it, what its window shows, what is taken up."""

import shapely
from shapely.affinity import rotate

from calc.drawing.lettering import text_width
from calc.papers.full_size import FullSize
from calc.papers.pattern import Pattern
from calc.papers.tiling import LEFT, TOP, Tile, Tiling
from calc.records import Point

NUMBER, SMALL = 4.2, 3.0  # [mm] lettering: corner numbers; bends, holes and margins
BEYOND = 2.5  # [mm] that centre lines reach past a hole


class TilePage:
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
            self.drawing.line(points_of(self.body.exterior)[:-1], "outline", closed=True)
        else:
            self.lines(self.body.exterior, "outline")

    def lines(self, line: shapely.LineString, style: str) -> list[shapely.LineString]:
        """What the window shows of a line, drawn; returns it in pieces."""
        shown = shapely.line_merge(line.intersection(self.window))
        pieces = [piece for piece in shapely.get_parts(shown).tolist() if piece.geom_type == "LineString"]
        for piece in pieces:
            self.drawing.line(points_of(piece), style)
        return pieces

    def write(self, text: str, centre: Point, size: float, *, angle: float = 0.0, bold: bool = False) -> None:
        """Lettering that others keep clear of."""
        self.taken.append(box_of(text, centre, size, angle, bold))
        self.drawing.write(text, centre, size, angle=angle, bold=bold)

    def is_free(self, box: shapely.Polygon) -> bool:
        """Whether lettering may stand here: on the page whole, and clear of all other."""
        return bool(self.window.contains(box)) and not any(box.intersects(other) for other in self.taken)


def points_of(line: shapely.Geometry) -> list[Point]:
    """The corners of a line or an area."""
    return [(x, y) for x, y in shapely.get_coordinates(line).tolist()]


def box_of(text: str, centre: Point, size: float, angle: float = 0.0, bold: bool = False) -> shapely.Polygon:
    """The room that lettering takes up."""
    half, high = text_width(text, size, bold) / 2, size * 0.55
    level = shapely.box(centre[0] - half, centre[1] - high, centre[0] + half, centre[1] + high)
    return rotate(level, angle, origin=centre) if angle else level
