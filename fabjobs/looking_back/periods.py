"""A period of days, and those that people ask for in words."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils import timezone

EARLIEST, LATEST = date(2000, 1, 1), date(2999, 12, 31)
MONTHS_OF_QUARTER = 3


@dataclass(frozen=True)
class Period:
    """From the first day to the last, both in it."""

    first: date
    last: date
    name: str = ""

    @property
    def start(self) -> datetime:
        return timezone.make_aware(datetime.combine(self.first, time.min))

    @property
    def end(self) -> datetime:
        """The moment after it."""
        return timezone.make_aware(datetime.combine(self.last + timedelta(days=1), time.min))


def month_of(day: date, months: int = 1) -> Period:
    """The month, or the group of so many months, that a day is in.

    >>> month_of(date(2031, 2, 7)).last, month_of(date(2031, 12, 31), 3).first
    (datetime.date(2031, 2, 28), datetime.date(2031, 10, 1))
    """
    first = day.replace(day=1, month=(day.month - 1) // months * months + 1)
    after = first
    for _ in range(months):
        after = (after.replace(day=28) + timedelta(days=4)).replace(day=1)
    return Period(first, after - timedelta(days=1))


def presets(today: date) -> list[Period]:
    """This and the last month, quarter and year."""
    found = []
    for name, months in (("month", 1), ("quarter", MONTHS_OF_QUARTER), ("year", 12)):
        this = month_of(today, months)
        before = month_of(this.first - timedelta(days=1), months)
        found += [Period(this.first, this.last, f"This {name}"), Period(before.first, before.last, f"Last {name}")]
    return found


def this_year(today: date) -> Period:
    return month_of(today, 12)
