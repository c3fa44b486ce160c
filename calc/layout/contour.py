"""Blanks cut along their outlines, as by a jet or a torch: they may lie in each other's hollows and openings.

One blank after another is put where it reaches least far along the sheet. Where it may lie is found from the no-fit polygon
of every pair: the places of one blank at which it would overlap the other, the Minkowski sum of one and the other turned
through half a turn. Orders of blanks are tried in turn, each a small change of the best.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import pi
from random import Random

import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from calc.layout.frames import Frame
from calc.layout.parts import Part
from calc.layout.polygons import area, clip, convex_hull, direction, rectangle, turned, turned_over
from calc.layout.regions import Pose, Seated
from calc.records import Outline, Point

SLACK = (
    1e-5  # mm of overlap allowed in the search, so that what just fits is found; far under what is checked in the end
)
GRID = 1e-6  # mm: overlays are snapped to this; exact ones fail where edges touch but for rounding
EDGES_LAID = 3  # a blank's longest edges that are laid along and square to the strip
SEED = 30_000


@dataclass(frozen=True, slots=True, eq=False)
class Lie:
    """A part as it is turned, with the origin of its own frame at (0, 0); as convex bits."""

    part: Part
    over: bool
    angle: float
    points: Outline  # the corners of its outline
    bits: tuple[Outline, ...]
    number: int


class Nest:
    """One strip, and every part as it may lie on it."""

    def __init__(self, frame: Frame, parts: Sequence[Part], counts: Sequence[int], seed: int) -> None:
        self.strip = frame.strip
        self.counts = {part.index: counts[part.index] for part in parts}
        self.chance = Random(SEED + seed)  # noqa: S311
        self.lies = {part.index: list(_lies(part)) for part in parts}
        self.parts = parts
        self._no_fit: dict[tuple[int, int], BaseGeometry] = {}

    def orders(self, tries: int) -> Iterator[list[Seated]]:
        """The blanks placed, in so many orders: first large ones first, then small changes of the best order yet."""
        order = [part for part in self.parts for _ in range(self.counts[part.index])]
        order.sort(key=lambda part: -part.area)
        best, best_score = order, self._score(seats := self.place(order))
        yield seats
        for _ in range(tries - 1):
            fresh = list(best)
            for _ in range(self.chance.choice((1, 1, 2, 4))):
                i, j = self.chance.randrange(len(fresh)), self.chance.randrange(len(fresh))
                fresh.insert(j, fresh.pop(i))
            score = self._score(seats := self.place(fresh))
            yield seats
            if score >= best_score:
                best, best_score = fresh, score

    def _score(self, seats: Sequence[Seated]) -> tuple[float, float]:
        return round(sum(s.part.area for s in seats), 3), -max((s.far for s in seats), default=0.0)

    def place(self, order: Sequence[Part]) -> list[Seated]:
        """Each part where it reaches least far along the strip; those that find no place are left out."""
        seats: list[Seated] = []
        taken: list[tuple[Lie, Point]] = []
        full: set[int] = set()
        for part in order:
            if part.index in full:
                continue
            places = [(*place, lie) for lie in self.lies[part.index] if (place := self._place(lie, taken))]
            if not places:
                full.add(part.index)
                continue
            far, _, at, lie = min(places, key=lambda place: place[:2])
            taken.append((lie, at))
            pose = Pose(lie.over, lie.angle, at)
            seats.append(Seated(part, lie.over, far, pose.points(part.hull), pose))
        return seats

    def _place(self, lie: Lie, taken: Sequence[tuple[Lie, Point]]) -> tuple[float, float, Point] | None:
        """How far it would reach, how high it would lie, and where its origin would be; None where there is no room."""
        room = self._room(lie)
        if not room:
            return None
        free: BaseGeometry = shapely.Polygon(room)
        if taken:
            blocked = [affinity.translate(self._sum(there, lie), *at) for there, at in taken]
            free = shapely.difference(free, shapely.union_all(blocked, grid_size=GRID), grid_size=GRID)
        if free.is_empty:
            return None
        ahead = max(x for x, _ in lie.points)
        x, y = min(((round(x, 6), y) for x, y in shapely.get_coordinates(free).tolist()))
        return x + ahead, y, (x, y)

    def _room(self, lie: Lie) -> Outline:
        """Where the origin may be for the part to lie in the strip."""
        strip = self.strip
        room = rectangle(-strip.length, -strip.length - strip.width, 2 * strip.length, strip.length + 2 * strip.width)
        for nx, ny, c in strip.edges:
            room = room and clip(room, (nx, ny, c - max(nx * x + ny * y for x, y in lie.points) + SLACK))
        return room

    def _sum(self, there: Lie, lie: Lie) -> BaseGeometry:
        """Where the origin of `lie` may not be, seen from that of `there`: nearer than a kerf."""
        key = (there.part.index * 1000 + there.number, lie.part.index * 1000 + lie.number)
        if key not in self._no_fit:
            sums = [
                shapely.Polygon(convex_hull([(a - x, b - y) for a, b in one for x, y in other]))
                for one in there.bits
                for other in lie.bits
            ]
            whole = shapely.union_all(sums, grid_size=GRID)
            # mitred, so never nearer than the kerf
            self._no_fit[key] = whole.buffer(self.strip.kerf - SLACK, join_style="mitre")
        return self._no_fit[key]


def _lies(part: Part) -> Iterator[Lie]:
    """With grain as it must; else with each of its longest edges along and square to the strip, both ways."""
    if part.turns:
        ways = list(part.turns)
    else:
        hull = part.hull
        sides = [(a, b) for a, b in zip(hull, hull[1:] + hull[:1], strict=True)]
        sides.sort(key=lambda side: -((side[1][0] - side[0][0]) ** 2 + (side[1][1] - side[0][1]) ** 2))
        turns = [0.5 * pi * k - direction(*side) for side in sides[:EDGES_LAID] for k in range(4)]
        ways = [(over, -turn if over else turn) for over in part.faces for turn in turns]
    seen: set[tuple[Point, ...]] = set()
    for number, (over, angle) in enumerate(ways):
        outline = _laid(part.item.outline, over, angle)
        low, left = min(y for _, y in outline), min(x for x, _ in outline)
        shape = tuple(sorted((round(x - left, 3), round(y - low, 3)) for x, y in outline))
        if shape not in seen:
            seen.add(shape)
            bits = tuple([_laid(bit, over, angle) for bit in _bits(part)])
            yield Lie(part, over, angle, outline, bits, number)


def _laid(points: Outline, over: bool, angle: float) -> Outline:
    return turned(turned_over(points) if over else points, angle)


def _bits(part: Part) -> list[Outline]:
    """The part's outline, less its openings, as convex bits."""
    item = part.item
    if not item.holes and abs(area(part.hull) - abs(area(item.outline))) < SLACK * part.perimeter:
        return [part.hull]
    triangles = shapely.constrained_delaunay_triangles(shapely.Polygon(item.outline, item.holes))
    return [_corners(triangle) for triangle in shapely.get_parts(triangles)]


def _corners(polygon: shapely.Polygon) -> Outline:
    return tuple([(float(x), float(y)) for x, y in polygon.exterior.coords[:-1]])
