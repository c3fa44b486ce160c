"""The first page of a new shop: who types the code becomes its owner."""

from typing import Any

from django import forms

from fabjobs.forms.passwords import NewPasswordForm
from fabjobs.models import Person, SetUpCode, ShopSettings
from fabjobs.models.shop import Unit

INCH_SAW = (25.4 * 5 / 64, 25.4 * 3 / 16, 25.4 * 0.02)  # [mm] kerf, edge trim, seam gap in an inch shop's figures
READINGS = {
    "mm 0.5": "millimetres, to the nearest 0.5",
    "mm 1": "millimetres, to the nearest 1",
    "in 1/16": "inches, to the nearest 1/16",
    "in 1/32": "inches, to the nearest 1/32",
}


class SetUpForm(NewPasswordForm, forms.ModelForm):  # type: ignore[type-arg]  # Django has no such type when it runs
    """The code, the shop, and the owner's sign-in."""

    code = forms.CharField(
        label="Set-up code", max_length=40, help_text="Printed in the terminal where fabjobs was started."
    )
    reads = forms.ChoiceField(label="Lengths are read in", choices=list(READINGS.items()))

    class Meta:
        model = ShopSettings
        fields = ("name", "currency")
        labels = {"name": "Name of the shop", "currency": "Currency"}
        help_texts = {"currency": "Three letters, such as EUR or USD."}

    username = forms.CharField(
        label="Your sign-in name",
        max_length=150,
        validators=[Person.username_validator],
        help_text="Letters, digits and @ . + - _",
    )
    field_order = ("code", "name", "reads", "currency", "username", "password", "again")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, purpose in {"code": "off", "username": "username"}.items():
            self.fields[name].widget.attrs["autocomplete"] = purpose

    def clean_currency(self) -> str:
        return str(self.cleaned_data["currency"]).upper()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if "reads" in cleaned:
            self.instance.unit, self.instance.rule = cleaned["reads"].split()
            if self.instance.unit == Unit.INCH:
                self.instance.kerf, self.instance.edge_trim, self.instance.seam_gap = INCH_SAW
        self.check_password(Person(username=cleaned.get("username", "")))
        if not self.errors:
            self._check_code(cleaned["code"])
        return cleaned

    def _check_code(self, typed: str) -> None:
        """Last, so that only a form that is right in all else costs a try."""
        if not SetUpCode.accepts(typed):
            used_up = "No tries are left: stop fabjobs and start it again for a new code."
            self.add_error("code", used_up if SetUpCode.used_up() else "That is not the code in the terminal.")
