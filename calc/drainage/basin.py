"""What liquid lies in: the wet faces of a shell, level or set out of level, and the edges that it would run over.

Out of level is a shear: every height changes by so much a mm along x and y, places seen from above stay. That is what a level
held against a side that is so many mm low reads, and next to a turn of so few degrees it differs by less than a part in a
thousand.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from calc.drainage.levels import Triangle
from calc.records import Point
from calc.shell import LEVEL, Face, Shell, normal

Gradient = tuple[float, float]  # rise a mm along x and along y
INSIDE = 1e-9  # how far outside a face a point counts as on it, as a share of its size squared


@dataclass(frozen=True)
class Basin:
    """The wet faces of a shell: places of the vertices seen from above, their heights, and what the faces make of them [mm].

    faces: those that liquid lies on or against, strips lying flat aside. slopes: the gradient of each face, None of an upright
    one. triangles: of them all. edge: the vertices of the edges that liquid runs over.
    """

    spots: tuple[Point, ...]
    heights: tuple[float, ...]
    faces: tuple[Face, ...]
    slopes: tuple[Gradient | None, ...]
    triangles: tuple[Triangle, ...]
    edge: tuple[int, ...]

    @cached_property
    def brim(self) -> float:
        """The level at which it runs over: of its lowest free edge [mm]."""
        return min(self.heights[index] for index in self.edge)

    def size(self, axis: int) -> float:
        """How far its edge reaches along x (0) or y (1) [mm]."""
        places = [self.spots[index][axis] for index in self.edge]
        return max(places) - min(places)

    def tilted(self, along_x: float, along_y: float) -> "Basin":
        """The same with every height raised by so much a mm along x and y."""
        return Basin(
            self.spots,
            tuple(z + along_x * x + along_y * y for (x, y), z in zip(self.spots, self.heights, strict=True)),
            self.faces,
            tuple(None if slope is None else (slope[0] + along_x, slope[1] + along_y) for slope in self.slopes),
            self.triangles,
            self.edge,
        )


def basin_of(shell: Shell) -> Basin:
    """What liquid lies in; of a lap, which lies on the bench, the fold is the edge that it runs over."""
    slopes = {face.name: _slope(shell, face) for face in shell.faces}
    faces = tuple(face for face in shell.faces if face.role != "strip" or slopes[face.name] is None)
    shared: dict[frozenset[int], int] = {}
    for face in faces:
        for edge in face.edges:
            shared[frozenset(edge)] = shared.get(frozenset(edge), 0) + 1
    spots = tuple((x, y) for x, y, _ in shell.vertices)
    return Basin(
        spots,
        tuple(z for _, _, z in shell.vertices),
        faces,
        tuple(slopes[face.name] for face in faces),
        tuple((corners, area) for face in faces for corners in _fan(face) if (area := _area(spots, corners))),
        tuple(sorted({index for edge, count in shared.items() if count == 1 for index in edge})),
    )


def _slope(shell: Shell, face: Face) -> Gradient | None:
    x, y, z = normal(shell.corners(face)).tolist()
    return None if abs(z) < LEVEL else (-x / z, -y / z)


def _fan(face: Face) -> list[tuple[int, int, int]]:
    first, *others = face.loop
    return [(first, second, third) for second, third in pairwise(others)]


def _area(spots: Sequence[Point], corners: tuple[int, int, int]) -> float:
    """The area of a triangle seen from above [mm2], negative where a fan runs backward; 0 of an upright one."""
    (ax, ay), (bx, by), (cx, cy) = (spots[index] for index in corners)
    area = ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax)) / 2.0
    return area if abs(area) > LEVEL * max(1.0, (bx - ax) ** 2 + (by - ay) ** 2) else 0.0


def lip_of(basin: Basin, at: Point, radius: float) -> float:
    """The highest level round a hole of this radius at a place [mm].

    The hole is round seen from above. Highest: on the line uphill from its middle in some face, or where its edge crosses from
    one face to the next. Bored through sloping facets it passes something sooner than that, so that this is the safe side.
    """
    levels = []
    for face, slope in zip(basin.faces, basin.slopes, strict=True):
        if slope is None:
            continue
        x, y = basin.spots[face.loop[0]]
        middle = basin.heights[face.loop[0]] + slope[0] * (at[0] - x) + slope[1] * (at[1] - y)
        size = math.hypot(*slope)
        up = (at[0] + slope[0] / size * radius, at[1] + slope[1] / size * radius) if size > LEVEL else at
        if _holds(basin, face, up):
            levels.append(middle + size * radius)
        for edge in face.edges:
            levels += [_between(basin, edge, share) for share in crossings(basin, edge, at, radius)]
    return max(levels)


def _between(basin: Basin, edge: tuple[int, int], share: float) -> float:
    start, end = (basin.heights[index] for index in edge)
    return start + share * (end - start)


def crossings(basin: Basin, edge: tuple[int, int], at: Point, radius: float) -> list[float]:
    """Where an edge seen from above crosses a circle, as shares of its length from its start."""
    (ax, ay), (bx, by) = (basin.spots[index] for index in edge)
    dx, dy, x, y = bx - ax, by - ay, ax - at[0], ay - at[1]
    a, half, c = dx * dx + dy * dy, dx * x + dy * y, x * x + y * y - radius * radius
    under = half * half - a * c
    if a == 0.0 or under < 0.0:
        return []
    root = math.sqrt(under)
    return [share for share in ((-half - root) / a, (-half + root) / a) if 0.0 <= share <= 1.0]


def _holds(basin: Basin, face: Face, spot: Point) -> bool:
    """Whether a face, which is convex seen from above, holds a place."""
    for start, end in face.edges:
        (ax, ay), (bx, by) = basin.spots[start], basin.spots[end]
        if (bx - ax) * (spot[1] - ay) - (by - ay) * (spot[0] - ax) < -INSIDE * ((bx - ax) ** 2 + (by - ay) ** 2):
            return False
    return True


def face_at(basin: Basin, spot: Point) -> int | None:
    """The place in `faces` of a face that holds a place seen from above; None where none does."""
    found = (
        index
        for index, (face, slope) in enumerate(zip(basin.faces, basin.slopes, strict=True))
        if slope is not None and _holds(basin, face, spot)
    )
    return next(found, None)
