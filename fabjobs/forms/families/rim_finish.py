"""How a tray's rim ends: bare, a lap on the bench, an upstand; the same fields for every family that has a rim."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField

from fabjobs.forms.families.family import Family, Given, read, unless_usual

BARE, LAP, UPSTAND = "bare", "lap", "upstand"
SIZES = {LAP: ("width", "lap_width"), UPSTAND: ("height", "upstand_height")}  # the key in the sheet, and its field
FINISHES = [(BARE, "bare, welded in"), (LAP, "lap on the bench"), (UPSTAND, "upstand")]


class RimFinish:
    """The part of a family's form that asks how its rim ends."""

    def __init__(self, family: Family) -> None:
        self.family = family

    def fields(self) -> dict[str, forms.Field]:
        kind, length = self.family.typed("rim_finish"), self.family.length
        return {
            "rim_finish": forms.ChoiceField(
                choices=FINISHES, initial=BARE, required=False, widget=forms.RadioSelect, label="Rim finish"
            ),
            "lap_width": length("Lap width", used=kind == LAP),
            "upstand_height": length("Upstand height", used=kind == UPSTAND),
            "rim_radius": length("Inside radius", required=False, used=kind in SIZES, hint="Empty: the metal's usual."),
        }

    @property
    def sizes(self) -> Iterator[tuple[str, BoundField]]:
        """The size of each kind of strip, by the kind."""
        form = self.family.form
        yield from ((kind, form[field]) for kind, (_, field) in SIZES.items())

    def finish(self, given: Given) -> dict[str, Any]:
        """The `rim_finish` of a job sheet."""
        kind = given.get("rim_finish") or BARE
        if kind not in SIZES:
            return {"kind": BARE}
        key, field = SIZES[kind]
        (size, radius) = read(given, field, "rim_radius")
        return {"kind": kind, key: size} | ({"inside_radius": radius} if radius else {})

    @staticmethod
    def lengths(shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:
        finish = shape.get("rim_finish") or {"kind": BARE}
        if finish["kind"] not in SIZES:
            return {}
        key, field = SIZES[finish["kind"]]
        return {field: finish[key], "rim_radius": unless_usual(finish["inside_radius"], usual_radius)}

    @staticmethod
    def choices(shape: Mapping[str, Any]) -> dict[str, str]:
        return {"rim_finish": (shape.get("rim_finish") or {"kind": BARE})["kind"]}

    @staticmethod
    def field_of(path: str) -> str | None:
        """The field for a path within the shape.

        >>> RimFinish.field_of("rim_finish.width"), RimFinish.field_of("depth")
        ('lap_width', None)
        """
        within = {f"rim_finish.{key}": field for key, field in SIZES.values()}
        return ({"rim_finish": "rim_finish", "rim_finish.inside_radius": "rim_radius"} | within).get(path)
