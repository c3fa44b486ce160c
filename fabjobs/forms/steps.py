"""What is logged on a step. Each form carries a key, so that sent twice it makes one line."""

import uuid
from collections.abc import Mapping
from typing import Any, Self

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.formats import date_format

from fabjobs.forms.durations import MinutesField
from fabjobs.forms.words import WordsField
from fabjobs.models.logged import LONGEST_NOTE
from fabjobs.whole_numbers import LARGEST

OLDEST_DAYS = 366
TO_JOB, TO_STEP, TO_WORK = "job", "step", "work"  # the page that a form was sent from, and leads back to
PAGES = [(page, page) for page in (TO_JOB, TO_STEP, TO_WORK)]


class LoggedForm(forms.Form):
    """A form with a key of its own and its faults beside the fields."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        initial: Mapping[str, Any] | None = None,
        prefix: str | None = None,
    ) -> None:
        super().__init__(data, initial={"form_key": uuid.uuid4(), **(initial or {})}, prefix=prefix, label_suffix="")
        for name, field in self.fields.items():
            field.widget.attrs["aria-describedby"] = f"fault-{self.add_prefix(name)}"
            field.error_messages["required"] = "Not given yet."

    def again(self, **fresh: Any) -> Self:
        """The same as it was typed, under a new key, to be sent once more."""
        typed = {name: self[name].value() for name in self.fields if name != "form_key"}
        return type(self)(initial=typed | fresh, prefix=self.prefix)

    @property
    def is_whole(self) -> bool:
        """Whether what the page itself puts into the form came with it."""
        return not any(name in self.errors for name, field in self.fields.items() if field.widget.is_hidden)


class TappedForm(forms.Form):
    """One tap; `ago` [s] says how long ago that was, where the device kept it until it could be sent."""

    ago = forms.FloatField(min_value=0, max_value=LARGEST, required=False, widget=forms.HiddenInput)

    def clean_ago(self) -> float:
        return self.cleaned_data["ago"] or 0.0


class StartForm(TappedForm, LoggedForm):
    """One tap that starts a timer; `back` says from which page."""

    back = forms.ChoiceField(choices=PAGES, required=False, widget=forms.HiddenInput)


class PlaceForm(forms.Form):
    """Where someone was when a timer had to be asked about: at which step, on which page; whether they pressed Start there."""

    at = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    back = forms.ChoiceField(choices=PAGES, required=False, widget=forms.HiddenInput)
    start = forms.BooleanField(required=False, widget=forms.HiddenInput)


class TickForm(StartForm):
    """A tick, or a tick taken back, of the step as it was seen."""

    version = forms.IntegerField(min_value=0, max_value=LARGEST, widget=forms.HiddenInput)
    revision = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    done = forms.TypedChoiceField(
        choices=[("1", "done"), ("0", "not done")], coerce=lambda value: value == "1", widget=forms.HiddenInput
    )
    text = WordsField(max_length=LONGEST_NOTE, required=False, label="Note")


class NoteForm(LoggedForm):
    """A note on a step."""

    text = WordsField(
        max_length=LONGEST_NOTE,
        label="Note",
        widget=forms.TextInput({"autocomplete": "off", "maxlength": LONGEST_NOTE}),
    )


class TimeForm(LoggedForm):
    """Time spent on a step, by hand."""

    day = forms.DateField(label="Day", widget=forms.DateInput({"type": "date"}, format="%Y-%m-%d"))
    took = MinutesField(label="Time", help_text="1 h 20, 1:20, 80 or 1.5 h")

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        *,
        initial: Mapping[str, Any] | None = None,
        prefix: str | None = None,
    ) -> None:
        super().__init__(data, initial={"day": timezone.localdate(), **(initial or {})}, prefix=prefix)

    def clean_day(self) -> Any:
        day, today = self.cleaned_data["day"], timezone.localdate()
        shown = date_format(day, "j M Y")
        if day > today:
            raise ValidationError(f"must not lie ahead: today is {date_format(today, 'j M Y')} (got {shown})")
        if (today - day).days > OLDEST_DAYS:
            raise ValidationError(f"must be within the last year (got {shown})")
        return day


class CorrectionForm(LoggedForm):
    """Another time for an entry, and why."""

    was = forms.IntegerField(min_value=0, max_value=LARGEST, widget=forms.HiddenInput)
    took = MinutesField(label="Time it should be", nothing=True, help_text="0 takes the entry back")
    reason = WordsField(
        max_length=LONGEST_NOTE,
        label="Reason",
        widget=forms.TextInput({"autocomplete": "off", "maxlength": LONGEST_NOTE}),
    )


class RealTimeForm(LoggedForm):
    """How long the work really took, where a timer ran on; at most what the timer counted [s]."""

    took = MinutesField(label="The work took", nothing=True, help_text="1 h 20, 1:20, 80 or 1.5 h; 0 if none of it")

    def __init__(self, data: Mapping[str, Any] | None = None, *, ran: int | None = None) -> None:
        super().__init__(data)
        self.ran = ran

    def clean_took(self) -> Any:
        took = self.cleaned_data["took"]
        if self.ran is not None and took * 60 > self.ran:
            raise ValidationError(f"must be at most what the timer ran, {self.ran // 3600} h {self.ran // 60 % 60} min")
        return took
