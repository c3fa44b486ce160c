from collections.abc import Mapping
from typing import Any

from django import forms

from fabjobs.models import Job
from fabjobs.paper_check import PaperInHand, judge
from fabjobs.whole_numbers import LARGEST


class PaperForm(forms.Form):
    """What stands in the title block of a paper."""

    job = forms.IntegerField(
        min_value=1, max_value=LARGEST, label="Job", widget=forms.TextInput({"inputmode": "numeric"})
    )
    revision = forms.IntegerField(
        min_value=1, max_value=LARGEST, label="Revision", widget=forms.TextInput({"inputmode": "numeric"})
    )
    code = forms.CharField(
        max_length=20, label="Check code", widget=forms.TextInput({"autocomplete": "off", "class": "code"})
    )

    def __init__(self, data: Mapping[str, Any] | None = None) -> None:
        super().__init__(data, label_suffix="")
        for name, field in self.fields.items():
            field.widget.attrs["aria-describedby"] = f"fault-{name}"
            field.error_messages["required"] = "Not given yet."

    def judged(self) -> PaperInHand:
        given = self.cleaned_data
        return judge(Job.objects.filter(number=given["job"]).first(), given["revision"], given["code"])
