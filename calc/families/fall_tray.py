"""The fall tray: every rim edge and the low point, or the sump round it, span flat facets, so that all of it falls there."""

import math
from dataclasses import dataclass
from typing import Literal

import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from calc.families.free_place import Bound, Line
from calc.families.keep_clear import KeepClear, read_keep_clear
from calc.families.metal import Metal
from calc.families.outlets import Outlet, has_room, read_outlet
from calc.families.rims import LONGEST, SHORTEST, Rim, corners_of, distance_in_front, read_rim
from calc.families.strips import BARE, RimFinish, add_strips, read_finish, strip_sizes
from calc.families.sump import Sump, read_sump, sump_faces
from calc.families.tray import INSIDE, SEES, Tray, as_pair, lies_inside, room_round
from calc.reading import Field
from calc.records import Outline, Point
from calc.shell import Face, Shell, face_name, join_faces

KEYS = ("family", "rim", "low_point", "depth", "outlet", "sump", "rim_finish", "keep_clear")


@dataclass(frozen=True, slots=True)
class FallTray(Tray):
    """A fall tray as measured: rim, low point (on the rim plane, from above) and depth below the rim [mm].

    sump: a level floor at the depth, round the low point (see `calc.families.sump`); keep_clear: what the outlet must miss.
    """

    family: Literal["fall-tray"]
    rim: Rim
    low_point: Point
    depth: float
    outlet: Outlet | None = None
    rim_finish: RimFinish = BARE
    sump: Sump | None = None
    keep_clear: tuple[KeepClear, ...] = ()

    @classmethod
    def read(cls, field: Field, metal: Metal) -> "FallTray | None":
        """The tray of a sheet's shape; None where it is at fault, and every fault is noted in the field."""
        if not field.mapping(KEYS, required=("rim", "low_point", "depth")):
            return None
        before = len(field.faults)
        rim = read_rim(field.at("rim"))
        low_point = field.at("low_point").point(LONGEST)
        depth = field.at("depth").length(SHORTEST, LONGEST)
        corners = None if rim is None else corners_of(rim)
        finish = read_finish(field.at("rim_finish", {}), corners, metal)
        outlet = read_outlet(field.at("outlet"))
        keep_clear = read_keep_clear(field.at("keep_clear", []))
        is_seen = corners is not None and low_point is not None and _sees_all(field.at("low_point"), corners, low_point)
        sump = read_sump(field.at("sump"), corners if is_seen else None, low_point)
        if outlet is not None and corners is not None and low_point is not None and is_seen:
            has_room(field.at("outlet"), outlet, *_room_in(corners, low_point, sump))
        if rim is None or low_point is None or depth is None or finish is None or keep_clear is None:
            return None
        if len(field.faults) > before:
            return None
        return cls("fall-tray", rim, low_point, depth, outlet, finish, sump, keep_clear)

    @property
    def lowest(self) -> Point:
        """The low point, the middle of the sump where there is one [mm]."""
        return self.low_point

    @property
    def depths(self) -> tuple[float, ...]:
        """The depth below the rim [mm]."""
        return (self.depth,)

    @property
    def lowest_words(self) -> str:
        """What the shop calls the place of the outlet."""
        return "the middle of the sump" if self.sump else "the low point"

    @property
    def set_out_words(self) -> str:
        """What is set out from two sides of the rim."""
        return self.lowest_words

    @property
    def sizes(self) -> dict[str, float]:
        """The lengths that it has beside its rim [mm], by what they are called."""
        outlet = {"Outlet": self.outlet.bore} if self.outlet else {}
        sump = {"Sump length": self.sump.length, "Sump width": self.sump.width} if self.sump else {}
        return {"Depth": self.depth} | outlet | sump | strip_sizes(self.rim_finish)

    @property
    def spots(self) -> dict[str, Point]:
        """The points that it has beside its corners [mm], by what they are called."""
        return {"Low point": self.low_point}

    @property
    def _room(self) -> float:
        return _room_in(self.corners, self.low_point, self.sump)[0]

    def _sound_places(self) -> tuple[Bound, ...]:
        corners = self.corners
        sees = tuple(Line(start, end, SEES) for start, end in zip(corners, corners[1:] + corners[:1], strict=True))
        return sees if self.sump is None else (*sees, *self.sump.places(corners))

    def shell(self, thickness: float) -> Shell:  # noqa: ARG002  every family is asked the same way
        """One facet a rim edge and a strip on each where the rim has them; the facets' joints are welds.

        Vertices are the rim's corners in order, the low point or the sump's corners, then the strips' outer corners. thickness
        [mm] changes nothing: a tray is measured on its wet face.
        """
        corners = self.corners
        count = len(corners)
        rim = [(x, y, 0.0) for x, y in corners]
        if self.sump is None:
            bottom = [(*self.low_point, -self.depth)]
            faces = [Face(face_name(i), (i, (i + 1) % count, count)) for i in range(count)]
        else:
            bottom = [(x, y, -self.depth) for x, y in self.sump.corners(corners, self.low_point)]
            faces = sump_faces(rim, bottom)
        return join_faces(*add_strips((*rim, *bottom), faces, range(count), self.rim_finish))


def _room_in(corners: Outline, low_point: Point, sump: Sump | None) -> tuple[float, str]:
    """What an outlet must be smaller than [mm], and where that is."""
    if sump is not None:
        return min(sump.sizes), "across the floor of the sump"
    return room_round(corners, low_point), "round the low point"


def _sees_all(field: Field, corners: Outline, low_point: Point) -> bool:
    """Whether the low point lies inside the rim and in front of every edge, so that each facet falls to it."""
    if not lies_inside(field, corners, low_point):
        return False
    for index, start in enumerate(corners):
        end = corners[(index + 1) % len(corners)]
        if distance_in_front(start, end, low_point) < SEES:
            field.fault(
                f"must see every side of the rim: side {index + 1} (corner {index + 1} to "
                f"{(index + 1) % len(corners) + 1}) is hidden from {as_pair(low_point)}; {_cure(corners, low_point)}"
            )
            return False
    return True


def _cure(corners: Outline, low_point: Point) -> str:
    """The nearest point that sees every side, or that there is none: the rim's kernel, by half-planes."""
    reach = 4 * LONGEST
    kernel: BaseGeometry = shapely.box(-reach, -reach, reach, reach)
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        scale = reach / math.hypot(x2 - x1, y2 - y1)
        dx, dy = (x2 - x1) * scale, (y2 - y1) * scale
        left_of_side = [
            (x1 - dx, y1 - dy),
            (x1 + dx, y1 + dy),
            (x1 + dx - dy, y1 + dy + dx),
            (x1 - dx - dy, y1 - dy + dx),
        ]
        kernel = kernel.intersection(shapely.Polygon(left_of_side))
    kernel = kernel.buffer(-2 * INSIDE)
    if kernel.is_empty:
        return "no point sees every side of this rim, so make it as two trays or straighten a side"
    nearest = shapely.ops.nearest_points(kernel, shapely.Point(low_point))[0]
    return f"{as_pair((nearest.x, nearest.y))} would do"
