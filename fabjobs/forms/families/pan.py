"""The pan: length, width and height outside, the radius of its folds, a fall, returns along the tops."""

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BoundField

from calc import drawing
from fabjobs import planning
from fabjobs.forms.families.family import Family, Given, read, unless_usual

NEEDED = {"length": "Length", "width": "Width", "height": "Height"}
WANTED = {"inside_radius": "Inside radius", "fall": "Fall", "return_width": "Return width"}
HINTS = {
    "inside_radius": "Empty: the metal's usual.",
    "fall": "Over the length. Empty: none.",
    "return_width": "Empty: none.",
}


class Pan(Family):
    """A pan folded up from one sheet. Its fields are named as the sheet's shape names them."""

    name, label, template = "pan", "pan", "new_job/families/_pan.html"
    keys = frozenset({"family", *NEEDED, *WANTED})
    has_facets = False
    is_let_in = drains = False

    def fields(self) -> dict[str, forms.Field]:
        needed: dict[str, forms.Field] = {name: self.length(label) for name, label in NEEDED.items()}
        return needed | {name: self.length(label, required=False, hint=HINTS[name]) for name, label in WANTED.items()}

    def shape(self, given: Given) -> dict[str, Any]:
        sizes = dict(zip(NEEDED, read(given, *NEEDED), strict=True))
        wanted = zip(WANTED, read(given, *WANTED), strict=True)
        return {"family": self.name, **sizes, **{name: size for name, size in wanted if size}}

    @classmethod
    def lengths(cls, shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:
        return {
            **{name: shape[name] for name in NEEDED},
            "inside_radius": unless_usual(shape["inside_radius"], usual_radius),
            "fall": shape.get("fall") or None,
            "return_width": shape.get("return_width"),
        }

    @classmethod
    def choices(cls, shape: Mapping[str, Any]) -> dict[str, str]:  # noqa: ARG003  every size is a length
        return {}

    def field_of(self, path: str) -> str | None:
        return path if path in self.keys else None

    def picture(self, given: Given, width: float) -> str:
        sizes = {name: planning.length(given.get(name)) for name in (*NEEDED, *WANTED)}
        sizes["inside_radius"] = sizes["inside_radius"] or planning.usual_radius(
            given.get("alloy"), given.get("thickness")
        )
        return drawing.pan_picture(drawing.PanSizes(**sizes), self.display, width=width)

    # For its template

    @property
    def sizes(self) -> Iterator[BoundField]:
        """Its fields; what one that stays empty means stands beside it."""
        yield from (self.form[name] for name in (*NEEDED, *WANTED))
