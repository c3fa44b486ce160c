"""A photo to keep: the one that is taken now, or one from before."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.utils.datastructures import MultiValueDict

from fabjobs.forms.steps import LoggedForm
from fabjobs.forms.words import WordsField
from fabjobs.models.photo import LONGEST_CAPTION
from fabjobs.pictures import LARGEST_SENT, too_large

EMPTY = "That file is empty. Take or choose the photo again."


class PhotoFileField(forms.FileField):
    """A file, not yet looked into, of a size that is taken."""

    def __init__(self, *, label: str, **attributes: str) -> None:
        widget = forms.FileInput({"accept": "image/*", **attributes})
        super().__init__(required=False, label=label, widget=widget, error_messages={"empty": EMPTY})

    def clean(self, data: Any, initial: Any = None) -> Any:
        given = super().clean(data, initial)
        if isinstance(given, UploadedFile) and (given.size or 0) > LARGEST_SENT:
            raise forms.ValidationError(too_large(given.size or 0))
        return given


class PhotoForm(LoggedForm):
    """A photo, and what it shows; a telephone opens its camera for the first of the two files, its pictures for the other."""

    taken = PhotoFileField(label="Take a photo", capture="environment")
    chosen = PhotoFileField(label="Or one taken before")
    caption = WordsField(
        max_length=LONGEST_CAPTION,
        required=False,
        label="What it shows",
        widget=forms.TextInput({"autocomplete": "off", "maxlength": LONGEST_CAPTION}),
    )

    def __init__(
        self,
        data: Mapping[str, Any] | None = None,
        files: MultiValueDict[str, Any] | None = None,
        *,
        initial: Mapping[str, Any] | None = None,
    ) -> None:
        super().__init__(data, initial=initial)
        if files is not None:
            self.files = files
        hint = f"JPEG, PNG or WebP, up to {LARGEST_SENT / 1e6:.0f} MB. Where it was taken is not kept."
        self.fields["taken"].help_text = hint

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        given = [name for name in ("taken", "chosen") if cleaned.get(name)]
        if not given and not any(name in self.errors for name in ("taken", "chosen")):
            self.add_error("taken", "No photo came with the form. Take or choose one, then send it.")
        if len(given) > 1:
            self.add_error("chosen", "Two photos were given. Send them one at a time.")
        return cleaned

    @property
    def sent(self) -> bytes:
        """The bytes of the one photo."""
        file = self.cleaned_data["taken"] or self.cleaned_data["chosen"]
        file.seek(0)
        return bytes(file.read())
