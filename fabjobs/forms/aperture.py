"""Where a tray's opening comes in the bench, and how it is cut."""

import uuid
from collections.abc import Mapping
from typing import Any

from django import forms

from fabjobs.forms.lengths import MillimetreField
from fabjobs.forms.typed import exactly
from fabjobs.models import ShopSettings

MOST_CLEARANCE, MOST_RADIUS = 20.0, 100.0  # [mm]
BENCH = (0.1, 100.0)  # [mm] thick
FURTHEST = 100_000.0  # [mm] from the bench's end
LENGTHS = ("clearance", "cutter_radius", "bench_thickness", "from_end", "from_edge", "from_edge_next")


class ApertureForm(forms.Form):
    """figures [mm]: what it begins with. `kept` is what its service takes."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        corners: int,
        shop: ShopSettings,
        figures: Mapping[str, Any],
    ) -> None:
        self.display = shop.display
        known = {name: exactly(mm, self.display) for name, mm in figures.items() if name in LENGTHS and mm is not None}
        begun = {"form_key": uuid.uuid4(), "corner": figures.get("corner", 1), **known}
        super().__init__(data, initial=begun, label_suffix="", auto_id="id_aperture_%s")
        self.fields |= {
            "corner": forms.TypedChoiceField(
                choices=[(corner, f"{corner} (side {corner}–{corner % corners + 1})") for corner in range(1, corners + 1)],
                coerce=int,
                label="Corner measured to",
                help_text="Where the side begins that lies along the bench's edge",
            ),
            "from_end": self._length("From the bench's end", (-FURTHEST, FURTHEST), "To that corner, along the edge"),
            "from_edge": self._length("From the bench's edge", (-FURTHEST, FURTHEST), "To that corner, square"),
            "from_edge_next": self._length(
                "The next corner from the edge", (-FURTHEST, FURTHEST), "The same where the side runs with the edge"
            ),
            "clearance": self._length("Clearance", (0.0, MOST_CLEARANCE), "All round between tray and bench"),
            "cutter_radius": self._length(
                "Radius of the cutter", (0.0, MOST_RADIUS), "The smallest inside corner that it leaves"
            ),
            "bench_thickness": self._length("Thickness of the bench", BENCH, "May be left out", required=False),
        }
        self.order_fields(["corner", "from_end", "from_edge", "from_edge_next", *LENGTHS])

    def _length(self, label: str, bounds: tuple[float, float], help_text: str, *, required: bool = True) -> MillimetreField:
        least, most = bounds
        return MillimetreField(
            least=least,
            most=most,
            unit=self.display.unit,
            label=label,
            help_text=help_text,
            required=required,
            error_messages={"required": "Not given yet."},
        )

    @property
    def kept(self) -> dict[str, Any]:
        given = dict(self.cleaned_data)
        return {"form_key": given.pop("form_key"), "figures": given}
