"""How far out the last seam and the rim can be for what marking and cutting miss by: linear propagation of errors.

Each cut edge of a face lies out, square to itself, by an error of its own; its ends are marked and it is cut, so the variance
is (marking^2 + cutting^2) / 4, both errors being met 19 times in 20, two standard deviations. A fold line is marked only, and
lies out for both its faces: what one gains the other loses. The corners of a face are where its moved edges cross.

Faces are stiff. They are put together along a spanning tree of the joints: folds first, bent to their angles, then welds in
the order in which they are tacked, each with the rim ends of its edges together and the edges in line, the rim on a flat plate.
Moved edges keep their directions, so every face keeps its slope and only lies shifted: all is linear in the errors, and exact,
and a gap is as wide at one end of a seam as at the other. The joints left over close the rings, and how far their edges are
apart there is what the errors have come to. Left out: what bends take more or less than reckoned, and what welding pulls.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import NamedTuple

import numpy as np

from calc.sheet import JobSheet
from calc.shell import Face, Joint, Shell, Vectors, normal
from calc.turns import in_turn
from calc.units import Display

OFTEN = 1.96  # standard deviations: 19 times in 20
LEVEL = 1e-6  # [mm] heights that differ by less are one
BRIDGED = 1.0  # thicknesses of root gap that filler bridges (common practice)


@dataclass(frozen=True, slots=True)
class Budget:
    """How far out things can be [mm], either way, 19 times in 20; of what is many, the worst.

    marking, cutting: the errors it is reckoned with, as often met. gap: of the last seam that is tacked, how far its edges,
    which stay parallel, gape or bind beyond the root gap, square to the seam. gap_rim, gap_low: how far corners that should be
    one are apart at its rim end (or its upper one) and at the other, along the seam too. worst_seam, worst_gap, worst_rim,
    worst_low: the same of the seam that gapes most. side, diagonal: of the rim, between two of its corners (from 1); None for
    the diagonal of a rim of three. depth: from rim to lowest point. words: what it means for the shop.
    """

    marking: float
    cutting: float
    last_seam: str
    gap: float
    gap_rim: float
    gap_low: float
    worst_seam: str
    worst_gap: float
    worst_rim: float
    worst_low: float
    side: float
    side_between: tuple[int, int]
    diagonal: float | None
    diagonal_between: tuple[int, int] | None
    depth: float
    words: str


class Gap(NamedTuple):
    """How far a seam's edges are apart across it, and its corners at the rim end and the other, 19 times in 20 [mm]."""

    across: float
    rim: float
    low: float


def budget_of(shell: Shell, sheet: JobSheet) -> Budget | None:
    """The error budget of a shell made as its sheet says; None where no seam closes a ring, as of loose parts."""
    making = sheet.making
    laid = put_together(shell, making.marking_error, making.cutting_error)
    if not laid.closing:
        return None
    gaps = [(joint.name, laid.gap(joint)) for joint in laid.closing]
    (last_seam, last), (worst_seam, worst) = gaps[-1], max(gaps, key=lambda found: found[1].across)
    side, side_between = max(laid.sides(), key=lambda found: found[0])
    diagonals = list(laid.diagonals())
    diagonal, diagonal_between = max(diagonals, key=lambda found: found[0]) if diagonals else (None, None)
    return Budget(
        making.marking_error,
        making.cutting_error,
        last_seam,
        *last,
        worst_seam,
        *worst,
        side,
        side_between,
        diagonal,
        diagonal_between,
        laid.depth(),
        _words(worst.across, worst_seam, sheet.material.thickness, making.display),
    )


def _words(gap: float, seam: str, thickness: float, display: Display) -> str:
    """What the worst gap means, and what to do about it."""
    bridged = f"the {display.fine(BRIDGED * thickness)} that filler bridges (about one thickness: common practice)"
    out = f"Seam {seam} may gape or bind by {display.fine(round(gap, 1))} beyond its root gap"
    if gap <= BRIDGED * thickness:
        return f"{out}, no more than {bridged}."
    return (
        f"{out}, more than {bridged}. Read the rule finer, mark every corner of a blank from one edge, and leave the last "
        "blank a little large: trim it to fit when the others are tacked."
    )


def put_together(shell: Shell, marking: float, cutting: float) -> "PutTogether":
    """The shell's faces put together as the module says, for errors either way [mm] that are met 19 times in 20.

    A rectangle 40 long, cut 0.5 mm out at the most: a side is out by the errors of its two ends, 1.96 x 0.25 x root 2.

    >>> square = Shell(((0, 0, 0), (40, 0, 0), (40, 30, -9), (0, 30, -9)), (Face("A", (0, 1, 2, 3)),), ())
    >>> [round(out, 3) for out, _ in put_together(square, marking=0.0, cutting=0.5).sides()]
    [0.693]
    """
    errors = edge_errors(shell, marking, cutting)
    corners = {face.name: _corner_errors(shell, face, errors) for face in shell.faces}
    laid = PutTogether(
        shell, corners, {name: np.zeros_like(moved[0]) for name, moved in corners.items()}, rim_edges(shell), []
    )
    group = {face.name: {face.name} for face in shell.faces}
    for joint in (*shell.folds, *in_turn(shell.welds, shell)):
        one, other = joint.between
        if other in group[one]:
            if joint.kind == "weld":
                laid.closing.append(joint)
            continue
        apart = laid.apart(joint, laid.rim_end(joint)) if joint.kind == "weld" else _fold_apart(laid, joint, errors)
        for name in group[other]:
            laid.shifts[name] = laid.shifts[name] - apart
        joined = group[one] | group[other]
        group.update(dict.fromkeys(joined, joined))
    return laid


Errors = Mapping[tuple[str, frozenset[int]], Vectors]


def edge_errors(shell: Shell, marking: float, cutting: float) -> Errors:
    """How far out each edge of each face lies [mm], a row (n,) over n independent errors of standard deviation 1."""
    folds = {frozenset(joint.edge): joint for joint in shell.folds}
    cut = [(face.name, key) for face in shell.faces for edge in face.edges if (key := frozenset(edge)) not in folds]
    unit = np.eye(len(cut) + len(folds))
    cut_size, fold_size = float(np.hypot(marking, cutting)) / 2, marking / 2
    found = {of: cut_size * unit[place] for place, of in enumerate(cut)}
    for place, (key, joint) in enumerate(folds.items(), len(cut)):
        found[joint.between[0], key] = fold_size * unit[place]
        found[joint.between[1], key] = -fold_size * unit[place]
    return found


def _outward(shell: Shell, face: Face) -> tuple[Vectors, Vectors]:
    """The unit vectors along each edge of a face and, in its plane, out of it square to each: (m, 3) both."""
    corners = shell.corners(face)
    along = np.roll(corners, -1, axis=0) - corners
    along = along / np.linalg.norm(along, axis=1)[:, None]
    return along, np.cross(along, normal(corners))


def _corner_errors(shell: Shell, face: Face, errors: Errors) -> Vectors:
    """How the corners of a face lie out in its plane, (m, 3, n) [mm]: each where its two moved edges cross."""
    along, outward = _outward(shell, face)
    moved = np.array([errors[face.name, frozenset(edge)] for edge in face.edges])
    before = np.roll(along, 1, axis=0), np.roll(outward, 1, axis=0), np.roll(moved, 1, axis=0)
    # along its own edge until it is out by the edge before's error, and along that one by its own edge's
    by_before = along / (along * before[1]).sum(axis=1)[:, None]
    by_own = before[0] / (before[0] * outward).sum(axis=1)[:, None]
    return np.asarray(by_before[:, :, None] * before[2][:, None, :] + by_own[:, :, None] * moved[:, None, :])


def _fold_apart(laid: "PutTogether", joint: Joint, errors: Errors) -> Vectors:
    """How far the second face of a fold lies from the first, (3, n), before it is put there: their fold lines are one."""
    key, shell = frozenset(joint.edge), laid.shell
    lines = []
    for name in joint.between:
        face = shell.face(name)
        place = [frozenset(edge) for edge in face.edges].index(key)
        lines.append(laid.shifts[name] + np.outer(_outward(shell, face)[1][place], errors[name, key]))
    return np.asarray(lines[1] - lines[0])


@dataclass(frozen=True, slots=True)
class PutTogether:
    """A shell's faces put together: how their corners are out in their planes, (m, 3, n) a face, and how each face is shifted,
    (3, n), over n independent errors of standard deviation 1 [mm]; the rim; the welds that close rings, as they are tacked."""

    shell: Shell
    corners: dict[str, Vectors]
    shifts: dict[str, Vectors]
    rim: tuple[tuple[int, int], ...]
    closing: list[Joint]

    def at(self, name: str, vertex: int) -> Vectors:
        """How far out a corner of a face lies, (3, n) [mm]."""
        return np.asarray(self.shifts[name] + self.corners[name][self.shell.face(name).loop.index(vertex)])

    def apart(self, joint: Joint, vertex: int) -> Vectors:
        """How far the second face's corner lies from the first's at one end of a joint, (3, n) [mm]."""
        one, other = joint.between
        return np.asarray(self.at(other, vertex) - self.at(one, vertex))

    def rim_end(self, joint: Joint) -> int:
        """The end of a joint that lies on the rim; where none or both do the upper one, of equals the first."""
        on_rim = {vertex for edge in self.rim for vertex in edge}
        return max(joint.edge, key=lambda vertex: (vertex in on_rim, self.shell.vertices[vertex][2]))

    def gap(self, joint: Joint) -> Gap:
        """How far apart its edges and corners are, each in the direction in which that is worst."""
        rim = self.rim_end(joint)
        low = next(vertex for vertex in joint.edge if vertex != rim)
        along = self.shell.points[joint.edge[1]] - self.shell.points[joint.edge[0]]
        along = along / np.linalg.norm(along)
        at_rim, at_low = self.apart(joint, rim), self.apart(joint, low)
        across = at_rim - np.outer(along, along @ at_rim)
        return Gap(*(_often_worst(apart) for apart in (across, at_rim, at_low)))

    def side_rows(self) -> Vectors:
        """How much longer each side of the rim is, a row over the errors each, (sides, n) [mm]: it is its face's edge."""
        rows = []
        for start, end in self.rim:
            face = rim_face(self.shell, (start, end))
            along = self.shell.points[end] - self.shell.points[start]
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
        spots, points = [self.corner(vertex) for vertex in rim], self.shell.points
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
        """How far out the depth from rim to lowest corner is, 19 times in 20 [mm], the rim's corners in the mean."""
        rim = np.mean([self.corner(start)[2] for start, _ in self.rim], axis=0)
        lowest = [i for i, (_, _, z) in enumerate(self.shell.vertices) if z <= -self.shell.depth + LEVEL]
        return OFTEN * max(float(np.linalg.norm(rim - self.corner(vertex)[2])) for vertex in lowest)


def _often_worst(apart: Vectors) -> float:
    """How far apart (3, n) two points are in the direction in which that is worst, 19 times in 20 [mm]."""
    return OFTEN * math.sqrt(max(float(np.linalg.eigvalsh(apart @ apart.T)[-1]), 0.0))


def rim_edges(shell: Shell) -> tuple[tuple[int, int], ...]:
    """The edges of faces, strips aside, that lie in the rim's plane, from its first corner on as they run round.

    >>> rim_edges(Shell(((0, 0, 0), (9, 0, 0), (4, 6, 0), (4, 2, -1)), (Face("A", (1, 2, 3)), Face("B", (0, 1, 3))), ()))
    ((0, 1), (1, 2))
    """
    on_rim = [abs(z) < LEVEL for _, _, z in shell.vertices]
    after = {
        start: end
        for face in shell.faces
        if face.role not in ("strip", "part")
        for start, end in face.edges
        if on_rim[start] and on_rim[end]
    }
    if not after:
        return ()
    corners = [min(after)]
    while (following := after.get(corners[-1])) not in (None, corners[0]):
        corners.append(following)
    return tuple((start, after[start]) for start in corners if start in after)


def rim_face(shell: Shell, edge: tuple[int, int]) -> Face:
    """The face, no strip, that a rim edge is of."""
    return next(face for face in shell.faces if face.role != "strip" and edge in face.edges)
