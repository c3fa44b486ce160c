"""The valley tray: a rim of four corners, the two ends of its valley with their depths, the outlet, how the rim ends."""

import re
from collections.abc import Mapping
from typing import Any

from django import forms

from calc import drawing
from fabjobs import planning
from fabjobs.forms.families.family import Given, read
from fabjobs.forms.families.rim import FOUR, RimFields, field_in
from fabjobs.forms.families.tray import Tray

ENDS = ("Valley by side 4", "Valley by side 2")
_PATHS = (
    (re.compile(r"valley"), "valley_0_x"),
    (re.compile(r"valley\[(0|1)\](?:\[0\])?"), "valley_{}_x"),
    (re.compile(r"valley\[(0|1)\]\[1\]"), "valley_{}_y"),
    (re.compile(r"valley\[(0|1)\]\[2\]"), "valley_{}_depth"),
)


class ValleyTray(Tray):
    """A tray that falls to a line, and along it to the outlet at its deeper end."""

    name, label, template = "valley-tray", "valley tray", "new_job/families/_valley_tray.html"
    keys = frozenset({"family", "rim", "valley", "outlet", "rim_finish", "keep_clear"})
    depth_words = "depths of"

    def _rim(self) -> RimFields:
        return RimFields(self, most=FOUR)

    def fields(self) -> dict[str, forms.Field]:
        fields = self.rim.fields()
        for end, place in enumerate(ENDS):
            for axis in ("x", "y", "depth"):
                fields[f"valley_{end}_{axis}"] = self.length(f"{place}, {axis}")
        return fields | self.common_fields()

    def shape(self, given: Given) -> dict[str, Any]:
        ends = [read(given, *(f"valley_{end}_{axis}" for axis in ("x", "y", "depth"))) for end in (0, 1)]
        return self.common_shape(given) | {"valley": ends}

    @classmethod
    def lengths(cls, shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:
        ends = {
            f"valley_{end}_{axis}": size
            for end, sizes in enumerate(shape["valley"])
            for axis, size in zip(("x", "y", "depth"), sizes, strict=True)
        }
        return {**cls.common_lengths(shape, usual_radius), **ends}

    def field_of(self, path: str) -> str | None:
        return field_in(_PATHS, path) or super().field_of(path)

    def picture(self, given: Given, width: float) -> str:
        """The rim as far as it is measured; an example to begin with."""
        ends = [read(given, *(f"valley_{end}_{axis}" for axis in ("x", "y", "depth"))) for end in (0, 1)]
        return drawing.rim_picture(
            self.rim.drawn(given),
            None,
            self.display,
            entry=self.rim.entry,
            bore=planning.length(given.get("bore")),
            valley=[(planning.coordinate(x), planning.coordinate(y), planning.length(depth)) for x, y, depth in ends],
            keep_clear=self.clear.drawn(given),
            width=width,
        )
