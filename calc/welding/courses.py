"""Where in space the welds of a shell run: a seam, the reliefs, round the outlet, round a bare rim. Lengths [mm]."""

import math
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

import shapely

from calc.blank import Blank, Hole
from calc.records import Point3
from calc.seams import outlet_weld
from calc.sheet import JobSheet
from calc.shell import LEVEL, Joint, Shell

QUARTERS = 4  # common practice: round a fitting a quarter at a time, opposite ones in turn
CHORDS = 32  # that stand for the circle round an outlet


@dataclass(frozen=True, slots=True)
class Course:
    """A line in space, closed or not, and how long the weld along it is; `stretches` part it where runs can't pass.

    A stretch is its beginning and end, measured along the weld from its start. spots: each stretch is at one point of the
    line, a drilled hole that is welded shut, and nothing runs between them.
    """

    line: tuple[Point3, ...]
    length: float
    stretches: tuple[tuple[float, float], ...]
    closed: bool = False
    spots: bool = False

    def between(self, stretch: int, begins: float, ends: float) -> tuple[Point3, Point3]:
        """From where to where in space a run goes that lies in a stretch of the weld."""
        return (self.line[stretch],) * 2 if self.spots else (self.at(begins), self.at(ends))

    def at(self, along: float) -> Point3:
        """The point so far along the weld from its start."""
        points = (*self.line, self.line[0]) if self.closed else self.line
        sides = [math.dist(start, end) for start, end in pairwise(points)]
        reached = [0.0, *accumulate(sides)]
        wanted = along / self.length * reached[-1]
        place = min(max(bisect_right(reached, wanted) - 1, 0), len(sides) - 1)
        share = (wanted - reached[place]) / sides[place] if sides[place] else 0.0
        return on_way(points[place], points[place + 1], share)


def on_way(start: Point3, end: Point3, share: float) -> Point3:
    """The point a share of the way from one to another."""
    x, y, z = (a + share * (b - a) for a, b in zip(start, end, strict=True))
    return (x, y, z)


def seam_course(joint: Joint, shell: Shell) -> Course:
    """A seam from its upper end; a level one as its edge runs."""
    start, end = (shell.vertices[index] for index in joint.edge)
    if end[2] - start[2] > LEVEL * joint.length:
        start, end = end, start
    return Course((start, end), joint.length, ((0.0, joint.length),))


def rim_course(shell: Shell) -> Course:
    """The free edge all round, a stretch a side, from its first vertex (a tray's corner 1) as the faces run."""
    onward = dict(shell.free_edges())
    first = min(onward)
    loop = [first]
    while (vertex := onward[loop[-1]]) != first:
        loop.append(vertex)
    points = tuple(shell.vertices[index] for index in loop)
    sides = [math.dist(start, end) for start, end in pairwise((*points, points[0]))]
    return Course(points, math.fsum(sides), tuple(pairwise((0.0, *accumulate(sides)))), closed=True)


def outlet_course(sheet: JobSheet, shell: Shell) -> Course | None:
    """Round the outlet fitting, where the shell is lowest, in quarters; None where there is none."""
    outlet, at = sheet.shape.outlet, sheet.shape.outlet_at
    if outlet is None or at is None:
        return None
    turns = [2 * math.pi * i / CHORDS for i in range(CHORDS)]
    radius = outlet.bore / 2
    line = tuple((at[0] + radius * math.cos(turn), at[1] + radius * math.sin(turn), -shell.depth) for turn in turns)
    length = outlet_weld(sheet)
    quarters = [length * i / QUARTERS for i in range(QUARTERS + 1)]
    return Course(line, length, tuple(pairwise(quarters)), closed=True)


def reliefs_course(blanks: Sequence[Blank], shell: Shell) -> Course | None:
    """Every relief that is welded shut, a stretch each, at the corner where its bends meet; None where there are none."""
    found = [relief for blank in blanks for relief in _reliefs(blank)]
    if not found:
        return None
    reached = (0.0, *accumulate(around for _, around in found))
    line = tuple(shell.vertices[vertex] for vertex, _ in found)
    return Course(line, reached[-1], tuple(pairwise(reached)), spots=True)


def _reliefs(blank: Blank) -> Iterator[tuple[int, float]]:
    """Each relief of the fabrication's blanks of this entry: the vertex it lies at, and how far metal runs round it."""
    solid = shapely.Polygon(blank.cut_outline)
    for hole in blank.holes:
        if hole.purpose == "relief":
            rim = shapely.Point(hole.centre).buffer(hole.diameter / 2, quad_segs=32).exterior
            around = float(rim.intersection(solid).length)
            for _ in range(blank.count):
                yield _vertex_of(hole, blank), around


def _vertex_of(hole: Hole, blank: Blank) -> int:
    """The vertex of the shell at which a relief lies: that of the nearest end of a bend."""
    ends = [(end, vertex) for fold in blank.folds for end, vertex in zip(fold.line, fold.edge, strict=True)]
    return min(ends, key=lambda end: math.dist(end[0], hole.centre))[1]
