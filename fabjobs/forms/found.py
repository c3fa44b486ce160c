"""An offcut that stands there: a rectangle, or its sides in turn and the diagonals from corner 1."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField

from calc.balance import laid_along, laid_square, size_of
from calc.reading import Field
from calc.records import Outline
from calc.stock import LARGEST_SHEET
from calc.taped import SHORTEST, read_taped
from fabjobs.forms.lengths import LengthField
from fabjobs.forms.rack import StockForm
from fabjobs.forms.words import WordsField
from fabjobs.models import ShopSettings
from fabjobs.models.logged import LONGEST_NOTE

RECTANGLE = 0
SHAPES = {RECTANGLE: "Rectangle", **{count: f"{count} sides" for count in range(3, 9)}}
WHY = "It stood there before the rack was written down"


class FoundForm(StockForm):
    """seen: whether an answer was asked for; while a person still types, an empty field is no fault.

    priced: whether a price is asked for; else it counts as nothing paid.
    """

    sides = forms.TypedChoiceField(
        choices=[(count, count) for count in SHAPES], coerce=int, initial=RECTANGLE, widget=forms.HiddenInput
    )
    field_order = ("count", "alloy", "thickness", "price", "place", "reason", "sides")

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        shop: ShopSettings,
        initial: Mapping[str, Any] | None = None,
        seen: bool = True,
        priced: bool = True,
    ) -> None:
        self.seen, self.priced = seen, priced
        typed = str((data or initial or {}).get("sides", ""))
        self.corners = {str(count): count for count in SHAPES}.get(typed, RECTANGLE)
        self.outline: Outline | None = None
        super().__init__(data, shop=shop, initial=initial)

    def own_fields(self) -> dict[str, forms.Field]:
        fields = super().own_fields()
        fields["price"].initial = "0"
        if not self.priced:
            del fields["price"]
        fields["reason"] = WordsField(label="Why it is counted in", max_length=LONGEST_NOTE, initial=WHY)
        return fields | {
            name: LengthField(unit=self.shop.display.unit, taped=True, label=label)
            for name, label in self._lengths().items()
        }

    def _lengths(self) -> dict[str, str]:
        """The names and labels of what is measured."""
        if not self.corners:
            return {"length": "Length", "width": "Width"}
        turns = [*range(1, self.corners + 1), 1]
        sides = {f"side_{k}": f"Side {k + 1}-{turns[k + 1]}" for k in range(self.corners)}
        return sides | {f"diagonal_{k}": f"Diagonal 1-{k + 3}" for k in range(self.corners - 3)}

    @property
    def shapes(self) -> Iterator[tuple[int, str, bool]]:
        """What may be asked for: how many sides, its name, whether it is what stands there."""
        for count, name in SHAPES.items():
            yield count, name, count == self.corners

    @property
    def measured(self) -> list[BoundField]:
        return [self[name] for name in self._lengths()]

    @property
    def others(self) -> list[BoundField]:
        return [field for field in self.visible_fields() if field.name not in self._lengths()]

    def clean(self) -> None:
        super().clean()
        if all(name in self.cleaned_data for name in self._lengths()):
            self.outline = self._rectangle() if not self.corners else self._taped()

    def _rectangle(self) -> Outline | None:
        read = {}
        for name in ("length", "width"):
            item = Field(self.cleaned_data[name])
            read[name] = item.length(SHORTEST, LARGEST_SHEET)
            for fault in item.faults:
                self.add_error(name, fault.text)
        length, width = read["length"], read["width"]
        if length is None or width is None:
            return None
        return ((0.0, 0.0), (length, 0.0), (length, width), (0.0, width))

    def _taped(self) -> Outline | None:
        given = self.cleaned_data
        item = Field(
            {
                "sides": [given[f"side_{k}"] for k in range(self.corners)],
                "diagonals": [given[f"diagonal_{k}"] for k in range(self.corners - 3)],
            }
        )
        outline = read_taped(item)
        for fault in item.faults:
            kind, _, place = fault.path.removeprefix("sheet").removeprefix(".").rstrip("]").partition("[")
            name = f"{kind.removesuffix('s')}_{place}"
            self.add_error(name if name in self.fields else None, fault.text)
        return outline

    @property
    def laid(self) -> Outline | None:
        """The outline as it is kept and drawn, lying along its length; None while it can't be read."""
        if self.is_bound:
            self.is_valid()
        if self.outline is None:
            return None
        return laid_along(self.outline)

    @property
    def kept(self) -> dict[str, Any]:
        given = self.cleaned_data
        if self.outline is None:
            raise ValueError("an outline at fault is not kept")
        length, width, area = size_of(self.outline)
        plain = {name: given[name] for name in ("form_key", "count", "alloy", "thickness", "place", "reason")}
        plain["price"] = given.get("price", Decimal(0))
        outline = laid_square(self.outline)
        if outline is None:
            area = length * width
        return {**plain, "length": length, "width": width, "outline": outline, **self.weighed(area)}
