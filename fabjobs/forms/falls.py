"""A wanted fall as a person types it: 50, 1 in 50, 1:50, 2 %."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

STEEPEST, SHALLOWEST = 1.0, 10_000.0
_ONE_IN = re.compile(r"(?:1\s*(?:in|:)\s*)?([0-9]{1,6}(?:[.,][0-9]{1,6})?)", re.IGNORECASE | re.ASCII)
_PERCENT = re.compile(r"([0-9]{1,6}(?:[.,][0-9]{1,6})?)\s*%", re.ASCII)


def one_in(typed: str) -> float:
    """The run of a fall of one. Raises ValidationError, in words.

    >>> one_in("50"), one_in("1 in 25"), one_in("1:12.5"), one_in("2 %")
    (50.0, 25.0, 12.5, 50.0)
    """
    text = typed.strip()
    plain, percent = _ONE_IN.fullmatch(text), _PERCENT.fullmatch(text)
    if plain:
        run = float(plain[1].replace(",", "."))
    elif percent:
        share = float(percent[1].replace(",", "."))
        run = 100 / share if share else 0.0
    else:
        raise ValidationError(f"{typed[:40]} is no fall. Write 50 for 1 in 50, or 2 %.")
    if not STEEPEST <= run <= SHALLOWEST:
        raise ValidationError(f"Must be from 1 in {STEEPEST:g} to 1 in {SHALLOWEST:g} (got {typed[:40]}).")
    return run


class FallField(forms.CharField):
    """A fall; its value is the run of one, None where nothing was typed."""

    def clean(self, value: Any) -> Any:
        text: str = super().clean(value)
        return one_in(text) if text else None
