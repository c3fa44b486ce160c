"""A tray as it is measured after welding: a field for each size that the plan asks for, as the tape gives it."""

import uuid
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django import forms
from django.forms import BoundField

from calc.fitup import AsBuilt, FitFault
from fabjobs.as_built import Asked, Tray, asked_of, fitted
from fabjobs.forms.lengths import MillimetreField, exactly
from fabjobs.forms.words import WordsField
from fabjobs.models import ShopSettings
from fabjobs.models.logged import LONGEST_NOTE
from fabjobs.whole_numbers import LARGEST

NEEDED = ("side", "diagonal")  # that hold the outline; which diagonal may be left out, the fit says
LEAST, MOST = 0.1, 100_000.0  # [mm]


class AsBuiltForm(forms.Form):
    """`revision` is the number of the one whose sizes stand beside the fields; `fit` what the lengths give, once they are
    read."""

    form_key = forms.UUIDField(widget=forms.HiddenInput)
    revision = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)

    def __init__(self, data: Mapping[str, Any] | None = None, *, tray: Tray, shop: ShopSettings) -> None:
        self.tray, self.display = tray, shop.display
        self.asked: Sequence[Asked] = asked_of(tray.now.plan, self.display)
        self.fit: AsBuilt | None = None
        suspect = tray.fit.suspect if tray.fit and not tray.is_outdated else None
        self._suspect = suspect.keys if suspect else ()
        super().__init__(data, initial=self._known(), label_suffix="", auto_id="id_as_built_%s")
        for one in self.asked:
            self.fields[one.key] = self._length(one)
        self.fields["note"] = WordsField(label="Note", max_length=LONGEST_NOTE, required=False)

    def _length(self, one: Asked) -> MillimetreField:
        of_it = f"{self.display.length(one.nominal)}, {one.tolerance}"
        if one.key in self._suspect and self.tray.line:
            of_it += f"; read as {exactly(self.tray.line.measured[one.key], self.display)} before"
        return MillimetreField(
            least=LEAST,
            most=MOST,
            unit=self.display.unit,
            taped=True,
            label=one.what,
            required=one.kind == "side",
            help_text=of_it if one.kind in NEEDED else f"{of_it}; may be left out",
            error_messages={"required": "Not given yet."},
        )

    def _known(self) -> dict[str, Any]:
        """What stands of the tray. What looks wrong is left open: only what is read again can be confirmed."""
        known = {} if self.tray.line is None or self.tray.is_outdated else self.tray.line.measured
        lengths = {key: exactly(mm, self.display) for key, mm in known.items() if key not in self._suspect}
        return {"form_key": uuid.uuid4(), "revision": self.tray.now.revision.number, **lengths}

    @property
    def is_whole(self) -> bool:
        return not (self["form_key"].errors or self["revision"].errors)

    @property
    def lengths(self) -> Iterator[tuple[BoundField, bool]]:
        """The fields of what is measured, each with whether that is what looks wrong."""
        for one in self.asked:
            yield self[one.key], one.key in self._suspect

    @property
    def has_diagonals(self) -> bool:
        return any(one.kind == "diagonal" for one in self.asked)

    def clean(self) -> None:
        """Fit what is measured; what gives no tray is a fault of the length that it hangs on."""
        if self.errors:
            return
        try:
            self.fit = fitted(self.tray.now.plan, self.measured)
        except FitFault as fault:
            self.add_error(fault.key if fault.key in self.fields else None, fault.text)

    @property
    def measured(self) -> dict[str, float]:
        """The lengths [mm] that were given, by key."""
        given = self.cleaned_data
        return {one.key: given[one.key] for one in self.asked if given.get(one.key) is not None}

    @property
    def kept(self) -> dict[str, Any]:
        """What its service takes."""
        given = {name: self.cleaned_data[name] for name in ("form_key", "revision", "note")}
        return {**given, "copy": self.tray.number, "measured": self.measured}
