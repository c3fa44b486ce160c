"""The shop's settings: itself and its saw, its rates, the sheets that it buys.

Each form carries what its sender had before them (`seen`), so that a change made meanwhile is noticed, not overwritten.
"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField

from calc.making import (
    BLADES,
    LEAST_K,
    LEAST_SAWN,
    LEAST_SPEED,
    MOST_ERROR,
    MOST_K,
    MOST_OFFSET,
    MOST_SPEED,
    MOST_TEETH,
    SAWN,
)
from calc.sheet import MOST_RATE, RATE_PLACES, Rates
from calc.stock import LARGEST_SHEET
from calc.tables.alloys import ALLOYS
from calc.tables.minutes import STANDARD
from fabjobs.forms.lengths import MillimetreField, exactly
from fabjobs.forms.money import MoneyField
from fabjobs.forms.set_up import READINGS
from fabjobs.kinds import kind_name
from fabjobs.models import RateBook, SheetPrice, ShopSettings
from fabjobs.models.shop import OWN_K
from fabjobs.stamps import stamp_of

SAW = {"kerf": ("Saw kerf", 10), "edge_trim": ("Edge trim", 200), "seam_gap": ("Seam gap", 5)}  # largest [mm]
GUIDE = {"guide_offset": "Guide offset", "least_clamp": "Least clamping width"}
BLADE = ("blade_diameter", "blade_teeth", "saw_speed")  # given together, or none of them
FOLDER = {"longest_fold": "Longest fold", "largest_blank": "Largest blank for folding"}
ERRORS = {
    "marking_error": ("Marking error, either way", "How far a mark may be out, 19 times in 20."),
    "cutting_error": ("Cutting error, either way", "How far a sawn edge may be off its line, 19 times in 20."),
}
PLAIN_RATES = {
    "labour": "Labour, an hour",
    "filler": "Filler, a kg",
    "gas": "Gas, a litre",
    "outlet_fitting": "Outlet fitting, each",
}


class AddressField(forms.URLField):
    """An address in the shop's own network, where most speak plain http."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(assume_scheme="http", **kwargs)


class ShopForm(forms.ModelForm):  # type: ignore[type-arg]  # Django has no such type when it runs
    """Name, how lengths are read, currency, the saw, the folder, the address on papers."""

    reads = forms.ChoiceField(label="Lengths are read in", choices=list(READINGS.items()))
    seen = forms.CharField(widget=forms.HiddenInput)

    class Meta:
        model = ShopSettings
        fields = (
            "name",
            "currency",
            *SAW,
            *GUIDE,
            *BLADE,
            "blade_speed",
            "bend_method",
            "k_factor",
            *FOLDER,
            "process",
            *ERRORS,
            "timer_hours",
            "paper_address",
        )
        field_classes = {"paper_address": AddressField}
        widgets = {
            "timer_hours": forms.TextInput({"inputmode": "numeric", "autocomplete": "off"}),
        }
        labels = {
            "name": "Name of the shop",
            "currency": "Currency",
            "bend_method": "Bends are worked out by",
            "process": "Seams are welded by",
            "timer_hours": "A timer is asked about after, hours",
            "paper_address": "Address on papers",
        }
        help_texts = {
            "bend_method": "How much flat metal a bend takes: bend a strip of a known length, and keep what comes nearest.",
            "currency": "Three letters, such as EUR or USD.",
            "timer_hours": "One that ran longer was most likely forgotten. Empty: only at the end of the day.",
            "paper_address": "Where this shop's computer is reached, such as http://192.168.1.20:8000. Papers lead back there.",
        }

    field_order = (
        *("name", "reads", "currency", *SAW, *GUIDE, *BLADE, "blade_speed"),
        *("bend_method", "k_factor", *FOLDER, "process", *ERRORS, "timer_hours", "paper_address", "seen"),
    )

    def __init__(self, data: Mapping[str, Any] | None = None, *, shop: ShopSettings) -> None:
        initial = {"reads": f"{shop.unit} {shop.rule}", "seen": stamp_of(shop)}
        initial |= {name: exactly(getattr(shop, name), shop.display) for name in (*SAW, *GUIDE, *FOLDER, *ERRORS)}
        if shop.blade_diameter is not None:
            initial["blade_diameter"] = exactly(shop.blade_diameter, shop.display)
        speeds = {name: getattr(shop, name) for name in ("saw_speed", "blade_speed")}
        initial |= {name: f"{speed:.10g}" for name, speed in speeds.items() if speed is not None}
        super().__init__(data, instance=shop, initial=initial, label_suffix="", auto_id="id_shop_%s")
        for name, (label, most) in SAW.items():
            self.fields[name] = MillimetreField(least=0, most=most, unit=shop.display.unit, label=label)
        for name, label in FOLDER.items():
            self.fields[name] = MillimetreField(least=1, most=LARGEST_SHEET, unit=shop.display.unit, label=label)
        for name, (label, hint) in ERRORS.items():
            self.fields[name] = MillimetreField(
                least=0, most=MOST_ERROR, unit=shop.display.unit, label=label, help_text=hint
            )
        self.fields |= _saw_fields(shop)
        self.fields["k_factor"] = forms.FloatField(
            min_value=LEAST_K,
            max_value=MOST_K,
            required=False,
            label="The shop's own K",
            help_text=f"From {LEAST_K:g} to {MOST_K:g} of the thickness. Wanted where bends go by it.",
            widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
        )
        self.order_fields(self.field_order)

    def clean_currency(self) -> str:
        return str(self.cleaned_data["currency"]).upper()

    def clean_kerf(self) -> float:
        kerf: float = self.cleaned_data["kerf"]
        if kerf < LEAST_SAWN:
            got = self.fields["kerf"].widget.value_from_datadict(self.data, self.files, self.add_prefix("kerf"))
            raise forms.ValidationError(f"must be {SAWN} (got {got})", code="bounds")
        return kerf

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if cleaned.get("bend_method") == OWN_K and cleaned.get("k_factor", "") is None:
            self.add_error("k_factor", "Not given: bends are worked out by it.")
        given = [name for name in BLADE if cleaned.get(name) is not None]
        if 0 < len(given) < len(BLADE) or (cleaned.get("blade_speed") is not None and not given):
            for name in BLADE:
                if name not in given and name not in self.errors:
                    self.add_error(name, "Not given: blade, teeth and speed go together, or leave all of them empty.")
        if "reads" in cleaned:
            self.instance.unit, self.instance.rule = cleaned["reads"].split()
        return cleaned


def _saw_fields(shop: ShopSettings) -> dict[str, forms.Field]:
    """How the saw is guided, and what it is; the latter may be left empty."""
    unit = shop.display.unit
    figure = forms.TextInput({"inputmode": "decimal", "autocomplete": "off"})
    speeds: dict[str, Any] = {"min_value": LEAST_SPEED, "max_value": MOST_SPEED, "required": False, "widget": figure}
    hints = {
        "guide_offset": "From the edge of the saw's base that runs along the guide to the near side of the blade.",
        "least_clamp": "A piece narrower than this can hardly be clamped for a cut.",
    }
    return {
        **{
            name: MillimetreField(least=0, most=MOST_OFFSET, unit=unit, label=label, help_text=hints[name])
            for name, label in GUIDE.items()
        },
        "blade_diameter": MillimetreField(
            least=BLADES[0], most=BLADES[1], unit=unit, label="Diameter of the saw blade", required=False
        ),
        "blade_teeth": forms.IntegerField(
            min_value=2, max_value=MOST_TEETH, required=False, label="Teeth of the blade", widget=figure
        ),
        "saw_speed": forms.FloatField(label="No-load speed of the saw, rev/min", **speeds),
        "blade_speed": forms.FloatField(
            label="Speed marked on the blade, rev/min", help_text="The saw must never run faster than this.", **speeds
        ),
    }


class RatesForm(forms.Form):
    """The figures of a new book; labour by kind stays empty where it is the one rate."""

    seen = forms.IntegerField(min_value=0, widget=forms.HiddenInput)

    def __init__(self, data: Mapping[str, Any] | None = None, *, book: RateBook | None) -> None:
        usual = Rates()
        initial = {name: getattr(book or usual, name) for name in PLAIN_RATES} | {"seen": book.pk if book else 0}
        initial |= {f"kind_{kind}": rate for kind, rate in (book.labour_by_kind if book else {}).items()}
        super().__init__(data, initial=initial, label_suffix="", auto_id="id_rates_%s")
        for name, label in PLAIN_RATES.items():
            self.fields[name] = MoneyField(label=label, most=MOST_RATE, places=RATE_PLACES[name])
        for kind in STANDARD:
            self.fields[f"kind_{kind}"] = MoneyField(label=kind_name(kind).capitalize(), most=MOST_RATE, required=False)

    @property
    def plain(self) -> Iterator[BoundField]:
        yield from (self[name] for name in PLAIN_RATES)

    @property
    def by_kind(self) -> Iterator[BoundField]:
        yield from (self[f"kind_{kind}"] for kind in STANDARD)

    @property
    def kinds_open(self) -> bool:
        """Whether any kind has a rate of its own, or is at fault."""
        return any(field.value() not in (None, "") or field.errors for field in self.by_kind)

    @property
    def figures(self) -> dict[str, Any]:
        """What a book holds."""
        given = self.cleaned_data
        by_kind: dict[str, Decimal | None] = {kind: given[f"kind_{kind}"] for kind in STANDARD}
        kept = {kind: f"{rate:.2f}" for kind, rate in by_kind.items() if rate is not None}
        return {**{name: given[name] for name in PLAIN_RATES}, "labour_by_kind": kept}


class SheetPriceForm(forms.ModelForm):  # type: ignore[type-arg]  # Django has no such type when it runs
    """A size of sheet the shop buys."""

    alloy = forms.ChoiceField(choices=[(name, name) for name in ALLOYS], label="Metal")
    price = MoneyField(label="Price of one")
    seen = forms.CharField(widget=forms.HiddenInput, required=False)

    class Meta:
        model = SheetPrice
        fields = ("alloy", "thickness", "label", "length", "width", "price")
        labels = {"label": "Label"}

    field_order = ("alloy", "thickness", "label", "length", "width", "price", "seen")

    def __init__(
        self, data: Mapping[str, Any] | None = None, *, shop: ShopSettings, sheet: SheetPrice | None = None
    ) -> None:
        show, unit = shop.display.exact, shop.display.unit
        initial: dict[str, Any] = {"alloy": "5052-H32"}
        if sheet is not None:
            lengths = {name: show(getattr(sheet, name)) for name in ("thickness", "length", "width")}
            initial = {**lengths, "seen": stamp_of(sheet)}
        auto_id = f"id_sheet{sheet.pk if sheet else ''}_%s"
        super().__init__(data, instance=sheet, initial=initial, label_suffix="", auto_id=auto_id)
        self.fields["thickness"] = MillimetreField(least=0.2, most=25, unit=unit, label="Thickness")
        for name, label in {"length": "Length", "width": "Width"}.items():
            self.fields[name] = MillimetreField(least=1, most=LARGEST_SHEET, unit=unit, label=label)
        self.order_fields(self.field_order)

    @property
    def is_kept_already(self) -> bool:
        """Whether just this sheet at this price is there: the form was sent twice."""
        names = self._meta.fields or ()
        if not all(name in self.cleaned_data for name in names):
            return False
        return SheetPrice.objects.filter(**{name: self.cleaned_data[name] for name in names}).exists()
