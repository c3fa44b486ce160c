"""The rack: what is looked for, what was bought, and what may be said of a piece that is there."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Any

from django import forms

from calc.reading import Field
from calc.sheet import Material, read_thickness
from calc.tables.alloys import ALLOYS
from calc.tables.label_sheets import LABEL_SHEETS
from fabjobs.forms.lengths import MillimetreField, ThicknessField
from fabjobs.forms.metal import MOST, LineForm
from fabjobs.forms.money import MoneyField
from fabjobs.forms.words import WordsField
from fabjobs.models import ShopSettings, StockItem
from fabjobs.models.logged import LONGEST_NOTE
from fabjobs.pieces import Wanted
from fabjobs.whole_numbers import whole_number

LONGEST_SEARCH = 120
LONGEST_PLACE = 80
USUAL_ALLOY = "5052-H32"


class RackSearchForm(forms.Form):
    """What is looked for on the rack; empty it is all that is there."""

    q = forms.CharField(
        required=False,
        label="Find a number, metal, place or job",
        widget=forms.TextInput({"type": "search", "maxlength": LONGEST_SEARCH, "autocomplete": "off"}),
    )
    form = forms.ChoiceField(
        required=False, label="Sheets or offcuts", choices=[("", "both"), ("sheet", "sheets"), ("offcut", "offcuts")]
    )
    there = forms.ChoiceField(
        required=False,
        label="Show",
        choices=[("", "what is on the rack"), ("free", "what is free"), ("ever", "all that ever was")],
    )

    def __init__(self, data: Mapping[str, Any], *, shop: ShopSettings, metals: Sequence[str]) -> None:
        super().__init__(data, label_suffix="", auto_id="id_find_%s")
        unit = shop.display.unit

        def side(label: str) -> MillimetreField:
            return MillimetreField(least=0.01, most=1e5, unit=unit, label=label, required=False)

        choices = [("", "any"), *((name, name) for name in metals)]
        self.fields |= {
            "metal": forms.ChoiceField(required=False, label="Metal", choices=choices),
            "thickness": ThicknessField(unit=unit, label="Thickness", required=False),
            "length": side("Over all, length at least"),
            "width": side("and width"),
        }
        self.order_fields(["q", "metal", "thickness", "length", "width", "form", "there"])

    def clean_thickness(self) -> float | None:
        return read_metal(self.cleaned_data["thickness"], self.cleaned_data.get("metal"))

    @property
    def wanted(self) -> Wanted:
        """What is looked for, as far as it can be read."""
        self.is_valid()
        given = self.cleaned_data
        return Wanted(
            words=given.get("q", "")[:LONGEST_SEARCH],
            alloy=given.get("metal", ""),
            there=given.get("there") or "hand",
            **{name: given.get(name) for name in ("thickness", "length", "width")},
            form=given.get("form", ""),
        )

    @property
    def narrows(self) -> bool:
        """Whether more than words is asked for."""
        return any(self.data.get(name) for name in self.fields if name != "q")


def read_metal(thickness: str, alloy: str | None) -> float | None:
    """A thickness [mm] of what stands in a `ThicknessField`; raises `ValidationError` in calc's words."""
    if not thickness:
        return None
    item = Field(thickness)
    mm = read_thickness(item, alloy or None)
    if mm is None:
        gauge = "" if alloy else " (of a gauge, choose the metal first)"
        raise forms.ValidationError(item.faults[0].text + gauge)
    return mm


class StockForm(LineForm):
    """Pieces that come to the rack, of a metal: `size` tells the length, width and area of one."""

    def own_fields(self) -> dict[str, forms.Field]:
        return {
            "alloy": forms.ChoiceField(choices=[(name, name) for name in ALLOYS], initial=USUAL_ALLOY, label="Metal"),
            "thickness": ThicknessField(unit=self.shop.display.unit, label="Thickness"),
            "price": MoneyField(label="Price each"),
            "place": WordsField(label="Place", max_length=LONGEST_PLACE, required=False),
        }

    def clean(self) -> None:
        given = self.cleaned_data
        if "alloy" in given and "thickness" in given:
            try:
                given["thickness"] = read_metal(given["thickness"], given["alloy"])
            except forms.ValidationError as error:
                self.add_error("thickness", error)

    def weighed(self, area: float) -> dict[str, float]:
        """Area [mm2] and mass [kg] of one."""
        given = self.cleaned_data
        return {"area": area, "mass": Material(given["alloy"], given["thickness"]).mass(area)}


class StockBoughtForm(StockForm):
    field_order = ("count", "alloy", "thickness", "label", "length", "width", "price", "place")

    def own_fields(self) -> dict[str, forms.Field]:
        return super().own_fields() | {
            "label": WordsField(label="Label", max_length=40),
            "length": self.length("Length"),
            "width": self.length("Width"),
        }

    @property
    def kept(self) -> dict[str, Any]:
        given = self.cleaned_data
        return {**given, "mass": self.weighed(given["length"] * given["width"])["mass"]}


class ReasonForm(forms.Form):
    """Something said of a piece, with the reason; its key makes it one line."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)
    reason = WordsField(label="Why", max_length=LONGEST_NOTE)

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        name = type(self).__name__.removesuffix("Form").lower()
        super().__init__(data, initial={"form_key": uuid.uuid4()}, label_suffix="", auto_id=f"id_{name}_%s")
        for field in self.fields.values():
            field.error_messages["required"] = "Not given yet."
        self.fields["reason"].error_messages["required"] = "Say why."


class CountForm(ReasonForm):
    counted = forms.IntegerField(min_value=0, max_value=MOST, label="How many there are")
    field_order = ("counted", "reason", "form_key")


class ScrapForm(ReasonForm):
    count = forms.IntegerField(min_value=1, max_value=MOST, initial=1, label="How many")
    field_order = ("count", "reason", "form_key")


class PlaceForm(forms.Form):
    """Where a piece stands now; `was` is where it stood when the page was read."""

    place = WordsField(label="Place", max_length=LONGEST_PLACE, required=False)
    was = forms.CharField(max_length=LONGEST_PLACE, required=False, widget=forms.HiddenInput)

    def __init__(self, data: Mapping[str, Any] | None = None, *, item: StockItem) -> None:
        initial = {"place": item.place, "was": item.place}
        super().__init__(data, initial=initial, label_suffix="", auto_id="id_place_%s")


class LabelsForm(forms.Form):
    """Which pieces get labels, on what sheet of them, and where the first free one is. No piece: the offcuts of today."""

    sheet = forms.ChoiceField(choices=[(name, f"{name} labels") for name in LABEL_SHEETS], label="Sheet of labels")
    first = forms.IntegerField(min_value=1, initial=1, label="First free label, along the rows")
    piece = forms.TypedMultipleChoiceField(required=False, coerce=int, widget=forms.MultipleHiddenInput)

    def __init__(self, data: Any = None) -> None:
        super().__init__(data, label_suffix="", auto_id="id_labels_%s")
        numbers = data.getlist("piece") if data is not None else []
        self.fields["piece"].choices = [  # type: ignore[attr-defined]
            (number, number) for number in numbers if whole_number(number) is not None
        ]

    def clean(self) -> None:
        given = self.cleaned_data
        sheet = LABEL_SHEETS.get(given.get("sheet", ""))
        if sheet and given.get("first", 0) > sheet.count:
            self.add_error("first", f"That sheet has {sheet.count} labels: must be 1 to {sheet.count}.")
