"""The timer: one running a person, started on a step, stopped from any page."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import HttpResponseClientRedirect, HttpResponseClientRefresh

from fabjobs.forms.steps import TO_STEP, RealTimeForm, StartForm, TappedForm
from fabjobs.making import running_timer
from fabjobs.middleware import TAP, Tap
from fabjobs.models import TimeEntry
from fabjobs.requests import ShopRequest
from fabjobs.services import SentBefore, StepChanged, TapOutOfTime, TimerRanLong, timer_start, timer_stop
from fabjobs.services.time import elapsed
from fabjobs.views.at_work import was_at_work
from fabjobs.views.gone_step import tells_of_gone
from fabjobs.views.guards import for_hands
from fabjobs.views.steps import NOT_WHOLE, back_to_row, refuse_step, row_answer, step_for


@for_hands
@require_safe
def show_timer(request: ShopRequest) -> HttpResponse:
    """The timer that runs for who asks; one that ran on asks how long the work really took."""
    return render(request, "timer/page.html", {"form": RealTimeForm()})


@for_hands
@require_POST
@tells_of_gone
def start_timer(request: ShopRequest, number: int, step: int) -> HttpResponse:
    """Start the timer on a step; the one that runs on another is stopped."""
    job, found = step_for(request.user, number, step)
    form = StartForm(request.POST)
    if not form.is_valid():
        return refuse_step(request, job, found, NOT_WHOLE, status=422)
    before, given = running_timer(request.user), form.cleaned_data
    try:
        timer_start(step=found, by=request.user, form_key=given["form_key"], ago=given["ago"])
    except TimerRanLong as long:
        return _to_the_question(request, str(long))
    except (StepChanged, SentBefore, TapOutOfTime) as changed:
        return refuse_step(request, job, found, str(changed), status=409)
    if request.htmx:
        stopped = before.entry.step if before else found
        in_this_job = stopped.pk != found.pk and stopped.fabrication.job_id == job.pk
        return row_answer(request, job, step, others=frozenset({stopped.pk} if in_this_job else ()))
    if was_at_work(request):
        return redirect("at_work", number, step)
    return redirect("step", number, step) if given["back"] == TO_STEP else back_to_row(job, step)


@for_hands
@require_POST
def stop_timer(request: ShopRequest, entry: int) -> HttpResponse:
    """Stop the timer; one that ran on is asked about, not silently kept."""
    running = get_object_or_404(
        TimeEntry.objects.select_related("step__fabrication__job"), pk=entry, person=request.user
    )
    form = RealTimeForm(request.POST, ran=elapsed(running, timezone.now())) if "took" in request.POST else None
    if form is not None and not form.is_valid():
        return render(request, "timer/page.html", {"form": form}, status=422)
    job, tapped = running.step.fabrication.job, TappedForm(request.POST)
    if not tapped.is_valid():
        return refuse_step(request, job, running.step, NOT_WHOLE, status=422)
    given = {"really": round(form.cleaned_data["took"] * 60), "form_key": form.cleaned_data["form_key"]} if form else {}
    try:
        timer_stop(by=request.user, entry=running, ago=tapped.cleaned_data["ago"], **given)
    except (TimerRanLong, SentBefore) as asked:
        return _to_the_question(request, str(asked))
    except TapOutOfTime as refused:
        return refuse_step(request, job, running.step, str(refused), status=409)
    if request.htmx:
        return _part(request, running)
    return (
        redirect("at_work", job.number, running.step_id) if was_at_work(request) else back_to_row(job, running.step_id)
    )


def _to_the_question(request: ShopRequest, why: str) -> HttpResponse:
    """To the page that asks how long it was; why: what a tap that was kept is told, whose page is long gone."""
    if not request.htmx:
        return redirect("timer")
    answer = HttpResponseClientRedirect(reverse("timer"))
    answer.content = format_html('<p class="told">{}</p>', why)
    answer[TAP] = Tap.REFUSED
    return answer


def _part(request: ShopRequest, stopped: TimeEntry) -> HttpResponse:
    """For the page that the timer was stopped from: the job's own has the row to renew, the step's own is read anew."""
    job, here = stopped.step.fabrication.job, request.htmx.current_url_abs_path or ""
    path = here.partition("#")[0].partition("?")[0]
    if path == job.get_absolute_url():
        return row_answer(request, job, stopped.step_id)
    own = {reverse(page, args=[job.number, stopped.step_id]) for page in ("step", "at_work")}
    if path in own | {reverse("timer")}:
        return HttpResponseClientRefresh()
    return render(request, "timer/_bar.html", {"renew": True})
