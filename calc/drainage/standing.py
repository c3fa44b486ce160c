"""What stands in hollows when a tray is out of level: how high each would fill before it runs on to the outlet.

Every wet face is flat, so liquid that fills a hollow leaves it over a corner, an edge's crossing of the outlet's lip, or the
brim. The level at which a corner's liquid finds a way to the outlet is the least, over all ways along edges, of the highest
place on the way: found by growing outward from the outlet, the lowest way first.
"""

import heapq
from typing import NamedTuple

from calc.drainage.basin import Basin, crossings, face_at
from calc.drainage.levels import Triangle, slices_of
from calc.records import Point

SAME_SPOT = 1e-6  # [mm] a vertex this near to the middle of the outlet is its middle


class Standing(NamedTuple):
    """What stays behind [mm3], and the greatest depth of it [mm]."""

    volume: float
    depth: float


def standing_in(basin: Basin, at: Point, radius: float, least: float) -> Standing:
    """What stands in the hollows of a basin whose outlet, of this radius, has its middle at a place seen from above.

    least [mm]: hollows no deeper than this are left out, as the film that stays everywhere is. What would rise over the brim
    runs over it.
    """
    fanned, middle = _with_outlet(basin, at)
    spill = _spill_levels(fanned, middle, at, radius)
    hollows: dict[float, list[Triangle]] = {}
    depth = 0.0
    for index, level in spill.items():
        over = min(level, basin.brim) - fanned.heights[index]
        if over > least:
            depth = max(depth, over)
            near = hollows.setdefault(min(level, basin.brim), [])
            near += [triangle for triangle in fanned.triangles if index in triangle[0] and triangle not in near]
    volume = sum(
        slices[-1].full for level, near in hollows.items() if (slices := slices_of(near, fanned.heights, level))
    )
    return Standing(volume, depth)


def _with_outlet(basin: Basin, at: Point) -> tuple[Basin, int | None]:
    """The basin with a vertex in the middle of the outlet, and which that is; as it is where the outlet lies on no face."""
    for index, (x, y) in enumerate(basin.spots):
        if abs(x - at[0]) <= SAME_SPOT and abs(y - at[1]) <= SAME_SPOT:
            return basin, index
    holding = face_at(basin, at)
    slope = None if holding is None else basin.slopes[holding]
    if holding is None or slope is None:
        return basin, None
    loop, middle = basin.faces[holding].loop, len(basin.spots)
    (x, y), z = basin.spots[loop[0]], basin.heights[loop[0]]
    spots = (*basin.spots, at)
    heights = (*basin.heights, z + slope[0] * (at[0] - x) + slope[1] * (at[1] - y))
    kept = [triangle for triangle in basin.triangles if not set(triangle[0]) <= set(loop)]
    for start, end in basin.faces[holding].edges:
        (ax, ay), (bx, by) = spots[start], spots[end]
        area = ((bx - ax) * (at[1] - ay) - (by - ay) * (at[0] - ax)) / 2.0
        kept.append(((start, end, middle), area))
    return Basin(spots, heights, basin.faces, basin.slopes, tuple(kept), basin.edge), middle


def _spill_levels(basin: Basin, middle: int | None, at: Point, radius: float) -> dict[int, float]:
    """For each vertex, the level at which its liquid reaches the outlet [mm]."""
    beside: dict[int, set[int]] = {}
    for corners, _ in basin.triangles:
        for index in corners:
            beside.setdefault(index, set()).update(corners)
    reached: dict[int, float] = {}
    waiting: list[tuple[float, int]] = []
    for index, others in beside.items():
        x, y = basin.spots[index]
        if index == middle or (x - at[0]) ** 2 + (y - at[1]) ** 2 <= radius**2:
            reached[index] = basin.heights[index]
            for other in others - {index}:
                heapq.heappush(waiting, (max(_lip_on(basin, (index, other), at, radius), basin.heights[other]), other))
    while waiting:
        level, index = heapq.heappop(waiting)
        if index in reached:
            continue
        reached[index] = level
        for other in beside[index]:
            if other not in reached:
                heapq.heappush(waiting, (max(level, basin.heights[other]), other))
    return reached


def _lip_on(basin: Basin, edge: tuple[int, int], at: Point, radius: float) -> float:
    """How high the outlet's lip is where an edge that begins inside it leaves it [mm]."""
    start, end = (basin.heights[index] for index in edge)
    shares = crossings(basin, edge, at, radius)
    return start + max(shares, default=1.0) * (end - start)
