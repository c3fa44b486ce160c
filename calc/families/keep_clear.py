"""Rectangles that an outlet must keep clear of: legs, braces, a chip drawer under the tray."""

from collections.abc import Sequence
from dataclasses import dataclass

from calc.families.free_place import Box
from calc.families.rims import LONGEST, SHORTEST
from calc.reading import Field
from calc.records import Point

MOST = 50
LONGEST_NAME = 40
TOUCHES = 1e-9  # [mm] rounding


@dataclass(frozen=True, slots=True)
class KeepClear:
    """A rectangle on the rim plane: its lower left corner, its length along x and width along y [mm], and what is there."""

    at: Point
    length: float
    width: float
    name: str = ""

    def box(self, margin: float) -> Box:
        """The places farther than a margin [mm] from the rectangle, as a bound."""
        return Box(self.at, (self.at[0] + self.length, self.at[1] + self.width), margin)

    def is_met(self, centre: Point, radius: float) -> bool:
        """Whether a circle, or a point where the radius is 0, comes into the rectangle or touches it."""
        return self.box(0.0).distance(centre) <= radius + TOUCHES


def read_keep_clear(field: Field) -> tuple[KeepClear, ...] | None:
    """The rectangles in a field; None where one is at fault."""
    return field.list_of(_read, 0, MOST, "rectangles to keep clear of")


def _read(item: Field) -> KeepClear | None:
    if not item.mapping(("at", "length", "width", "name"), required=("at", "length", "width")):
        return None
    at = item.at("at").point(LONGEST)
    length, width = (item.at(key).length(SHORTEST, LONGEST) for key in ("length", "width"))
    name = item.at("name", "").text(LONGEST_NAME)
    if at is None or length is None or width is None or name is None:
        return None
    return KeepClear(at, length, width, name)


def names_of_met(rectangles: Sequence[KeepClear], centre: Point, radius: float) -> tuple[str, ...]:
    """What the rectangles that a circle meets are called; those without a name by their place in the list, from 1."""
    return tuple(
        rectangle.name or f"rectangle {number}"
        for number, rectangle in enumerate(rectangles, 1)
        if rectangle.is_met(centre, radius)
    )
