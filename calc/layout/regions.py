"""Convex regions of a sheet, and the ways a part may stand in one: flush on an edge, pushed to either end."""

from abc import ABC, abstractmethod
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any

from calc.layout.parts import Part, Stance
from calc.layout.polygons import FLUSH, ON_LINE, Line, area, direction, turned, turned_over
from calc.records import Outline, Point

SAME_WAY = 1e-9  # two unit vectors that differ by less point the same way
SPOTS_KEPT = 10  # ways of standing in one region that are worth remembering for one part


@dataclass(frozen=True, slots=True, eq=False)
class Side:
    """An edge of a region as a base line: the region lies above it, between the left and the right lines."""

    origin: Point
    along: Point
    angle: float
    length: float
    height: float
    left: tuple[Point, ...]  # (b, m): x >= b + m y
    right: tuple[Point, ...]  # (b, m): x <= b + m y


@dataclass(frozen=True, slots=True)
class Pose:
    """How a hull lies: turned over about its x axis first where `over`, turned by `angle` [radians], moved to `at`."""

    over: bool
    angle: float
    at: Point

    def then(self, other: "Pose") -> "Pose":
        """This pose, and the whole then laid as the other says."""
        over = self.over != other.over
        x, y = self.at
        ((x, y),) = turned([(x, -y if other.over else y)], other.angle)
        angle = other.angle - self.angle if other.over else other.angle + self.angle
        return Pose(over, angle, (other.at[0] + x, other.at[1] + y))

    def points(self, hull: Sequence[Point]) -> Outline:
        ax, ay = self.at
        return tuple([(ax + x, ay + y) for x, y in turned(turned_over(hull) if self.over else hull, self.angle)])

    def line(self, line: Line) -> Line:
        nx, ny, c = line
        ((nx, ny),) = turned([(nx, -ny if self.over else ny)], self.angle)
        return nx, ny, c + nx * self.at[0] + ny * self.at[1]


# not frozen: these are made by the hundred thousand, and a frozen one takes three times as long to make
@dataclass(slots=True, eq=False)
class Seat(ABC):
    """A part where it lies."""

    part: Part
    over: bool
    far: float  # how far it reaches along the strip

    @property
    @abstractmethod
    def points(self) -> Outline:
        """The hull where it lies."""

    @property
    @abstractmethod
    def pose(self) -> Pose:
        """How it lies."""

    def outline_edges(self, edge: int) -> tuple[int, ...]:
        """The edges of the blank's own outline that lie on an edge of this placed hull."""
        number = len(self.points)
        return self.part.edges[(-edge - 1) % number if self.over else edge]


@dataclass(slots=True, eq=False)
class Spot(Seat):
    """A part standing on one side of a region."""

    stance: Stance
    side: Side
    shift: float  # along the side
    contact: float  # share of the part's outline that lies on the region's
    end: int  # which of the ways it may be pushed along the side
    corners: Outline = ()  # worked out when first asked for: most spots are looked at and passed over

    @property
    def points(self) -> Outline:
        if not self.corners:
            (ox, oy), (dx, dy) = self.side.origin, self.side.along
            ox, oy = ox + self.shift * dx, oy + self.shift * dy
            self.corners = tuple([(ox + x * dx - y * dy, oy + x * dy + y * dx) for x, y in self.stance.points])
        return self.corners

    @property
    def pose(self) -> Pose:
        stance, side = self.stance, self.side
        ((x, y),) = turned([(self.shift - stance.offset[0], -stance.offset[1])], side.angle)
        return Pose(stance.over, side.angle - stance.angle, (side.origin[0] + x, side.origin[1] + y))


@dataclass(slots=True, eq=False)
class Seated(Seat):
    """A part that lies as the block it belongs to has it."""

    corners: Outline
    lies: Pose

    @property
    def points(self) -> Outline:
        return self.corners

    @property
    def pose(self) -> Pose:
        return self.lies


class Region:
    """A convex polygon, remembering what it has been asked."""

    __slots__ = ("_breadth", "_longest", "_sides", "area", "carvings", "points", "spots")

    def __init__(self, points: Outline) -> None:
        self.points = points
        self.area = area(points)
        self.spots: dict[int, list[Spot]] = {}
        self.carvings: dict[Seat, list[Any]] = {}
        self._sides: dict[int, Side] = {}
        self._breadth = -1.0  # not measured yet
        self._longest = 0.0

    def sides(self, shortest: float) -> Iterator[Side]:
        """The edges no shorter than this, as base lines."""
        points = self.points
        for i, (ax, ay) in enumerate(points):
            bx, by = points[i + 1 - len(points)]
            if hypot(bx - ax, by - ay) >= shortest:
                yield self.side(i)

    def side(self, i: int) -> Side:
        found = self._sides.get(i)
        if found is None:
            found = self._sides[i] = _side(self.points, i)
        return found

    def side_along(self, along: Point) -> Side | None:
        """The side that runs in this direction, a unit vector."""
        dx, dy = along
        ax, ay = self.points[-1]
        for k, (bx, by) in enumerate(self.points):
            ux, uy = bx - ax, by - ay
            length = hypot(ux, uy)
            if (
                abs(ux - dx * length) <= SAME_WAY * length
                and abs(uy - dy * length) <= SAME_WAY * length
                and length > 0.0
            ):
                return self.side((k or len(self.points)) - 1)
            ax, ay = bx, by
        return None

    def may_hold(self, part: Part) -> bool:
        """False where the part is longer than the region, or broader than it, any way round."""
        if self._breadth < 0.0:
            self._measure()
        return self._longest > part.longest - FLUSH and self._breadth > part.breadth - FLUSH

    def _measure(self) -> None:
        points = self.points
        xs, ys = zip(*points, strict=True)
        self._longest = hypot(max(xs) - min(xs), max(ys) - min(ys))
        breadth = 1e30
        ax, ay = points[-1]
        for bx, by in points:
            length = hypot(bx - ax, by - ay)
            if length > 0.0:
                dx, dy = (bx - ax) / length, (by - ay) / length
                height = max([y * dx - x * dy for x, y in points]) - (ay * dx - ax * dy)
                if height < breadth:  # noqa: PLR1730
                    breadth = height
            ax, ay = bx, by
        self._breadth = breadth

    def spots_for(self, part: Part) -> list[Spot]:
        """The ways this part may stand in the region, those with most contact first."""
        found = self.spots.get(part.index)
        if found is None:
            found = self.spots[part.index] = _spots(self, part)
        return found


def _side(points: Outline, i: int) -> Side:
    (ax, ay), (bx, by) = points[i], points[(i + 1) % len(points)]
    length = hypot(bx - ax, by - ay)
    dx, dy = ((bx - ax) / length, (by - ay) / length) if length > 0 else (1.0, 0.0)
    flat = [((x - ax) * dx + (y - ay) * dy, (y - ay) * dx - (x - ax) * dy) for x, y in points]
    left: list[Point] = []
    right: list[Point] = []
    x0, y0 = flat[-1]
    for k, (x1, y1) in enumerate(flat):
        rise = y1 - y0
        if k != (i + 1) % len(flat) and abs(rise) > ON_LINE:
            m = (x1 - x0) / rise
            (right if rise > 0 else left).append((x0 - y0 * m, m))
        x0, y0 = x1, y1
    height = max([y for _, y in flat])
    return Side((ax, ay), (dx, dy), direction((ax, ay), (bx, by)), length, height, tuple(left), tuple(right))


def _spots(region: Region, part: Part) -> list[Spot]:
    if part.area > region.area + part.perimeter * FLUSH or not region.may_hold(part):
        return []
    found: list[tuple[float, int, Stance, Side, float, int]] = []
    for side in region.sides(part.shortest - ON_LINE):
        for stance in part.stances_on(side.angle):
            if stance.base - side.length > ON_LINE or stance.height - side.height > ON_LINE:
                continue
            for end, shift in enumerate(_ends(side, stance)):
                found.append((-_touching(stance, side, shift), len(found), stance, side, shift, end))
    found.sort()
    kept: dict[tuple[float, float, bool], Spot] = {}
    for contact, _, stance, side, shift, end in found:
        key = _middle(stance, side, shift)
        if key not in kept:
            kept[key] = _spot(part, stance, side, shift, end, -contact / part.perimeter)
            if len(kept) == SPOTS_KEPT:
                break
    return list(kept.values())


def _middle(stance: Stance, side: Side, shift: float) -> tuple[float, float, bool]:
    """What tells one place of a part from another: half-way between two of its corners, and which face is up."""
    (ax, ay), (bx, by) = stance.points[0], stance.points[len(stance.points) // 2]
    x, y = ax + bx + 2 * shift, ay + by
    (ox, oy), (dx, dy) = side.origin, side.along
    return round(2 * ox + x * dx - y * dy, 4), round(2 * oy + x * dy + y * dx, 4), stance.over


def stood_again(spot: Spot, region: Region) -> Spot | None:
    """The part on the side of another region that runs the same way, pushed the same way; None where it does not fit."""
    side = region.side_along(spot.side.along)
    ends = _ends(side, spot.stance) if side else ()
    if side is None or not ends:
        return None
    return _spot(spot.part, spot.stance, side, ends[min(spot.end, len(ends) - 1)], spot.end, spot.contact)


def _ends(side: Side, stance: Stance) -> tuple[float, ...]:
    """How far along the side the stance can be pushed, to either end; nothing where it does not fit."""
    high = side.length - stance.base
    if high < -ON_LINE or stance.height > side.height + ON_LINE:
        return ()
    low = 0.0
    for x, y in stance.above:
        for b, m in side.left:
            bound = b + m * y - x
            if bound > low:  # noqa: PLR1730  (max is three times slower here)
                low = bound
        for b, m in side.right:
            bound = b + m * y - x
            if bound < high:  # noqa: PLR1730
                high = bound
        if high < low - ON_LINE:
            return ()
    return (low, high) if high - low > FLUSH else (0.5 * (low + high),)


def _touching(stance: Stance, side: Side, shift: float) -> float:
    """The length of the part's outline that lies on the region's."""
    contact = stance.base
    if stance.height > side.height - FLUSH:
        contact += stance.top
    for lines, edges in ((side.left, stance.falling), (side.right, stance.rising)):
        for b, m in lines:
            c = b - shift
            for x0, y0, x1, y1, length in edges:
                if -FLUSH < c + m * y0 - x0 < FLUSH and -FLUSH < c + m * y1 - x1 < FLUSH:
                    contact += length
    return contact


def _spot(part: Part, stance: Stance, side: Side, shift: float, end: int, contact: float) -> Spot:
    dx, dy = side.along
    ox = side.origin[0] + shift * dx
    far = max([ox + x * dx - y * dy for x, y in stance.points])
    return Spot(part, stance.over, far, stance, side, shift, contact, end)
