from collections.abc import Sequence
from uuid import UUID

from django.db import transaction

import calc
from fabjobs.heading import Heading
from fabjobs.improving import has_worker, look_for_better_layout, tell_stopped
from fabjobs.models import Fabrication, Improvement, Person, Revision
from fabjobs.services.job import Along, JobIsStale, job_change

REASON = "A better layout"


@transaction.atomic
def improvement_ask(*, fabrication: Fabrication, by: Person, form_key: UUID) -> Improvement:
    """Have a worker look for a better layout of a fabrication's latest revision. One look at a time: while one is open, or
    where this form was sent before, that one is the answer."""
    sent = Improvement.objects.filter(form_key=form_key).first()
    if sent is not None:
        return sent
    if not has_worker():
        tell_stopped(fabrication)
    still_open = fabrication.improvements.filter(ended_at=None).first()
    if still_open is not None:
        return still_open
    revision = fabrication.revisions.latest("number")
    asked = Improvement.objects.create(fabrication=fabrication, revision=revision, by=by, form_key=form_key)
    look_for_better_layout.enqueue(asked.pk)
    return asked


@transaction.atomic
def improvement_take(*, improvement: Improvement, by: Person, form_key: UUID, along: Sequence[Along] = ()) -> Revision:
    """Make the layout that was found the job's next revision; taken before, that revision is the answer.

    along: the next plans of jobs that share sheets with it, where it gives a sheet that was cut into another number.

    Raises `JobIsStale` where there is none to take, or another revision or a cut came since; `NotOnTheRack` where a piece
    that it lies on is gone.
    """
    improvement = Improvement.objects.select_related("taken_as", "revision", "fabrication__job").get(pk=improvement.pk)
    if improvement.taken_as is not None:
        return improvement.taken_as
    if improvement.plan is None:
        raise JobIsStale("No layout was found that could be taken.")
    job = improvement.fabrication.job
    revision = job_change(
        fabrication=improvement.fabrication,
        plan=calc.Plan.from_json(improvement.plan),
        heading=Heading.of(job),
        started_from=improvement.revision.number,
        job_version=job.version,
        reason=REASON,
        by=by,
        form_key=form_key,
        along=along,
    )
    Improvement.objects.filter(pk=improvement.pk).update(taken_as=revision)
    return revision
