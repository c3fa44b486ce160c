"""Faces as cut put together, each moved by as much as they are out; see `calc.budget` for the model."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

import numpy as np

from calc.budget.as_cut import AsCut, cut_faces
from calc.budget.rim import LEVEL, rim_edges, rim_face
from calc.shell import Joint, Shell, Vectors
from calc.turns import in_turn

OFTEN = 1.96  # standard deviations: 19 times in 20
STEEP = 0.1  # of its length that an edge of the rim rises as its face turns about the seam by one radian: less, and it stays
UP = np.array([0.0, 0.0, 1.0])


class Gap(NamedTuple):
    """How far a seam's edges are apart across it, at the end where that is more, and its corners at the rim end and the other,
    19 times in 20 [mm]."""

    across: float
    rim: float
    low: float


def put_together(shell: Shell, marking: float, cutting: float) -> "PutTogether":
    """The shell's faces put together as the package says, for errors either way [mm] that are met 19 times in 20.

    A rectangle 40 long, cut 0.5 mm out at the most: a side is out by the errors of its two ends, 1.96 x 0.25 x root 2. Marked
    as far out, its corners are each out along it by as much.

    >>> from calc.shell import Face
    >>> square = Shell(((0, 0, 0), (40, 0, 0), (40, 30, -9), (0, 30, -9)), (Face("A", (0, 1, 2, 3)),), ())
    >>> [round(out, 3) for out, _ in put_together(square, marking=0.0, cutting=0.5).sides()]
    [0.693]
    >>> [round(out, 3) for out, _ in put_together(square, marking=0.5, cutting=0.0).sides()]
    [0.693]
    """
    rim = rim_edges(shell)
    tree, closing = _tree_of(shell, rim)
    laid = PutTogether(shell, shell.points, cut_faces(shell, marking, cutting), {}, {}, rim, closing)
    for name in _first_of(shell, tree, rim):
        if name not in laid.turns:
            laid.stand(name)
            _hang_all(laid, name, tree)
    return laid


def _tree_of(shell: Shell, rim: Sequence[tuple[int, int]]) -> tuple[list[Joint], list[Joint]]:
    """The joints along which faces are put together, and the welds left over, which close rings, as they are tacked."""
    tacked = in_turn(shell.welds, shell)
    strips, corners = {face.name for face in shell.faces if face.role == "strip"}, {end for edge in rim for end in edge}
    fitted = sorted(tacked, key=lambda joint: (not strips.isdisjoint(joint.between), corners.isdisjoint(joint.edge)))
    group = {face.name: {face.name} for face in shell.faces}
    tree = []
    for joint in (*shell.folds, *fitted):
        one, other = joint.between
        if other in group[one]:
            continue
        tree.append(joint)
        joined = group[one] | group[other]
        group.update(dict.fromkeys(joined, joined))
    return tree, [joint for joint in tacked if joint not in tree]


def _first_of(shell: Shell, tree: Sequence[Joint], rim: Sequence[tuple[int, int]]) -> list[str]:
    """The faces: those first that can stand on the rim, and of them those of the seams that are tacked first."""
    tacked = [name for joint in tree if joint.kind == "weld" for name in joint.between]
    on_rim = {rim_face(shell, edge).name for edge in rim}
    names = dict.fromkeys((*tacked, *(face.name for face in shell.faces)))
    return sorted(names, key=lambda name: name not in on_rim)


def _hang_all(laid: "PutTogether", first: str, tree: Sequence[Joint]) -> None:
    """Puts on a face that stands all that hangs on it, from joint to joint outward."""
    standing = [first]
    for name in standing:
        for joint in tree:
            if name in joint.between:
                other = joint.between[joint.between[0] == name]
                if other not in laid.turns:
                    laid.hang(joint, name, other)
                    standing.append(other)


@dataclass(frozen=True, slots=True)
class PutTogether:
    """A shell's faces put together, over n independent errors of standard deviation 1.

    points: its vertices [mm]; faces: as cut, by name; turns, shifts: how each is turned about the origin [radians] and shifted
    [mm], (3, n) both; the rim; closing: the welds that close rings, as they are tacked.
    """

    shell: Shell
    points: Vectors
    faces: dict[str, AsCut]
    turns: dict[str, Vectors]
    shifts: dict[str, Vectors]
    rim: tuple[tuple[int, int], ...]
    closing: list[Joint]

    def at(self, name: str, vertex: int) -> Vectors:
        """How far out a corner of a face lies, (3, n) [mm]."""
        return self._carried(name, vertex) + self.faces[name].corner(vertex)

    def _carried(self, name: str, vertex: int) -> Vectors:
        """How far a face carries the place where a corner of its should be, (3, n) [mm]."""
        return np.asarray(_swings(self.points[vertex]) @ self.turns[name] + self.shifts[name])

    def stand(self, name: str) -> None:
        """Puts the first face on the plate, on its edge of the rim and at its slope as drawn; without one it stays as drawn."""
        self.turns[name] = self.shifts[name] = np.zeros_like(self.faces[name].corners[0])
        if (edge := self._rim_edge(name)) is None:
            return
        start, end = edge
        run = self.points[end] - self.points[start]
        level = np.cross(run, UP) / (run @ run)  # square to the edge: turned about it, no slope changes
        self._turn(name, start, np.outer(level, (self.at(name, start) - self.at(name, end))[2]))
        self.shifts[name] = self.shifts[name] - np.outer(UP, self.at(name, start)[2])

    def hang(self, joint: Joint, name: str, other: str) -> None:
        """Puts the other face of a joint on one that stands: edges in line, upper ends together, at the angle as drawn; where
        it is tacked at the rim, turned about the seam until its own edge of the rim lies on the plate."""
        vertex, own, its = self.rim_end(joint), self.faces[name], self.faces[other]
        self.turns[other] = self.turns[name] + own.turned(joint.edge) - its.turned(joint.edge)
        if joint.kind == "fold":  # slides nowhere along its line
            apart = own.mark(joint.edge, vertex) - its.mark(joint.edge, vertex)
        else:
            apart = own.corner(vertex) - its.corner(vertex)
        swung = _swings(self.points[vertex]) @ self.turns[other]
        self.shifts[other] = self._carried(name, vertex) + apart - swung
        if joint.kind == "weld" and (edge := self._rim_edge(other, vertex)) is not None:
            self._lay_on_plate(other, joint, vertex, edge[edge[0] == vertex])

    def _lay_on_plate(self, name: str, joint: Joint, vertex: int, far: int) -> None:
        """Turns a face about a seam that ends on the rim until the far end of its edge of the rim is on the plate."""
        along, arm = self._along(joint), self.points[far] - self.points[vertex]
        rise = float(np.cross(along, arm)[2])
        if abs(rise) > STEEP * float(np.linalg.norm(arm)):
            self._turn(name, vertex, np.outer(along, self.at(name, far)[2] / -rise))

    def _turn(self, name: str, vertex: int, turn: Vectors) -> None:
        """Turns a face (3, n) [radians] about one of its corners."""
        self.turns[name] = self.turns[name] + turn
        self.shifts[name] = self.shifts[name] - _swings(self.points[vertex]) @ turn

    def _rim_edge(self, name: str, vertex: int | None = None) -> tuple[int, int] | None:
        """The first edge of the rim that a face has, at this corner if one is named; None where it has none."""
        edges = self.faces[name].face.edges
        return next((edge for edge in edges if edge in self.rim and (vertex is None or vertex in edge)), None)

    def _along(self, joint: Joint) -> Vectors:
        """The unit vector along a joint, (3,)."""
        run = self.points[joint.edge[1]] - self.points[joint.edge[0]]
        return np.asarray(run / np.linalg.norm(run))

    def apart(self, joint: Joint, vertex: int) -> Vectors:
        """How far the second face's corner lies from the first's at one end of a joint, (3, n) [mm]."""
        one, other = joint.between
        return np.asarray(self.at(other, vertex) - self.at(one, vertex))

    def rim_end(self, joint: Joint) -> int:
        """The end of a joint that lies on the rim; where none or both do the upper one, of equals the first."""
        on_rim = {vertex for edge in self.rim for vertex in edge}
        return max(joint.edge, key=lambda vertex: (vertex in on_rim, self.points[vertex][2]))

    def gap(self, joint: Joint) -> Gap:
        """How far apart its edges and corners are, each in the direction in which that is worst."""
        rim, along = self.rim_end(joint), self._along(joint)
        low = joint.edge[joint.edge[0] == rim]
        at_rim, at_low = self.apart(joint, rim), self.apart(joint, low)
        across = max(_often_worst(apart - np.outer(along, along @ apart)) for apart in (at_rim, at_low))
        return Gap(across, _often_worst(at_rim), _often_worst(at_low))

    def side_rows(self) -> Vectors:
        """How much longer each side of the rim is, a row over the errors each, (sides, n) [mm]: it is its face's edge."""
        rows = []
        for start, end in self.rim:
            face = rim_face(self.shell, (start, end))
            along = self.points[end] - self.points[start]
            rows.append(along / np.linalg.norm(along) @ (self.at(face.name, end) - self.at(face.name, start)))
        return np.array(rows)

    def sides(self) -> Iterator[tuple[float, tuple[int, int]]]:
        """How far out each side of the rim is, 19 times in 20 [mm], and its corners, from 1."""
        rows = self.side_rows()
        for place, row in enumerate(rows):
            yield OFTEN * float(np.linalg.norm(row)), (place + 1, (place + 1) % len(rows) + 1)

    def diagonals(self) -> Iterator[tuple[float, tuple[int, int]]]:
        """How far out each diagonal of the rim is, 19 times in 20 [mm], and its corners, from 1."""
        rim = [start for start, _ in self.rim]
        spots, points = [self.corner(vertex) for vertex in rim], self.points
        for one, other in combinations(range(len(rim)), 2):
            if other - one in (1, len(rim) - 1):
                continue
            along = points[rim[other]] - points[rim[one]]
            row = along / np.linalg.norm(along) @ (spots[other] - spots[one])
            yield OFTEN * float(np.linalg.norm(row)), (one + 1, other + 1)

    def corner(self, vertex: int) -> Vectors:
        """How far out a corner of the tray is, (3, n) [mm]: the mean of its faces', strips aside."""
        meeting = [face.name for face in self.shell.faces if vertex in face.loop and face.role != "strip"]
        return np.asarray(sum(self.at(name, vertex) for name in meeting) / len(meeting))

    def depth(self) -> float:
        """How far out the lowest corner is under the plane that fits the rim's corners best, 19 times in 20 [mm]."""
        rim = [start for start, _ in self.rim]
        level = np.column_stack([np.ones(len(rim)), self.points[rim, :2]])
        plane = np.linalg.lstsq(level, np.array([self.corner(vertex)[2] for vertex in rim]))[0]
        lowest = [i for i, (_, _, z) in enumerate(self.shell.vertices) if z <= -self.shell.depth + LEVEL]
        found = [
            np.array([1.0, *self.shell.vertices[vertex][:2]]) @ plane - self.corner(vertex)[2] for vertex in lowest
        ]
        return OFTEN * max(float(np.linalg.norm(out)) for out in found)


def _swings(arm: Vectors) -> Vectors:
    """The matrix (3, 3) that makes of a small turn [radians] how far the end of an arm moves: the cross product of the two."""
    x, y, z = arm
    return np.array([[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]])


def _often_worst(apart: Vectors) -> float:
    """How far apart (3, n) two points are in the direction in which that is worst, 19 times in 20 [mm]."""
    return OFTEN * math.sqrt(max(float(np.linalg.eigvalsh(apart @ apart.T)[-1]), 0.0))
