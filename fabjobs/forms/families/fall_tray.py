"""The fall tray: its rim by corners or by tape, its low point and depth, a sump, the outlet, how the rim ends."""

from collections.abc import Mapping
from typing import Any

from django import forms

from calc import drawing
from fabjobs import planning
from fabjobs.forms.families.family import Given, read
from fabjobs.forms.families.tray import Tray

_PLAIN = {
    "low_point": "low_x",
    "low_point[0]": "low_x",
    "low_point[1]": "low_y",
    "depth": "depth",
    "sump": "sump_length",
    "sump.length": "sump_length",
    "sump.width": "sump_width",
}
SUMP = {"length": "sump_length", "width": "sump_width"}  # the key in the sheet, and its field


class FallTray(Tray):
    """A tray all of which falls to one low point."""

    name, label, template = "fall-tray", "fall tray", "new_job/families/_fall_tray.html"
    keys = frozenset({"family", "rim", "low_point", "depth", "outlet", "rim_finish", "sump", "keep_clear"})

    def fields(self) -> dict[str, forms.Field]:
        fields = self.rim.fields()
        fields |= {"low_x": self.length("Low point, x"), "low_y": self.length("Low point, y")}
        fields["depth"] = self.length("Depth")
        has_sump = any(self.typed(name).strip() for name in SUMP.values())
        for key, name in SUMP.items():  # one of both alone is none
            fields[name] = self.length(f"Sump {key}", required=has_sump)
        return fields | self.common_fields()

    def shape(self, given: Given) -> dict[str, Any]:
        (depth,) = read(given, "depth")
        shape = self.common_shape(given) | {"low_point": read(given, "low_x", "low_y"), "depth": depth}
        sump = dict(zip(SUMP, read(given, *SUMP.values()), strict=True))
        return shape | ({"sump": sump} if any(sump.values()) else {})

    @classmethod
    def lengths(cls, shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:
        sump = shape.get("sump") or {}
        return {
            **cls.common_lengths(shape, usual_radius),
            "low_x": shape["low_point"][0],
            "low_y": shape["low_point"][1],
            "depth": shape["depth"],
            **{name: sump.get(key) for key, name in SUMP.items()},
        }

    def field_of(self, path: str) -> str | None:
        return _PLAIN.get(path) or super().field_of(path)

    def falling(self, given: Given) -> dict[str, Any]:
        """The depth is what is asked for: any will do to find another, as falls are in proportion to it."""
        shape = super().falling(given)
        return {**shape, "depth": planning.ANY_DEPTH}

    def _sump(self, given: Given) -> tuple[float | None, float | None] | None:
        length, width = (planning.length(size) for size in read(given, *SUMP.values()))
        return None if length is None and width is None else (length, width)

    def picture(self, given: Given, width: float) -> str:
        """The rim as far as it is measured; an example to begin with."""
        return drawing.rim_picture(
            self.rim.drawn(given),
            planning.point(read(given, "low_x", "low_y")),
            self.display,
            entry=self.rim.entry,
            depth=planning.length(given.get("depth")),
            bore=planning.length(given.get("bore")),
            sump=self._sump(given),
            keep_clear=self.clear.drawn(given),
            width=width,
        )
