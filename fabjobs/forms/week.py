"""The shop's week: on which days it works and until when, and how many hours a week each person has for the bench."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from django import forms
from django.forms import BoundField

from fabjobs.models import Person, ShopSettings
from fabjobs.models.people import MOST_WEEK_HOURS
from fabjobs.models.shop import WEEK
from fabjobs.services.week import stamp_of_week

DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


class WeekForm(forms.Form):
    """Days of work, when a day ends, and hours by person."""

    days = forms.TypedMultipleChoiceField(
        label="Days of work",
        choices=[(str(day), DAYS[day]) for day in range(WEEK)],
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": "Choose one day of the week at least."},
    )
    day_end = forms.TimeField(
        label="A day's work ends at",
        help_text="As 17:00. After that the next day counts.",
        error_messages={"invalid": "Give the hour as 17:00.", "required": "Not given: give the hour as 17:00."},
        widget=forms.TimeInput({"type": "time"}, format="%H:%M"),
    )
    seen = forms.CharField(widget=forms.HiddenInput)

    def __init__(self, data: Mapping[str, Any] | None = None, *, shop: ShopSettings, people: Sequence[Person]) -> None:
        initial: dict[str, Any] = {"days": [str(day) for day in shop.weekdays], "seen": stamp_of_week(shop, people)}
        initial["day_end"] = shop.day_end
        initial |= {_name(person.pk): f"{person.week_hours:.10g}" for person in people}
        super().__init__(data, initial=initial, label_suffix="", auto_id="id_week_%s")
        self.people = people
        for person in people:
            self.fields[_name(person.pk)] = forms.FloatField(
                min_value=0,
                max_value=MOST_WEEK_HOURS,
                label=f"Hours a week, {person}",
                error_messages={"required": "Not given: 0 for somebody who does not work at the bench."},
                widget=forms.TextInput({"inputmode": "decimal", "autocomplete": "off"}),
            )

    @property
    def by_person(self) -> Iterator[BoundField]:
        yield from (self[_name(person.pk)] for person in self.people)

    @property
    def work_days(self) -> int:
        """As the settings keep them."""
        return sum(1 << day for day in set(self.cleaned_data["days"]))

    @property
    def hours(self) -> dict[int, float]:
        """By the person's key."""
        return {person.pk: self.cleaned_data[_name(person.pk)] for person in self.people}


def _name(person: int) -> str:
    return f"hours_{person}"
