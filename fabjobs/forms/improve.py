"""A better layout asked for, or taken: nothing is filled in but the form's own key."""

from django import forms


class ImproveForm(forms.Form):
    form_key = forms.UUIDField()
