"""What a person sees of their own time: day by day, this week and the one before."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Self

from django.utils import timezone

from fabjobs.looking_back.periods import Period
from fabjobs.models import Person, TimeEntry

WEEK = timedelta(days=7)


@dataclass(frozen=True)
class OwnDay:
    """What one person logged on a day, the first begun first; a timer that still runs counts for nothing in its sum [s]."""

    day: date
    entries: Sequence[TimeEntry]

    @property
    def seconds(self) -> int:
        return sum(entry.seconds or 0 for entry in self.entries)


@dataclass(frozen=True)
class OwnWeek:
    """The days of a week on which time was logged, the last first. Its sum is [s]."""

    monday: date
    days: Sequence[OwnDay]

    @property
    def seconds(self) -> int:
        return sum(one.seconds for one in self.days)


@dataclass(frozen=True)
class OwnTime:
    """This week, and the one before, in which a wrong time may still be found."""

    today: OwnDay
    weeks: Sequence[OwnWeek]

    @classmethod
    def of(cls, person: Person, now: datetime) -> Self:
        """In one query, however much was logged."""
        today = timezone.localdate(now)
        monday = today - timedelta(days=today.weekday())
        entries = (
            TimeEntry.objects.filter(person=person, started_at__gte=Period(monday - WEEK, today).start)
            .select_related("step__fabrication__job")
            .only("started_at", "seconds", "by_hand", "step__text", "step__position", "step__fabrication__job__number")
            .order_by("started_at", "pk")
        )
        days = [
            OwnDay(day, list(own)) for day, own in groupby(entries, lambda entry: timezone.localdate(entry.started_at))
        ]
        by_week = [
            OwnWeek(first, [one for one in reversed(days) if first <= one.day < first + WEEK])
            for first in (monday, monday - WEEK)
        ]
        return cls(next((one for one in days if one.day == today), OwnDay(today, [])), by_week)
