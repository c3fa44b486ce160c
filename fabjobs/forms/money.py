"""An amount of money as it is typed."""

from decimal import Decimal
from typing import Any

from django import forms


class MoneyField(forms.DecimalField):
    """An amount of 0 or more, with a point before the hundredths."""

    def __init__(self, *, places: int = 2, digits: int = 10, **kwargs: Any) -> None:
        widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off", "size": "9"})
        super().__init__(min_value=Decimal(0), max_digits=digits, decimal_places=places, widget=widget, **kwargs)

    def clean(self, value: Any) -> Any:
        try:
            return super().clean(value)
        except forms.ValidationError:
            if not str(value or "").strip():
                raise
            sample = "12.50" if self.decimal_places == 2 else "0.0200"
            raise forms.ValidationError(f"must be an amount such as {sample} (got {str(value)[:40]!r})") from None
