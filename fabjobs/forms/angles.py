"""An angle as a person types it: 90, 92.5, 92,5°."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

_DEGREES = re.compile(r"([0-9]{1,3}(?:[.,][0-9]{1,7})?)\s*(?:°|deg|degrees)?", re.IGNORECASE | re.ASCII)


def degrees(typed: str) -> float:
    """An angle [degrees]. Raises ValidationError, in words.

    >>> degrees("90"), degrees("92,5"), degrees(" 120° ")
    (90.0, 92.5, 120.0)
    """
    match = _DEGREES.fullmatch(typed.strip())
    if match is None:
        raise ValidationError(f"{typed[:40]} is no angle. Write degrees, such as 90 or 92.5.")
    return float(match[1].replace(",", "."))


def angle_typed(cleaned: Any) -> float | None:
    """A field's value as an angle [degrees]; None for one that is not there, or is of a way not in use."""
    return cleaned if isinstance(cleaned, float) else None


class AngleField(forms.CharField):
    """An angle; its value is in degrees, None where nothing was typed."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=40, **kwargs)
        self.widget.attrs.update(autocomplete="off", size="6")

    def clean(self, value: Any) -> Any:
        text: str = super().clean(value)
        return degrees(text) if text else None
