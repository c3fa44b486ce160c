"""Two jobs laid out together, or parted: which, and what its sender had before them."""

from django import forms

from fabjobs.whole_numbers import LARGEST


class TogetherForm(forms.Form):
    """other: the number of the other job; host: that of the two whose sheets were on the screen; started_from, other_from: the
    revisions whose figures were there."""

    other = forms.IntegerField(min_value=1, max_value=LARGEST)
    host = forms.IntegerField(min_value=1, max_value=LARGEST)
    started_from = forms.IntegerField(min_value=1, max_value=LARGEST)
    other_from = forms.IntegerField(min_value=1, max_value=LARGEST)
    form_key = forms.UUIDField()


class PartForm(forms.Form):
    """started_from: the revision that was on the screen."""

    started_from = forms.IntegerField(min_value=1, max_value=LARGEST)
    form_key = forms.UUIDField()


class ChosenForm(forms.Form):
    """Which job was chosen, if one was."""

    other = forms.IntegerField(min_value=1, max_value=LARGEST, required=False)
