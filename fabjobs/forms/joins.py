"""One way of joining the facets, taken: which, and what its sender had before them."""

from django import forms

from fabjobs.joining import JOINS_TOLD
from fabjobs.whole_numbers import LARGEST


class TakeJoinsForm(forms.Form):
    """started_from: the revision whose figures were on the screen."""

    joins = forms.ChoiceField(choices=list(JOINS_TOLD.items()))
    started_from = forms.IntegerField(min_value=1, max_value=LARGEST)
    form_key = forms.UUIDField()
