"""What was used: sheets, offcuts, spoiled blanks, things bought in. Each form is sent with a key of its own."""

import uuid
from collections.abc import Mapping, Sequence
from typing import Any, Self

from django import forms

from calc.stock import LARGEST_SHEET
from fabjobs.forms.lengths import MillimetreField
from fabjobs.forms.money import MoneyField
from fabjobs.forms.words import WordsField
from fabjobs.models import Part, ShopSettings
from fabjobs.models.logged import LONGEST_NOTE
from fabjobs.whole_numbers import LARGEST

MOST = 1000


class LineForm(forms.Form):
    """A line to add; `kept` is what its service takes."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)
    count = forms.IntegerField(min_value=1, max_value=MOST, initial=1, label="How many")
    field_order: Sequence[str] = ()

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        shop: ShopSettings,
        parts: Sequence[Part] = (),
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        self.shop, self.parts = shop, parts
        fresh = {"form_key": uuid.uuid4(), **(initial or {})}
        super().__init__(data, initial=fresh, label_suffix="", auto_id=f"id_{self.prefix_of()}_%s")
        self.fields |= self.own_fields()
        self.order_fields([*self.field_order, "form_key"])
        for field in self.fields.values():
            field.error_messages["required"] = "Not given yet."

    @classmethod
    def prefix_of(cls) -> str:
        return cls.__name__.removesuffix("Form").lower()

    def own_fields(self) -> dict[str, forms.Field]:
        return {}

    def length(self, label: str) -> MillimetreField:
        return MillimetreField(least=1, most=LARGEST_SHEET, unit=self.shop.display.unit, label=label)

    @property
    def kept(self) -> dict[str, Any]:
        return dict(self.cleaned_data)


class SheetForm(LineForm):
    field_order = ("count", "label", "length", "width", "price")

    def own_fields(self) -> dict[str, forms.Field]:
        return {
            "label": WordsField(label="Label", max_length=40),
            "length": self.length("Length"),
            "width": self.length("Width"),
            "price": MoneyField(label="Price each"),
        }


class OffcutForm(LineForm):
    field_order = ("count", "length", "width")

    def own_fields(self) -> dict[str, forms.Field]:
        return {"length": self.length("Length"), "width": self.length("Width")}

    @property
    def kept(self) -> dict[str, Any]:
        return {**self.cleaned_data, "area": self.cleaned_data["length"] * self.cleaned_data["width"]}


class SpoiledForm(LineForm):
    field_order = ("count", "blank", "why")

    def own_fields(self) -> dict[str, forms.Field]:
        names = [(part.blank, f"Blank {part.blank}") for part in self.parts]
        return {
            "blank": forms.ChoiceField(choices=names, label="Which blank"),
            "why": WordsField(label="Why", max_length=LONGEST_NOTE),
        }

    @property
    def kept(self) -> dict[str, Any]:
        given = dict(self.cleaned_data)
        name = given.pop("blank")
        return {**given, "part": next(part for part in self.parts if part.blank == name)}


class BoughtForm(LineForm):
    field_order = ("count", "what", "price")

    def own_fields(self) -> dict[str, forms.Field]:
        return {
            "what": WordsField(label="What", max_length=120),
            "price": MoneyField(label="Price each"),
        }


class StrikeForm(forms.Form):
    """Why a line is wrong."""

    why = WordsField(
        label="Why it is wrong",
        max_length=LONGEST_NOTE,
        error_messages={"required": "Say why the line is struck out."},
    )


class AsPlannedForm(forms.Form):
    """One tap: as planned in the revision that was on the screen."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)
    revision = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)

    @classmethod
    def fresh(cls, revision: int) -> Self:
        """revision: the number of the one that the page shows."""
        return cls(initial={"form_key": uuid.uuid4(), "revision": revision}, auto_id=False)


class PutAwayForm(AsPlannedForm):
    """The planned offcuts put on the rack, where they stand there."""

    place = WordsField(label="Where it stands", max_length=80, required=False)

    @classmethod
    def fresh(cls, revision: int) -> Self:
        initial = {"form_key": uuid.uuid4(), "revision": revision}
        return cls(initial=initial, auto_id="id_put_away_%s", label_suffix="")

    @property
    def said(self) -> str:
        """What is wrong with what was typed, in words."""
        return " ".join(str(text) for text in self.errors.get("place", []))
