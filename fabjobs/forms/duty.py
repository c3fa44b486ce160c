"""What a form asks of what a tray has to bear: the pump, how true it is set up, what lies and leans on it. Left empty, a
field means the usual; the pump's flow means that nobody knows."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from calc.duty import DENSITIES, FLOW_UNITS, FLOWS, MOST_CHIPS, MOST_LOAD, SAGS, USUAL_DUTY, read_flow
from calc.reading import Field
from calc.records import as_json
from calc.units import LONGEST_TEXT, Display, Unit
from fabjobs.forms.lengths import LengthField, exactly
from fabjobs.forms.numbers import number_field

OVER_OUTLET = {"strainer": "a strainer", "open": "nothing"}
# What is a plain number: its label, bounds and unit.
NUMBERS = {
    "chips": ("Chips left lying, kg/m²", (0.0, MOST_CHIPS), "Wet, seen from above."),
    "point_load": ("Load at one place, kg", (0.0, MOST_LOAD), "A hand leaned on, a part set down."),
    "coolant_density": ("Coolant, kg a litre", DENSITIES, "1 for an emulsion, less for neat oil."),
    "sag": ("Sag borne: short span over", SAGS, "60 is 1 mm in 60 mm."),
}
LENGTHS = {
    "load_width": ("That load's width across", "It bears on a round patch."),
    "out_of_level": ("Out of level when set up", "One side lower than the other by this."),
    "freeboard": ("To stay dry below the rim", "While the pump runs."),
}
OUT_OF_BOUNDS = "Must be a number from {:g} to {:g}."
OF_DRAIN = ("pump_flow", "over_outlet", "freeboard", "out_of_level")  # asked only of what has an outlet
DUTY = (*OF_DRAIN, "coolant_density", "chips", "point_load", "load_width", "sag")


class FlowField(forms.CharField):
    """A flow; cleaned, it is text with its unit, as a job sheet holds it, or None."""

    def __init__(self, *, unit: Unit, **kwargs: Any) -> None:
        self.bare = FLOWS[unit]
        super().__init__(max_length=LONGEST_TEXT, **kwargs)
        self.widget.attrs.update(autocomplete="off", size="9")

    def clean(self, value: Any) -> str | None:
        text = super().clean(value).strip()
        if not text:
            return None
        with_unit = f"{text} {self.bare}" if text.replace(".", "", 1).isdecimal() else text
        field = Field(with_unit)
        if read_flow(field) is None:
            raise ValidationError(field.faults[0].text, code="flow")
        return str(with_unit)


def duty_fields(display: Display, *, drains: bool) -> dict[str, forms.Field]:
    """The fields, with the usual in them. drains: whether it has an outlet, of which is then asked too."""
    usual = as_json(USUAL_DUTY)
    asked: dict[str, forms.Field] = {
        "pump_flow": FlowField(
            unit=display.unit,
            required=False,
            label=f"Pump delivers, {FLOWS[display.unit]}",
            help_text="At the most. Empty: not known.",
        ),
        "over_outlet": forms.ChoiceField(
            choices=list(OVER_OUTLET.items()), initial="strainer", required=False, label="Over the outlet"
        ),
        **{
            name: LengthField(
                unit=display.unit, label=label, initial=exactly(usual[name], display), required=False, help_text=hint
            )
            for name, (label, hint) in LENGTHS.items()
        },
        **{
            name: number_field(label, *span, usual=usual[name], said=OUT_OF_BOUNDS.format(*span), hint=hint)
            for name, (label, span, hint) in NUMBERS.items()
        },
    }
    return {name: asked[name] for name in DUTY if drains or name not in OF_DRAIN}


def duty_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What the fields say of a sheet's duty; what is not asked, or left empty, is the usual."""
    said = {name: given[name] for name in NUMBERS if given.get(name) is not None}
    said |= {name: given[name] for name in ("pump_flow", *LENGTHS) if given.get(name)}
    return said | {"strainer": given.get("over_outlet") != "open"}


def duty_typed(sheet: Mapping[str, Any], display: Display) -> dict[str, str]:
    """What would be typed into the fields for a stored sheet (its JSON; one of an earlier day says nothing of it)."""
    duty = {**as_json(USUAL_DUTY), **(sheet.get("duty") or {})}
    typed = {name: exactly(duty[name], display) for name in LENGTHS} | {name: f"{duty[name]:.10g}" for name in NUMBERS}
    flow = {} if duty["pump_flow"] is None else {"pump_flow": _flow_typed(duty["pump_flow"], FLOWS[display.unit])}
    return typed | flow | {"over_outlet": "strainer" if duty["strainer"] else "open"}


def _flow_typed(flow: float, name: str) -> str:
    """A flow [l/min] in a unit as it would be typed; in l/min where it would come back as another."""
    typed = f"{flow / FLOW_UNITS[name]:.8g} {name}"
    return typed if read_flow(Field(typed)) == flow else f"{flow:.10g} l/min"
