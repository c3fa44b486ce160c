"""A sheet, or a piece left of one, seen as a strip to be filled from one end."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import pi

from calc.layout.polygons import FLUSH, ON_CUT, Line, area, clip, convex_hull, edge_line, reach, rectangle
from calc.layout.regions import Region, Seat
from calc.layout.result import Piece, Stock
from calc.layout.strips import Strip
from calc.layout.tree import SMALLEST_WASTE, Node
from calc.records import Outline, Point


@dataclass(frozen=True, slots=True)
class Making:
    """How the parts are cut; lengths in mm."""

    kerf: float
    edge_trim: float
    may_turn_over: bool
    grain: bool
    least_offcut: float
    effort: str
    seed: int
    by_saw: bool  # else along the blanks' outlines

    @property
    def margin(self) -> float:
        """What is kept clear at the sheet's edge: the trim, and if there is one then at least the kerf to cut it."""
        return max(self.edge_trim, self.kerf, SMALLEST_WASTE) if self.edge_trim > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Metal:
    """Stock of any outline: a size of sheet, or a piece left of one."""

    label: str
    length: float
    width: float
    outline: Outline
    trimmed: tuple[int, ...]  # edges of the outline that keep the trim
    count: int | None
    price: Decimal
    left_over: bool  # a piece, used before any sheet
    racked: bool = False  # there already, so used before any that is to be bought

    @property
    def area(self) -> float:
        return area(self.outline)

    @property
    def is_rectangle(self) -> bool:
        """Whether it is all of the rectangle that its length and width make."""
        return self.outline == rectangle(0.0, 0.0, self.length, self.width)


def metal_of(stock: Stock | Piece) -> Metal:
    """Raises ValueError for a piece that is not convex, or that runs clockwise."""
    if isinstance(stock, Piece):
        hull = convex_hull(stock.outline)
        if abs(area(stock.outline) - area(hull)) > FLUSH * area(hull) or len(hull) < 3:
            raise ValueError(f"piece {stock.label} must be convex and run anticlockwise")
        return Metal(stock.label, stock.length, stock.width, stock.outline, stock.trimmed, 1, Decimal(0), True)
    outline = stock.outline or rectangle(0.0, 0.0, stock.length, stock.width)
    sides = tuple(range(len(outline)))
    price, racked = Decimal(stock.price), stock.rack is not None
    return Metal(stock.label, stock.length, stock.width, outline, sides, stock.count, price, False, racked)


@dataclass(frozen=True, slots=True)
class Frame:
    """Stock seen as a strip: along its length, or (`across`) turned a quarter so that the strip fills it sideways."""

    stock: Metal
    across: bool
    origin: Point  # of the strip, on the sheet
    margin: float
    strip: Strip

    @property
    def sheet(self) -> Outline:
        """The real sheet or piece, in the strip's frame."""
        return tuple([_strip_from_sheet(point, self.origin, self.across) for point in self.stock.outline])

    def sheet_from_strip(self, point: Point) -> Point:
        x, y = (-point[1], point[0]) if self.across else point
        return self.origin[0] + x, self.origin[1] + y

    @property
    def turn(self) -> float:
        """The strip's frame seen from the sheet [radians]."""
        return 0.5 * pi if self.across else 0.0

    def on_whole_sheet(self, tree: Node, goal: float, spots: Sequence[Seat]) -> Node:
        """The tree with the cut across at the used length before it, then those margins cut off that an edge lies on."""
        whole = Node(Region(self.sheet))
        ends: list[Line] = [(1.0, 0.0, goal)] if goal < self.strip.length else []
        if self.margin:
            margins = [line for line in self.strip.edges if reach(whole.region.points, *line[:2]) - line[2] > ON_CUT]
            ends += [line for line in margins if any(_lies_on(spot.points, line) for spot in spots)]
        whole.cuts = tuple(ends)
        whole.wastes = (None,) * len(ends)
        whole.core = tree
        return whole


def frame_of(stock: Metal, across: bool, making: Making) -> Frame | None:
    """The strip inside the margin of a sheet; None where it has no room at all."""
    margin = making.margin
    room = stock.outline
    for edge, a in enumerate(stock.outline):
        nx, ny, c = edge_line(a, stock.outline[(edge + 1) % len(stock.outline)])
        if margin and edge in stock.trimmed:
            room = room and clip(room, (nx, ny, c - margin))
    if not room:
        return None
    origin = (reach(room, 1, 0) if across else -reach(room, -1, 0), -reach(room, 0, -1))
    inside = tuple([_strip_from_sheet(point, origin, across) for point in room])
    end = max([_strip_from_sheet(point, origin, across)[0] for point in stock.outline])
    return Frame(stock, across, origin, margin, Strip(inside, end, making.kerf))


def _strip_from_sheet(point: Point, origin: Point, across: bool) -> Point:
    x, y = point[0] - origin[0], point[1] - origin[1]
    return (y, -x) if across else (x, y)


def _lies_on(points: Outline, line: Line) -> bool:
    """Whether an edge of the outline lies on the line."""
    nx, ny, c = line
    on = [abs(nx * x + ny * y - c) < ON_CUT for x, y in points]
    return any(a and b for a, b in zip(on, on[1:] + on[:1], strict=True))
