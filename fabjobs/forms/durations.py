"""A time as people write it down: 1 h 20, 1:20, 80, 1.5 h."""

import re
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

LONGEST_TEXT = 20
MOST_MINUTES = 24 * 60
CLOCK = re.compile(r"([0-9]{1,2}):([0-9]{2})")
WORDS = re.compile(
    r"(?:([0-9]{1,3}(?:[.,][0-9]{1,3})?) ?(?:h|hr|hrs|hour|hours))? ?(?:([0-9]{1,4}) ?(?:m|min|mins|minute|minutes)?)?"
)
WOULD_DO = "write it like 80, 1:20, 1 h 20 or 1.5 h"


def parse_minutes(text: str) -> float:
    """A time as it is typed [min]; a bare whole number is minutes. At most 24 hours; raises ValueError, saying why.

    >>> [parse_minutes(text) for text in ("80", "1:20", "1 h 20", "1h20min", "1.5 h", "1,5 h", "2 hours", "45 min")]
    [80.0, 80.0, 80.0, 80.0, 90.0, 90.0, 120.0, 45.0]
    >>> parse_minutes("1.5")
    Traceback (most recent call last):
    ValueError: 1.5 may be hours or minutes: write 1.5 h, or whole minutes (got '1.5')
    """
    plain = " ".join(text.lower().split())
    got = f"(got {text[:LONGEST_TEXT]!r})"
    if re.fullmatch(r"[0-9]+[.,][0-9]+", plain):
        raise ValueError(
            f"{plain[:LONGEST_TEXT]} may be hours or minutes: write {plain[:LONGEST_TEXT]} h, or whole minutes {got}"
        )
    read = CLOCK.fullmatch(plain) or WORDS.fullmatch(plain)
    hours, minutes = read.groups() if read else (None, None)
    if hours is None and minutes is None:
        raise ValueError(f"is no time: {WOULD_DO} {got}")
    if hours is not None and minutes is not None and (int(minutes) > 59 or not hours.isdigit()):
        raise ValueError(f"minutes beside whole hours go from 0 to 59: {WOULD_DO} {got}")
    total = 60 * float((hours or "0").replace(",", ".")) + int(minutes or 0)
    if total > MOST_MINUTES:
        raise ValueError(f"must be at most 24 hours {got}")
    return total


class MinutesField(forms.CharField):
    """A time; cleaned, it is minutes. nothing: whether no time at all will do, as it does to take a wrong entry back."""

    def __init__(self, *, nothing: bool = False, **kwargs: Any) -> None:
        self.nothing = nothing
        super().__init__(max_length=LONGEST_TEXT, **kwargs)
        self.widget.attrs.update(autocomplete="off", size="9")

    def clean(self, value: Any) -> float | None:
        text: str = super().clean(value)
        if not text:
            return None
        try:
            minutes = parse_minutes(text)
        except ValueError as error:
            raise ValidationError(str(error), code="time") from None
        if not minutes and not self.nothing:
            raise ValidationError(f"must be more than nothing (got {text!r})", code="time")
        return minutes
