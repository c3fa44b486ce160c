"""The fall tray: its rim by corners or by tape, its low point and depth, the outlet, how the rim ends."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField

from calc import drawing
from calc.families.rims import CORNERS_LEAST, CORNERS_MOST
from calc.units import Display
from fabjobs import planning
from fabjobs.forms.falls import FallField
from fabjobs.forms.families.family import Family, Given, read
from fabjobs.forms.families.rim_finish import RimFinish

CORNERS, SIDES = "corners", "sides"
USUAL_CORNERS = 4
TAPE = ("side_0", "side_1", "side_2", "side_3", "diagonal_0", "diagonal_1")
_PLAIN = {
    "rim": "rim_by",
    "low_point": "low_x",
    "low_point[0]": "low_x",
    "low_point[1]": "low_y",
    "depth": "depth",
    "outlet.bore": "bore",
}
_NUMBERED = (
    (re.compile(r"rim\[(\d+)\](?:\[0\])?"), "corner_{}_x"),
    (re.compile(r"rim\[(\d+)\]\[1\]"), "corner_{}_y"),
    (re.compile(r"rim\.sides\[(\d+)\]"), "side_{}"),
    (re.compile(r"rim\.diagonals\[(\d+)\]"), "diagonal_{}"),
)


class FallTray(Family):
    """A tray all of which falls to one low point."""

    name, label, template = "fall-tray", "fall tray", "new_job/families/_fall_tray.html"
    keys = frozenset({"family", "rim", "low_point", "depth", "outlet", "rim_finish"})
    has_facets = True

    def __init__(self, form: forms.Form, display: Display) -> None:
        super().__init__(form, display)
        self.finish = RimFinish(self)

    @property
    def by_sides(self) -> bool:
        return self.typed("rim_by") == SIDES

    @property
    def corner_count(self) -> int:
        typed = self.typed("corners")
        is_number = typed.isascii() and typed.isdigit()
        return min(max(int(typed), CORNERS_LEAST), CORNERS_MOST) if is_number else USUAL_CORNERS

    def fields(self) -> dict[str, forms.Field]:
        """Every measurement of either way to tape a rim; those of the way not in use are only kept."""
        fields: dict[str, forms.Field] = {
            "rim_by": forms.ChoiceField(
                choices=[(CORNERS, "corners"), (SIDES, "four sides and both diagonals")],
                initial=CORNERS,
                widget=forms.RadioSelect,
                label="Rim measured by",
            ),
            "corners": forms.IntegerField(
                min_value=CORNERS_LEAST, max_value=CORNERS_MOST, initial=USUAL_CORNERS, widget=forms.HiddenInput
            ),
        }
        for corner in range(self.corner_count):
            for axis in "xy":
                fields[f"corner_{corner}_{axis}"] = self.length(f"Corner {corner + 1}, {axis}", used=not self.by_sides)
        for side in range(4):
            fields[f"side_{side}"] = self.length(f"Side {side + 1}", used=self.by_sides)
        fields["diagonal_0"] = self.length("Diagonal 1 to 3", used=self.by_sides)
        fields["diagonal_1"] = self.length("Diagonal 2 to 4", used=self.by_sides)
        fields |= {"low_x": self.length("Low point, x"), "low_y": self.length("Low point, y")}
        fields["depth"] = self.length("Depth")
        fields["wanted_fall"] = FallField(
            required=False, max_length=40, label="Wanted fall, 1 in", widget=forms.TextInput({"size": "5"})
        )
        fields["bore"] = self.length("Outlet bore", required=False)
        return fields | self.finish.fields()

    def shape(self, given: Given) -> dict[str, Any]:
        (depth, bore) = read(given, "depth", "bore")
        shape = {"family": self.name, "rim": self._rim(given), "low_point": read(given, "low_x", "low_y")}
        shape |= {"depth": depth, "rim_finish": self.finish.finish(given)}
        return shape | ({"outlet": {"bore": bore}} if bore else {})

    def _rim(self, given: Given) -> object:
        if self.by_sides:
            return {"sides": read(given, *TAPE[:4]), "diagonals": read(given, *TAPE[4:])}
        return [read(given, f"corner_{corner}_x", f"corner_{corner}_y") for corner in range(self.corner_count)]

    @classmethod
    def lengths(cls, shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:
        return {
            **_taped(shape["rim"]),
            "low_x": shape["low_point"][0],
            "low_y": shape["low_point"][1],
            "depth": shape["depth"],
            "bore": (shape.get("outlet") or {}).get("bore"),
            **RimFinish.lengths(shape, usual_radius),
        }

    @classmethod
    def choices(cls, shape: Mapping[str, Any]) -> dict[str, str]:
        rim = shape["rim"]
        is_taped = isinstance(rim, Mapping)
        count = str(USUAL_CORNERS if is_taped else len(rim))
        return {"rim_by": SIDES if is_taped else CORNERS, "corners": count} | RimFinish.choices(shape)

    def field_of(self, path: str) -> str | None:
        for pattern, name in _NUMBERED:
            if match := pattern.fullmatch(path):
                return name.format(match[1])
        return _PLAIN.get(path) or RimFinish.field_of(path)

    def picture(self, given: Given, width: float) -> str:
        """The rim as far as it is measured; an example to begin with."""
        rim = self._rim(given)
        corners = [planning.point(at) for at in rim] if isinstance(rim, list) else planning.rim_corners(rim)
        return drawing.rim_picture(
            corners or (),
            planning.point(read(given, "low_x", "low_y")),
            self.display,
            entry="sides" if self.by_sides else "corners",
            depth=planning.length(given.get("depth")),
            bore=planning.length(given.get("bore")),
            width=width,
        )

    def answer(self, given: Given) -> str:
        """What depth gives the wanted fall, as soon as rim and low point are there."""
        one_in = given.get("wanted_fall")
        depth = planning.depth_for(self._rim(given), read(given, "low_x", "low_y"), one_in) if one_in else None
        if depth is None:
            return ""
        return f"1 in {one_in:g} at the least takes a depth of {self.display.at_least(depth)}."

    # For its template

    @property
    def corner_rows(self) -> Iterator[tuple[int, BoundField, BoundField]]:
        """The corners' fields, a row each, numbered from 1 as they are on the drawing."""
        for corner in range(self.corner_count):
            yield corner + 1, self.form[f"corner_{corner}_x"], self.form[f"corner_{corner}_y"]

    @property
    def tape_fields(self) -> Iterator[BoundField]:
        """The four sides and both diagonals."""
        yield from (self.form[name] for name in TAPE)

    @property
    def can_grow(self) -> bool:
        return self.corner_count < CORNERS_MOST

    @property
    def can_shrink(self) -> bool:
        return self.corner_count > CORNERS_LEAST


def _taped(rim: Mapping[str, Any] | list[Any]) -> dict[str, float | None]:
    """The corners, or the sides and diagonals, whichever was measured."""
    if isinstance(rim, Mapping):
        sides = {f"side_{place}": length for place, length in enumerate(rim["sides"])}
        return sides | {f"diagonal_{place}": length for place, length in enumerate(rim["diagonals"])}
    return {
        f"corner_{place}_{axis}": at for place, corner in enumerate(rim) for axis, at in zip("xy", corner, strict=True)
    }
