"""A rim as it is measured: by its corners, or by four sides and both diagonals; the same fields for every tray."""

import re
from collections.abc import Iterator, Mapping
from typing import Any, Literal

from django import forms
from django.forms import BoundField

from calc.families.rims import CORNERS_LEAST, CORNERS_MOST
from calc.records import Point
from fabjobs import planning
from fabjobs.forms.families.family import Family, Given, read
from fabjobs.forms.families.rows import Rows

CORNERS, SIDES = "corners", "sides"
FOUR = 4
TAPE = ("side_0", "side_1", "side_2", "side_3", "diagonal_0", "diagonal_1")
_PATHS = (
    (re.compile(r"rim"), "rim_by"),
    (re.compile(r"rim\[(\d+)\](?:\[0\])?"), "corner_{}_x"),
    (re.compile(r"rim\[(\d+)\]\[1\]"), "corner_{}_y"),
    (re.compile(r"rim\.sides\[(\d+)\]"), "side_{}"),
    (re.compile(r"rim\.diagonals\[(\d+)\]"), "diagonal_{}"),
)


class RimFields:
    """The part of a family's form that asks for its rim. most: the corners that there may be; of four, none is asked."""

    def __init__(self, family: Family, most: int = CORNERS_MOST) -> None:
        least = min(CORNERS_LEAST, most) if most > FOUR else FOUR
        self.family, self.is_counted = family, most > FOUR
        columns = ("corner_{}_x", "corner_{}_y")
        self.rows = Rows(family, "corners", columns, least, most, FOUR, "add", "take_out")

    @property
    def by_sides(self) -> bool:
        return self.family.typed("rim_by") == SIDES

    @property
    def entry(self) -> Literal["sides", "corners"]:
        """Which of both ways is in use."""
        return "sides" if self.by_sides else "corners"

    def fields(self) -> dict[str, forms.Field]:
        """Every measurement of either way to tape a rim; those of the way not in use are only kept."""
        length, by_sides = self.family.length, self.by_sides
        fields: dict[str, forms.Field] = {
            "rim_by": forms.ChoiceField(
                choices=[(CORNERS, "corners"), (SIDES, "four sides and both diagonals")],
                initial=CORNERS,
                widget=forms.RadioSelect,
                label="Rim measured by",
            )
        }
        if self.is_counted:
            fields["corners"] = self.rows.field()
        for corner in range(self.rows.count):
            for axis, name in zip("xy", self.rows.names(corner), strict=True):
                fields[name] = length(f"Corner {corner + 1}, {axis}", used=not by_sides)
        for side in range(FOUR):
            fields[f"side_{side}"] = length(f"Side {side + 1}", used=by_sides)
        fields["diagonal_0"] = length("Diagonal 1 to 3", used=by_sides)
        fields["diagonal_1"] = length("Diagonal 2 to 4", used=by_sides)
        return fields

    def rim(self, given: Given) -> Any:
        """The `rim` of a job sheet."""
        if self.by_sides:
            return {"sides": read(given, *TAPE[:4]), "diagonals": read(given, *TAPE[4:])}
        return [read(given, *self.rows.names(corner)) for corner in range(self.rows.count)]

    def drawn(self, given: Given) -> list[Point | None]:
        """The corners as far as they are measured [mm], for a picture."""
        rim = self.rim(given)
        return [planning.point(at) for at in rim] if isinstance(rim, list) else list(planning.rim_corners(rim) or ())

    @staticmethod
    def lengths(rim: Mapping[str, Any] | list[Any]) -> dict[str, float | None]:
        """The corners, or the sides and diagonals, whichever was measured."""
        if isinstance(rim, Mapping):
            return dict(zip(TAPE, [*rim["sides"], *rim["diagonals"]], strict=True))
        return {
            f"corner_{place}_{axis}": at
            for place, corner in enumerate(rim)
            for axis, at in zip("xy", corner, strict=True)
        }

    @staticmethod
    def choices(rim: Mapping[str, Any] | list[Any]) -> dict[str, str]:
        is_taped = isinstance(rim, Mapping)
        return {"rim_by": SIDES if is_taped else CORNERS, "corners": str(FOUR if is_taped else len(rim))}

    @staticmethod
    def field_of(path: str) -> str | None:
        """The field for a path within the shape.

        >>> RimFields.field_of("rim[2][1]"), RimFields.field_of("rim.sides[3]"), RimFields.field_of("depth")
        ('corner_2_y', 'side_3', None)
        """
        return field_in(_PATHS, path)

    # For its template

    @property
    def corner_rows(self) -> Iterator[tuple[int, BoundField, BoundField]]:
        """The corners' fields, a row each, numbered from 1 as they are on the drawing."""
        for corner in range(self.rows.count):
            x, y = (self.family.form[name] for name in self.rows.names(corner))
            yield corner + 1, x, y

    @property
    def tape_fields(self) -> Iterator[BoundField]:
        """The four sides and both diagonals."""
        yield from (self.family.form[name] for name in TAPE)


def field_in(paths: tuple[tuple[re.Pattern[str], str], ...], path: str) -> str | None:
    """The field of the first pattern that is the whole path, its groups put in."""
    for pattern, name in paths:
        if match := pattern.fullmatch(path):
            return name.format(*match.groups())
    return None
