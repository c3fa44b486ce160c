"""The parts of a layout: one for each blank's outline, with every way its hull may stand on an edge.

A `Stance` is the hull in the frame of an edge of a region: the edge along +x from (0, 0), the region above it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot, pi

from calc.layout.polygons import (
    DULL,
    ON_LINE,
    area,
    convex_hull,
    direction,
    edge_line,
    turned,
    turned_over,
    without_edge,
    without_stubs,
)
from calc.layout.result import Item
from calc.records import Outline, Point

STUB = 1.0  # [mm] an edge shorter than this is filed, not sawn: the end of a bend, a rounding
Segment = tuple[float, float, float, float, float]  # x0, y0, x1, y1, length: an edge, its lower end first


@dataclass(frozen=True, slots=True, eq=False)
class Stance:
    """A hull turned for an edge: ``points = R(-angle) hull - offset``, the hull turned over first where `over`."""

    over: bool
    angle: float  # radians
    offset: Point
    points: Outline
    base: float  # length lying on the edge, from x = 0; 0 where only a corner touches it
    height: float
    above: tuple[Point, ...]  # the corners off the edge
    rising: tuple[Segment, ...]  # edges on the right flank
    falling: tuple[Segment, ...]  # edges on the left flank
    top: float  # length of the edge parallel to the base, 0 for none
    beside: tuple[Point, Point]  # the corners next to the base, on the left and on the right


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """A blank's outline to be placed, as its convex hull."""

    index: int
    item: Item
    hull: Outline
    area: float
    perimeter: float
    longest: float  # the longest edge
    shortest: float  # the shortest edge it may stand on; 0 where `turns` rules
    breadth: float  # the least height it stands at; 0 where `turns` rules
    edges: tuple[tuple[int, ...], ...]  # for each edge of the hull, the outline's edges that lie on it
    faces: tuple[bool, ...]  # whether it may lie turned over
    stances: tuple[Stance, ...]  # one for each edge of each face; empty where `turns` rules
    turns: tuple[tuple[bool, float], ...]  # (turned over, angle on the sheet): the only ways it may lie; empty: any

    @property
    def hollow(self) -> bool:
        """Whether the blank is not convex."""
        return abs(area(self.item.outline)) < self.area - ON_LINE * self.perimeter

    def stances_on(self, edge_angle: float) -> Sequence[Stance]:
        """The ways the part may stand on an edge that runs at this angle [radians]."""
        if not self.turns:
            return self.stances
        return [self.stance_at(over, edge_angle - turn) for over, turn in self.turns]

    def stance_at(self, over: bool, angle: float) -> Stance:
        """The part on an edge that runs at this angle in the part's own frame [radians]."""
        return stance(turned_over(self.hull) if over else self.hull, over, angle)

    def held_to(self, turns: Sequence[tuple[bool, float]]) -> "Part":
        """The same part, allowed to lie in these ways only."""
        return _part(self.index, self.item, self.hull, self.faces, turns)

    def blunter(self, most: float) -> Iterator["Part"]:
        """The part without one, two, ... of its edges: those whose corners a saw has no room to cut.

        The edges beside a left-out one are drawn out until they meet. What then stands off the blank, never more than
        `most` [mm], is too thin to be sawn and is dressed by hand: no cut finishes that edge.
        """
        hull = self.hull
        while True:
            ways = [way for i in range(len(hull)) if (way := without_edge(hull, i))]
            hull, grown = min(ways, key=_grown, default=((), most))
            if grown >= most:
                return
            yield _part(self.index, self.item, hull, self.faces, self.turns)


def _grown(way: tuple[Outline, float]) -> float:
    return way[1]


def stance(hull: Outline, over: bool, angle: float) -> Stance:
    """The hull turned by `-angle` and set down on the x axis, its lowest edge or corner beginning at x = 0."""
    flat = turned(hull, -angle)
    low = min(y for _, y in flat)
    left = min(x for x, y in flat if y - low <= ON_LINE)
    points = tuple([(x - left, 0.0 if y - low <= ON_LINE else y - low) for x, y in flat])
    ground = [x for x, y in points if y == 0.0]
    height = max(y for _, y in points)
    rising, falling, top = [], [], 0.0
    for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
        length = hypot(x1 - x0, y1 - y0)
        if y1 - y0 > ON_LINE:
            rising.append((x0, y0, x1, y1, length))
        elif y0 - y1 > ON_LINE:
            falling.append((x1, y1, x0, y0, length))
        elif y0 > 0.5 * height:
            top = length
    return Stance(
        over=over,
        angle=angle,
        offset=(left, low),
        points=points,
        base=max(ground),
        height=height,
        above=tuple([p for p in points if p[1] > 0.0]),
        rising=tuple(rising),
        falling=tuple(falling),
        top=top,
        beside=_beside(points),
    )


def _beside(points: Outline) -> tuple[Point, Point]:
    ground = [k for k, (_, y) in enumerate(points) if y == 0.0]
    first = min(ground, key=lambda k: points[k][0])
    last = max(ground, key=lambda k: points[k][0])
    return points[first - 1], points[(last + 1) % len(points)]


def part_from_item(index: int, item: Item, *, may_turn_over: bool, grain: bool, along: float) -> Part:
    """The part for an item. With grain it lies at 0 or 180 degrees to `along` [radians], the sheet's length."""
    faces = [False, True] if may_turn_over else [False]
    turns = [(over, along + half) for over in faces for half in (0.0, pi)] if grain else []
    return _part(index, item, without_stubs(convex_hull(item.outline), STUB), faces, turns)


def part_of_block(index: int, outline: Outline, faces: Sequence[bool], turns: Sequence[tuple[bool, float]]) -> Part:
    """Parts joined, placed as one: the outline is their hull."""
    return _part(index, Item("", outline), outline, faces, turns)


def _part(index: int, item: Item, hull: Outline, faces: Sequence[bool], turns: Sequence[tuple[bool, float]]) -> Part:
    edges = list(zip(hull, hull[1:] + hull[:1], strict=True))
    lengths = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in edges]
    stances: list[Stance] = []
    for over in [] if turns else faces:
        points = turned_over(hull) if over else hull
        found = [stance(points, over, direction(a, b)) for a, b in zip(points, points[1:] + points[:1], strict=True)]
        stances += [s for s in found if not any(_alike(s, other) for other in stances)]
    return Part(
        index=index,
        item=item,
        hull=hull,
        area=area(hull),
        perimeter=sum(lengths),
        longest=max(lengths),
        shortest=min([s.base for s in stances], default=0.0),
        breadth=min([s.height for s in stances], default=0.0),
        edges=tuple(_edges_on(item.outline, a, b) for a, b in edges),
        faces=tuple(faces),
        stances=tuple(stances),
        turns=tuple(turns),
    )


def _edges_on(outline: Outline, a: Point, b: Point) -> tuple[int, ...]:
    """The numbers of the outline's edges that lie on its hull's edge from a to b."""
    nx, ny, c = edge_line(a, b)
    on = [abs(nx * x + ny * y - c) < 2 * DULL for x, y in outline]
    return tuple(i for i in range(len(on)) if on[i] and on[(i + 1) % len(on)])


def _alike(a: Stance, b: Stance) -> bool:
    """Whether two stances cover the same ground, as the three of an equilateral triangle do."""
    return abs(a.base - b.base) < ON_LINE and all(
        min(hypot(x - u, y - v) for u, v in b.points) < ON_LINE for x, y in a.points
    )
