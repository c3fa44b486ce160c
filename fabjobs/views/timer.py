"""The timer: one running a person, started on a step, stopped from any page."""

from dataclasses import dataclass
from urllib.parse import urlencode

from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_POST, require_safe
from django_htmx.http import HttpResponseClientRedirect, HttpResponseClientRefresh

from fabjobs.forms.steps import TO_STEP, TO_WORK, PlaceForm, RealTimeForm, StartForm, TappedForm
from fabjobs.making import running_timer
from fabjobs.middleware import TAP, Tap
from fabjobs.models import Job, Step, TimeEntry
from fabjobs.requests import ShopRequest
from fabjobs.services import SentBefore, StepChanged, TapOutOfTime, TimerRanLong, timer_start, timer_stop
from fabjobs.services.time import elapsed
from fabjobs.views.gone_step import tells_of_gone
from fabjobs.views.guards import for_hands
from fabjobs.views.steps import NOT_WHOLE, back_to_row, refuse_step, row_answer, step_for


@for_hands
@require_safe
def show_timer(request: ShopRequest) -> HttpResponse:
    """The timer that runs for who asks; one that ran on asks how long the work really took."""
    return _page(request, RealTimeForm(), Place.of(request.GET))


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
        return _to_the_question(request, str(long), {"at": step, "back": given["back"], "start": "on"})
    except (StepChanged, SentBefore, TapOutOfTime) as changed:
        return refuse_step(request, job, found, str(changed), status=409)
    if request.htmx:
        stopped = before.entry.step if before else found
        in_this_job = stopped.pk != found.pk and stopped.fabrication.job_id == job.pk
        return row_answer(request, job, step, others=frozenset({stopped.pk} if in_this_job else ()))
    return _back_to(given["back"], job, step)


@for_hands
@require_POST
def stop_timer(request: ShopRequest, entry: int) -> HttpResponse:
    """Stop the timer; one that ran on is asked about, not silently kept."""
    running = get_object_or_404(
        TimeEntry.objects.select_related("step__fabrication__job"), pk=entry, person=request.user
    )
    if "took" in request.POST:
        return _take_answer(request, running)
    job, tapped = running.step.fabrication.job, TappedForm(request.POST)
    if not tapped.is_valid():
        return refuse_step(request, job, running.step, NOT_WHOLE, status=422)
    back = request.POST.get("back", "")
    try:
        timer_stop(by=request.user, entry=running, ago=tapped.cleaned_data["ago"])
    except TimerRanLong as long:
        return _to_the_question(request, str(long), {"at": running.step_id, "back": back} if back else {})
    except TapOutOfTime as refused:
        return refuse_step(request, job, running.step, str(refused), status=409)
    return _part(request, running) if request.htmx else _back_to(back, job, running.step_id)


@dataclass(frozen=True)
class Place:
    """Where someone was when a timer had to be asked about; is_start: they pressed Start there, and it was not started."""

    step: Step
    back: str
    is_start: bool

    @classmethod
    def of(cls, sent: QueryDict) -> "Place | None":
        """The place that an address or a form tells of, if there still is such a step."""
        form = PlaceForm(sent)
        if not form.is_valid():
            return None
        given = form.cleaned_data
        step = Step.objects.select_related("fabrication__job").filter(pk=given["at"]).first()
        return cls(step, given["back"], given["start"]) if step else None

    @property
    def job(self) -> Job:
        return self.step.fabrication.job

    @property
    def can_start(self) -> bool:
        """Whether the timer that was wanted can be started by the answer; of a step no longer made it can't."""
        return self.is_start and not self.step.retired


def _take_answer(request: ShopRequest, running: TimeEntry) -> HttpResponse:
    """Stop a timer at what it really was; then back to where that was asked, and on with the timer that was wanted there."""
    form, place = RealTimeForm(request.POST, ran=elapsed(running, timezone.now())), Place.of(request.POST)
    if not form.is_valid():
        return _page(request, form, place, status=422)
    given, by = form.cleaned_data, request.user
    try:
        timer_stop(by=by, entry=running, really=round(given["took"] * 60), form_key=given["form_key"])
    except SentBefore as asked:
        return _to_the_question(request, str(asked))
    if place is None:
        return _back_to("", running.step.fabrication.job, running.step_id)
    if place.is_start:
        try:
            timer_start(step=place.step, by=by, form_key=given["form_key"])
        except (StepChanged, SentBefore) as changed:
            return refuse_step(request, place.job, place.step, str(changed), status=409)
    return _back_to(place.back, place.job, place.step.pk)


def _page(request: ShopRequest, form: RealTimeForm, place: Place | None, *, status: int = 200) -> HttpResponse:
    context = {"form": form, "place": place, "is_asked_here": True}
    return render(request, "timer/page.html", context, status=status)


def _back_to(page: str, job: Job, step: int) -> HttpResponse:
    """To the page that a form was sent from, as its `back` says."""
    if page == TO_WORK:
        return redirect("at_work", job.number, step)
    return redirect("step", job.number, step) if page == TO_STEP else back_to_row(job, step)


def _to_the_question(request: ShopRequest, why: str, place: dict[str, object] | None = None) -> HttpResponse:
    """To the page that asks how long it was; why: what a tap that was kept is told, whose page is long gone."""
    page = reverse("timer") + (f"?{urlencode(place)}" if place else "")
    if not request.htmx:
        return redirect(page)
    answer = HttpResponseClientRedirect(page)
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
