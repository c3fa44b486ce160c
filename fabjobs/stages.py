"""How far a job is, read off its steps; nobody sets it by hand.

The stage is that of the furthest kind of work that is begun, that is, has a ticked step:

- measured: no tick yet; the job sheet holds the measurements;
- planned: no tick but the check of the opening on the machine (`measure`);
- cutting: a tick on marking out, cutting, dressing, drilling or folding, none further on;
- welding: a tick on cleaning, tacking, checking, welding, planishing or the outlet, none further on;
- fitting: a tick on the test, the aperture, the installing, sealing or standing in place, or the finish;
- finished: every step is ticked.

Only the steps of the newest revision count: those that are retired are done, but no longer part of what is made.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.db import models
from django.db.models import Case, Count, Exists, Max, OuterRef, Q, QuerySet, Subquery, Sum, Value, When

from fabjobs.models import Job, Step


class Stage(models.IntegerChoices):
    """The stages of a job, in their order."""

    MEASURED = 0, "measured"
    PLANNED = 1, "planned"
    CUTTING = 2, "cutting"
    WELDING = 3, "welding"
    FITTING = 4, "fitting"
    FINISHED = 5, "finished"


KINDS = {
    Stage.PLANNED: ("measure",),
    Stage.CUTTING: ("mark", "cut", "hand-cut", "dress", "drill", "fold"),
    Stage.WELDING: ("clean", "fit", "check", "weld", "planish", "outlet"),
    Stage.FITTING: ("test", "aperture", "install", "seal", "stand", "finish"),
}


@dataclass(frozen=True)
class Progress:
    """How far a job is: its stage, how many of its steps are ticked, their standard time [min], the next one to do."""

    stage: Stage
    steps: int
    done: int
    minutes: float
    next_step: str | None


def jobs_in_hand() -> QuerySet[Job]:
    """The jobs that are not finished, one without any step among them."""
    own = Step.objects.filter(fabrication__job=OuterRef("pk"), retired=False)
    return Job.objects.filter(Exists(own.filter(done_at=None)) | ~Exists(own))


def progress_of(jobs: Iterable[Job]) -> dict[int, Progress]:
    """How far each of these jobs is, by its key, in one query."""
    own = Step.objects.filter(fabrication__job=OuterRef("pk"), retired=False)
    to_do = own.filter(done_at=None).order_by("fabrication__position", "position")
    steps, done = Q(fabrications__steps__retired=False), Q(fabrications__steps__done_at__isnull=False)
    kinds = (When(fabrications__steps__kind__in=kinds, then=Value(stage.value)) for stage, kinds in KINDS.items())
    read = (
        Job.objects.filter(pk__in=[job.pk for job in jobs])
        .order_by()
        .annotate(
            furthest=Max(Case(*kinds, output_field=models.IntegerField()), filter=steps & done),
            steps=Count("fabrications__steps", filter=steps),
            done=Count("fabrications__steps", filter=steps & done),
            minutes=Sum("fabrications__steps__minutes", filter=steps),
            next_step=Subquery(to_do.values("text")[:1]),
        )
        .values_list("pk", "furthest", "steps", "done", "minutes", "next_step")
    )
    return {
        pk: Progress(_stage(furthest, steps, done), steps, done, minutes or 0.0, next_step)
        for pk, furthest, steps, done, minutes, next_step in read
    }


def _stage(furthest: int | None, steps: int, done: int) -> Stage:
    if steps and steps == done:
        return Stage.FINISHED
    return Stage(furthest or Stage.MEASURED)
