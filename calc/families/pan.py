"""The pan: a floor and four walls folded up from one sheet, the corners welded, returns along the tops where wanted."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

from calc.families.metal import Metal
from calc.families.rims import LONGEST, SHORTEST
from calc.families.strips import Bare, Lap, RimFinish, add_strips, lap_has_room, read_radius
from calc.reading import Field, as_typed, number_as_typed
from calc.records import Outline, Point, Point3
from calc.shell import Face, Role, Shell, join_faces
from calc.tables.bending import SHARPEST

WALLS = ("B", "C", "D", "E")  # front (y = 0), the far end (x = length), back, the near end


@dataclass(frozen=True, slots=True)
class Pan:
    """A pan as measured outside [mm]: length along x, width along y, height at x = 0.

    inside_radius of every fold; fall: how much lower the floor lies at x = length than at x = 0; return_width: of a flange
    folded outward along each top, from the wall's inside face, or None.
    """

    family: Literal["pan"]
    length: float
    width: float
    height: float
    inside_radius: float
    fall: float = 0.0
    return_width: float | None = None

    @classmethod
    def read(cls, field: Field, metal: Metal) -> "Pan | None":
        """The pan of a sheet's shape; None where it is at fault, and every fault is noted in the field."""
        keys = ("family", "length", "width", "height", "inside_radius", "fall", "return_width")
        if not field.mapping(keys, required=("length", "width", "height")):
            return None
        sizes = {key: field.at(key).length(SHORTEST, LONGEST) for key in ("length", "width", "height")}
        radius = read_radius(field, metal)
        fall = field.at("fall", 0).length(0.0, LONGEST)
        has_return = field.value.get("return_width") is not None
        width = field.at("return_width").length(SHORTEST, LONGEST) if has_return else None
        length, across, height = sizes["length"], sizes["width"], sizes["height"]
        if length is None or across is None or height is None or radius is None or fall is None:
            return None
        if has_return and width is None:
            return None
        pan = cls("pan", length, across, height, radius, fall, width)
        return pan if pan._holds(field, metal.thickness) else None

    def _holds(self, field: Field, thickness: float) -> bool:
        """Whether there is a pan left within the metal."""
        least = 2 * thickness + 2 * SHORTEST
        sound = True
        for key in ("length", "width"):
            if getattr(self, key) < least:
                field.at(key).fault(
                    f"must be more than two thicknesses, {number_as_typed(2 * thickness)} mm (got {as_typed(field.value[key])})"
                )
                sound = False
        steepest = self.length * math.tan(math.radians(SHARPEST - 90.0))
        if self.fall > steepest:
            field.at("fall").fault(
                f"must be at most {number_as_typed(math.floor(steepest * 10) / 10)} mm, or the wall at the low end is folded "
                f"more than {SHARPEST:g} degrees (got {as_typed(field.value['fall'])})"
            )
            sound = False
        if sound and self._floor_at(thickness, thickness) > -SHORTEST:
            field.at("height").fault(
                f"must be more than one thickness, {number_as_typed(thickness)} mm (got {as_typed(field.value['height'])})"
            )
            sound = False
        if sound and self.return_width is not None:
            sound = lap_has_room(field.at("return_width"), self._inside(thickness), self.return_width)
        return sound

    def _floor_at(self, x: float, thickness: float) -> float:
        """How high the wet face of the floor is at x [mm]; negative, below the tops."""
        slope = self.fall / self.length
        return -self.height - slope * x + thickness * math.hypot(1.0, slope)

    def _inside(self, thickness: float) -> Outline:
        near, far, deep = thickness, self.length - thickness, self.width - thickness
        return ((near, near), (far, near), (far, deep), (near, deep))

    @property
    def corners(self) -> Outline:
        """The four corners outside, anticlockwise from the one at (0, 0) [mm]."""
        return ((0.0, 0.0), (self.length, 0.0), (self.length, self.width), (0.0, self.width))

    @property
    def outlet(self) -> None:
        """A pan has no outlet of its own."""
        return

    @property
    def outlet_at(self) -> Point | None:
        """Where the outlet comes: a pan has none."""
        return None

    @property
    def depths(self) -> tuple[float, ...]:
        """The depth below the tops is the floor's, the thickness taken off: none was measured."""
        return ()

    @property
    def lowest_words(self) -> str:
        """What the shop calls the place of the outlet."""
        return "the floor"

    @property
    def set_out_words(self) -> str:
        """What is set out from two sides."""
        return "the floor"

    @property
    def drain_meets(self) -> tuple[str, ...]:
        """What the outlet comes into: a pan has none."""
        return ()

    lowest: ClassVar[Point | None] = None  # its floor is lowest, all of it or along an edge

    @property
    def most_bore(self) -> float:
        """The room for an outlet: a pan has none."""
        return 0.0

    def free_place(self, steps: Sequence[float]) -> Point | None:  # noqa: ARG002  every family is asked the same way
        """Where the outlet would keep clear: a pan has none."""
        return None

    @property
    def tape_errors(self) -> tuple[float, ...]:
        """Nothing is measured twice."""
        return ()

    @property
    def taped(self) -> tuple[float, ...]:
        """Nothing is measured twice."""
        return ()

    @property
    def measured_corners(self) -> Outline:
        """None: its corners follow from its sizes."""
        return ()

    @property
    def spots(self) -> dict[str, Point]:
        """No point of it is measured."""
        return {}

    @property
    def sizes(self) -> dict[str, float]:
        """The lengths that make it, outside [mm], by what they are called."""
        sizes = {"Length": self.length, "Width": self.width, "Height": self.height, "Inside radius": self.inside_radius}
        fall = {"Fall": self.fall} if self.fall else {}
        return sizes | fall | ({"Return width": self.return_width} if self.return_width is not None else {})

    @property
    def seat(self) -> Literal["free"]:
        """How it is set in: it stands on its own."""
        return "free"

    called: ClassVar[str] = "pan"
    face_side: ClassVar[str] = "wet face"
    radius_key: ClassVar[str] = "inside_radius"

    def flange(self, role: Role) -> tuple[str, float] | None:
        """The key of the length that makes a face of this role wider, and what it is [mm]; None where no one length does."""
        if role == "strip":
            return "return_width", self.return_width or 0.0
        return ("height", self.height) if role == "wall" else None

    def shell(self, thickness: float) -> Shell:
        """Floor A, walls B (y = 0), C (x = length), D and E, returns Br to Er; wet faces are the inside.

        thickness [mm] is what lies between the outside, which is measured, and the wet faces.
        """
        floor = [(x, y, self._floor_at(x, thickness)) for x, y in self._inside(thickness)]
        tops: list[Point3] = [(x, y, 0.0) for x, y, _ in floor]
        faces = [Face("A", (0, 1, 2, 3), "floor")]
        for index, name in enumerate(WALLS):
            after = (index + 1) % 4
            faces.append(Face(name, (after, index, 4 + index, 4 + after), "wall"))
        finish: RimFinish = Bare() if self.return_width is None else Lap(self.return_width, self.inside_radius)
        vertices, all_faces, kinds = add_strips((*floor, *tops), faces, (4, 5, 6, 7), finish)
        for index in range(4):
            kinds[frozenset((index, (index + 1) % 4))] = ("fold", self.inside_radius)
        return join_faces(vertices, all_faces, kinds)
