from dataclasses import asdict
from datetime import date
from uuid import UUID

from django.db import transaction
from django.db.models import F, Max
from django.utils import timezone
from django.utils.formats import date_format

import calc
from fabjobs import planning
from fabjobs.frozen import cut_into, metal_key
from fabjobs.heading import Heading
from fabjobs.models import Fabrication, Job, Person, Revision, Step
from fabjobs.moments import moment
from fabjobs.services.rack import plan_reserve


class JobIsStale(Exception):
    """Someone else was there first; the text says who did what and when."""


@transaction.atomic
def job_create(*, plan: calc.Plan, due_day: date | None, by: Person, form_key: UUID | None = None) -> Job:
    """A new job with one fabrication and its first revision, named as the plan's sheet says.

    What its plan takes from the rack is reserved. A form_key that was stored already answers with the job that it made.
    Raises `NotOnTheRack` where another job was quicker, and nothing is written.
    """
    if (sent := revision_of_form(form_key)) is not None:
        return sent.fabrication.job
    last = Job.objects.aggregate(last=Max("number"))["last"] or 0
    job = Job.objects.create(
        number=last + 1,
        title=plan.sheet.title,
        customer=plan.sheet.customer,
        machine=plan.sheet.machine,
        due_day=due_day,
        created_by=by,
    )
    fabrication = Fabrication.objects.create(job=job, name=plan.sheet.shape.family.replace("-", " ").capitalize())
    planning.store(fabrication=fabrication, plan=plan, by=by, form_key=form_key)
    plan_reserve(fabrication=fabrication, plan=plan, by=by)
    return job


@transaction.atomic
def job_change(
    *,
    fabrication: Fabrication,
    plan: calc.Plan,
    heading: Heading,
    started_from: int,
    job_version: int,
    reason: str,
    by: Person,
    form_key: UUID | None = None,
) -> Revision:
    """The next revision of a fabrication, from a plan computed before, and the job's own lines with it.

    started_from: the number of the revision that was changed; job_version: the job's, if its lines change too. A form_key
    that was stored already answers with its revision. Raises `JobIsStale` where another revision, other lines or a cut
    on a sheet that the plan does not leave as it lies came first, and `NotOnTheRack` where a piece of the rack is gone.
    """
    if (sent := revision_of_form(form_key)) is not None:
        return sent
    latest = fabrication.revisions.defer("plan", "sheet", "thumbnail").select_related("created_by").last()
    if latest is not None and latest.number != started_from:
        raise JobIsStale(_saved(latest))
    metal = metal_key(plan.sheet.material.alloy, plan.sheet.material.thickness)
    frozen = cut_into(fabrication, metal=metal)
    if [sheet.layout for sheet in frozen] != plan.as_json()["sheet"]["frozen"]:
        raise JobIsStale(_cut([cut for sheet in frozen for cut in sheet.cuts]))
    job_describe(job=fabrication.job, heading=heading, version=job_version, by=by)
    revision = planning.store(fabrication=fabrication, plan=plan, by=by, reason=reason, form_key=form_key)
    plan_reserve(fabrication=fabrication, plan=plan, by=by)
    return revision


@transaction.atomic
def job_describe(*, job: Job, heading: Heading, version: int, by: Person) -> None:
    """Change a job's own lines; the same again change nothing. Raises `JobIsStale` where `version` is no longer its."""
    now = Job.objects.select_related("changed_by").get(pk=job.pk)
    if Heading.of(now) == heading:
        return
    changed = Job.objects.filter(pk=job.pk, version=version).update(
        **asdict(heading), version=F("version") + 1, changed_by=by, changed_at=timezone.now()
    )
    if not changed:
        raise JobIsStale(_described(now))


def revision_of_form(form_key: UUID | None) -> Revision | None:
    """The revision that a form made when it was sent before."""
    if form_key is None:
        return None
    return Revision.objects.filter(form_key=form_key).select_related("fabrication__job").first()


def _saved(revision: Revision) -> str:
    why = f" ({revision.reason})" if revision.reason else ""
    return f"{revision.created_by} saved revision {revision.number} {moment(revision.created_at)}{why}."


def _described(job: Job) -> str:
    due = date_format(job.due_day, "j M Y") if job.due_day else "no day set"
    lines = ", ".join(part for part in (job.title, job.customer, job.machine) if part)
    who = f"{job.changed_by} changed the job's own lines {moment(job.changed_at)}" if job.changed_at else "They changed"
    return f"{who}: {lines}; due {due}."


def _cut(cuts: list[Step]) -> str:
    ticked = [cut for cut in cuts if cut.done_at is not None]
    if not ticked:
        return "Which sheets are cut into changed meanwhile: a tick was taken back or time was logged on a cut."
    last = max(ticked, key=lambda cut: cut.done_at or timezone.now())
    return f"{last.done_by} ticked a cut {moment(last.done_at or timezone.now())}: {last.text}"
