"""A plain number as it is typed, with its bounds told where it is at fault."""

from django import forms

OUTSIDE = ("invalid", "min_value", "max_value")


def number_field(label: str, least: float, most: float, *, usual: float, said: str, hint: str = "") -> forms.FloatField:
    """A number from `least` to `most` that may be left empty; usual: what stands there first; said: what would be right."""
    return forms.FloatField(
        min_value=least,
        max_value=most,
        initial=f"{usual:g}",
        required=False,
        label=label,
        help_text=hint,
        error_messages=dict.fromkeys(OUTSIDE, said),
        widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off", "size": "9"}),
    )
