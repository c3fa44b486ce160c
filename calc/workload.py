"""How long the work in hand takes a shop, and on which days it is likely done."""

import math
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

WANTED = 5  # jobs; fewer say less of a shop's pace than the standard minutes do (common practice)
FURTHEST = 3660  # [days] beyond ten years no day is told
DUST = 1e-9  # [days of work] what adding hours up may be out by


@dataclass(frozen=True, slots=True)
class Timed:
    """Steps of one kind that are done and were timed: their standard time and the time they took [min], of how many jobs."""

    expected: float
    taken: float
    jobs: int

    @property
    def pace(self) -> float | None:
        """Time taken over standard time; None where they are of too few jobs to say.

        >>> Timed(200.0, 250.0, 5).pace, Timed(200.0, 250.0, 4).pace
        (1.25, None)
        """
        return self.taken / self.expected if self.jobs >= WANTED and self.expected > 0 else None


def finish_days(
    hours: Iterable[float], *, today: date, left_today: float, day_hours: float, work_days: Collection[int]
) -> list[date | None]:
    """The day on which each of some jobs is likely done, where all hands take them one after the other.

    hours: what is left of each job [h], in the order in which they are taken; left_today: what can still be worked today
    [h]; day_hours: what is worked on a day of work [h]; work_days: which those are, 0 for Monday to 6 for Sunday. None
    where nobody works, or beyond ten years. Raises ValueError for hours below 0 or without end, and for a week without a
    day of work.

    Friday 9 May 2031 with 3 h left, then 8 h a day: 3 h are done that day, 8 h more on Monday, half an hour more on Tuesday.

    >>> friday = date(2031, 5, 9)
    >>> days = finish_days([3, 8, 0.5], today=friday, left_today=3, day_hours=8, work_days=range(5))
    >>> [f"{day:%a} {day.day}" for day in days]
    ['Fri 9', 'Mon 12', 'Tue 13']
    """
    coming = _coming_week(today, work_days)
    if not all(math.isfinite(figure) and figure >= 0 for figure in (left_today, day_hours)):
        raise ValueError(f"hours of a day must be 0 or more (got {left_today} and {day_hours})")
    days, so_far = [], 0.0
    for left in hours:
        if not (math.isfinite(left) and left >= 0):
            raise ValueError(f"hours left must be 0 or more (got {left})")
        so_far += left
        days.append(_day_of(so_far - left_today, today, day_hours, coming))
    return days


def _coming_week(today: date, work_days: Collection[int]) -> list[date]:
    """The days of work among the seven that follow."""
    if not work_days or not set(work_days) <= set(range(7)):
        raise ValueError(f"days of work are of 0 to 6, one at least (got {sorted(work_days)})")
    following = (today + timedelta(days=days) for days in range(1, 8))
    return [day for day in following if day.weekday() in work_days]


def _day_of(beyond: float, today: date, day_hours: float, coming: list[date]) -> date | None:
    """When so many hours beyond today's are worked off."""
    if beyond <= DUST * max(day_hours, 1.0):
        return today
    if day_hours <= 0 or beyond / day_hours > FURTHEST:
        return None
    weeks, place = divmod(math.ceil(beyond / day_hours - DUST) - 1, len(coming))
    day = coming[place] + timedelta(weeks=weeks)
    return day if (day - today).days <= FURTHEST else None
