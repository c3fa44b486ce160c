"""Convex polygons as tuples of corners, anticlockwise.

Plain Python: for the three to eight corners met here it is several times faster than arrays.
A half-plane is a `Line` (nx, ny, c) with a unit normal: the points with nx x + ny y <= c.
"""

from collections.abc import Sequence
from math import atan2, cos, degrees, hypot, pi, sin

from calc.records import Outline, Point

Line = tuple[float, float, float]

ON_LINE = 1e-7  # mm: a corner this near a line counts as lying on it
DULL = 2e-6  # mm: a corner that stands out by less is no corner
RIGHT_ANGLE = 1e-9  # degrees: an angle this near a right one is right
ON_CUT = 1e-5  # mm: an edge this near the side of a kerf is finished by it
FLUSH = 1e-6  # mm: an edge this near another counts as flush with it


def area(points: Sequence[Point]) -> float:
    """Area [mm2], positive for an anticlockwise outline (convex or not).

    >>> area(((0, 0), (4, 0), (0, 3)))
    6.0
    """
    twice = 0.0
    x0, y0 = points[-1]
    for x1, y1 in points:
        twice += x0 * y1 - x1 * y0
        x0, y0 = x1, y1
    return 0.5 * twice


def clip(points: Outline, line: Line) -> Outline:
    """The part of a convex polygon on the inner side of a line; empty where nothing but a point or an edge is left.

    >>> clip(((0, 0), (2, 0), (2, 2), (0, 2)), (1, 0, 1))
    ((0, 0), (1.0, 0.0), (1.0, 2.0), (0, 2))
    """
    nx, ny, c = line
    x0, y0 = points[-1]
    d0 = nx * x0 + ny * y0 - c
    kept: list[Point] = []
    inside = 0
    for point in points:
        x1, y1 = point
        d1 = nx * x1 + ny * y1 - c
        if (d0 > ON_LINE and d1 < -ON_LINE) or (d0 < -ON_LINE and d1 > ON_LINE):
            t = d0 / (d0 - d1)
            kept.append((x0 + t * (x1 - x0), y0 + t * (y1 - y0)))
        if d1 <= ON_LINE:
            kept.append(point)
            if d1 < -ON_LINE:
                inside += 1
        x0, y0, d0 = x1, y1, d1
    return tuple(kept) if inside and len(kept) > 2 else ()


def parted(points: Outline, line: Line, kerf: float) -> tuple[float, Outline, Outline]:
    """A convex polygon sawn along a line: how far it reaches beyond the line, what stays within, what lies past the kerf.

    >>> parted(((0, 0), (5, 0), (5, 2), (0, 2)), (1, 0, 1), 2)
    (4, ((0, 0), (1.0, 0.0), (1.0, 2.0), (0, 2)), ((3.0, 0.0), (5, 0), (5, 2), (3.0, 2.0)))
    """
    nx, ny, c = line
    x0, y0 = points[-1]
    d0 = nx * x0 + ny * y0 - c
    near: list[Point] = []
    far: list[Point] = []
    inside = outside = 0
    most = d0
    for point in points:
        x1, y1 = point
        d1 = nx * x1 + ny * y1 - c
        if d1 > most:  # noqa: PLR1730  (max is three times slower here)
            most = d1
        if (d0 > ON_LINE and d1 < -ON_LINE) or (d0 < -ON_LINE and d1 > ON_LINE):
            t = d0 / (d0 - d1)
            near.append((x0 + t * (x1 - x0), y0 + t * (y1 - y0)))
        e0, e1 = d0 - kerf, d1 - kerf
        if (e0 > ON_LINE and e1 < -ON_LINE) or (e0 < -ON_LINE and e1 > ON_LINE):
            t = e0 / (e0 - e1)
            far.append((x0 + t * (x1 - x0), y0 + t * (y1 - y0)))
        if d1 <= ON_LINE:
            near.append(point)
            if d1 < -ON_LINE:
                inside += 1
        if e1 >= -ON_LINE:
            far.append(point)
            if e1 > ON_LINE:
                outside += 1
        x0, y0, d0 = x1, y1, d1
    return (
        most,
        tuple(near) if inside and len(near) > 2 else (),
        tuple(far) if outside and len(far) > 2 else (),
    )


def reach(points: Sequence[Point], nx: float, ny: float) -> float:
    """How far the points reach along a direction."""
    return max([nx * x + ny * y for x, y in points])


def edge_line(a: Point, b: Point) -> Line:
    """The half-plane to the left of the edge a to b of an anticlockwise outline: the side the outline is on."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = hypot(dx, dy)
    nx, ny = dy / length, -dx / length
    return nx, ny, nx * a[0] + ny * a[1]


def opposite(line: Line, kerf: float) -> Line:
    """The half-plane beyond a cut: its inner side lies one kerf further out than the line's."""
    return -line[0], -line[1], -line[2] - kerf


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Outline:
    """An axis-parallel rectangle, anticlockwise from its lower left corner."""
    return ((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def convex_hull(points: Sequence[Point]) -> Outline:
    """The convex hull, anticlockwise, corners left out that stand off the line of their neighbours by less than `DULL`.

    >>> convex_hull([(0, 0), (1, 0), (2, 0), (2, 2), (1, 1), (0, 2), (0, 1e-9)])
    ((0, 0), (2, 0), (2, 2), (0, 2))
    """
    ordered = sorted(set(points))
    hull = _chain(ordered)[:-1] + _chain(ordered[::-1])[:-1]
    while len(hull) > 3:
        offs = [_off(hull[i - 1], hull[i], hull[(i + 1) % len(hull)]) for i in range(len(hull))]
        if min(offs) > DULL:
            break
        del hull[offs.index(min(offs))]
    return tuple(hull)


def _chain(ordered: Sequence[Point]) -> list[Point]:
    chain: list[Point] = []
    for point in ordered:
        # by differences: corners that stand one above the other but for rounding come out right
        while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0:
            chain.pop()
        chain.append(point)
    return chain


def _turn(a: Point, b: Point, c: Point) -> float:
    """Twice the area of the triangle a, b, c: positive where the way from a by b to c bends left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _off(a: Point, b: Point, c: Point) -> float:
    """The distance of b from the straight line between a and c."""
    dx, dy = c[0] - a[0], c[1] - a[1]
    square = dx * dx + dy * dy
    t = ((b[0] - a[0]) * dx + (b[1] - a[1]) * dy) / square if square else 0.0
    t = min(1.0, max(0.0, t))
    return hypot(a[0] + t * dx - b[0], a[1] + t * dy - b[1])


def without_edge(hull: Outline, i: int) -> tuple[Outline, float] | None:
    """A convex outline without its edge i, its neighbours drawn out until they meet, and how far they stand off it [mm].

    None where they never meet.

    >>> without_edge(((0, 0), (3, 0), (4, 1), (4, 4), (0, 4)), 1)
    (((0, 0), (4.0, 0.0), (4, 4), (0, 4)), 0.7071067811865475)
    """
    n = len(hull)
    (ax, ay, ac), (bx, by, bc) = (edge_line(hull[k % n], hull[(k + 1) % n]) for k in (i - 1, i + 1))
    turn = ax * by - ay * bx
    if n < 4 or turn <= 0:
        return None
    corner = ((ac * by - bc * ay) / turn, (ax * bc - bx * ac) / turn)
    nx, ny, c = edge_line(hull[i], hull[(i + 1) % n])
    rest = list(hull)
    rest[i] = corner
    del rest[(i + 1) % n]
    return tuple(rest), nx * corner[0] + ny * corner[1] - c


def without_stubs(hull: Outline, shortest: float) -> Outline:
    """A convex outline without its edges shorter than this [mm], as far as leaving one out grows it by no more than that.

    >>> without_stubs(((0, 0), (9.9, 0), (10, 0.1), (10, 8), (0, 8)), 1)
    ((0, 0), (10.0, 0.0), (10, 8), (0, 8))
    """
    while True:
        edges = zip(hull, hull[1:] + hull[:1], strict=True)
        stubs = [i for i, (a, b) in enumerate(edges) if hypot(b[0] - a[0], b[1] - a[1]) < shortest]
        ways = [way for i in stubs if (way := without_edge(hull, i)) and way[1] < shortest]
        if not ways:
            return hull
        hull = min(ways, key=lambda way: way[1])[0]


def direction(a: Point, b: Point) -> float:
    """The angle of the line from a to b [radians]."""
    return atan2(b[1] - a[1], b[0] - a[0])


def turned(points: Sequence[Point], angle: float) -> Outline:
    """The points turned anticlockwise about the origin [radians]."""
    c, s = cos(angle), sin(angle)
    return tuple([(c * x - s * y, s * x + c * y) for x, y in points])


def turned_over(points: Sequence[Point]) -> Outline:
    """The points turned over about the x axis, corner 0 first, anticlockwise again if they were."""
    flipped = [(x, -y) for x, y in points]
    return tuple(flipped[:1] + flipped[:0:-1])


def in_degrees(angle: float) -> float:
    """An angle in radians as degrees from 0 up to 360; right angles exactly.

    >>> in_degrees(-pi / 2)
    270.0
    """
    value = degrees(angle) % 360.0
    quarter = 90.0 * round(value / 90.0)
    return quarter % 360.0 if abs(value - quarter) < RIGHT_ANGLE else value


def sheet_from_blank(outline: Sequence[Point], over: bool, at: Point, angle: float) -> Outline:
    """An outline in the blank's frame brought to the sheet: turned over if so, turned by `angle` [degrees], moved."""
    points = turned_over(outline) if over else outline
    # right angles exactly, so that what is square to the sheet stays so to the last digit
    quarters = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    radians = angle * pi / 180
    c, s = quarters.get(angle, (cos(radians), sin(radians)))
    return tuple([(at[0] + c * x - s * y, at[1] + s * x + c * y) for x, y in points])
