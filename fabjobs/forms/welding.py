"""What a form asks of the welding: by which process and from which side, how hot it serves, how true it is marked and cut, and
what it is let into. Left empty, a field means what the shop says, or the usual."""

from collections.abc import Mapping
from typing import Any

from django import forms

from calc.making import COLDEST, HOTTEST, PROCESSES, Making
from calc.records import as_json
from calc.tables.alloys import ALLOYS
from calc.units import Display
from fabjobs.forms.lengths import LengthField, ThicknessField, exactly
from fabjobs.forms.numbers import number_field
from fabjobs.models import ShopSettings

SIDES = {"dry": "the dry side", "wet": "the wet side"}
ERRORS = {"marking_error": "Marking error, either way", "cutting_error": "Cutting error, either way"}
BENCH = ("bench_alloy", "bench_thickness")
WAYS = ("process", "service_temperature", "weld_side", *ERRORS)  # as the making of a job sheet has them
WELDING = (*WAYS, *BENCH)
TEMPERATURE = f"Must be a number of °C, from {COLDEST:g} to {HOTTEST:g}."


def welding_fields(shop: ShopSettings, *, is_let_in: bool) -> dict[str, forms.Field]:
    """The fields, with the shop's own ways in them. is_let_in: whether it is set into a bench, which is then asked for."""
    unit, usual = shop.display.unit, Making()
    hints = dict.fromkeys(ERRORS, "Met 19 times in 20. Empty: the shop's own.")
    asked: dict[str, forms.Field] = {
        "process": forms.ChoiceField(
            choices=[(name, name) for name in PROCESSES], initial=shop.process, required=False, label="Process"
        ),
        "weld_side": forms.ChoiceField(
            choices=list(SIDES.items()), initial=usual.weld_side, required=False, label="Seams welded from"
        ),
        "service_temperature": number_field(
            "Hottest in service, °C", COLDEST, HOTTEST, usual=usual.service_temperature, said=TEMPERATURE
        ),
        **{
            name: LengthField(
                unit=unit,
                label=label,
                initial=exactly(getattr(shop, name), shop.display),
                required=False,
                help_text=hints[name],
            )
            for name, label in ERRORS.items()
        },
    }
    if is_let_in:
        metals = [("", "not known"), *((name, name) for name in ALLOYS)]
        asked["bench_alloy"] = forms.ChoiceField(choices=metals, required=False, label="Metal of the bench")
        asked["bench_thickness"] = ThicknessField(unit=unit, required=False, label="Thickness of the bench")
    return asked


def welding_of(given: Mapping[str, Any], shop: ShopSettings) -> dict[str, Any]:
    """What the fields say of a sheet's making."""
    usual, warm = Making(), given.get("service_temperature")
    return {
        "process": given.get("process") or shop.process,
        "weld_side": given.get("weld_side") or usual.weld_side,
        "service_temperature": usual.service_temperature if warm is None else warm,
        **{name: given.get(name) or f"{getattr(shop, name):.10g} mm" for name in ERRORS},
    }


def bench_of(given: Mapping[str, Any]) -> dict[str, str | None]:
    """What the fields say of the bench."""
    return {name.removeprefix("bench_"): given.get(name) or None for name in BENCH}


def welding_typed(sheet: Mapping[str, Any], display: Display) -> dict[str, str]:
    """What would be typed into the fields for a stored sheet (its JSON; one of an earlier day says nothing of the welding)."""
    making, bench = {**as_json(Making()), **sheet["making"]}, sheet.get("bench") or {}
    typed = {name: exactly(making[name], display) for name in ERRORS}
    typed |= {name: making[name] for name in ("process", "weld_side")}
    typed["service_temperature"] = f"{making['service_temperature']:.10g}"
    if bench.get("thickness") is not None:
        typed["bench_thickness"] = exactly(bench["thickness"], display)
    return typed | {"bench_alloy": bench.get("alloy") or ""}
