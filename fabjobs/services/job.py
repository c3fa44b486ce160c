from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F, Max
from django.utils import timezone
from django.utils.formats import date_format

import calc
from fabjobs import planning
from fabjobs.frozen import cut_into, metal_key, metal_of
from fabjobs.heading import Heading
from fabjobs.models import Fabrication, Job, Person, Revision, Step
from fabjobs.moments import moment
from fabjobs.services.rack import plan_reserve, shares_in_line
from fabjobs.sharing import cut_sheets_shared, latest_of_job, partners_of, told_alike


@dataclass(frozen=True)
class Along:
    """The next plan of a job that another's change brings with it: computed from this revision, its latest, and why."""

    revision: Revision
    plan: calc.Plan
    reason: str


Lies = Callable[[], list[dict[str, Any]]]  # the sheets that were cut into, for the sheet of the next plan


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
    along: Sequence[Along] = (),
    lies: Lies | None = None,
) -> Revision:
    """The next revision of a fabrication, from a plan computed before, and the job's own lines with it.

    along: the next plans of the jobs that share sheets with it, where the change parts them or lays them out together. lies:
    how the sheets that were cut into lie, asked within the change, where that is what it changes.

    started_from: the number of the revision that was changed; job_version: the job's, if its lines change too. A form_key
    that was stored already answers with its revision. Raises `JobIsStale` where another revision, other lines or a cut
    on a sheet that the plan does not leave as it lies came first, or where a job that shares sheets with it says otherwise of
    them; and `NotOnTheRack` where a piece of the rack is gone.
    """
    if (sent := revision_of_form(form_key)) is not None:
        return sent
    latest = _check_latest(fabrication, started_from, plan, lies)
    _check_keeps_metal(latest, plan)
    job_describe(job=fabrication.job, heading=heading, version=job_version, by=by)
    revision = planning.store(fabrication=fabrication, plan=plan, by=by, reason=reason, form_key=form_key)
    for other in along:
        _follow(other, by)
    _check_agreed(revision, latest)
    # what another job is laid out on no longer is free by now
    for made, its in ((fabrication, plan), *((other.revision.fabrication, other.plan) for other in along)):
        plan_reserve(fabrication=made, plan=its, by=by)
        shares_in_line(fabrication=made, by=by, form_key=uuid4())
    return revision


def _check_keeps_metal(latest: Revision | None, plan: calc.Plan) -> None:
    """Raise `JobIsStale` where the plan is of another metal than a sheet that was cut into and holds another job's blanks."""
    material = plan.sheet.material
    if latest is None or metal_key(material.alloy, material.thickness) == metal_of(latest.sheet):
        return
    for sheet, jobs in cut_sheets_shared(latest):
        raise JobIsStale(
            f"Sheet {sheet.number} was cut into meanwhile and holds blanks of job {', '.join(jobs)}: its metal stays."
        )


def _follow(other: Along, by: Person) -> None:
    """Keep the plan that another job's change brings with it. Raises `JobIsStale` where that job was changed meanwhile; cut
    into meanwhile too, unless nothing of it is laid out anew."""
    made = other.revision.fabrication
    _check_number(made, other.revision.number)
    if other.plan.as_json()["layout"] != other.revision.plan["layout"]:
        _check_cut(made, other.plan)
    planning.store(fabrication=made, plan=other.plan, by=by, reason=other.reason)


def _check_agreed(revision: Revision, before: Revision | None) -> None:
    """Raise `JobIsStale` where it and a job that shares sheets with it, or did before, say otherwise of each other."""
    told = Revision.objects.values_list("sheet", flat=True).get(pk=before.pk) if before is not None else {}
    for number in dict.fromkeys((*partners_of(revision.sheet), *partners_of(told))):
        other = latest_of_job(number)
        if other is None or not (told_alike(revision, other) and told_alike(other, revision)):
            raise JobIsStale(
                f"Which sheets job {number} shares with it, or which of them are cut into, changed meanwhile."
            )


@transaction.atomic
def jobs_lay_together(*, host: Along, guest: Along, by: Person, form_key: UUID) -> Revision:
    """Lay two jobs out together, both or none: the plans that each is to have. Answers with the host's revision.

    Raises `JobIsStale` where one of them was changed or cut into or shares sheets with another by now, and `NotOnTheRack`.
    """
    if (sent := revision_of_form(form_key)) is not None:
        return sent
    for one in (host, guest):
        made = one.revision.fabrication
        if cut := cut_into(made):
            raise JobIsStale(f"Job {made.job.number}: {_cut([step for sheet in cut for step in sheet.cuts])}")
        if partners := partners_of(made.revisions.latest("number").sheet):
            raise JobIsStale(f"Job {made.job.number} is laid out with job {partners[0]} already.")
    job = host.revision.fabrication.job
    return job_change(
        fabrication=host.revision.fabrication,
        plan=host.plan,
        heading=Heading.of(job),
        started_from=host.revision.number,
        job_version=job.version,
        reason=host.reason,
        by=by,
        form_key=form_key,
        along=[guest],
    )


def _check_latest(fabrication: Fabrication, started_from: int, plan: calc.Plan, lies: Lies | None) -> Revision | None:
    """The latest revision. Raises `JobIsStale` where it is another, or the plan does not leave what is cut as it lies."""
    latest = _check_number(fabrication, started_from)
    _check_cut(fabrication, plan, lies)
    return latest


def _check_number(fabrication: Fabrication, started_from: int) -> Revision | None:
    latest = fabrication.revisions.defer("plan", "sheet", "thumbnail").select_related("created_by").last()
    if latest is not None and latest.number != started_from:
        raise JobIsStale(_saved(latest))
    return latest


def _check_cut(fabrication: Fabrication, plan: calc.Plan, lies: Lies | None = None) -> None:
    metal = metal_key(plan.sheet.material.alloy, plan.sheet.material.thickness)
    frozen = cut_into(fabrication, metal=metal)
    lying = lies() if lies else [sheet.layout for sheet in frozen]
    if lying != plan.as_json()["sheet"]["frozen"]:
        raise JobIsStale(_cut([cut for sheet in frozen for cut in sheet.cuts]))


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
