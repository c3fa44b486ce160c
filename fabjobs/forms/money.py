"""An amount of money as it is typed."""

from typing import Any

from django import forms

from calc.reading import amount_must_be, as_typed
from calc.stock import MOST_PRICE


class MoneyField(forms.DecimalField):
    """An amount from 0 to `most`, with a point before the hundredths; refused in the words of a job sheet."""

    def __init__(self, *, most: str = MOST_PRICE, places: int = 2, **kwargs: Any) -> None:
        self.most, self.places = most, places
        widget = forms.TextInput({"inputmode": "decimal", "autocomplete": "off", "size": "9"})
        super().__init__(decimal_places=places, widget=widget, **kwargs)

    def clean(self, value: Any) -> Any:
        typed = str(value or "").strip()
        if typed and (must := amount_must_be(typed, self.most, self.places)):
            raise forms.ValidationError(f"must be {must} (got {as_typed(typed)})")
        return super().clean(typed)
