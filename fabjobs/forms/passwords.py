"""A new password, typed twice: at set-up, by a link, on one's own page."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from fabjobs.models import Person

DIFFER = "The two passwords differ. Type the same one twice."
WRONG = "That is not the password you sign in with now. It minds capitals."


class NewPasswordForm(forms.Form):
    """`check_password` is for a form that knows whose password it will be."""

    password = forms.CharField(
        max_length=128, strip=False, widget=forms.PasswordInput, help_text="At least 10 signs, not a common word."
    )
    again = forms.CharField(label="Password once more", max_length=128, strip=False, widget=forms.PasswordInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("password", "again"):
            self.fields[name].widget.attrs["autocomplete"] = "new-password"

    def check_password(self, person: Person) -> None:
        """Note beside its field what is wrong with the password, were it this person's."""
        password = self.cleaned_data.get("password", "")
        if password and password != self.cleaned_data.get("again", password):
            self.add_error("again", DIFFER)
        if password:
            try:
                validate_password(password, person)
            except ValidationError as error:
                self.add_error("password", error)


class OwnPasswordForm(NewPasswordForm):
    """Another password for oneself. Whether `old` is the right one is for the view to say, which counts wrong tries."""

    old = forms.CharField(label="Password now", max_length=128, strip=False, widget=forms.PasswordInput)
    field_order = ("old", "password", "again")

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["old"].widget.attrs["autocomplete"] = "current-password"
        self.fields["password"].label = "New password"
        self.fields["again"].label = "New password once more"

    def clean(self) -> None:
        self.check_password(self.person)
