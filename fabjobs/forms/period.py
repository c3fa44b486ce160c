"""From a day to a day."""

from collections.abc import Mapping
from typing import Any

from django import forms

from fabjobs.looking_back.periods import EARLIEST, LATEST, Period


class PeriodForm(forms.Form):
    """The days are named `from` and `to` in the address."""

    def __init__(self, data: Mapping[str, Any]) -> None:
        super().__init__(data, label_suffix="")
        for name in ("from", "to"):
            field = forms.DateField(
                label=name.capitalize(), widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d")
            )
            field.error_messages = {"required": "Not given yet.", "invalid": "A day such as 2031-05-09."}
            field.widget.attrs["aria-describedby"] = f"fault-{name}"
            self.fields[name] = field

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = self.cleaned_data
        for name, day in tuple(given.items()):
            if not EARLIEST <= day <= LATEST:
                self.add_error(name, f"must be {EARLIEST.year} to {LATEST.year} (got {day.year})")
        if not self.errors and given["to"] < given["from"]:
            self.add_error("to", f"must not be before {given['from']:%Y-%m-%d} (got {given['to']:%Y-%m-%d})")
        return given

    @property
    def period(self) -> Period:
        return Period(self.cleaned_data["from"], self.cleaned_data["to"])
