"""New job: the heading, the measurements of a tray, and how it is made."""

from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any
from uuid import uuid4

from django import forms
from django.forms import BoundField

import calc
from calc.reading import LONGEST_TEXT as LONGEST_WORDS
from calc.reading import SheetFaults
from calc.sheet import MOST_COPIES, Stock
from calc.tables.alloys import ALLOYS
from calc.units import LONGEST_TEXT
from fabjobs.defaults import rates_for, stock_for
from fabjobs.forms.falls import FallField
from fabjobs.forms.lengths import LengthField, ThicknessField
from fabjobs.forms.paths import field_of, label_of
from fabjobs.forms.typed import as_typed
from fabjobs.models import ShopSettings
from fabjobs.models.rates import rates_in_force

LEAST_CORNERS, MOST_CORNERS = 3, 24
USUAL_SHEET = {"mm": (2440.0, 1220.0), "in": (96 * 25.4, 48 * 25.4)}  # [mm]
CORNERS, SIDES = "corners", "sides"
# What a preview can do without: it shows the metal, not the paperwork.
HEADING = ("title", "customer", "machine", "due_day")
TAPE = ("side_0", "side_1", "side_2", "side_3", "diagonal_0", "diagonal_1")
FOLDED_AWAY = (
    *("sheet_length", "sheet_width", "price", "kerf", "edge_trim", "seam_gap"),
    *("labour", "effort", "finished_face", "grain"),
)


class NewJobForm(forms.Form):
    """A job with one fall tray. Lengths without a unit are in the shop's; `sheet` is what calc reads."""

    title = forms.CharField(max_length=LONGEST_WORDS, label="Title")
    customer = forms.CharField(max_length=LONGEST_WORDS, required=False)
    machine = forms.CharField(max_length=LONGEST_WORDS, required=False)
    due_day = forms.DateField(required=False, label="Due", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    quantity = forms.IntegerField(
        min_value=1,
        max_value=MOST_COPIES,
        initial=1,
        label="How many",
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), f"Must be a whole number from 1 to {MOST_COPIES}."
        ),
    )
    alloy = forms.ChoiceField(choices=[(name, name) for name in ALLOYS], initial="5052-H32")
    rim_by = forms.ChoiceField(
        choices=[(CORNERS, "corners"), (SIDES, "four sides and both diagonals")],
        initial=CORNERS,
        widget=forms.RadioSelect,
        label="Rim measured by",
    )
    corners = forms.IntegerField(min_value=LEAST_CORNERS, max_value=MOST_CORNERS, initial=4, widget=forms.HiddenInput)
    wanted_fall = FallField(
        required=False, max_length=40, label="Wanted fall, 1 in", widget=forms.TextInput({"size": "5"})
    )
    finished_face = forms.BooleanField(required=False, label="One face is finished: never turn a blank over")
    grain = forms.BooleanField(required=False, label="The sheet has a grain: keep it along the length")
    effort = forms.ChoiceField(
        choices=[("quick", "quick"), ("normal", "normal"), ("long", "long, up to half a minute")], initial="normal"
    )
    form_key = forms.UUIDField(required=False, initial=uuid4, widget=forms.HiddenInput)
    price = forms.CharField(max_length=20, initial=Stock("", 1, 1).price, label="Price of a sheet")
    labour = forms.CharField(max_length=20, label="Labour, an hour")

    def __init__(self, data: Mapping[str, Any] | None = None, *, shop: ShopSettings, seen: bool = True) -> None:
        """seen: whether the person asked for an answer; while they still type, empty fields are no faults."""
        super().__init__(data, label_suffix="")
        self.shop = shop
        self.seen = seen
        self.corner_count = self._count_corners()
        self.fields |= self._length_fields()
        self.fields["labour"].initial = rates_in_force(shop.currency)["labour"]
        for name, field in self.fields.items():
            field.widget.attrs |= {"aria-describedby": f"fault-{name}", "data-lights": label_of(name)}
            field.error_messages["required"] = "Not given yet."

    @classmethod
    def from_sheet(cls, sheet: Mapping[str, Any], *, shop: ShopSettings) -> dict[str, str]:
        """What would be typed into this form for a stored sheet (its JSON)."""
        return as_typed(sheet, shop.display)

    def _count_corners(self) -> int:
        typed = str(self.data.get("corners", "4")) if self.is_bound else "4"
        return min(max(int(typed), LEAST_CORNERS), MOST_CORNERS) if typed.isascii() and typed.isdigit() else 4

    def _length_fields(self) -> dict[str, forms.CharField]:
        by_corners = not self.by_sides
        usual, show = self.shop, self.shop.display.exact

        def length(label: str, *, required: bool = True, initial: float | None = None) -> LengthField:
            text = None if initial is None else show(initial)
            return LengthField(unit=self.shop.display.unit, label=label, required=required, initial=text)

        def measured(label: str, *, used: bool) -> forms.CharField:
            """A length of the way of measuring that is in use; what stands in the other way is only kept."""
            return length(label) if used else forms.CharField(label=label, max_length=LONGEST_TEXT, required=False)

        fields: dict[str, forms.CharField] = {}
        for corner in range(self.corner_count):
            for axis in "xy":
                fields[f"corner_{corner}_{axis}"] = measured(f"Corner {corner + 1}, {axis}", used=by_corners)
        for side in range(4):
            fields[f"side_{side}"] = measured(f"Side {side + 1}", used=not by_corners)
        fields["diagonal_0"] = measured("Diagonal 1 to 3", used=not by_corners)
        fields["diagonal_1"] = measured("Diagonal 2 to 4", used=not by_corners)
        fields |= {"low_x": length("Low point, x"), "low_y": length("Low point, y"), "depth": length("Depth")}
        fields |= {"bore": length("Outlet bore", required=False), "thickness": self._thickness()}
        fields["kerf"] = length("Saw kerf", initial=usual.kerf)
        fields["edge_trim"] = length("Edge trim", initial=usual.edge_trim)
        fields["seam_gap"] = length("Seam gap", initial=usual.seam_gap)
        fields["sheet_length"] = length("Sheet length", initial=USUAL_SHEET[self.shop.display.unit][0])
        fields["sheet_width"] = length("Sheet width", initial=USUAL_SHEET[self.shop.display.unit][1])
        return fields

    def _thickness(self) -> ThicknessField:
        return ThicknessField(unit=self.shop.display.unit, label="Thickness")

    def clean(self) -> None:
        """Keep what could be read: a fault that calc finds takes a field out of `cleaned_data`, not off the drawing."""
        self.legible = dict(self.cleaned_data)
        if any(name in self.errors for name in self.fields if self.fields[name].widget.is_hidden):
            self.add_error(None, "This form did not come back whole. Open the page anew and type it once more.")

    @property
    def corner_rows(self) -> Iterator[tuple[int, BoundField, BoundField]]:
        """The corners' fields, a row each, numbered from 1 as they are on the drawing."""
        for corner in range(self.corner_count):
            yield corner + 1, self[f"corner_{corner}_x"], self[f"corner_{corner}_y"]

    @property
    def can_grow(self) -> bool:
        return self.corner_count < MOST_CORNERS

    @property
    def can_shrink(self) -> bool:
        return self.corner_count > LEAST_CORNERS

    @property
    def tape_fields(self) -> Iterator[BoundField]:
        """The four sides and both diagonals."""
        yield from (self[name] for name in TAPE)

    @property
    def making_at_fault(self) -> bool:
        """Whether a fault stands among the fields that are folded away."""
        return self.is_bound and any(name in self.errors for name in FOLDED_AWAY)

    @property
    def missing(self) -> list[str]:
        """The labels of what a picture still needs."""
        errors = self.errors.as_data()
        return [
            str(self.fields[name].label or name)
            for name in self.fields
            if name not in HEADING and any(error.code == "required" for error in errors.get(name, []))
        ]

    def plan(self, compute: Callable[[Mapping[str, Any]], calc.Plan], *, heading: bool = True) -> calc.Plan | None:
        """The plan of what was typed, or None with every fault beside its field. heading: False does without one."""
        if any(heading or name not in HEADING for name in self.errors):
            return None
        try:
            return compute(self.sheet)
        except SheetFaults as error:
            for fault in error.faults:
                name = field_of(fault.path)
                if name in self.fields:
                    self.add_error(name, fault.text)
                else:
                    self.add_error(None, f"{fault.path.rpartition('.')[2].replace('_', ' ')}: {fault.text}")
            return None

    def repeats(self, stored: Mapping[str, Any], *, but_for: Collection[str] = ("frozen",)) -> bool:
        """Whether what is typed says the same as a stored sheet (its JSON), some of its keys aside."""
        was = calc.read_sheet(stored).as_json()  # an older one lacks keys that have a default now
        try:
            typed = calc.read_sheet(self.sheet).as_json()
        except SheetFaults:
            return False
        return all(typed[key] == was[key] for key in typed if key not in but_for)

    @property
    def sheet(self) -> dict[str, Any]:
        """The job sheet of what was typed, as far as it could be read."""
        given = self.cleaned_data
        typed = {"length": given["sheet_length"], "width": given["sheet_width"], "price": given["price"]}
        return {
            "title": given.get("title", ""),
            "customer": given.get("customer", ""),
            "machine": given.get("machine", ""),
            "quantity": given["quantity"],
            "material": {name: given[name] for name in ("alloy", "thickness", "finished_face", "grain")},
            "shape": self._shape(given),
            "making": {name: given[name] for name in ("kerf", "edge_trim", "seam_gap", "effort")} | self.shop.reading,
            "stock": stock_for(given["alloy"], given["thickness"], typed),
            "rates": rates_for(self.shop, given["labour"]),
        }

    def _shape(self, given: dict[str, Any]) -> dict[str, Any]:
        measured = self.measured
        shape = {"family": "fall-tray", **{name: measured[name] for name in ("rim", "low_point", "depth")}}
        return shape | ({"outlet": {"bore": given["bore"]}} if given["bore"] else {})

    @property
    def by_sides(self) -> bool:
        return self.is_bound and self.data.get("rim_by") == SIDES

    @property
    def measured(self) -> dict[str, Any]:
        """The measurements as a job sheet holds them; None where one can't be read or is not there yet."""
        given = self.legible if self.is_bound and self.errors is not None else {}

        def read(*names: str) -> list[str | None]:
            return [given.get(name) or None for name in names]

        tape = {"sides": read(*TAPE[:4]), "diagonals": read(*TAPE[4:])}
        corners = [read(f"corner_{corner}_x", f"corner_{corner}_y") for corner in range(self.corner_count)]
        (depth, bore) = read("depth", "bore")
        rim = tape if self.by_sides else corners
        return {"rim": rim, "low_point": read("low_x", "low_y"), "depth": depth, "bore": bore}
