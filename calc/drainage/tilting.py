"""The same shell set out of level, each way: one side so many mm lower than the one across from it, measured between them.

A fall is told towards the outlet, along the line that its facet or valley falls along when the tray is level: less by what the
tilt takes there, and negative where coolant now runs away from it.
"""

import math
from collections.abc import Sequence
from typing import NamedTuple

from calc.drainage.basin import Basin
from calc.drainage.emptying import FILM
from calc.drainage.falls import names_of
from calc.drainage.levels import slices_of
from calc.drainage.outflow import freeboard_at
from calc.drainage.records import Drainage, Tilt
from calc.drainage.standing import Standing, standing_in
from calc.records import Point
from calc.shell import LEVEL, Shell

# The side that is low, and the way that heights fall to it along x and y.
WAYS = {"left": (1, 0), "right": (-1, 0), "front": (0, 1), "back": (0, -1)}
LITRE = 1e-6  # [litres] in a mm3


class Course(NamedTuple):
    """A way that liquid takes: what it is called, its fall when level, and its direction downward seen from above."""

    name: str
    fall: float
    along: Point


class Outgoing(NamedTuple):
    """The outlet as a tilt needs it: its middle seen from above, its radius, the head at the pump's flow where known [mm]."""

    at: Point
    radius: float
    head: float | None


def courses_of(shell: Shell, basin: Basin, drainage: Drainage, lowest: Point) -> list[Course]:
    """Each facet down its line of fall and each valley down its length, level ones towards the lowest place."""
    names = names_of(shell)
    slopes = dict(zip((face.name for face in basin.faces), basin.slopes, strict=True))
    courses = []
    for fall in drainage.falls:
        slope = slopes[fall.face]
        if slope is not None and fall.fall > LEVEL:
            courses.append(Course(names[fall.face,], fall.fall, (-slope[0] / fall.fall, -slope[1] / fall.fall)))
    edges = {joint.between: joint.edge for joint in shell.joints}
    for seam in drainage.seams:
        ends = sorted(
            edges[seam.between], key=lambda index: (-basin.heights[index], -math.dist(basin.spots[index], lowest))
        )
        (x, y), (end_x, end_y) = (basin.spots[index] for index in ends)
        run = math.hypot(end_x - x, end_y - y)
        courses.append(Course(names[seam.between], seam.fall, ((end_x - x) / run, (end_y - y) / run)))
    return courses


def tilts_of(basin: Basin, drop: float, courses: Sequence[Course], outgoing: Outgoing | None) -> tuple[Tilt, ...]:
    """How it drains with each of four sides so many mm low; none where it is to be set up true.

    courses: empty where nothing falls to one place. outgoing: None where it has no outlet.
    """
    return tuple(_tilt(basin, low, drop, courses, outgoing) for low in WAYS) if drop > 0 else ()


def _tilt(basin: Basin, low: str, drop: float, courses: Sequence[Course], outgoing: Outgoing | None) -> Tilt:
    along_x, along_y = _shear(basin, low, drop)
    tilted = basin.tilted(along_x, along_y)
    falls = [(course.fall - along_x * course.along[0] - along_y * course.along[1], course.name) for course in courses]
    least, where = min(falls, key=lambda pair: pair[0]) if falls else (None, "")
    slices = slices_of(tilted.triangles, tilted.heights, tilted.brim)
    litres = slices[-1].full * LITRE if slices else 0.0
    stands, freeboard = Standing(0.0, 0.0), None
    if outgoing:
        stands = standing_in(tilted, outgoing.at, outgoing.radius, FILM)
        if outgoing.head is not None:
            freeboard = freeboard_at(tilted, outgoing.at, outgoing.radius, outgoing.head)
    return Tilt(low, drop, least, where, litres, stands.volume * LITRE, stands.depth, freeboard)


def true_within(basin: Basin, courses: Sequence[Course]) -> float | None:
    """How far one side may be lower than the one across for everything still to fall towards the outlet [mm].

    Each fall changes in proportion to the tilt. None where no tilt takes any fall away.
    """
    most = []
    for low in WAYS:
        along_x, along_y = _shear(basin, low, 1.0)
        for course in courses:
            lost = along_x * course.along[0] + along_y * course.along[1]
            if lost > LEVEL / 1000:
                most.append(course.fall / lost)
    return min(most, default=None)


def _shear(basin: Basin, low: str, drop: float) -> Point:
    """The rise a mm along x and y of a basin with a side so many mm low."""
    x, y = WAYS[low]
    return x * drop / basin.size(0), y * drop / basin.size(1)
