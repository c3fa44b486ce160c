"""Where a tray's opening comes in the bench, and how it is cut."""

import uuid
from collections.abc import Mapping
from typing import Any

from django import forms

from calc.aperture import PlaceFault
from fabjobs.aperture import check_place
from fabjobs.as_built import Tray
from fabjobs.forms.lengths import MillimetreField, exactly
from fabjobs.models import ShopSettings
from fabjobs.models.as_built import End

MOST_CLEARANCE, MOST_RADIUS = 20.0, 100.0  # [mm]
BENCH = (0.1, 100.0)  # [mm] thick
FURTHEST = 100_000.0  # [mm] from the bench's end
LENGTHS = {
    "from_end": ("From the bench's end", (0.0, FURTHEST), "Along its edge to that corner of the rim"),
    "from_edge": ("From the bench's edge", (0.0, FURTHEST), "Square to it, to that corner of the rim"),
    "from_edge_next": (
        "The next corner, from the edge",
        (0.0, FURTHEST),
        "The same where that side runs with the edge",
    ),
    "clearance": ("Clearance", (0.0, MOST_CLEARANCE), "All round, between what passes through and the bench"),
    "cutter_radius": (
        "Radius that the cutter leaves",
        (0.0, MOST_RADIUS),
        "In a corner inside; 0 where it is filed sharp",
    ),
    "bench_thickness": ("Thickness of the bench", BENCH, "May be left out"),
}


class ApertureForm(forms.Form):
    """figures [mm]: what it begins with. `kept` is what its service takes."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, tray: Tray, shop: ShopSettings, figures: Mapping[str, Any]
    ) -> None:
        self.tray, self.display = tray, shop.display
        known = {name: exactly(mm, self.display) for name, mm in figures.items() if name in LENGTHS and mm is not None}
        begun = {"form_key": uuid.uuid4(), "corner": figures.get("corner", 1), "end": figures.get("end", End.LEFT)}
        super().__init__(data, initial=begun | known, label_suffix="", auto_id="id_aperture_%s")
        count = len(tray.by.plan.sheet.shape.corners)  # of the rim that was measured
        self.fields["corner"] = forms.TypedChoiceField(
            choices=[(corner, f"{corner}, side {corner}–{corner % count + 1}") for corner in range(1, count + 1)],
            coerce=int,
            label="Corner measured to",
            help_text="The side that begins there lies along the bench's edge",
        )
        self.fields["end"] = forms.ChoiceField(
            choices=End.choices, label="End of the bench, at the", help_text="Of whoever stands at its edge"
        )
        self.fields |= {name: self._length(name) for name in LENGTHS}

    def _length(self, name: str) -> MillimetreField:
        label, (least, most), help_text = LENGTHS[name]
        return MillimetreField(
            least=least,
            most=most,
            unit=self.display.unit,
            taped=True,
            label=label,
            help_text=help_text,
            required=name != "bench_thickness",
            error_messages={"required": "Not given yet."},
        )

    def clean(self) -> None:
        """What can't lie in the bench is a fault of the figure that it hangs on."""
        if self.errors:
            return
        try:
            check_place(self.tray, self.cleaned_data)
        except PlaceFault as fault:
            self.add_error(fault.key if fault.key in self.fields else None, fault.text)

    @property
    def kept(self) -> dict[str, Any]:
        given = dict(self.cleaned_data)
        return {"form_key": given.pop("form_key"), "figures": given}
