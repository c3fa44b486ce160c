"""Who is let in: an invitation, what it lets someone type, and another role."""

from typing import Any

from django import forms

from fabjobs.forms.passwords import NewPasswordForm
from fabjobs.forms.steps import LoggedForm
from fabjobs.forms.words import WordsField
from fabjobs.models import Person, Role

LONGEST_NAME = 150
ROLES = [(Role.HAND, "a hand"), (Role.OWNER, "an owner")]
TAKEN = "Someone signs in by that name already. Take another."


class InviteForm(LoggedForm):
    name = WordsField(
        label="Who", max_length=LONGEST_NAME, help_text="What you call them; they choose their own sign-in name."
    )
    role = forms.ChoiceField(label="As", choices=ROLES, initial=Role.HAND)


class RoleForm(forms.Form):
    role = forms.ChoiceField(choices=Role.choices)


class JoinForm(NewPasswordForm):
    """The sign-in that someone invited makes for themselves."""

    username = forms.CharField(
        label="Your sign-in name",
        max_length=LONGEST_NAME,
        validators=[Person.username_validator],
        help_text="Letters, digits and @ . + - _",
    )
    field_order = ("username", "password", "again")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].widget.attrs["autocomplete"] = "username"

    def clean_username(self) -> str:
        name: str = Person.normalize_username(self.cleaned_data["username"])
        if Person.objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(TAKEN)
        return name

    def clean(self) -> None:
        self.check_password(Person(username=self.cleaned_data.get("username", "")))
