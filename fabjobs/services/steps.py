"""Ticks and notes on steps. A tick is locked by the step's version: who comes second is told who came first."""

from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import F, QuerySet
from django.utils import timezone

from fabjobs.frozen import CUT
from fabjobs.models import Person, Revision, Step, StepNote, Tick
from fabjobs.moments import moment
from fabjobs.services.once import SentBefore, line_of_form
from fabjobs.services.rack import cut_sheets_issue
from fabjobs.services.tapped import tapped_at

SENT_LATER = 30  # [s] from which on a tick says that it was sent later than it was tapped


class StepChanged(Exception):
    """Someone else was there first; the text says who did what and when. `step` is the step as it is now."""

    def __init__(self, step: Step, text: str) -> None:
        self.step = step
        super().__init__(text)


@transaction.atomic
def step_tick(
    *,
    step: Step,
    version: int,
    done: bool,
    by: Person,
    form_key: UUID,
    revision: int | None = None,
    note: str = "",
    ago: float = 0.0,
) -> Step:
    """Tick a step, or take its tick back, with a note if one was typed.

    version: the step's, as the person saw it; revision: the key of the revision they saw it in, if that is to hold too;
    ago: how long ago it was tapped [s], where a device kept the tap. The same form again changes nothing; `SentBefore` is
    raised if it said something else. Raises `StepChanged`, and nothing is written, where the step is no longer as it was
    seen, or no longer as this form left it.
    """
    if not _ticked_before(step, version, done=done, by=by, form_key=form_key, note=note):
        seen = Step.objects.filter(pk=step.pk, version=version, retired=False)
        if revision is not None:
            seen = seen.filter(revision_id=revision)
        now = timezone.now()
        tapped = tapped_at(ago, now=now)
        done_now = {"done_at": tapped if done else None, "done_by": by if done else None}
        if not seen.update(version=F("version") + 1, **done_now):
            raise _changed(step, version)
        kept = {"tapped_at": tapped} if (now - tapped).total_seconds() > SENT_LATER else {}
        Tick.objects.create(step=step, done=done, by=by, form_key=form_key, **kept)
        if step.kind == CUT:
            cut_sheets_issue(fabrication=step.fabrication, by=by, form_key=form_key)
        if note and note not in _notes_of_form(form_key).values():
            StepNote.objects.create(step=step, text=note, by=by, form_key=_note_key(form_key))
    step.refresh_from_db()
    return step


def _ticked_before(step: Step, version: int, *, done: bool, by: Person, form_key: UUID, note: str) -> bool:
    """Whether this form ticked the step already. Raises where it says something else, or where others came since."""
    before = line_of_form(Tick, form_key, step_id=step.pk)
    if before is None:
        return False
    if step.ticks.filter(pk__gt=before.pk).exists():
        raise _changed(step, version, counted=True)
    kept = _notes_of_form(form_key)
    same_note = note == kept.get(_note_key(form_key), "") or note == kept.get(form_key)
    if (before.done, before.by_id) != (done, by.pk) or not same_note:
        did = "ticked" if before.done else "took the tick back"
        more = "Your note was not kept: keep it by itself." if note else "Nothing more was written."
        raise SentBefore(before, f"This form was sent already: {before.by} {did} {moment(before.when)}. {more}")
    return True


def _note_key(form_key: UUID) -> UUID:
    """The key of a note that came with a tick: the page of a step has one form for either."""
    return uuid5(form_key, "note")


def _notes_of_form(form_key: UUID) -> dict[UUID, str]:
    """What a form noted so far, by itself or with a tick."""
    keys = (form_key, _note_key(form_key))
    return dict(StepNote.objects.filter(form_key__in=keys).values_list("form_key", "text"))


@transaction.atomic
def note_add(*, step: Step, text: str, by: Person, form_key: UUID) -> StepNote:
    """A note on a step. The same form again makes no second one; raises `SentBefore` if it said something else.

    Raises `StepChanged` where a new revision took the step away meanwhile.
    """
    with_tick = StepNote.objects.filter(form_key=_note_key(form_key), step=step, text=text).first()
    before = with_tick or line_of_form(StepNote, form_key, step_id=step.pk, text=text)
    step_there(step)
    return before or StepNote.objects.create(step=step, text=text, by=by, form_key=form_key)


def step_there(step: Step, *, in_force: bool = False) -> None:
    """Within a transaction: raise `StepChanged` if a revision took the step away; in_force: also if it retired it."""
    now = Step.objects.filter(pk=step.pk).first()
    if now is None or (in_force and now.retired):
        raise _replanned(step, gone=True)


def _changed(step: Step, version: int, *, counted: bool = False) -> StepChanged:
    """What happened to a step since the person saw it; counted: since their tap was taken, of which they may not know."""
    now = Step.objects.filter(pk=step.pk).first()
    if now is None or now.retired:
        return _replanned(now or step, gone=True)
    last = Tick.objects.filter(step=now).select_related("by").last()
    if now.version == version or last is None:
        return _replanned(now, gone=False)
    did = "ticked this" if last.done else "took the tick back"
    yours = "Your tap had counted before that." if counted else "Your tap changed nothing."
    return StepChanged(now, f"{last.by} {did} {moment(last.when)}. {yours}")


def _replanned(step: Step, *, gone: bool) -> StepChanged:
    """Why a step can't be worked on as it was seen: another revision came."""
    came = revision_came(Revision.objects.filter(fabrication=step.fabrication_id).order_by("number"))
    if gone:
        return StepChanged(step, f"{came}; this step is no longer made. Reload the page for what took its place.")
    return StepChanged(step, f"{came}. Read the step as it is now, then tick it. Nothing was ticked.")


def revision_came(revisions: QuerySet[Revision]) -> str:
    """Who made the last of these revisions, and when."""
    last = revisions.defer("sheet", "plan", "thumbnail").select_related("created_by").last()
    return f"{last.created_by} made revision {last.number} {moment(last.created_at)}" if last else "The plan changed"
