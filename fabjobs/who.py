"""Who does what: each person's running step, what they ticked today, their hours; what is left, and when it is likely done."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Self

from django.utils import timezone

from fabjobs.forgotten import why_asked
from fabjobs.looking_back.periods import Period
from fabjobs.making import RunningTimer
from fabjobs.models import Person, ShopSettings, Step, TimeEntry
from fabjobs.services.time import elapsed
from fabjobs.week import people_at_work
from fabjobs.work_left import JobLeft, Pace, jobs_left, paces, with_days

TICKED_SHOWN = 5


@dataclass(frozen=True)
class Logged:
    """Time that a person logged [s]: today, and from Monday on, all of it on the day it was begun; a timer that runs is in it,
    unless it ran on."""

    today: int = 0
    week: int = 0


@dataclass(frozen=True)
class AtWork:
    """A person of the shop: the timer that runs, the steps ticked today (the newest first), hours of the week."""

    person: Person
    running: RunningTimer | None
    ticked: list[Step]
    logged: Logged

    @property
    def newest(self) -> list[Step]:
        return self.ticked[:TICKED_SHOWN]

    @property
    def more(self) -> int:
        """How many ticked steps are not among the newest."""
        return len(self.ticked) - len(self.newest)


@dataclass(frozen=True)
class WhoDoesWhat:
    """The shop at a moment. Hours are [h]."""

    people: list[AtWork]
    jobs: list[JobLeft]
    record: list[Pace]
    week_hours: float

    @classmethod
    def of(cls, shop: ShopSettings, now: datetime) -> Self:
        """A constant number of queries, however many jobs there are."""
        today = timezone.localdate(now)
        people = _people(now, today, shop)
        week_hours = sum(one.person.week_hours for one in people)
        day_hours = week_hours / len(shop.weekdays)
        left_today = _left_today(people, shop, now) if today.weekday() in shop.weekdays else 0.0
        record = paces(now)
        jobs = with_days(
            jobs_left(record), today=today, left_today=left_today, day_hours=day_hours, work_days=shop.weekdays
        )
        return cls(people, jobs, record, week_hours)

    @cached_property
    def minutes(self) -> float:
        """Left of all jobs."""
        return sum(job.minutes for job in self.jobs)

    @property
    def likely(self) -> date | None:
        """When all of them are likely done."""
        return self.jobs[-1].likely if self.jobs else None

    @cached_property
    def late(self) -> list[JobLeft]:
        return [job for job in self.jobs if job.is_late]

    @property
    def known(self) -> list[Pace]:
        """The kinds of work whose pace is known."""
        return [one for one in self.record if one.timed.pace is not None]


def _people(now: datetime, today: date, shop: ShopSettings) -> list[AtWork]:
    running = {timer.entry.person_id: timer for timer in _running(now, shop)}
    ticked: dict[int, list[Step]] = {}
    for step in _ticked_since(Period(today, today).start):
        ticked.setdefault(step.done_by_id or 0, []).append(step)
    logged = _logged(today, running)
    return [
        AtWork(person, running.get(person.pk), ticked.get(person.pk, []), logged.get(person.pk, Logged()))
        for person in people_at_work()
    ]


def _left_today(people: Iterable[AtWork], shop: ShopSettings, now: datetime) -> float:
    """What all can still work today [h]: each what they have of a day and did not log yet, up to the day's end."""
    end = timezone.make_aware(datetime.combine(timezone.localdate(now), shop.day_end))
    until_end = max(0.0, (end - now).total_seconds() / 3600)
    days = len(shop.weekdays)
    own = (one.person.week_hours / days - one.logged.today / 3600 for one in people)
    return sum(max(0.0, min(hours, until_end)) for hours in own)


def _running(now: datetime, shop: ShopSettings) -> list[RunningTimer]:
    """Every timer that runs, with its step and job."""
    entries = (
        TimeEntry.objects.filter(seconds=None)
        .select_related("step__fabrication__job")
        .only("started_at", "person", *(f"step__{name}" for name in ("text", "position", "fabrication__job__number")))
        .order_by()  # else the database reads all of them by their days
    )
    return [RunningTimer(entry, elapsed(entry, now), why_asked(entry.started_at, now, shop)) for entry in entries]


def _ticked_since(start: datetime) -> list[Step]:
    """The steps ticked from then on whose ticks stand, the newest first."""
    steps = Step.objects.filter(done_at__gte=start).select_related("fabrication__job")
    return list(
        steps.only("text", "position", "done_at", "done_by", "fabrication__job__number").order_by("-done_at", "-pk")
    )


def _logged(today: date, running: Mapping[int, RunningTimer]) -> dict[int, Logged]:
    """By person."""
    monday, midnight = (Period(day, day).start for day in (today - timedelta(days=today.weekday()), today))
    stopped = TimeEntry.objects.filter(started_at__gte=monday, seconds__gt=0).order_by()
    lines = list(stopped.values_list("person", "started_at", "seconds"))
    lines += [(who, one.entry.started_at, one.seconds) for who, one in running.items() if not one.ran_long]
    logged: dict[int, Logged] = {}
    for person, began, seconds in lines:
        before, spent = logged.get(person, Logged()), seconds or 0
        today_more, week_more = spent if began >= midnight else 0, spent if began >= monday else 0
        logged[person] = Logged(before.today + today_more, before.week + week_more)
    return logged
