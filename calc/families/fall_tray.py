"""The fall tray: every rim edge and the low point span one flat facet, so that all of it falls to the outlet."""

import math
from dataclasses import dataclass
from typing import ClassVar, Literal

import shapely
import shapely.ops
from shapely.geometry.base import BaseGeometry

from calc.families.metal import Metal
from calc.families.rims import LONGEST, SHORTEST, MeasuredRim, Rim, corners_of, disagreements, read_rim
from calc.families.strips import BARE, Lap, RimFinish, Upstand, add_strips, read_finish, strip_sizes
from calc.reading import Field, as_typed, number_as_typed
from calc.records import Outline, Point
from calc.shell import Face, Role, Shell, face_name, join_faces

INSIDE = 1.0  # [mm] how far inside the rim the low point must be
SEES = 1e-3  # [mm] how far in front of an edge's line the low point must be to see it


@dataclass(frozen=True, slots=True)
class Outlet:
    """The drain: a round hole of this bore [mm] at the low point, bored after welding."""

    bore: float


@dataclass(frozen=True, slots=True)
class FallTray:
    """A fall tray as measured: rim, low point (on the rim plane, from above) and depth below the rim [mm]."""

    family: Literal["fall-tray"]
    rim: Rim
    low_point: Point
    depth: float
    outlet: Outlet | None = None
    rim_finish: RimFinish = BARE

    @classmethod
    def read(cls, field: Field, metal: Metal) -> "FallTray | None":
        """The tray of a sheet's shape; None where it is at fault, and every fault is noted in the field."""
        keys = ("family", "rim", "low_point", "depth", "outlet", "rim_finish")
        if not field.mapping(keys, required=("rim", "low_point", "depth")):
            return None
        rim = read_rim(field.at("rim"))
        low_point = field.at("low_point").point(LONGEST)
        depth = field.at("depth").length(SHORTEST, LONGEST)
        corners = None if rim is None else corners_of(rim)
        finish = read_finish(field.at("rim_finish", {}), corners, metal)
        outlet = _read_outlet(field.at("outlet")) if field.value.get("outlet") is not None else None
        if rim is None or corners is None or low_point is None:
            return None
        if not _sees_all(field.at("low_point"), corners, low_point) or depth is None or finish is None:
            return None
        if outlet is not None and not _clears_rim(field.at("outlet").at("bore"), corners, low_point, outlet.bore):
            return None
        return cls("fall-tray", rim, low_point, depth, outlet, finish)

    @property
    def corners(self) -> Outline:
        """The rim's corners, anticlockwise from corner 0 [mm]."""
        return corners_of(self.rim)

    @property
    def tape_errors(self) -> tuple[float, ...]:
        """How far each measured side and diagonal is from the rim that was made of them [mm]; empty for typed corners."""
        return disagreements(self.rim) if isinstance(self.rim, MeasuredRim) else ()

    @property
    def taped(self) -> tuple[float, ...]:
        """The sides and diagonals as measured [mm], as `tape_errors` lists them; empty for typed corners."""
        return self.rim.sides + self.rim.diagonals if isinstance(self.rim, MeasuredRim) else ()

    @property
    def outlet_at(self) -> Point | None:
        """Where the outlet comes, seen from above [mm]."""
        return self.low_point if self.outlet else None

    @property
    def measured_corners(self) -> Outline:
        """The corners that were measured [mm]: those of the rim."""
        return self.corners

    @property
    def sizes(self) -> dict[str, float]:
        """The lengths that it has beside its rim [mm], by what they are called."""
        outlet = {"Outlet": self.outlet.bore} if self.outlet else {}
        return {"Depth": self.depth} | outlet | strip_sizes(self.rim_finish)

    @property
    def spots(self) -> dict[str, Point]:
        """The points that it has beside its corners [mm], by what they are called."""
        return {"Low point": self.low_point}

    @property
    def seat(self) -> Literal["bare", "lap", "upstand"]:
        """How the rim is set into the bench."""
        return self.rim_finish.kind

    called: ClassVar[str] = "tray"
    radius_key: ClassVar[str] = "rim_finish.inside_radius"

    def flange(self, role: Role) -> tuple[str, float] | None:
        """The key of the length that makes a face of this role wider, and what it is [mm]; None where no one length does."""
        match role, self.rim_finish:
            case "strip", Lap(width=width):
                return "rim_finish.width", width
            case "strip", Upstand(height=height):
                return "rim_finish.height", height
        return None

    def shell(self, thickness: float) -> Shell:  # noqa: ARG002  every family is asked the same way
        """One facet a rim edge and a strip on each where the rim has them; the facets' joints are welds.

        Vertices are the rim's corners in order, the low point, then the strips' outer corners. thickness [mm] changes
        nothing: a tray is measured on its wet face.
        """
        corners = self.corners
        count = len(corners)
        vertices = (*((x, y, 0.0) for x, y in corners), (*self.low_point, -self.depth))
        faces = [Face(face_name(i), (i, (i + 1) % count, count)) for i in range(count)]
        return join_faces(*add_strips(vertices, faces, range(count), self.rim_finish))


def _read_outlet(field: Field) -> Outlet | None:
    if not field.mapping(("bore",), required=("bore",)):
        return None
    bore = field.at("bore").length(SHORTEST, LONGEST)
    return None if bore is None else Outlet(bore)


def _sees_all(field: Field, corners: Outline, low_point: Point) -> bool:
    """Whether the low point lies inside the rim and in front of every edge, so that each facet falls to it."""
    rim, point = shapely.Polygon(corners), shapely.Point(low_point)
    if not rim.contains(point):
        field.fault(f"must lie inside the rim (got {as_typed(field.value)}, outside it)")
        return False
    room = rim.exterior.distance(point)
    if room < INSIDE:
        field.fault(f"must lie at least {number_as_typed(INSIDE)} mm inside the rim (got {room:.2g} mm)")
        return False
    for index, start in enumerate(corners):
        end = corners[(index + 1) % len(corners)]
        if distance_in_front(start, end, low_point) < SEES:
            field.fault(
                f"must see every side of the rim: side {index + 1} (corner {index + 1} to "
                f"{(index + 1) % len(corners) + 1}) is hidden from {_pair(low_point)}; {_cure(corners, low_point)}"
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
    return f"{_pair((nearest.x, nearest.y))} would do"


def distance_in_front(start: Point, end: Point, point: Point) -> float:
    """How far a point lies to the left of the line from start to end [mm]; negative to the right.

    >>> distance_in_front((0, 0), (4, 0), (1, 3))
    3.0
    """
    along = (end[0] - start[0], end[1] - start[1])
    return (along[0] * (point[1] - start[1]) - along[1] * (point[0] - start[0])) / math.hypot(*along)


def _pair(point: Point) -> str:
    return f"[{number_as_typed(round(point[0], 1))}, {number_as_typed(round(point[1], 1))}]"


def _clears_rim(field: Field, corners: Outline, low_point: Point, bore: float) -> bool:
    room = 2 * shapely.Polygon(corners).exterior.distance(shapely.Point(low_point))
    if bore >= room:
        field.fault(f"must be less than {room:.1f} mm, the room round the low point (got {as_typed(field.value)})")
        return False
    return True
