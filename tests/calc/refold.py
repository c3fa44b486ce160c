"""Folding a blank up again by another road than the one that laid it flat.

Taken from a plan's JSON: a blank's cut outline, its folds (line, angle, inside radius, allowance, the names either side)
and the thickness. The outline is cut along the two edges of every bend, and the pieces are turned up one after another about
the axes of their bends, which lie the inside radius from the inside of the metal. What comes out are the flat corners of
every face in space, up to one rigid motion; `misfit` lays the first face on the shell and tells how far the others are off.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray

Vectors = NDArray[np.float64]
ON_LINE = 1e-5  # [mm] a corner as near to a bend's edge as this lies on it
UP = np.array([0.0, 0.0, 1.0])


@dataclass(frozen=True)
class Bend:
    """One bend of a blank: the middle of its line, along it, square to it to the left; its zone's edges left and right."""

    fold: Mapping[str, Any]
    along: Vectors
    left: Vectors
    sides: tuple[Vectors, Vectors]  # a point on the edge of its zone, left and right


def bends_of(blank: Mapping[str, Any]) -> list[Bend]:
    found = []
    for fold in blank["folds"]:
        start, end = (np.array(point) for point in fold["line"])
        along = (end - start) / np.linalg.norm(end - start)
        left = np.array([-along[1], along[0]])
        half = left * fold["allowance"] / 2
        found.append(Bend(fold, along, left, ((start + end) / 2 + half, (start + end) / 2 - half)))
    return found


def split(blank: Mapping[str, Any]) -> tuple[dict[str, shapely.Polygon], list[shapely.Polygon]]:
    """The flat of each face by its name, and the zones of the bends, in which the outline falls apart."""
    outline = [tuple(point) for point in blank["cut_outline"]]
    bends = bends_of(blank)
    if not bends:
        return {blank["faces"][0]: shapely.Polygon(outline)}, []
    chords = []
    for bend in bends:
        for middle in bend.sides:
            ends = [_end(outline, middle, way * bend.along) for way in (1, -1)]
            chords.append(shapely.LineString([_corner(outline, end) for end in ends]))
    edges = [shapely.LineString(pair) for pair in zip(outline, outline[1:] + outline[:1], strict=True)]
    parts = list(shapely.ops.polygonize([*edges, *chords]))
    zones = [next(part for part in parts if _holds(part, sum(bend.sides) / 2)) for bend in bends]
    cores = {}
    for bend in bends:
        for name, middle, way in zip(bend.fold["between"], bend.sides, (1, -1), strict=True):
            beside = middle + way * bend.left * 1e-3
            core = next(part for part in parts if _holds(part, beside))
            cores[name] = shapely.geometry.polygon.orient(core)
    return cores, zones


def _holds(part: shapely.Polygon, spot: Vectors) -> bool:
    return bool(part.contains(shapely.Point(spot)))


def _end(outline: list[tuple[float, float]], middle: Vectors, along: Vectors) -> tuple[float, float]:
    """Where a line that begins inside an outline first meets it: at a corner, or across an edge."""
    reach = 1e5
    ray = shapely.LineString([middle, middle + reach * along])
    met = [np.array(corner) for corner in outline if ray.distance(shapely.Point(corner)) < ON_LINE]
    crossing = shapely.get_coordinates(ray.intersection(shapely.LinearRing(outline)))
    nearest = min((*met, *crossing), key=lambda spot: float((spot - middle) @ along))
    return (float(nearest[0]), float(nearest[1]))


def _corner(outline: list[tuple[float, float]], spot: tuple[float, float]) -> tuple[float, float]:
    """The corner of the outline at a spot; where it has none there, it gets one."""
    near = min(outline, key=lambda corner: math.dist(corner, spot))
    if math.dist(near, spot) < ON_LINE:
        return near
    edges = [shapely.LineString((outline[i], outline[(i + 1) % len(outline)])) for i in range(len(outline))]
    index = min(range(len(edges)), key=lambda i: edges[i].distance(shapely.Point(spot)))
    outline.insert(index + 1, spot)
    return spot


@dataclass(frozen=True)
class Motion:
    """A rigid motion: a point p comes to turn @ p + shift."""

    turn: Vectors
    shift: Vectors

    def __call__(self, points: Vectors) -> Vectors:
        return np.asarray(points @ self.turn.T + self.shift)

    def after(self, first: "Motion") -> "Motion":
        return Motion(self.turn @ first.turn, self(first.shift))


def refold(blank: Mapping[str, Any], thickness: float) -> dict[str, Vectors]:
    """The corners (m, 3) of the flat of every face in space [mm]; the first face lies in the plane z = 0, wet side up."""
    cores, _ = split(blank)
    moves = {blank["faces"][0]: Motion(np.eye(3), np.zeros(3))}
    waiting = bends_of(blank)
    while waiting:
        bend = next(bend for bend in waiting if set(bend.fold["between"]) & set(moves))
        waiting.remove(bend)
        left, right = bend.fold["between"]
        parent, child, side, out = (left, right, 0, -bend.left) if left in moves else (right, left, 1, bend.left)
        moves[child] = moves[parent].after(_folded(bend, thickness, bend.sides[side], out))
    return {
        name: moves[name](np.column_stack([corners := shapely.get_coordinates(core)[:-1], np.zeros(len(corners))]))
        for name, core in cores.items()
    }


def _folded(bend: Bend, thickness: float, tangent: Vectors, out: Vectors) -> Motion:
    """How the flat beyond a bend moves: back by the allowance, then round the axis of the bend.

    tangent: a point where the parent's flat ends; out: square to the bend, away from the parent. A valley's axis lies the
    inside radius over the wet face; a ridge's under it, the metal between.
    """
    angle, radius = math.radians(bend.fold["angle"]), bend.fold["inside_radius"]
    height = radius if angle > 0 else -(radius + thickness)
    axis = np.array([*tangent, height])
    outward = np.array([*out, 0.0])
    over = np.cross(outward, UP)
    cross = np.array([[0, -over[2], over[1]], [over[2], 0, -over[0]], [-over[1], over[0], 0]])
    turn = np.eye(3) + math.sin(angle) * cross + (1 - math.cos(angle)) * cross @ cross  # Rodrigues
    return Motion(turn, axis - turn @ (axis + bend.fold["allowance"] * outward))


Out = Mapping[tuple[str, frozenset[int]], float]  # how much farther out an edge of a face, by its vertices, is cut [mm]


def expected(shell: Mapping[str, Any], name: str, thickness: float, gap: float, out: Out | None = None) -> Vectors:
    """Where the corners of a face's flat belong (m, 3) [mm]: its edges in space taken back by half the gap at a weld, by
    nothing where they are free, by r tan(angle / 2) at a fold, r the radius of the wet side of the bend; less `out`."""
    points = np.array(shell["vertices"])
    loop = next(face["loop"] for face in shell["faces"] if face["name"] == name)
    corners = points[loop]
    upward = sum(np.cross(corners[i] - corners[0], corners[i + 1] - corners[0]) for i in range(1, len(loop) - 1))
    upward = upward / np.linalg.norm(upward)
    joints = {frozenset(joint["edge"]): joint for joint in shell["joints"]}
    lines = []
    for i, start in enumerate(corners):
        along = corners[(i + 1) % len(loop)] - start
        inward = np.cross(upward, along / np.linalg.norm(along))
        edge = frozenset((loop[i], loop[(i + 1) % len(loop)]))
        back = _taken_off(joints.get(edge), thickness, gap) - (out or {}).get((name, edge), 0.0)
        lines.append((inward, inward @ start + back))
    return np.array(
        [
            np.linalg.solve([upward, lines[i - 1][0], lines[i][0]], [upward @ corners[i], lines[i - 1][1], lines[i][1]])
            for i in range(len(loop))
        ]
    )


def _taken_off(joint: Mapping[str, Any] | None, thickness: float, gap: float) -> float:
    if joint is None:
        return 0.0
    if joint["kind"] == "weld":
        return gap / 2
    bend = 180.0 - joint["dihedral"]
    on_wet = joint["inside_radius"] + (0.0 if bend > 0 else thickness)
    return float(on_wet * math.tan(math.radians(abs(bend)) / 2))


def misfit(
    shell: Mapping[str, Any],
    blank: Mapping[str, Any],
    thickness: float,
    gap: float,
    belong: Callable[[str], Vectors] | None = None,
) -> float:
    """The most that a corner of a face is off where the shell has it when a blank is folded up [mm].

    belong: where the corners of a face of this name belong, if not where `expected` says. The first face is laid on the
    shell's every way round that it has corners; a rectangle fits two ways, so the way that suits the whole counts.
    """
    faces = refold(blank, thickness)
    wanted = {name: belong(name) if belong else expected(shell, name, thickness, gap) for name in faces}
    first = blank["faces"][0]
    count = len(wanted[first])
    if len(faces[first]) != count:
        raise AssertionError(f"face {first} has {len(faces[first])} corners where {count} belong")
    ways = [_kabsch(np.roll(faces[first], -turn, axis=0), wanted[first]) for turn in range(count)]
    return min(max(_off(wanted[name], to_shell(faces[name])) for name in faces) for to_shell in ways)


def _off(wanted: Vectors, landed: Vectors) -> float:
    """The most that a loop of corners is off another, corners to corners and corners to edges [mm]."""
    to_corners = max(float(np.linalg.norm(landed - spot, axis=1).min()) for spot in wanted)
    return max(to_corners, *(_from_edge(wanted, spot) for spot in landed))


def _kabsch(found: Vectors, wanted: Vectors) -> Motion:
    middle, goal = found.mean(axis=0), wanted.mean(axis=0)
    left, _, right = np.linalg.svd((wanted - goal).T @ (found - middle))
    turn = left @ np.diag([1.0, 1.0, np.linalg.det(left @ right)]) @ right
    return Motion(turn, goal - turn @ middle)


def _from_edge(corners: Vectors, spot: Vectors) -> float:
    """How far a spot is from the nearest edge of a loop of corners in space."""
    along = np.roll(corners, -1, axis=0) - corners
    share = np.clip(((spot - corners) * along).sum(axis=1) / (along**2).sum(axis=1), 0.0, 1.0)
    return float(np.linalg.norm(corners + share[:, None] * along - spot, axis=1).min())
