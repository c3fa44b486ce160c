"""What trays on a measured rim have in common: the rim, how it ends, the outlet and what that must keep clear of."""

import math
from abc import ABC, abstractmethod
from collections.abc import Sequence
from typing import ClassVar, Literal

import shapely

from calc.families.free_place import Bound, clear_of, nearest_free
from calc.families.keep_clear import KeepClear, names_of_met
from calc.families.outlets import Outlet
from calc.families.rims import MeasuredRim, Rim, corners_of, disagreements
from calc.families.strips import Lap, RimFinish, Upstand
from calc.reading import Field, as_typed, number_as_typed
from calc.records import Outline, Point
from calc.shell import Role

INSIDE = 1.0  # [mm] how far inside the rim a point that facets fall to must be
SEES = 1e-3  # [mm] how far in front of an edge's line such a point must be to see it


class Tray(ABC):
    """A tray whose rim was measured: its fields are the subclass's."""

    __slots__ = ()
    rim: Rim
    outlet: Outlet | None
    rim_finish: RimFinish
    keep_clear: tuple[KeepClear, ...]
    called: ClassVar[str] = "tray"
    face_side: ClassVar[str] = "wet face"
    radius_key: ClassVar[str] = "rim_finish.inside_radius"

    @property
    @abstractmethod
    def lowest(self) -> Point:
        """The point that all of it falls to, seen from above [mm]."""

    @property
    @abstractmethod
    def depths(self) -> tuple[float, ...]:
        """The depths below the rim as measured [mm]."""

    @property
    @abstractmethod
    def lowest_words(self) -> str:
        """What the shop calls the place of the outlet."""

    @property
    @abstractmethod
    def set_out_words(self) -> str:
        """What is set out from two sides of the rim."""

    @abstractmethod
    def _sound_places(self) -> tuple[Bound, ...]:
        """Where the lowest point may lie for the shape to stay sound, the sides of the rim aside."""

    @property
    def corners(self) -> Outline:
        """The rim's corners, anticlockwise from corner 0 [mm]."""
        return corners_of(self.rim)

    @property
    def measured_corners(self) -> Outline:
        """The corners that were measured [mm]: those of the rim."""
        return self.corners

    @property
    def outlet_at(self) -> Point | None:
        """Where the outlet comes, seen from above [mm]."""
        return self.lowest if self.outlet else None

    @property
    def tape_errors(self) -> tuple[float, ...]:
        """How far each measured side and diagonal is from the rim that was made of them [mm]; empty for typed corners."""
        return disagreements(self.rim) if isinstance(self.rim, MeasuredRim) else ()

    @property
    def taped(self) -> tuple[float, ...]:
        """The sides and diagonals as measured [mm], as `tape_errors` lists them; empty for typed corners."""
        return self.rim.sides + self.rim.diagonals if isinstance(self.rim, MeasuredRim) else ()

    @property
    def seat(self) -> Literal["bare", "lap", "upstand"]:
        """How the rim is set into the bench."""
        return self.rim_finish.kind

    def flange(self, role: Role) -> tuple[str, float] | None:
        """The key of the length that makes a face of this role wider, and what it is [mm]; None where no one length does."""
        match role, self.rim_finish:
            case "strip", Lap(width=width):
                return "rim_finish.width", width
            case "strip", Upstand(height=height):
                return "rim_finish.height", height
        return None

    @property
    def drain_meets(self) -> tuple[str, ...]:
        """What the outlet, or the lowest point where there is no outlet, comes into or touches and must keep clear of."""
        return names_of_met(self.keep_clear, self.lowest, self._outlet_radius)

    @property
    def most_bore(self) -> float:
        """What an outlet must be smaller than to have room where the tray is lowest, clear of all it must miss [mm]."""
        return min(
            self._room, *(2 * rectangle.box(0.0).distance(self.lowest) for rectangle in self.keep_clear), math.inf
        )

    @property
    def _room(self) -> float:
        """The diameter of the largest circle round the lowest point that the tray itself has room for [mm]."""
        return room_round(self.corners, self.lowest)

    def free_place(self, steps: Sequence[float]) -> Point | None:
        """The nearest place for the outlet that keeps clear and leaves the shape sound; None where there is none.

        steps: of the grid that it is told on [mm], the coarsest first.
        """
        radius = self._outlet_radius
        boxes = (rectangle.box(radius) for rectangle in self.keep_clear)
        bounds = (*self._sound_places(), *clear_of(self.corners, max(INSIDE, radius)), *boxes)
        return nearest_free(self.lowest, bounds, steps)

    @property
    def _outlet_radius(self) -> float:
        return self.outlet.bore / 2 if self.outlet else 0.0


def lies_inside(field: Field, corners: Outline, point: Point) -> bool:
    """Whether a point lies well inside a rim."""
    rim, spot = shapely.Polygon(corners), shapely.Point(point)
    if not rim.contains(spot):
        field.fault(f"must lie inside the rim (got {as_typed(field.value)}, outside it)")
        return False
    if (room := rim.exterior.distance(spot)) < INSIDE:
        field.fault(f"must lie at least {number_as_typed(INSIDE)} mm inside the rim (got {room:.2g} mm)")
        return False
    return True


def room_round(corners: Outline, point: Point) -> float:
    """The diameter [mm] of the largest circle round a point that the rim holds."""
    return 2 * float(shapely.Polygon(corners).exterior.distance(shapely.Point(point)))


def as_pair(point: Point) -> str:
    """A point as it is typed, to a hundredth of a mm."""
    return f"[{number_as_typed(round(point[0], 2))}, {number_as_typed(round(point[1], 2))}]"
