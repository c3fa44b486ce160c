"""A change of a job: the form of a new job filled in with what is stored, and why it changes."""

from collections import Counter
from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from functools import cached_property
from typing import Any, Self
from uuid import uuid4

from django import forms

from calc.sheet import Material
from fabjobs import planning
from fabjobs.forms.families import unless_usual
from fabjobs.forms.new_job import OF_WHAT_IS_CUT, NewJobForm
from fabjobs.forms.words import WordsField
from fabjobs.frozen import FrozenSheet, Metal, cut_into, metal_key, metal_of
from fabjobs.heading import Heading
from fabjobs.models import Job, Revision, ShopSettings
from fabjobs.models.rates import rates_in_force
from fabjobs.rack import to_be_bought, with_cut_into
from fabjobs.sharing import cut_sheets_shared, shared_now
from fabjobs.shrinkage import kept_for
from fabjobs.whole_numbers import LARGEST

LONGEST_REASON = 200
OF_THE_JOB = ("title", "customer", "machine", "due_day")
NOT_MEASURED = {"title", "customer", "machine", *OF_WHAT_IS_CUT}


class ChangeForm(NewJobForm):
    """The stored sheet to be changed. What it says that this form does not show stays as it is."""

    reason = WordsField(
        max_length=LONGEST_REASON,
        required=False,
        label="Why it changes",
        help_text="A few words for whoever finds the old paper. Not needed where only the job's own lines change.",
    )
    todays_rates = forms.BooleanField(required=False, label="Cost it at today's rates")
    started_from = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)
    job_version = forms.IntegerField(min_value=1, max_value=LARGEST, widget=forms.HiddenInput)

    def __init__(
        self, data: Mapping[str, Any] | None, *, revision: Revision, shop: ShopSettings, seen: bool = True
    ) -> None:
        """revision: the latest, whose sheet is changed and whose fabrication may have sheets that were cut into."""
        self.revision = revision
        super().__init__(data, shop=shop, seen=seen)
        self.fields.pop("labour", None)  # rates are the revision's, or today's
        alloy = revision.sheet["material"]["alloy"]
        choices = self.fields["alloy"].choices  # type: ignore[attr-defined]
        if alloy not in dict(choices):
            self.fields["alloy"].choices = [*choices, (alloy, alloy)]  # type: ignore[attr-defined]

    @classmethod
    def of(cls, job: Job, revision: Revision, *, shop: ShopSettings) -> Self:
        """The form as it opens: what is stored, as it would be typed; the job's lines as they are today."""
        due = {"due_day": job.due_day.isoformat()} if job.due_day else {}
        heading = {"title": job.title, "customer": job.customer, "machine": job.machine}
        hidden = {"form_key": str(uuid4()), "started_from": str(revision.number), "job_version": str(job.version)}
        typed = cls.from_sheet(revision.sheet, shop=shop) | heading | due | hidden
        return cls(typed, revision=revision, shop=shop, seen=False)

    @property
    def heading(self) -> Heading:
        """The job's own lines, as typed."""
        return Heading(**{name: self.cleaned_data[name] for name in OF_THE_JOB})

    @cached_property
    def frozen(self) -> list[FrozenSheet]:
        """The sheets that were cut into, if what is typed is still of their metal."""
        return cut_into(self.revision.fabrication, metal=self._metal)

    @property
    def _metal(self) -> Metal:
        """What is typed."""
        given = self.cleaned_data
        return metal_key(given.get("alloy", ""), planning.length(given.get("thickness")) or 0)

    def clean(self) -> None:
        """A sheet that was cut into and holds another job's blanks stays this job's, and so does its metal."""
        super().clean()
        is_read = "alloy" in self.cleaned_data and "thickness" in self.cleaned_data
        if is_read and self._metal != metal_of(self.revision.sheet):
            for sheet, jobs in cut_sheets_shared(self.revision):
                told = (
                    f"sheet {sheet.number} is cut into and holds blanks of job {', '.join(jobs)}: its metal stays. "
                    "Make a job of its own in the new metal, or take the ticks of its cuts back."
                )
                self.add_error("thickness" if self._metal[0] == metal_of(self.revision.sheet)[0] else "alloy", told)
                return

    @property
    def is_of_another_metal(self) -> bool:
        """Whether sheets were cut into, and what is typed is of another metal than they are."""
        return not self.frozen and bool(cut_into(self.revision.fabrication))

    @property
    def changes_the_sheet(self) -> bool:
        """Whether anything is typed that the stored sheet does not say already, its heading aside."""
        return not self.repeats(self.revision.sheet, but_for=NOT_MEASURED)

    @property
    def sheet(self) -> dict[str, Any]:
        """The stored sheet with what was typed in its place."""
        given, stored = self.cleaned_data, self.revision.sheet
        material = {name: given[name] for name in ("alloy", "thickness", "finished_face", "grain")}
        frozen = [sheet.layout for sheet in self.frozen]
        return {
            **stored,
            **{name: given.get(name, "") for name in ("title", "customer", "machine")},
            "quantity": given["quantity"],
            "material": {**stored["material"], **material},
            "shape": self._kept_of_shape | self.asked.shape(given),
            "making": self._kept_of_making | self.making | kept_for(material, self.making, stored),
            "stock": self._stock(frozen),
            "rates": rates_in_force(self.shop.currency) if given["todays_rates"] else stored["rates"],
            "frozen": frozen,
            **self.bench,
            **self.borne,
            **self._shared,
        }

    @property
    def _shared(self) -> dict[str, Any]:
        """What stays on sheets shared with another job: nothing of another metal."""
        return (
            shared_now(self.revision)
            if self._metal == metal_of(self.revision.sheet)
            else {"guests": [], "elsewhere": []}
        )

    def _stock(self, frozen: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
        """What is bought as typed, and what the rack has for this job now; a piece that was cut into in any case."""
        stored, cut = self.revision.sheet["stock"], Counter(sheet["stock"] for sheet in frozen)
        stock = self._drawn_on(_bought(to_be_bought(stored), self.cleaned_data, cut), self.revision.fabrication)
        return with_cut_into(stock, stored, cut, self.revision.fabrication)

    @property
    def _kept_of_shape(self) -> dict[str, Any]:
        """What the stored shape says that its family does not ask for here."""
        stored = self.revision.sheet["shape"]
        if stored["family"] != self.asked.name:
            return {}
        return {key: value for key, value in stored.items() if key not in self.asked.keys}

    @property
    def _kept_of_making(self) -> dict[str, Any]:
        """The stored making; the radius between facets only if it is not the stored metal's own, which it follows."""
        making, material = self.revision.sheet["making"], self.revision.sheet["material"]
        usual = Material(material["alloy"], material["thickness"]).usual_radius
        is_own = unless_usual(making.get("fold_radius"), usual) is not None
        return {key: value for key, value in making.items() if key != "fold_radius" or is_own}


def _bought(stored: list[dict[str, Any]], given: Mapping[str, Any], cut_into: Counter[str]) -> list[dict[str, Any]]:
    """The sheet sizes with the typed one first. cut_into: how many sheets of a label are frozen.

    Where sheets of the first size were cut into and another size or price is typed, they keep their size and what they
    cost: no more of that size is taken, and the typed one is a size of its own.
    """
    first, *others = stored
    typed = {"length": given["sheet_length"], "width": given["sheet_width"], "price": given["price"]}
    used = cut_into[first["label"]]
    if not used:
        return [{**first, **typed}, *others]
    if _is_same_size(first, typed):
        return stored
    labels = {size["label"] for size in stored}
    label = next(name for place in range(1, len(stored) + 2) if (name := f"S{place}") not in labels)
    left = None if first["count"] is None else max(0, first["count"] - used)
    return [{"label": label, "count": left, **typed}, {**first, "count": used}, *others]


def _is_same_size(stored: Mapping[str, Any], typed: Mapping[str, Any]) -> bool:
    try:
        same_price = Decimal(stored["price"]) == Decimal(typed["price"])
    except InvalidOperation:
        return False  # a price that is no amount is told as a fault of the first size
    lengths = (planning.length(typed[side]) for side in ("length", "width"))
    return same_price and all(
        mm is None or abs(mm - stored[side]) < 1e-6 for mm, side in zip(lengths, ("length", "width"), strict=True)
    )
