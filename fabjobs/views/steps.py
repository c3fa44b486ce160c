"""A step of a job: its tick, its notes, its time."""

from django.contrib.auth.models import AnonymousUser
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fabjobs.at_work import left_out_words, on_its_page, to_do
from fabjobs.forms.steps import TO_STEP, CorrectionForm, LoggedForm, NoteForm, TickForm, TimeForm
from fabjobs.frozen import CUT
from fabjobs.making import steps_of, sums_of
from fabjobs.models import Job, Person, Step, TimeEntry
from fabjobs.photos import PhotoStrip
from fabjobs.putting_away import PutAway
from fabjobs.requests import ShopRequest
from fabjobs.services import (
    NotOnTheRack,
    SentBefore,
    StepChanged,
    TimeChanged,
    note_add,
    step_tick,
    time_correct,
    time_enter,
)
from fabjobs.views.at_work import at_work_page, on_from, was_at_work
from fabjobs.views.gone_step import missing_step, tells_of_gone
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for, latest_revision

NOT_WHOLE = "That form was not whole. Nothing was changed; reload the page and try again."


def step_for(user: Person | AnonymousUser, number: int, step: int) -> tuple[Job, Step]:
    """The step of this key in the job of this number, if this person may see the job."""
    job = job_for(user, number)
    found = Step.objects.filter(fabrication__job=job, pk=step).first()
    if found is None:
        raise missing_step(job, step)
    return job, found


@for_hands
@require_safe
def show_step(request: ShopRequest, number: int, step: int) -> HttpResponse:
    """A step, large, with all that was logged on it and the forms to log more."""
    return _page(request, *step_for(request.user, number, step))


@for_hands
@require_POST
@tells_of_gone
def tick_step(request: ShopRequest, number: int, step: int) -> HttpResponse:
    """Tick a step or take the tick back, with a note if one was typed; who comes second is told who came first."""
    job, found = step_for(request.user, number, step)
    form = TickForm(request.POST)
    if not form.is_valid():
        return refuse_step(request, job, found, _said(form), status=422, note=NoteForm(request.POST))
    given = form.cleaned_data
    try:
        ticked = step_tick(
            step=found,
            version=given["version"],
            revision=given["revision"],
            done=given["done"],
            note=given["text"],
            by=request.user,
            form_key=given["form_key"],
            ago=given["ago"],
        )
    except (StepChanged, SentBefore, NotOnTheRack) as changed:
        kept = NoteForm(initial={"text": given["text"]})
        return refuse_step(request, job, found, str(changed), status=409, note=kept)
    if was_at_work(request):
        return on_from(request, job, ticked)
    if request.htmx:
        return row_answer(request, job, step, out_of_turn=left_out_words(ticked))
    return redirect("step", number, step) if given["back"] == TO_STEP else back_to_row(job, step)


@for_hands
@require_POST
@tells_of_gone
def add_note(request: ShopRequest, number: int, step: int) -> HttpResponse:
    """A note on a step."""
    job, found = step_for(request.user, number, step)
    form = NoteForm(request.POST)
    if not form.is_valid():
        return _page(request, job, found, said=_said(form), status=422, note=form)
    given = form.cleaned_data
    try:
        note_add(step=found, text=given["text"], by=request.user, form_key=given["form_key"])
    except (StepChanged, SentBefore) as before:
        kept = NoteForm(initial={"text": given["text"]})
        return _page(request, job, found, said=str(before), status=409, note=kept)
    return redirect("step", number, step)


@for_hands
@require_POST
@tells_of_gone
def enter_time(request: ShopRequest, number: int, step: int) -> HttpResponse:
    """Time that the person spent on the step, by hand."""
    job, found = step_for(request.user, number, step)
    form = TimeForm(request.POST)
    if not form.is_valid():
        return _page(request, job, found, said=_said(form), status=422, time=form)
    given = form.cleaned_data
    try:
        time_enter(step=found, day=given["day"], minutes=given["took"], by=request.user, form_key=given["form_key"])
    except (StepChanged, SentBefore) as before:
        return _page(request, job, found, said=str(before), status=409, time=form.again())
    return redirect("step", number, step)


@for_hands
@require_POST
@tells_of_gone
def correct_time(request: ShopRequest, number: int, step: int, entry: int) -> HttpResponse:
    """Another time for an entry, a hand's own or any for an owner, with the reason; the old one stays to be seen."""
    job, found = step_for(request.user, number, step)
    wrong = get_object_or_404(TimeEntry.objects.seen_by(request.user), pk=entry, step=found)
    form = CorrectionForm(request.POST, prefix=prefix_of(wrong))
    if not form.is_valid():
        return _page(request, job, found, said=_said(form), status=422, corrections={entry: form})
    given = form.cleaned_data
    seconds = round(given["took"] * 60)
    try:
        time_correct(
            entry=wrong,
            was=given["was"],
            seconds=seconds,
            reason=given["reason"],
            by=request.user,
            form_key=given["form_key"],
        )
    except (TimeChanged, SentBefore) as changed:
        wrong.refresh_from_db()
        again = form.again(was=wrong.seconds)
        return _page(request, job, found, said=str(changed), status=409, corrections={entry: again})
    return redirect("step", number, step)


def prefix_of(entry: TimeEntry) -> str:
    """What the fields of an entry's correction begin with, since a page has one for each entry."""
    return f"entry{entry.pk}"


def back_to_row(job: Job, step: int) -> HttpResponse:
    """To the job's page, where the step stands in it."""
    return redirect(f"{job.get_absolute_url()}#step-{step}")


def row_answer(
    request: ShopRequest,
    job: Job,
    step: int,
    *,
    said: str = "",
    status: int = 200,
    others: frozenset[int] = frozenset(),
    out_of_turn: str = "",
) -> HttpResponse:
    """For the job's page: the step's row as it is now, other rows that changed with it, the sums and the bar's timer."""
    rows = {row.pk: row for row in steps_of(job, request.user).filter(pk__in={step, *others})}
    if step not in rows:
        raise missing_step(job, step)
    found = rows.pop(step)
    context = {"job": job, "step": found, "others": list(rows.values()), "said": said}
    context |= {"out_of_turn": out_of_turn, **sums_of(job, request.user)}
    if found.kind == CUT:
        context["put_away"] = PutAway.of(latest_revision(job))
    return render(request, "job/_step_answer.html", context, status=status)


def refuse_step(
    request: ShopRequest, job: Job, step: Step, said: str, *, status: int, note: NoteForm | None = None
) -> HttpResponse:
    """The step as it is now, with what is wrong or who was there first: its row for htmx, else the page it came from, or its
    own where it is no longer made and so no longer at the work."""
    if request.htmx:
        return row_answer(request, job, step.pk, said=said or NOT_WHOLE, status=status)
    if was_at_work(request) and to_do(job).filter(pk=step.pk).exists():
        return at_work_page(request, job, step, said=said or NOT_WHOLE, status=status)
    return _page(request, job, step, said=said, note=note, status=status)


def _said(form: LoggedForm) -> str:
    return "" if form.is_whole else NOT_WHOLE


def _page(
    request: ShopRequest,
    job: Job,
    step: Step,
    *,
    said: str = "",
    status: int = 200,
    note: NoteForm | None = None,
    time: TimeForm | None = None,
    corrections: dict[int, CorrectionForm] | None = None,
) -> HttpResponse:
    found = steps_of(job, request.user).filter(pk=step.pk).first()
    if found is None:
        raise missing_step(job, step.pk)
    step = found
    seen = step.times.seen_by(request.user)
    entries = seen.select_related("person", "by").prefetch_related("corrections__by")
    fresh = {entry.pk: CorrectionForm(initial={"was": entry.seconds}, prefix=prefix_of(entry)) for entry in entries}
    forms = fresh | (corrections or {})
    context = {
        "job": job,
        "step": step,
        "is_own": not request.user.is_owner,
        "said": said,
        "note": note or NoteForm(),
        "time": time or TimeForm(),
        "entries": [(entry, forms[entry.pk], entry.pk in (corrections or {})) for entry in entries],
        "ticks": step.ticks.select_related("by"),
        "photos": PhotoStrip.of(job, step),
        **on_its_page(step),
    }
    return render(request, "step/page.html", context, status=status)
