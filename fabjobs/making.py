"""What a job makes, its steps with what was logged on them, as its page shows them, and the timer that runs for a person."""

from dataclasses import dataclass

from django.db.models import F, OuterRef, Prefetch, QuerySet, Subquery, Sum
from django.utils import timezone

from calc import Plan
from fabjobs.models import Job, Person, SpoiledWork, Step, StepNote, TimeEntry
from fabjobs.services.time import LONGEST_RUN, elapsed
from fabjobs.stages import progress_of


def thing_of(plan: Plan) -> str:
    """What is made, in a word: tray, pan, parts."""
    return plan.sheet.shape.family.rpartition("-")[2]


def steps_of(job: Job) -> QuerySet[Step]:
    """The steps of a job, each with its logged time [s], notes, running timers and what of it was spoiled, in a fixed number of
    queries."""
    logged = TimeEntry.objects.filter(step=OuterRef("pk")).order_by().values("step")
    lost = SpoiledWork.objects.filter(spoiled__struck_at=None).select_related("spoiled__by")
    running = TimeEntry.objects.filter(seconds=None).select_related("person")
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


def make_section(job: Job) -> dict[str, object]:
    """What the page of a job shows of its making: steps in force, those worked on under an earlier revision, the sums."""
    rows = list(steps_of(job))
    return {
        "steps": [step for step in rows if not step.retired],
        "retired": [step for step in rows if step.retired],
        **sums_of(job),
    }


def sums_of(job: Job) -> dict[str, object]:
    """How far a job is, and all time logged on it so far [s]."""
    return {"progress": progress_of([job])[job.pk], "logged": seconds_on(job)}


def seconds_on(job: Job) -> int:
    """All time that was logged on a job so far [s], on steps of earlier revisions too."""
    total = TimeEntry.objects.filter(step__fabrication__job=job).aggregate(total=Sum("seconds"))["total"]
    return int(total or 0)


@dataclass(frozen=True)
class RunningTimer:
    """A timer that runs, and how long it has [s]; one that ran past the longest run has to be asked about."""

    entry: TimeEntry
    seconds: int

    @property
    def ran_long(self) -> bool:
        return self.seconds > LONGEST_RUN


def running_timer(person: Person) -> RunningTimer | None:
    """The timer that runs for a person, with its step and job."""
    entry = (
        TimeEntry.objects.filter(person=person, seconds=None)
        .select_related("step__fabrication__job")
        .only("started_at", "person", "step__text", "step__fabrication__job__number", "step__fabrication__job__title")
        .first()
    )
    return None if entry is None else RunningTimer(entry, elapsed(entry, timezone.now()))
