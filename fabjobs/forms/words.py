"""Words on one line: what stands in a note or a reason must read on every page and paper as it was typed."""

import unicodedata
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from calc.reading import NOT_PLAIN

NOT_ONE_LINE = "must be one line of plain text, without control characters"


def check_plain(text: str) -> None:
    """Raise `ValidationError` where a character breaks the line, turns it around or can't be seen."""
    if any(unicodedata.category(character) in NOT_PLAIN for character in text):
        raise ValidationError(NOT_ONE_LINE, code="plain")


class WordsField(forms.CharField):
    """A line of words, as titles are read."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.validators.append(check_plain)
