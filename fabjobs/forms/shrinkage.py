"""Shrinkage put on a job's blanks or taken off them, and what its sender had before them."""

from django import forms

from fabjobs.whole_numbers import LARGEST


class TakeShrinkageForm(forms.Form):
    """started_from: the revision whose figures were on the screen."""

    allow = forms.TypedChoiceField(choices=[("1", "on"), ("0", "off")], coerce=lambda text: text == "1")
    started_from = forms.IntegerField(min_value=1, max_value=LARGEST)
    form_key = forms.UUIDField()
