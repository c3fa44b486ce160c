"""A blank called spoiled: which, why, and what its sender saw of where another would come from."""

import uuid
from typing import Self

from django import forms

from fabjobs.forms.words import WordsField
from fabjobs.models.logged import LONGEST_NOTE
from fabjobs.whole_numbers import LARGEST


class SpoilForm(forms.Form):
    """started_from: the revision that was on the screen; seen: what tells the plan that was shown from another."""

    copy = forms.CharField(max_length=100, widget=forms.HiddenInput)
    started_from = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    seen = forms.CharField(max_length=20, widget=forms.HiddenInput)
    form_key = forms.UUIDField(widget=forms.HiddenInput)
    why = WordsField(
        label="Why it is spoiled",
        max_length=LONGEST_NOTE,
        error_messages={
            "required": "Say why: the guide slipped, cut on the wrong side of the line, bent the wrong way."
        },
    )

    @classmethod
    def fresh(cls, *, copy: str, revision: int, seen: str, why: str = "") -> Self:
        """revision: the number of the one that the page shows; why: what was typed before."""
        given = {"copy": copy, "started_from": revision, "seen": seen, "form_key": uuid.uuid4(), "why": why}
        return cls(initial=given, auto_id="id_spoil_%s", label_suffix="")

    @property
    def is_whole(self) -> bool:
        """Whether all that a person does not type came back."""
        return not set(self.errors) - {"why"}
