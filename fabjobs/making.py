"""What a job makes, its steps with what was logged on them, as its page shows them, and the timer that runs for a person."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db.models import F, OuterRef, Prefetch, QuerySet, Subquery, Sum
from django.utils import timezone

from calc import Plan
from fabjobs.forgotten import why_asked
from fabjobs.models import Job, Person, ShopSettings, SpoiledWork, Step, StepNote, TimeEntry
from fabjobs.services.time import elapsed
from fabjobs.stages import progress_of

TOLD_FOR = 120  # [s] so long the bar says which timer a start has stopped
SAME_TAP = timedelta(seconds=1)  # whole seconds are kept of a time


def thing_of(plan: Plan) -> str:
    """What is made, in a word: tray, pan, parts."""
    return plan.sheet.shape.family.rpartition("-")[2]


def steps_of(job: Job, seen_by: Person) -> QuerySet[Step]:
    """The steps of a job, each with its logged time [s], notes, running timers and what of it was spoiled, in a fixed number of
    queries; of time what a person may see."""
    times = TimeEntry.objects.seen_by(seen_by)
    logged = times.filter(step=OuterRef("pk")).order_by().values("step")
    lost = SpoiledWork.objects.filter(spoiled__struck_at=None).select_related("spoiled__by")
    running = times.filter(seconds=None).select_related("person")
    return (
        Step.objects.filter(fabrication__job=job)
        .select_related("done_by")
        .annotate(
            seconds=Subquery(logged.annotate(sum=Sum("seconds")).values("sum")),
            revision_number=F("revision__number"),  # the revision itself would bring its whole plan along
        )
        .prefetch_related(
            Prefetch("notes", StepNote.objects.select_related("by")),
            Prefetch("times", running, to_attr="running"),
            Prefetch("spoiled_work", lost, to_attr="lost"),
        )
        .order_by("fabrication__position", "retired", "position", "pk")
    )


def make_section(job: Job, seen_by: Person) -> dict[str, Any]:
    """What the page of a job shows of its making: steps in force, those worked on under an earlier revision, the sums."""
    rows = list(steps_of(job, seen_by))
    return {
        "steps": [step for step in rows if not step.retired],
        "retired": [step for step in rows if step.retired],
        **sums_of(job, seen_by),
    }


def sums_of(job: Job, seen_by: Person) -> dict[str, object]:
    """How far a job is, and the time logged on it so far [s]; a hand's is their own."""
    logged = seconds_on(job, seen_by)
    return {"progress": progress_of([job])[job.pk], "logged": logged, "is_own": not seen_by.is_owner}


def seconds_on(job: Job, seen_by: Person) -> int:
    """The time that was logged on a job so far [s], on steps of earlier revisions too, as far as a person sees it."""
    times = TimeEntry.objects.seen_by(seen_by).filter(step__fabrication__job=job)
    return int(times.aggregate(total=Sum("seconds"))["total"] or 0)


@dataclass(frozen=True)
class RunningTimer:
    """A timer that runs, and how long it has [s]. asked: why it has to be asked about, nothing where it needn't be.

    stopped: the entry that its start stopped, for as long as that is told.
    """

    entry: TimeEntry
    seconds: int
    asked: str = ""
    stopped: TimeEntry | None = None

    @property
    def ran_long(self) -> bool:
        return bool(self.asked)


def running_timer(person: Person, shop: ShopSettings | None = None) -> RunningTimer | None:
    """The timer that runs for a person, with its step and job; shop: its settings, where they are read already."""
    entry = (
        TimeEntry.objects.filter(person=person, seconds=None)
        .select_related("step__fabrication__job")
        .only("started_at", "person", "step__text", "step__fabrication__job__number", "step__fabrication__job__title")
        .first()
    )
    if entry is None:
        return None
    now = timezone.now()
    seconds = elapsed(entry, now)
    stopped = _stopped_by(entry) if seconds < TOLD_FOR else None
    return RunningTimer(entry, seconds, why_asked(entry.started_at, now, shop), stopped)


def _stopped_by(started: TimeEntry) -> TimeEntry | None:
    """The entry of the same person whose timer ended as this one was started; None where none did."""
    timed = TimeEntry.objects.filter(person=started.person_id, by_hand=False, seconds__isnull=False)
    before = timed.filter(started_at__lte=started.started_at).exclude(step=started.step_id)
    last = before.select_related("step__fabrication__job").order_by("started_at").last()
    if last is None or last.seconds is None:
        return None
    ended = last.started_at + timedelta(seconds=last.seconds)
    return last if abs(ended - started.started_at) <= SAME_TAP else None
