"""The trace of a weld as it is traced in a drawing: where a length along it, measured in mm from its start, comes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from calc.drawing.places import between
from calc.records import Point, Point3

SAME = 1e-6  # [mm] places no further apart are one


@dataclass(frozen=True, slots=True)
class Trace:
    """Corners in the drawing, and how far each is from the start [mm along the weld itself, however it is seen]."""

    points: tuple[Point, ...]
    reaches: tuple[float, ...]

    def at(self, along: float) -> Point:
        """Where the place so far along [mm] comes in the drawing."""
        for (near, far), (start, end) in zip(pairwise(self.reaches), pairwise(self.points), strict=True):
            if along <= far and far > near:
                return between(start, end, max(0.0, (along - near) / (far - near)))
        return self.points[-1]

    def part(self, begins: float, ends: float) -> tuple[Point, ...]:
        """The line from one place to another [mm], in the direction from `begins` to `ends`, round corners between them."""
        low, high = sorted((begins, ends))
        within = [
            point for reach, point in zip(self.reaches, self.points, strict=True) if low + SAME < reach < high - SAME
        ]
        line = (self.at(low), *within, self.at(high))
        return line if begins <= ends else line[::-1]


def trace_of(line: Sequence[Point3], drawn: Sequence[Point]) -> Trace:
    """The trace of a line in space [mm] whose points come at `drawn`.

    >>> trace = trace_of([(0, 0, 0), (30, 0, -40), (30, 60, -40)], [(0, 0), (15, 0), (15, 30)])
    >>> trace.at(25), trace.at(80), trace.part(80, 25)
    ((7.5, 0.0), (15.0, 15.0), ((15.0, 15.0), (15, 0), (7.5, 0.0)))
    """
    return Trace(tuple(drawn), (0.0, *accumulate(math.dist(start, end) for start, end in pairwise(line))))


def ring_trace(line: Sequence[Point3], drawn: Sequence[Point], length: float) -> Trace:
    """The trace of a weld that ends where it began; length [mm]: its own, of which the line may be chords."""
    trace = trace_of((*line, line[0]), (*drawn, drawn[0]))
    return Trace(trace.points, tuple(reach / trace.reaches[-1] * length for reach in trace.reaches))


def beside_line(line: Sequence[Point], offset: float) -> tuple[Point, ...]:
    """A line moved square to itself by so many drawing units, to the left of its direction as it is seen; corners follow.

    >>> beside_line([(0.0, 0.0), (10.0, 0.0)], 3.0)
    ((0.0, -3.0), (10.0, -3.0))
    """
    normals = []
    for (x1, y1), (x2, y2) in pairwise(line):
        length = math.hypot(x2 - x1, y2 - y1) or 1.0
        normals.append(((y2 - y1) / length, (x1 - x2) / length))
    moved = []
    for index, (x, y) in enumerate(line):
        before, after = normals[max(index - 1, 0)], normals[min(index, len(normals) - 1)]
        nx, ny = before[0] + after[0], before[1] + after[1]
        square = max((nx * nx + ny * ny) / 2, 0.5)  # a mitre, no longer than at a right angle
        moved.append((x + nx / square * offset, y + ny / square * offset))
    return tuple(moved)
