"""A length as it is typed: a bare number is in the shop's unit."""

from fractions import Fraction
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from calc.sheet import GAUGE
from calc.units import LONGEST_TEXT, Display, LengthError, Unit, parse_length


class LengthField(forms.CharField):
    """A length; cleaned, it is the same text with its unit, as a job sheet holds it. What was typed stays in the form.

    taped: whether it is read off the shop's own tape. In millimetres a phone then has keys for figures and no others; inches
    need more (3'-0 1/2"), and so does what stands on somebody else's drawing, or a gauge.
    """

    def __init__(self, *, unit: Unit, taped: bool = False, **kwargs: Any) -> None:
        self.unit = unit
        super().__init__(max_length=LONGEST_TEXT, **kwargs)
        self.widget.attrs.update(autocomplete="off", size="9")
        if taped and unit == "mm":
            self.widget.attrs["inputmode"] = "decimal"

    def clean(self, value: Any) -> str:
        text: str = super().clean(value)
        try:
            return with_unit(text, self.unit) if text else ""
        except LengthError as error:
            raise ValidationError(str(error), code="length") from None


class ThicknessField(LengthField):
    """A thickness of sheet: a length, or a gauge ("16 ga"), which the job sheet knows for each metal."""

    def clean(self, value: Any) -> str:
        if isinstance(value, str) and GAUGE.fullmatch(value.strip()):
            return value.strip()
        return super().clean(value)


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


def exactly(mm: float, display: Display) -> str:
    """A length [mm] as a bare figure of the shop's unit where that says it exactly, else in millimetres.

    >>> exactly(927.1, Display("in")), exactly(927.0, Display("in")), exactly(927.0, Display())
    ('36 1/2', '927 mm', '927')
    """
    figure = display.exact(mm)
    if parse_length(figure, bare_unit=display.unit) == Fraction(repr(float(mm))):
        return figure
    return f"{Display().exact(mm)} mm"


class MillimetreField(LengthField):
    """A length that is kept as it is, not planned from: cleaned, it is a number of mm within bounds."""

    def __init__(self, *, least: float, most: float, unit: Unit, **kwargs: Any) -> None:
        self.least, self.most = least, most
        super().__init__(unit=unit, **kwargs)

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        length = float(parse_length(text))
        if not self.least <= length <= self.most:
            raise ValidationError(f"must be {self.least:g} mm to {self.most:g} mm (got {text})", code="bounds")
        return length
