"""A length as it is typed: a bare number is in the shop's unit."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from calc.units import LONGEST_TEXT, LengthError, Unit, parse_length


class LengthField(forms.CharField):
    """A length; cleaned, it is the same text with its unit, as a job sheet holds it. What was typed stays in the form."""

    def __init__(self, *, unit: Unit, **kwargs: Any) -> None:
        self.unit = unit
        super().__init__(max_length=LONGEST_TEXT, **kwargs)
        self.widget.attrs.update(autocomplete="off", size="9")

    def clean(self, value: Any) -> str:
        text: str = super().clean(value)
        try:
            return with_unit(text, self.unit) if text else ""
        except LengthError as error:
            raise ValidationError(str(error), code="length") from None


def with_unit(text: str, unit: Unit) -> str:
    """The text with the shop's unit where it has none of its own. Raises `LengthError` for what is no length.

    >>> with_unit("36 1/2", "in"), with_unit("92.7 cm", "in")
    ('36 1/2 in', '92.7 cm')
    """
    try:
        parse_length(text)
    except LengthError:
        parse_length(text, bare_unit=unit)
        return f"{text} {unit}"
    return text
