"""New job: the heading, the measurements of a shape of the family chosen, and how it is made."""

from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any
from uuid import uuid4

from django import forms

import calc
from calc.reading import LONGEST_TEXT as LONGEST_WORDS
from calc.reading import Field, SheetFaults
from calc.sheet import MOST_COPIES, read_thickness
from calc.stock import Stock
from calc.tables.alloys import ALLOYS
from fabjobs.defaults import rates_for, stock_for
from fabjobs.forms.duty import DUTY, duty_fields, duty_of
from fabjobs.forms.families import FAMILIES, USUAL, Family
from fabjobs.forms.lengths import LengthField, ThicknessField
from fabjobs.forms.paths import field_of, label_of
from fabjobs.forms.typed import as_typed
from fabjobs.forms.welding import WELDING, bench_of, welding_fields, welding_of
from fabjobs.joining import JOINS_TOLD, WELD_ALL
from fabjobs.models import Fabrication, ShopSettings
from fabjobs.models.rates import rates_in_force
from fabjobs.planning import in_a_request
from fabjobs.rack import rack_stock, to_be_bought
from fabjobs.shrinkage import learnt_for

USUAL_SHEET = {"mm": (2440.0, 1220.0), "in": (96 * 25.4, 48 * 25.4)}  # [mm]
# What a preview can do without: it shows the metal, not the paperwork.
OF_WHAT_IS_CUT = ("frozen", "guests", "elsewhere")  # what sheets that were cut into leave of a stored sheet
HEADING = ("title", "customer", "machine", "due_day")
FOLDED_AWAY = (
    *("sheet_length", "sheet_width", "price", "kerf", "edge_trim", "seam_gap"),
    *("labour", "effort", "finished_face", "grain"),
)


class NewJobForm(forms.Form):
    """A job with one thing to make, of a family. Lengths without a unit are in the shop's; `sheet` is what calc reads."""

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
    family = forms.ChoiceField(
        choices=[(name, family.label) for name, family in FAMILIES.items()],
        initial=USUAL,
        required=False,
        widget=forms.RadioSelect,
        label="What it is",
    )
    joins = forms.ChoiceField(
        choices=list(JOINS_TOLD.items()),
        initial=WELD_ALL,
        required=False,
        widget=forms.RadioSelect,
        label="Joints between facets",
    )
    finished_face = forms.BooleanField(required=False, label="One face is finished: never turn a blank over")
    grain = forms.BooleanField(required=False, label="The sheet has a grain: keep it along the length")
    effort = forms.ChoiceField(
        choices=[("quick", "quick"), ("normal", "normal")],
        initial="normal",
        help_text="A better layout can be looked for afterwards.",
    )
    form_key = forms.UUIDField(required=False, initial=uuid4, widget=forms.HiddenInput)
    price = forms.CharField(max_length=20, initial=Stock("", 1, 1).price, label="Price of a sheet")
    labour = forms.CharField(max_length=20, label="Labour, an hour")

    def __init__(self, data: Mapping[str, Any] | None = None, *, shop: ShopSettings, seen: bool = True) -> None:
        """seen: whether the person asked for an answer; while they still type, empty fields are no faults."""
        super().__init__(data, label_suffix="")
        self.shop = shop
        self.seen = seen
        self.legible: dict[str, Any] = {}
        self.asked = self._family()
        if not self.asked.has_facets:
            del self.fields["joins"]
        welding = welding_fields(shop, is_let_in=self.asked.is_let_in) if self.asked.is_welded else {}
        duty = duty_fields(shop.display, drains=self.asked.drains) if self.asked.holds else {}
        self.fields |= self.asked.fields() | self._length_fields() | welding | duty
        self.fields["labour"].initial = rates_in_force(shop.currency)["labour"]
        for name, field in self.fields.items():
            field.widget.attrs |= {"aria-describedby": f"fault-{name}", "data-lights": label_of(name)}
            field.error_messages["required"] = "Not given yet."

    @classmethod
    def from_sheet(cls, sheet: Mapping[str, Any], *, shop: ShopSettings) -> dict[str, str]:
        """What would be typed into this form for a stored sheet (its JSON)."""
        return as_typed(sheet, shop.display)

    def _family(self) -> Family:
        name = str(self.data.get("family", USUAL)) if self.is_bound else USUAL
        return FAMILIES.get(name, FAMILIES[USUAL])(self, self.shop.display)

    def _length_fields(self) -> dict[str, forms.CharField]:
        usual, show = self.shop, self.shop.display.exact

        def length(label: str, initial: float) -> LengthField:
            return LengthField(unit=self.shop.display.unit, label=label, initial=show(initial))

        return {
            "thickness": self._thickness(),
            "kerf": length("Saw kerf", usual.kerf),
            "edge_trim": length("Edge trim", usual.edge_trim),
            "seam_gap": length("Seam gap", usual.seam_gap),
            "sheet_length": length("Sheet length", USUAL_SHEET[self.shop.display.unit][0]),
            "sheet_width": length("Sheet width", USUAL_SHEET[self.shop.display.unit][1]),
        }

    def _thickness(self) -> ThicknessField:
        return ThicknessField(unit=self.shop.display.unit, label="Thickness")

    def clean(self) -> None:
        """Keep what could be read: a fault that calc finds takes a field out of `cleaned_data`, not off the drawing."""
        self.legible = dict(self.cleaned_data)
        if any(name in self.errors for name in self.fields if self.fields[name].widget.is_hidden):
            self.add_error(None, "This form did not come back whole. Open the page anew and type it once more.")

    @property
    def choices_to_begin_with(self) -> Iterator[tuple[str, str]]:
        """What stands in the family's fields, before anyone chose."""
        for name in (*self.asked.fields(), "joins"):
            if name in self.fields and self.fields[name].initial is not None:
                yield name, str(self.fields[name].initial)

    @property
    def carried(self) -> Iterator[tuple[str, str]]:
        """What stands in fields of the families that are not chosen: it goes along, so that going back finds it again."""
        if not self.is_bound:
            return
        names = [name for family in FAMILIES.values() for name in family(self, self.shop.display).fields()]
        for name in dict.fromkeys([*names, "joins", *WELDING, *DUTY]):
            if name not in self.fields and self.data.get(name):
                yield name, str(self.data[name])

    @property
    def making_at_fault(self) -> bool:
        """Whether a fault stands among the fields of sheet, saw and money, which are folded away."""
        return self._is_at_fault(FOLDED_AWAY)

    @property
    def welding_at_fault(self) -> bool:
        """Whether one stands among those of the welding."""
        return self._is_at_fault(WELDING)

    @property
    def duty_at_fault(self) -> bool:
        """Whether one stands among those of what it has to bear."""
        return self._is_at_fault(DUTY)

    def _is_at_fault(self, names: Collection[str]) -> bool:
        return self.is_bound and any(name in self.errors for name in names)

    @property
    def welding(self) -> Iterator[forms.BoundField]:
        """The fields of the welding, where anything is welded."""
        yield from (self[name] for name in WELDING if name in self.fields)

    @property
    def duty(self) -> Iterator[forms.BoundField]:
        """The fields of what it has to bear, where anything lies on it."""
        yield from (self[name] for name in DUTY if name in self.fields)

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
                name = self.field_of(fault.path)
                if name in self.fields:
                    self.add_error(name, fault.text)
                else:
                    self.add_error(None, f"{fault.path.rpartition('.')[2].replace('_', ' ')}: {fault.text}")
            return None

    def repeats(self, stored: Mapping[str, Any], *, but_for: Collection[str] = OF_WHAT_IS_CUT) -> bool:
        """Whether what is typed says the same as a stored sheet (its JSON), some of its keys aside."""
        was = calc.read_sheet(stored).as_json()  # an older one lacks keys that have a default now
        try:
            typed = calc.read_sheet(self.sheet).as_json()
        except SheetFaults:
            return False
        for sheet in (was, typed):  # what is on the rack changes by itself
            sheet["stock"] = to_be_bought(sheet["stock"])
            sheet["making"]["effort"] = in_a_request(sheet["making"]["effort"])
        return all(typed[key] == was[key] for key in typed if key not in but_for)

    def _drawn_on(self, sizes: list[dict[str, Any]], fabrication: Fabrication | None = None) -> list[dict[str, Any]]:
        """The sizes that are bought, then what the rack has of the metal."""
        alloy, thickness = self.cleaned_data["alloy"], self.cleaned_data["thickness"]
        return [*sizes, *rack_stock(sizes, alloy, read_thickness(Field(thickness), alloy), fabrication)]

    @property
    def sheet(self) -> dict[str, Any]:
        """The job sheet of what was typed, as far as it could be read."""
        given = self.cleaned_data
        typed = {"length": given["sheet_length"], "width": given["sheet_width"], "price": given["price"]}
        making = self.shop.reading | self.making
        return {
            "title": given.get("title", ""),
            "customer": given.get("customer", ""),
            "machine": given.get("machine", ""),
            "quantity": given["quantity"],
            "material": {name: given[name] for name in ("alloy", "thickness", "finished_face", "grain")},
            "shape": self.asked.shape(given),
            "making": making | learnt_for(given, making),
            "stock": self._drawn_on(stock_for(given["alloy"], given["thickness"], typed)),
            "rates": rates_for(self.shop, given["labour"]),
            **self.bench,
            **self.borne,
        }

    @property
    def making(self) -> dict[str, Any]:
        """What the form says of the making; joints between facets only where a family has them."""
        given = self.cleaned_data
        joins = {"joins": given["joins"] or WELD_ALL} if "joins" in given else {}
        welding = welding_of(given, self.shop) if self.asked.is_welded else {}
        return {name: given[name] for name in ("kerf", "edge_trim", "seam_gap", "effort")} | joins | welding

    @property
    def bench(self) -> dict[str, Any]:
        """What it is let into, as the sheet has it; nothing where that isn't asked."""
        return {"bench": bench_of(self.cleaned_data)} if self.asked.is_let_in else {}

    @property
    def borne(self) -> dict[str, Any]:
        """What it has to bear, as the sheet has it; nothing where that isn't asked."""
        return {"duty": duty_of(self.cleaned_data)} if self.asked.holds else {}

    def field_of(self, path: str) -> str | None:
        """The field for a path of the sheet; None where no one field is to blame."""
        shape = "sheet.shape."
        return self.asked.field_of(path.removeprefix(shape)) if path.startswith(shape) else field_of(path)

    @property
    def given(self) -> dict[str, Any]:
        """What was typed, as far as it can be read; what calc finds wrong with it included."""
        return self.legible if self.is_bound and self.errors is not None else {}
