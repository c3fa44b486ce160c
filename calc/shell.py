"""The shell: flat faces in space, joined along edges by welds and folds. Every family makes one, all that follows reads one.

Frame: vertices [mm], x and y as seen from above, z up, the rim at z = 0. A face is a loop of vertex indices, anticlockwise
seen from the wet (top) side, flat to `FLAT` of its size. The wet surface is the datum: true shapes are measured on it.
"""

import string
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from calc.records import Point3

FLAT = 1e-6  # how far a face's corner may be from its plane, as a share of the face's size
LEVEL = 1e-9  # rise or tilt below this share is level: rounding noise of double precision
Vectors = NDArray[np.float64]
Role = Literal["facet", "floor", "sump", "wall", "strip", "part"]
WET_FLOORS: frozenset[Role] = frozenset({"facet", "floor", "sump"})  # what liquid runs over or lies on
# Edges that are folds, with their inside radius [mm]; None for that of folds between facets, which is the sheet's to say.
Kinds = dict[frozenset[int], tuple[Literal["fold"], float | None]]


@dataclass(frozen=True, slots=True)
class Face:
    """A flat face: its name and its corners as vertex indices, anticlockwise from the wet side.

    role: a facet that falls to the drain, a floor, the level floor of a sump, a wall, or a strip folded on the rim, which no
    liquid lies on; or a part that is joined to nothing. count: how many there are of it, of a part more than one.
    """

    name: str
    loop: tuple[int, ...]
    role: Role = "facet"
    count: int = 1

    @property
    def edges(self) -> tuple[tuple[int, int], ...]:
        """The face's edges as pairs of vertices, in loop order."""
        return tuple(zip(self.loop, self.loop[1:] + self.loop[:1], strict=True))


@dataclass(frozen=True, slots=True)
class Joint:
    """An edge that two faces share. `edge` runs as in the loop of the first face.

    length [mm]; dihedral [degrees] between the wet faces through the air above them, under 180 for a valley; groove
    [degrees] = 180 - dihedral, how far square-cut edges open on the dry side (negative: they open upward), None for a fold;
    inside_radius [mm], None for a weld.
    """

    between: tuple[str, str]
    edge: tuple[int, int]
    kind: Literal["weld", "fold"]
    length: float
    dihedral: float
    groove: float | None
    inside_radius: float | None = None

    @property
    def is_valley(self) -> bool:
        """Whether liquid gathers along this joint."""
        return self.dihedral < 180.0 * (1.0 - LEVEL)

    @property
    def name(self) -> str:
        """The joint as the shop says it: by the two faces it joins."""
        return "-".join(self.between)

    @property
    def bend(self) -> float:
        """The angle turned through [degrees]: positive closes the wet faces (a valley), negative opens them (a ridge)."""
        return 180.0 - self.dihedral


@dataclass(frozen=True, slots=True)
class Shell:
    """Vertices (n, 3) [mm], faces, and the joints between them; every other edge is free."""

    vertices: tuple[Point3, ...]
    faces: tuple[Face, ...]
    joints: tuple[Joint, ...]

    @property
    def points(self) -> Vectors:
        """The vertices as an array (n, 3) [mm]."""
        return np.array(self.vertices, dtype=np.float64)

    @property
    def depth(self) -> float:
        """How far the lowest vertex lies below the rim [mm]."""
        return -min(z for _, _, z in self.vertices)

    def corners(self, face: Face) -> Vectors:
        """The corners of a face in loop order, (m, 3) [mm]."""
        return self.points[list(face.loop)]

    def face(self, name: str) -> Face:
        """The face of this name."""
        return next(face for face in self.faces if face.name == name)

    def joints_of(self, name: str) -> tuple[Joint, ...]:
        """The joints that the face of this name has a part in."""
        return tuple(joint for joint in self.joints if name in joint.between)

    @property
    def welds(self) -> tuple[Joint, ...]:
        """The joints that are welded."""
        return tuple(joint for joint in self.joints if joint.kind == "weld")

    @property
    def folds(self) -> tuple[Joint, ...]:
        """The joints that are folded."""
        return tuple(joint for joint in self.joints if joint.kind == "fold")

    @property
    def is_loose(self) -> bool:
        """Whether it is parts that are cut and no more: joined to nothing, and no liquid on them."""
        return all(face.role == "part" for face in self.faces)

    def free_edges(self) -> tuple[tuple[int, int], ...]:
        """Edges that belong to one face only, each as it runs in that face."""
        joined = {frozenset(joint.edge) for joint in self.joints}
        return tuple(edge for face in self.faces for edge in face.edges if frozenset(edge) not in joined)

    @property
    def brim(self) -> float:
        """The level at which it runs over: of its lowest free edge [mm]."""
        return min(self.vertices[index][2] for edge in self.free_edges() for index in edge)

    def edge_length(self, edge: tuple[int, int]) -> float:
        """The true length of an edge [mm]."""
        start, end = (self.points[index] for index in edge)
        return float(np.linalg.norm(end - start))


def face_name(index: int) -> str:
    """A, B ... Z, AA, AB ...: the name of the face of this index.

    >>> face_name(0), face_name(25), face_name(26)
    ('A', 'Z', 'AA')
    """
    letters = string.ascii_uppercase
    return letters[index] if index < 26 else face_name(index // 26 - 1) + letters[index % 26]


def normal(corners: Vectors) -> Vectors:
    """The unit normal (3,) of a flat loop of corners (m, 3), pointing to the side it is anticlockwise from (Newell)."""
    following = np.roll(corners, -1, axis=0)
    total = np.cross(corners - corners[0], following - corners[0]).sum(axis=0)
    return np.asarray(total / np.linalg.norm(total), dtype=np.float64)


def steepness(shell: Shell, edge: tuple[int, int]) -> float:
    """How steep the face on this edge of the rim stands, strips aside [degrees]: 0 lies level, 90 stands upright.

    edge: two vertices as the edge runs in that face. Raises StopIteration where no such face has it.
    """
    face = next(face for face in shell.faces if face.role != "strip" and edge in face.edges)
    return float(np.degrees(np.arccos(np.clip(abs(normal(shell.corners(face))[2]), 0.0, 1.0))))


def is_flat(corners: Vectors) -> bool:
    """Whether a loop of corners (m, 3) lies in one plane, to `FLAT` of its size.

    >>> is_flat(np.array([[0, 0, 0], [9, 0, 0], [9, 9, 1], [0, 9, 0]]))
    False
    """
    spread = corners - corners.mean(axis=0)
    size = float(np.linalg.norm(spread, axis=1).max())
    return float(np.abs(spread @ normal(corners)).max()) <= FLAT * size


def face_area(corners: Vectors) -> float:
    """The area [mm2] of a flat loop of corners (m, 3)."""
    following = np.roll(corners, -1, axis=0)
    return float(np.linalg.norm(np.cross(corners - corners[0], following - corners[0]).sum(axis=0)) / 2)


def dihedral(edge: Vectors, first: Vectors, second: Vectors) -> float:
    """The angle [degrees] between two wet faces through the air above them, 0 to 360.

    edge: (3,) direction of the shared edge as it runs in the first face; first, second: (3,) the unit normals.

    >>> round(dihedral(np.array([1.0, 0, 0]), np.array([0.0, 0, 1]), np.array([0.0, 1, 0])))  # a wall on a floor
    90
    """
    turn = np.degrees(np.arctan2(np.dot(edge / np.linalg.norm(edge), np.cross(first, second)), np.dot(first, second)))
    return float((180.0 + turn) % 360.0)


def join_faces(
    vertices: Sequence[Point3],
    faces: Sequence[Face],
    kinds: Kinds | None = None,
) -> Shell:
    """The shell of these faces, with a joint wherever two of them share an edge.

    vertices: (n, 3) [mm]; kinds: which edges (as sets of two vertices) are folds, with their inside radius [mm]; all other
    joints are welds. Raises ValueError where a face is not flat, or where more than two faces meet at an edge or two run
    along it the same way.
    """
    kinds = kinds or {}
    points = np.array(vertices, dtype=np.float64)
    normals = {face.name: _flat_normal(face, points[list(face.loop)]) for face in faces}
    joints = []
    for key, sides in _shared_edges(faces).items():
        (first, edge), (second, _) = sides
        along = points[edge[1]] - points[edge[0]]
        angle = dihedral(along, normals[first.name], normals[second.name])
        folded = kinds.get(key)
        joints.append(
            Joint(
                between=(first.name, second.name),
                edge=edge,
                kind="fold" if folded else "weld",
                length=float(np.linalg.norm(along)),
                dihedral=angle,
                groove=None if folded else 180.0 - angle,
                inside_radius=folded[1] if folded else None,
            )
        )
    return Shell(tuple(vertices), tuple(faces), tuple(joints))


def _shared_edges(faces: Sequence[Face]) -> dict[frozenset[int], list[tuple[Face, tuple[int, int]]]]:
    """The edges that two faces share, each with the two and the way the edge runs in them."""
    owners: dict[frozenset[int], list[tuple[Face, tuple[int, int]]]] = {}
    for face in faces:
        for edge in face.edges:
            owners.setdefault(frozenset(edge), []).append((face, edge))
    for key, sides in owners.items():
        if len(sides) > 2 or (len(sides) == 2 and sides[0][1] == sides[1][1]):
            raise ValueError(f"faces {', '.join(face.name for face, _ in sides)} can't share the edge {sorted(key)}")
    return {key: sides for key, sides in owners.items() if len(sides) == 2}


def _flat_normal(face: Face, corners: Vectors) -> Vectors:
    if not is_flat(corners):
        raise ValueError(f"face {face.name} is not flat")
    return normal(corners)


def volume_below(shell: Shell, level: float) -> float:
    """The volume [mm3] between the wet faces and a level surface at z = level, counting only what lies below it.

    Each face is cut at the level and the prism above the part that is under it is summed (exact for flat faces).
    """
    return sum(_prism_below(shell.corners(face), level) for face in shell.faces)


def _prism_below(corners: Vectors, level: float) -> float:
    """Plan area times mean depth of the part of one face that lies below the level [mm3]."""
    under = _clip_below(corners, level)
    volume = 0.0
    for first, second, third in ((under[0], under[i], under[i + 1]) for i in range(1, len(under) - 1)):
        ax, ay = second[:2] - first[:2]
        bx, by = third[:2] - first[:2]
        mean_depth = level - (first[2] + second[2] + third[2]) / 3
        volume += float((ax * by - ay * bx) / 2 * mean_depth)
    return volume


def _clip_below(corners: Vectors, level: float) -> list[Any]:
    kept: list[Any] = []
    for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if start[2] <= level:
            kept.append(start)
        if (start[2] - level) * (end[2] - level) < 0:
            kept.append(start + (end - start) * ((level - start[2]) / (end[2] - start[2])))
    return kept
