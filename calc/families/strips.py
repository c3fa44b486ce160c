"""Strips folded on the edges of a rim: a lap lying flat outside it, an upstand standing on it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely

from calc.families.metal import Metal
from calc.families.rims import LONGEST, SHORTEST, signed_area
from calc.reading import Field, as_typed
from calc.records import Outline, Point, Point3
from calc.shell import Face, Kinds

LARGEST_RADIUS = 200.0  # [mm]


@dataclass(frozen=True, slots=True)
class Bare:
    """No strip: the rim is welded into its aperture as it is."""

    kind: Literal["bare"] = "bare"


BARE = Bare()


@dataclass(frozen=True, slots=True)
class Lap:
    """A flange lying on the bench: its width from the sharp edge of the fold, and the fold's inside radius [mm]."""

    width: float
    inside_radius: float
    kind: Literal["lap"] = "lap"


@dataclass(frozen=True, slots=True)
class Upstand:
    """A lip standing on the rim: its height over the sharp edge of the fold, and the fold's inside radius [mm]."""

    height: float
    inside_radius: float
    kind: Literal["upstand"] = "upstand"


RimFinish = Bare | Lap | Upstand
SIZE_OF = {"bare": None, "lap": "width", "upstand": "height"}  # the key of how far each kind of strip reaches


def read_finish(field: Field, rim: Outline | None, metal: Metal) -> RimFinish | None:
    """How the rim ends; None where that is at fault. rim: its corners, where they are known."""
    kind = field.at("kind", "bare").choice(tuple(SIZE_OF)) if field.has_keys() else None
    if kind is None:
        return None
    size = SIZE_OF[kind]
    if size is None:
        return BARE if field.mapping(("kind",)) else None
    if not field.mapping(("kind", size, "inside_radius"), required=(size,)):
        return None
    reach, radius = field.at(size).length(SHORTEST, LONGEST), read_radius(field, metal)
    clear = kind == "upstand" or rim is None or reach is None or lap_has_room(field.at(size), rim, reach)
    if reach is None or radius is None or not clear:
        return None
    return Lap(reach, radius) if kind == "lap" else Upstand(reach, radius)


def read_radius(field: Field, metal: Metal) -> float | None:
    """The inside radius [mm] that a mapping gives its folds; the usual one of the metal where it gives none."""
    return field.at("inside_radius", metal.usual_radius).length(0.0, LARGEST_RADIUS)


def strip_sizes(finish: RimFinish) -> dict[str, float]:
    """The lengths of a rim's finish [mm], by what they are called."""
    match finish:
        case Lap(width, inside_radius):
            return {"Lap width": width, "Inside radius": inside_radius}
        case Upstand(height, inside_radius):
            return {"Upstand height": height, "Inside radius": inside_radius}
    return {}


def strip_name(face: str) -> str:
    """The name of the strip on a face's rim edge."""
    return f"{face}r"


def add_strips(
    vertices: Sequence[Point3], faces: Sequence[Face], rim: Sequence[int], finish: RimFinish
) -> tuple[tuple[Point3, ...], tuple[Face, ...], Kinds]:
    """The vertices and faces of a shell with a strip on each rim edge, and which edges are folded for that.

    rim: the vertices round the rim, anticlockwise from above, each edge running as it does in its face. Neighbouring
    strips share the edge at their corner: a mitre where they lie flat, an upright where they stand.
    """
    if isinstance(finish, Bare):
        return tuple(vertices), tuple(faces), {}
    around = [vertices[index] for index in rim]
    if isinstance(finish, Upstand):
        outer: list[Point3] = [(x, y, z + finish.height) for x, y, z in around]
    else:
        spots = offset_outward(tuple((x, y) for x, y, _ in around), finish.width)
        outer = [(x, y, corner[2]) for (x, y), corner in zip(spots, around, strict=True)]
    owners = {edge: face.name for face in faces for edge in face.edges}
    count, first = len(rim), len(vertices)
    strips, kinds = [], Kinds()
    for index, start in enumerate(rim):
        after = (index + 1) % count
        name = strip_name(owners[start, rim[after]])
        strips.append(Face(name, (rim[after], start, first + index, first + after), "strip"))
        kinds[frozenset((start, rim[after]))] = ("fold", finish.inside_radius)
    return (*vertices, *outer), (*faces, *strips), kinds


def offset_outward(rim: Outline, width: float) -> Outline:
    """The rim with every side moved outward by a width [mm]; neighbours meet on the line that halves the corner.

    >>> offset_outward(((0, 0), (40, 0), (40, 30), (0, 30)), 5)
    ((-5.0, -5.0), (45.0, -5.0), (45.0, 35.0), (-5.0, 35.0))
    """
    corners = []
    for index, here in enumerate(rim):
        before, after = rim[index - 1], rim[(index + 1) % len(rim)]
        (ax, ay), (bx, by) = _outward(before, here), _outward(here, after)
        share = width / (1.0 + ax * bx + ay * by)
        corners.append((here[0] + (ax + bx) * share, here[1] + (ay + by) * share))
    return tuple(corners)


def _outward(start: Point, end: Point) -> Point:
    length = math.dist(start, end)
    return (end[1] - start[1]) / length, (start[0] - end[0]) / length


def lap_has_room(field: Field, rim: Outline, width: float) -> bool:
    """Whether laps this wide lie clear of each other all round; where they don't, the fault names the widest that do."""
    if _is_clear(rim, width):
        return True
    least, most = 0.0, width
    for _ in range(40):  # halving: to far below a rule's step
        middle = (least + most) / 2
        least, most = (middle, most) if _is_clear(rim, middle) else (least, middle)
    field.fault(
        f"must be at most {math.floor(least * 10) / 10:g} mm, or laps run into each other (got {as_typed(field.value)})"
    )
    return False


def _is_clear(rim: Outline, width: float) -> bool:
    outer = offset_outward(rim, width)
    if signed_area(outer) <= signed_area(rim) or not shapely.Polygon(outer).is_valid:
        return False
    count = len(rim)
    strips = []
    for index in range(count):
        after = (index + 1) % count
        corners = (rim[after], rim[index], outer[index], outer[after])
        strip = shapely.Polygon(corners)
        if signed_area(corners) <= 0 or not strip.is_valid:
            return False
        strips.append(strip)
    whole = shapely.Polygon(outer, [rim])
    return bool(abs(whole.area - math.fsum(strip.area for strip in strips)) < 1e-6 * whole.area) and whole.is_valid
