"""Flat parts: a list of them, each with its name, how many, and its outline by corners or by sides and angles."""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField
from django.http import QueryDict

from calc import drawing
from calc.families.flat_parts import LONGEST_NAME, MOST_BLANKS
from calc.units import Display
from fabjobs import planning
from fabjobs.forms.angles import AngleField, angle_typed
from fabjobs.forms.families.family import Family, Given, read
from fabjobs.forms.families.rim import field_in
from fabjobs.forms.families.rows import Rows

CORNERS, SIDES = "corners", "sides"
MOST_PARTS, MOST_CORNERS, USUAL_CORNERS = 24, 24, 4  # in the form; a sheet from a file may have more
COUNTER = "parts"
COLUMNS = ("part_{part}_corner_{{}}_x", "part_{part}_corner_{{}}_y", "part_{part}_side_{{}}", "part_{part}_angle_{{}}")
_OF_A_PART = re.compile(r"part_(\d{1,3})_(.+)")
_PATHS = (
    (re.compile(r"parts\[(\d+)\](?:\.name)?"), "part_{}_name"),
    (re.compile(r"parts\[(\d+)\]\.count"), "part_{}_count"),
    (re.compile(r"parts\[(\d+)\]\.outline(?:\.sides|\.angles)?"), "part_{}_by"),
    (re.compile(r"parts\[(\d+)\]\.outline\[(\d+)\](?:\[0\])?"), "part_{}_corner_{}_x"),
    (re.compile(r"parts\[(\d+)\]\.outline\[(\d+)\]\[1\]"), "part_{}_corner_{}_y"),
    (re.compile(r"parts\[(\d+)\]\.outline\.sides\[(\d+)\]"), "part_{}_side_{}"),
    (re.compile(r"parts\[(\d+)\]\.outline\.angles\[(\d+)\]"), "part_{}_angle_{}"),
)


class PartFields:
    """The part of the form that asks for one part. place: in the list, from 0.

    The rows of either way to give an outline are the same: corner N, and the side from there with the angle at its end.
    """

    def __init__(self, family: Family, place: int) -> None:
        self.family, self.place = family, place
        columns = tuple(column.format(part=place) for column in COLUMNS)
        counter, add, take_out = (self.called(name) for name in ("corners", "add", "take_out"))
        self.rows = Rows(family, counter, columns, 3, MOST_CORNERS, USUAL_CORNERS, add, take_out)

    def called(self, name: str) -> str:
        """The name of one of its fields."""
        return f"part_{self.place}_{name}"

    @property
    def by_sides(self) -> bool:
        return self.family.typed(self.called("by")) == SIDES

    def fields(self) -> dict[str, forms.Field]:
        """Every field of it; those of the way not in use are only kept."""
        said, by_sides = f"Part {self.place + 1}", self.by_sides
        fields: dict[str, forms.Field] = {
            self.called("name"): forms.CharField(label=f"{said}, name", max_length=LONGEST_NAME),
            self.called("count"): forms.IntegerField(
                label=f"{said}, how many",
                min_value=1,
                max_value=MOST_BLANKS,
                initial=1,
                error_messages=dict.fromkeys(
                    ("invalid", "min_value", "max_value"), f"Must be a whole number from 1 to {MOST_BLANKS}."
                ),
            ),
            self.called("by"): forms.ChoiceField(
                choices=[(CORNERS, "its corners"), (SIDES, "sides and angles")],
                initial=CORNERS,
                required=False,
                widget=forms.RadioSelect,
                label=f"{said}, outline by",
            ),
            self.called("corners"): self.rows.field(),
        }
        for row in range(self.rows.count):
            x, y, side, angle = self.rows.names(row)
            for axis, name in (("x", x), ("y", y)):
                fields[name] = self.family.length(f"{said}, corner {row + 1}, {axis}", used=not by_sides)
            if row < self._side_count:
                fields[side] = self.family.length(f"{said}, side {row + 1}", used=by_sides)
            if row < self._side_count - 1:
                label = f"{said}, angle between sides {row + 1} and {row + 2}"
                fields[angle] = AngleField(label=label) if by_sides else forms.CharField(label=label, required=False)
        return fields

    @property
    def _side_count(self) -> int:
        """The sides that are given: the last one follows."""
        return self.rows.count - 1

    def sides(self, given: Given) -> list[str | None]:
        """The sides as typed."""
        return read(given, *(self.called(f"side_{side}") for side in range(self._side_count)))

    def angles(self, given: Given) -> list[float | None]:
        """The angles between them [degrees]."""
        return [angle_typed(given.get(self.called(f"angle_{place}"))) for place in range(self._side_count - 1)]

    def part(self, given: Given) -> dict[str, Any]:
        """The part of a job sheet's shape."""
        outline: Any = [read(given, *self.rows.names(row)[:2]) for row in range(self.rows.count)]
        if self.by_sides:
            outline = {"sides": self.sides(given), "angles": self.angles(given)}
        name, count = (given.get(self.called(field)) for field in ("name", "count"))
        return {"name": name or "", "count": count, "outline": outline}

    def drawn(self, given: Given) -> drawing.FlatPart:
        """The part as far as it is given, for a picture."""
        part, field = self.part(given), f"part-{self.place + 1}"
        name, count = part["name"], part["count"]
        if not self.by_sides:
            return drawing.FlatPart(name, [planning.point(at) for at in part["outline"]], count, field=field)
        angles = self.angles(given)
        corners = planning.corners_along(self.sides(given), angles)
        is_open = len(corners) < self.rows.count
        return drawing.FlatPart(name, corners, count, is_open, angles, field, by_sides=True)

    # For its template

    @property
    def number(self) -> int:
        """Its number in the list, from 1."""
        return self.place + 1

    def _field(self, name: str) -> BoundField:
        return self.family.form[self.called(name)]

    @property
    def name(self) -> BoundField:
        return self._field("name")

    @property
    def count(self) -> BoundField:
        return self._field("count")

    @property
    def by(self) -> BoundField:
        return self._field("by")

    @property
    def corners(self) -> BoundField:
        """The hidden field of how many corners it has."""
        return self._field("corners")

    @property
    def corner_rows(self) -> Iterator[tuple[int, BoundField, BoundField]]:
        """The fields of each corner, numbered from 1 as in the picture."""
        for row in range(self.rows.count):
            yield row + 1, self._field(f"corner_{row}_x"), self._field(f"corner_{row}_y")

    @property
    def side_rows(self) -> Iterator[tuple[int, BoundField, BoundField | None]]:
        """Each side that is given, with the angle at its end but for the last."""
        for row in range(self._side_count):
            angle = self._field(f"angle_{row}") if row < self._side_count - 1 else None
            yield row + 1, self._field(f"side_{row}"), angle


class FlatParts(Family):
    """A list of flat parts."""

    name, label, template = "flat-parts", "flat parts", "new_job/families/_flat_parts.html"
    keys = frozenset({"family", "parts"})
    has_facets = False
    is_welded = is_let_in = holds = drains = False

    def __init__(self, form: forms.Form, display: Display) -> None:
        super().__init__(form, display)
        self.rows = Rows(self, COUNTER, (), 1, MOST_PARTS, 1, "add_part", "take_out_part")

    @property
    def parts(self) -> list[PartFields]:
        """The parts that are asked for."""
        return [PartFields(self, place) for place in range(self.rows.count)]

    def fields(self) -> dict[str, forms.Field]:
        fields: dict[str, forms.Field] = {COUNTER: self.rows.field()}
        for part in self.parts:
            fields |= part.fields()
        return fields

    def shape(self, given: Given) -> dict[str, Any]:
        return {"family": self.name, "parts": [part.part(given) for part in self.parts]}

    @classmethod
    def lengths(cls, shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:  # noqa: ARG003  nothing is folded
        lengths: dict[str, float | None] = {}
        for place, part in enumerate(shape["parts"]):
            outline = part["outline"]
            if isinstance(outline, Mapping):
                lengths |= {f"part_{place}_side_{row}": side for row, side in enumerate(outline["sides"])}
                continue
            for row, corner in enumerate(outline):
                lengths |= {f"part_{place}_corner_{row}_{axis}": at for axis, at in zip("xy", corner, strict=True)}
        return lengths

    @classmethod
    def choices(cls, shape: Mapping[str, Any]) -> dict[str, str]:
        typed = {COUNTER: str(len(shape["parts"]))}
        for place, part in enumerate(shape["parts"]):
            outline, is_measured = part["outline"], isinstance(part["outline"], Mapping)
            count = len(outline["sides"]) + 1 if is_measured else len(outline)
            words = {"name": part["name"], "count": str(part["count"]), "corners": str(count)}
            words["by"] = SIDES if is_measured else CORNERS
            angles = outline["angles"] if is_measured else []
            words |= {f"angle_{row}": f"{angle:.10g}" for row, angle in enumerate(angles)}
            typed |= {f"part_{place}_{name}": word for name, word in words.items()}
        return typed

    def field_of(self, path: str) -> str | None:
        """The field for a path within the shape.

        >>> FlatParts.field_of(None, "parts[1].outline[2][1]"), FlatParts.field_of(None, "parts[0].outline")
        ('part_1_corner_2_y', 'part_0_by')
        """
        return field_in(_PATHS, path)

    def picture(self, given: Given, width: float) -> str:
        return drawing.flat_picture([part.drawn(given) for part in self.parts], self.display, width=width)

    def ask_otherwise(self, typed: QueryDict) -> None:
        """A part more or fewer; or a corner of one."""
        gone = str(typed.get(self.rows.take_out, ""))
        if self.rows.add in typed:
            self.rows.ask_otherwise(typed)
            for name, field in self.parts[-1].fields().items():
                if field.initial is not None:
                    typed.setdefault(name, str(field.initial))
        elif (
            gone.isascii() and gone.isdigit() and len(gone) < 4 and int(gone) < self.rows.count and self.rows.can_shrink
        ):
            _take_out(typed, int(gone))
            typed[COUNTER] = str(self.rows.count - 1)
        else:
            for part in self.parts:
                part.rows.ask_otherwise(typed)


def _take_out(typed: QueryDict, gone: int) -> None:
    """Leave one part out of what was typed, those after it a place further up."""
    moved: dict[str, str] = {}
    for name in list(typed):
        match = _OF_A_PART.fullmatch(name)
        if match is None or int(match[1]) < gone:
            continue
        value = str(typed[name])
        del typed[name]
        if int(match[1]) > gone:
            moved[f"part_{int(match[1]) - 1}_{match[2]}"] = value
    for name, value in moved.items():
        typed[name] = value
