"""A blank spoiled and another laid out in its place: the line, the next revision and what it cost, all or nothing."""

from collections.abc import Sequence
from uuid import UUID

from django.db import transaction

import calc
from fabjobs.frozen import lay_before
from fabjobs.heading import Heading
from fabjobs.models import Fabrication, Person, Revision, Spoiled, SpoiledWork
from fabjobs.services.job import Along, job_change
from fabjobs.services.metal import LineIsStruck, line_strike
from fabjobs.services.once import line_of_form
from fabjobs.spoiled_work import DoneOn, cut_since

LONGEST_REASON = 200


class CannotRestore(Exception):
    """A copy can't be taken for a good one again; the text says why."""


@transaction.atomic
def copy_spoil(
    *,
    fabrication: Fabrication,
    copy: str,
    plan: calc.Plan,
    why: str,
    started_from: int,
    by: Person,
    form_key: UUID,
    along: Sequence[Along] = (),
) -> Spoiled:
    """A copy ("A.1") on a sheet that was cut into is spoiled: the line that says so, the work that was lost with it, and the
    plan, computed before, with another in its place as the next revision.

    The same form again answers with its line. Raises as `job_change` does, `JobIsStale` too where a tick changed which work
    comes back; and `SentBefore`.
    """
    sent = line_of_form(Spoiled, form_key, fabrication=fabrication, by=by, copy=copy, why=why)
    if sent is not None:
        return sent
    before = fabrication.revisions.latest("number")
    done = DoneOn.of(before, copy)
    shares = done.shares()
    job = fabrication.job
    revision = job_change(
        fabrication=fabrication,
        plan=plan,
        heading=Heading.of(job),
        started_from=started_from,
        job_version=job.version,
        reason=_shortened(f"{copy} spoiled: {why}"),
        by=by,
        form_key=form_key,
        along=along,
        lies=done.lies,
    )
    part = before.parts.get(blank=done.blank)
    line = Spoiled.objects.create(
        fabrication=fabrication,
        blank=part.blank,
        copy=copy,
        why=why,
        area=part.area,
        mass=part.mass,
        revision=revision,
        by=by,
        form_key=form_key,
    )
    SpoiledWork.objects.bulk_create(SpoiledWork(spoiled=line, step_id=pk, share=share) for pk, share in shares.items())
    return line


@transaction.atomic
def copy_restore(
    *, line: Spoiled, plan: calc.Plan | None, why: str, by: Person, along: Sequence[Along] = ()
) -> Spoiled:
    """A copy is good after all: its line is struck out, and the plan, computed before, without the one in its place is the
    next revision. The same words again change nothing, and need no plan.

    Raises `CannotRestore`, `LineIsStruck` where it was struck out for another reason or by someone else, and as `job_change`.
    """
    line = Spoiled.objects.select_related("revision", "fabrication__job", "struck_by").get(pk=line.pk)
    if line.struck_at is not None or plan is None:
        if (line.struck_by_id, line.struck_why) != (by.pk, why):
            raise LineIsStruck(line)
        return line
    revision = restorable(line)
    job = line.fabrication.job
    job_change(
        fabrication=line.fabrication,
        plan=plan,
        heading=Heading.of(job),
        started_from=revision.number,
        job_version=job.version,
        reason=_shortened(f"{line.copy} is good after all: {why}"),
        by=by,
        along=along,
        lies=lambda: lay_before(revision, line.copy),
    )
    line_strike(line=line, why=why, by=by)
    line.refresh_from_db()
    return line


def restorable(line: Spoiled) -> Revision:
    """The revision that laid another out in its place, if it can be taken back: it is the latest, and nothing of what is new
    in it was cut. Raises `CannotRestore`."""
    latest = line.fabrication.revisions.latest("number")
    if line.revision is None:
        raise CannotRestore("No other was laid out in its place: the line can be struck out by itself.")
    if latest.pk != line.revision_id:
        why = f" ({latest.reason})" if latest.reason else ""
        raise CannotRestore(
            f"Revision {latest.number}{why} came since, and is laid out with another in its place. "
            f"Keep {line.copy} as a spare. Nothing was changed."
        )
    for cut in cut_since(latest):
        who = f"{cut.done_by} ticked" if cut.done_at else "Time was logged on"
        raise CannotRestore(
            f"{who} a cut that came with the one in its place: {cut.text} Keep {line.copy} as a spare. Nothing was changed."
        )
    return latest


def _shortened(reason: str) -> str:
    return reason if len(reason) <= LONGEST_REASON else f"{reason[: LONGEST_REASON - 1]}…"
