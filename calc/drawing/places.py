"""Where a label may stand: round a point, along a line, within an outline, anywhere with a leader.

All in drawing units, y down. Each function gives a `Places`: the spots for a box of a given size.
"""

import math
from collections.abc import Sequence

import numpy as np

from calc.drawing.boxes import Array
from calc.drawing.labels import CLEAR, Places, Spot
from calc.drawing.view import outward
from calc.records import Point

LEADER_COST = 8.0
REACH = 240.0  # no leader is longer
GRACE = 20.0  # [degrees] lettering that leans this little past upright is still read from the right


def readable_angle(start: Point, end: Point) -> float:
    """The angle [degrees] of lettering along a line, read from below or from the right.

    Hardly a side of a rim is upright: one that leans a little either way is read from the right all the same.

    >>> readable_angle((0, 0), (-10, 0)), readable_angle((0, 0), (0, 10)), readable_angle((0, 0), (10, 10))
    (0.0, -90.0, 45.0)
    """
    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    while angle >= 90.0 - GRACE:
        angle -= 180.0
    while angle < -90.0 - GRACE:
        angle += 180.0
    return angle + 0.0


def between(start: Point, end: Point, share: float) -> Point:
    """The point at a share of the way from start to end."""
    return (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)


def ring(point: Point, gaps: Sequence[float], *, towards: Point | None = None, leader: bool = False) -> Places:
    """Round a point at these gaps between it and the box, the direction `towards` another point first."""
    first = math.atan2(towards[1] - point[1], towards[0] - point[0]) if towards else -math.pi / 4

    def places(width: float, height: float) -> list[Spot]:
        spots = []
        for gap in gaps:
            for step in range(24):
                turn = (step + 1) // 2 * (1 if step % 2 else -1) * math.pi / 12
                cosine, sine = math.cos(first + turn), math.sin(first + turn)
                reach = gap + min(
                    width / 2 / abs(cosine) if abs(cosine) > 1e-9 else math.inf,
                    height / 2 / abs(sine) if abs(sine) > 1e-9 else math.inf,
                )
                cost = gap * 0.1 + abs(turn) * 2 + (LEADER_COST if leader else 0.0)
                spots.append(
                    Spot(point[0] + cosine * reach, point[1] + sine * reach, 0.0, cost, point if leader else None)
                )
        return spots

    return places


def beside(
    start: Point, end: Point, gap: float = 3.0, *, shares: Sequence[float] = (0.5, 0.4, 0.6, 0.3, 0.7), side: int = 0
) -> Places:
    """Along a line that it fits, above the line as it is read (side 1), below it (-1) or either (0)."""
    angle = readable_angle(start, end)
    up = (math.sin(math.radians(angle)), -math.cos(math.radians(angle)))

    def places(width: float, height: float) -> list[Spot]:
        if width > math.dist(start, end):
            return []
        spots = []
        for which in (1, -1) if side == 0 else (side,):
            for share in shares:
                x, y = between(start, end, share)
                reach = which * (gap + height / 2)
                cost = abs(share - 0.5) * 6 + (2.0 if side == 0 and which < 0 else 0.0)
                spots.append(Spot(x + up[0] * reach, y + up[1] * reach, angle, cost))
        return spots

    return places


def inner_side(start: Point, end: Point) -> int:
    """The side (as `beside` has it) of an edge on which its outline lies, which runs anticlockwise to the eye."""
    angle = math.radians(readable_angle(start, end))
    x, y = outward(start, end)
    return 1 if x * math.sin(angle) - y * math.cos(angle) < 0 else -1


def within(outline: Sequence[Point], *, along: bool = False) -> Places:
    """Inside an outline where there is most room, level or along its longest edge."""
    points, rooms = inner_points(outline)
    ends = max(zip(outline, [*outline[1:], outline[0]], strict=True), key=lambda edge: math.dist(*edge))
    angle = readable_angle(*ends) if along else 0.0

    def places(width: float, height: float) -> list[Spot]:
        reach = height / 2 + 1 if along else math.hypot(width, height) / 2
        lack = np.maximum(0.0, reach - rooms) * 0.3 + (4.0 if along else 0.0)
        return [Spot(x, y, angle, cost) for (x, y), cost in zip(points.tolist(), lack.tolist(), strict=True)]

    return places


def anywhere(width: float, height: float, target: Point, *, cost: float = 12.0, pitch: float = 20.0) -> Places:
    """All over a drawing of this size with a leader to the target, nearer places first."""

    def places(box_width: float, box_height: float) -> list[Spot]:
        margin_x, margin_y = box_width / 2 + 2 * CLEAR, box_height / 2 + 2 * CLEAR
        columns = max(1, int((width - 2 * margin_x) // (2 * pitch)))
        rows = max(1, int((height - 2 * margin_y) // pitch))
        spots = []
        for x in np.linspace(margin_x, width - margin_x, columns).tolist():
            for y in np.linspace(margin_y, height - margin_y, rows).tolist():
                away = math.dist((x, y), target)
                off = abs(x - target[0]) > margin_x + 3 or abs(y - target[1]) > margin_y + 3
                if off and away < REACH:
                    spots.append(Spot(x, y, 0.0, cost + away * 0.06, target))
        return spots

    return places


def inner_points(outline: Sequence[Point], most: int = 40) -> tuple[Array, Array]:
    """Points inside an outline, those with most room first, (n, 2), and how far each is from the outline's edges, (n,)."""
    corners = np.array(outline, dtype=np.float64)
    ends = np.roll(corners, -1, axis=0)
    low, high = corners.min(axis=0), corners.max(axis=0)
    steps = (np.arange(13) + 0.5) / 13
    grid = np.array([(x, y) for x in steps for y in steps]) * (high - low) + low
    middle = corners.mean(axis=0)
    # a narrow outline has few points of a level grid in it: these lie along it whatever its slant
    slanted = [middle + (corners - middle) * share for share in (0.0, 0.15, 0.3, 0.5)]
    points = np.vstack((grid, *slanted, ((corners + ends) / 2 + middle) / 2))
    points = points[_inside(points, corners, ends)]
    if not len(points):
        points = middle[None, :]
    rooms = distances(points, corners, ends).min(axis=1)
    order = np.argsort(-rooms, kind="stable")[:most]
    return points[order], rooms[order]


def _inside(points: Array, starts: Array, ends: Array) -> Array:
    """Which points are inside, by the even-odd rule."""
    x, y = points[:, 0, None], points[:, 1, None]
    straddles = (starts[:, 1] > y) != (ends[:, 1] > y)
    rise = np.where(ends[:, 1] == starts[:, 1], 1.0, ends[:, 1] - starts[:, 1])
    crossing = starts[:, 0] + (y - starts[:, 1]) * (ends[:, 0] - starts[:, 0]) / rise
    return np.asarray((straddles & (x < crossing)).sum(axis=1) % 2 == 1)


def distances(points: Array, starts: Array, ends: Array) -> Array:
    """How far each point is from each line, (n, m)."""
    along = ends - starts
    squares = np.maximum((along**2).sum(axis=1), 1e-12)
    offset = points[:, None, :] - starts
    share = np.clip((offset * along).sum(axis=2) / squares, 0.0, 1.0)
    return np.asarray(np.linalg.norm(offset - share[..., None] * along, axis=2))
