"""Faces as they are cut: how far out their lines and corners lie in their planes; see `calc.budget` for the model."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from calc.shell import Face, Shell, Vectors, normal


@dataclass(frozen=True, slots=True)
class AsCut:
    """A face of m corners and how far out it is, over n independent errors of standard deviation 1 [mm].

    along, outward: unit vectors along each edge and in the plane square to it, (m, 3); upright: the unit normal (3,); lengths
    [mm] (m,). lines: how far outward each edge lies at its start and its end, (m, 2, n); corners: where they cross, (m, 3, n).
    """

    face: Face
    along: Vectors
    outward: Vectors
    upright: Vectors
    lengths: Vectors
    lines: Vectors
    corners: Vectors

    def corner(self, vertex: int) -> Vectors:
        """How far out a corner lies in the plane, (3, n) [mm]."""
        return np.asarray(self.corners[self.face.loop.index(vertex)])

    def turned(self, edge: tuple[int, int]) -> Vectors:
        """How an edge's line is turned in the plane, (3, n) [radians]."""
        place = self._place(edge)
        start, end = self.lines[place]
        return np.outer(self.upright, (start - end) / self.lengths[place])

    def mark(self, edge: tuple[int, int], vertex: int) -> Vectors:
        """How far out an edge's line lies at one of its ends, square to it, (3, n) [mm]."""
        place = self._place(edge)
        return np.outer(self.outward[place], self.lines[place, self.face.edges[place].index(vertex)])

    def _place(self, edge: tuple[int, int]) -> int:
        """Which edge of the face it is, whichever way it runs."""
        return next(place for place, own in enumerate(self.face.edges) if set(own) == set(edge))


def cut_faces(shell: Shell, marking: float, cutting: float) -> dict[str, AsCut]:
    """The faces of a shell by name, as they are cut with errors either way [mm] that are met 19 times in 20.

    Each end of a cut edge is out by the marks, its whole length by the cut: three errors an edge, two a fold.

    >>> square = Shell(((0, 0, 0), (40, 0, 0), (40, 30, -9), (0, 30, -9)), (Face("A", (0, 1, 2, 3)),), ())
    >>> cut_faces(square, 0.5, 0.5)["A"].lines.shape
    (4, 2, 12)
    """
    folds = {frozenset(joint.edge): joint for joint in shell.folds}
    cuts = sum(frozenset(edge) not in folds for face in shell.faces for edge in face.edges)
    fresh = iter(np.eye(3 * cuts + 2 * len(folds)))
    folded: dict[tuple[str, frozenset[int]], Vectors] = {}
    for key, joint in folds.items():
        ends = marking / 2 * np.array([next(fresh), next(fresh)])
        folded[joint.between[0], key], folded[joint.between[1], key] = ends, -ends[::-1]
    points, found = shell.points, {}
    for face in shell.faces:
        corners = points[list(face.loop)]
        upright, runs = normal(corners), np.roll(corners, -1, axis=0) - corners
        lengths = np.linalg.norm(runs, axis=1)
        along = runs / lengths[:, None]
        outward = np.cross(along, upright)
        marks = [folded.get((face.name, frozenset(edge))) for edge in face.edges]
        lines = _lines(outward, marks, marking / 2, cutting / 2, fresh)
        found[face.name] = AsCut(face, along, outward, upright, lengths, lines, _crossings(along, outward, lines))
    return found


def _lines(
    outward: Vectors, folded: Sequence[Vectors | None], marked: float, sawn: float, fresh: Iterator[Vectors]
) -> Vectors:
    """How far out the edges of one face lie at both ends, (m, 2, n).

    Where both edges at a corner are cut they go through one mark, which is out as much any way: what two lines through it have
    in common is the cosine of the angle between them. Where one is a fold the other has a mark of its own.
    """
    lines = np.array([sawn * np.tile(next(fresh), (2, 1)) if ends is None else ends for ends in folded])
    for place, (before, own) in enumerate(zip((folded[-1], *folded), folded, strict=False)):
        shared, across = 0.0, np.zeros(lines.shape[-1])
        if own is None:
            shared, across = float(outward[place - 1] @ outward[place]), marked * next(fresh)
            lines[place, 0] += across
        if before is None:
            lines[place - 1, 1] += shared * across + math.sqrt(max(1.0 - shared**2, 0.0)) * marked * next(fresh)
    return lines


def _crossings(along: Vectors, outward: Vectors, lines: Vectors) -> Vectors:
    """How far out the corners of a face lie in its plane, (m, 3, n): each where the lines of its edges cross."""
    own, before = lines[:, 0], np.roll(lines[:, 1], 1, axis=0)
    along_before, outward_before = np.roll(along, 1, axis=0), np.roll(outward, 1, axis=0)
    # along its own edge until it is out by the edge before's error, and along that one by its own edge's
    by_before = along / (along * outward_before).sum(axis=1)[:, None]
    by_own = along_before / (along_before * outward).sum(axis=1)[:, None]
    return np.asarray(by_before[:, :, None] * before[:, None, :] + by_own[:, :, None] * own[:, None, :])
