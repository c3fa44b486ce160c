"""The work in hand: hours left of each job by the shop's own record, and on which day it is likely done.

Hours left are the standard minutes of the steps that are not ticked, by kind of work, times what the shop's timed steps of that
kind took against theirs, where these are of jobs enough. Jobs are taken in order of due day, then number.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.db.models import Count, F, OuterRef, Subquery, Sum

from calc.tables.minutes import STANDARD
from calc.workload import Timed, finish_days
from fabjobs.kinds import kind_name
from fabjobs.models import Step, TimeEntry
from fabjobs.stages import jobs_in_hand

RECORD = timedelta(days=365)  # how far back a pace is looked for


@dataclass(frozen=True)
class Pace:
    """How long a kind of work takes here against its standard minutes; none where too few jobs say so."""

    kind: str
    timed: Timed

    @property
    def name(self) -> str:
        return kind_name(self.kind)


@dataclass(frozen=True)
class JobLeft:
    """A job in hand: minutes left by the standard and as corrected, and the day on which it is likely done."""

    number: int
    title: str
    customer: str
    due_day: date | None
    standard: float
    minutes: float
    likely: date | None = None

    @property
    def is_late(self) -> bool:
        """Whether it is not likely to be done by the day it is due."""
        return self.due_day is not None and (self.likely is None or self.likely > self.due_day)


def paces(now: datetime) -> list[Pace]:
    """What the last year's ticked steps with time on them say, a kind each in the trade's order."""
    spent = TimeEntry.objects.filter(step=OuterRef("pk"), seconds__gt=0).order_by().values("step")
    rows = (
        Step.objects.filter(done_at__gte=now - RECORD, minutes__gt=0)
        .order_by()
        .annotate(seconds=Subquery(spent.annotate(sum=Sum("seconds")).values("sum")))
        .filter(seconds__gt=0)
        .values("kind")
        .annotate(expected=Sum("minutes"), taken=Sum("seconds"), jobs=Count("fabrication__job", distinct=True))
    )
    found = {row["kind"]: Timed(row["expected"], row["taken"] / 60, row["jobs"]) for row in rows}
    return [Pace(kind, found[kind]) for kind in sorted(found, key=_place)]


def _place(kind: str) -> tuple[int, str]:
    order = list(STANDARD)
    return (order.index(kind) if kind in STANDARD else len(order), kind)


def jobs_left(record: Iterable[Pace]) -> list[JobLeft]:
    """The jobs in hand in the order in which they are taken: by due day, those without one last, then by number."""
    pace = {one.kind: one.timed.pace or 1.0 for one in record}
    minutes = _minutes_left()
    jobs = jobs_in_hand().order_by(F("due_day").asc(nulls_last=True), "number")
    return [
        JobLeft(
            number=number,
            title=title,
            customer=customer,
            due_day=due_day,
            standard=sum(minutes.get(pk, {}).values()),
            minutes=sum(standard * pace.get(kind, 1.0) for kind, standard in minutes.get(pk, {}).items()),
        )
        for pk, number, title, customer, due_day in jobs.values_list("pk", "number", "title", "customer", "due_day")
    ]


def _minutes_left() -> Mapping[int, Mapping[str, float]]:
    """Standard minutes of the steps to do, by job and kind."""
    rows = (
        Step.objects.filter(done_at=None, retired=False)
        .order_by()
        .values_list("fabrication__job", "kind")
        .annotate(Sum("minutes"))
    )
    left: dict[int, dict[str, float]] = {}
    for job, kind, minutes in rows:
        left.setdefault(job, {})[kind] = minutes
    return left


def with_days(
    jobs: Sequence[JobLeft], *, today: date, left_today: float, day_hours: float, work_days: Iterable[int]
) -> list[JobLeft]:
    """These jobs with the days on which they are likely done; hours as `finish_days` takes them."""
    hours = [job.minutes / 60 for job in jobs]
    days = finish_days(hours, today=today, left_today=left_today, day_hours=day_hours, work_days=frozenset(work_days))
    return [replace(job, likely=day) for job, day in zip(jobs, days, strict=True)]
