"""What the outlet of a tray must keep clear of: rectangles, a row each."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField

from calc.drawing import Clear
from calc.families.keep_clear import LONGEST_NAME, MOST
from fabjobs import planning
from fabjobs.forms.families.family import Family, Given, read
from fabjobs.forms.families.rows import Rows

COLUMNS = ("keep_{}_x", "keep_{}_y", "keep_{}_length", "keep_{}_width", "keep_{}_name")
LABELS = ("x", "y", "length", "width")
_PATH = re.compile(r"keep_clear\[(\d+)\](?:\.(?:at\[(0|1)\]|(at|length|width|name)))?")


class KeepClearFields:
    """The part of a family's form that asks for them. A row in which nothing is typed is none."""

    def __init__(self, family: Family) -> None:
        self.family = family
        self.rows = Rows(family, "keeps", COLUMNS, 0, MOST, 0, "add_keep", "take_out_keep")

    def fields(self) -> dict[str, forms.Field]:
        fields: dict[str, forms.Field] = {"keeps": self.rows.field()}
        filled = set(self.rows.filled())
        for row in range(self.rows.count):
            *sizes, name = self.rows.names(row)
            for field, label in zip(sizes, LABELS, strict=True):
                fields[field] = self.family.length(f"Keep clear {row + 1}, {label}", used=row in filled)
            fields[name] = forms.CharField(
                label=f"Keep clear {row + 1}, what it is", max_length=LONGEST_NAME, required=False
            )
        return fields

    def keep_clear(self, given: Given) -> list[dict[str, Any]]:
        """The `keep_clear` of a job sheet."""
        rectangles = []
        for row in self.rows.filled():
            *sizes, name = self.rows.names(row)
            x, y, length, width = read(given, *sizes)
            rectangles.append({"at": [x, y], "length": length, "width": width, "name": given.get(name, "")})
        return rectangles

    def drawn(self, given: Given) -> list[Clear]:
        """The rectangles as far as they are given [mm], for a picture."""
        rectangles = []
        for typed in self.keep_clear(given):
            x, y = (planning.coordinate(at) for at in typed["at"])
            length, width = planning.length(typed["length"]), planning.length(typed["width"])
            rectangles.append(Clear(x, y, length, width, typed["name"]))
        return rectangles

    @staticmethod
    def lengths(shape: Mapping[str, Any]) -> dict[str, float | None]:
        return {
            name.format(row): size
            for row, stored in enumerate(shape.get("keep_clear") or ())
            for name, size in zip(COLUMNS[:4], (*stored["at"], stored["length"], stored["width"]), strict=True)
        }

    @staticmethod
    def choices(shape: Mapping[str, Any]) -> dict[str, str]:
        stored = shape.get("keep_clear") or ()
        names = {COLUMNS[4].format(row): rectangle["name"] for row, rectangle in enumerate(stored)}
        return {"keeps": str(len(stored))} | names

    def field_of(self, path: str) -> str | None:
        """The field for a path within the shape, which counts only the rows that are filled."""
        match = _PATH.fullmatch(path)
        filled = list(self.rows.filled())
        if match is None or int(match[1]) >= len(filled):
            return None
        column = "xy"[int(match[2])] if match[2] else match[3] or "x"
        return f"keep_{filled[int(match[1])]}_{'x' if column == 'at' else column}"

    # For its template

    @property
    def keep_rows(self) -> Iterator[tuple[int, list[BoundField]]]:
        """The fields of each row, numbered from 1."""
        for row in range(self.rows.count):
            yield row + 1, [self.family.form[name] for name in self.rows.names(row)]
