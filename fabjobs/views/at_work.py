"""The page of one step at the work, as several views answer with it, and the way on to the next."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django_htmx.http import HttpResponseClientRedirect

from fabjobs.at_work import Shown, left_out_words, next_after, to_do
from fabjobs.forms.steps import TO_WORK
from fabjobs.models import Job, Step
from fabjobs.paper_check import judge_mark
from fabjobs.putting_away import PutAway, is_cut_last
from fabjobs.requests import ShopRequest
from fabjobs.whole_numbers import whole_number


def was_at_work(request: ShopRequest) -> bool:
    """Whether a form was sent from the page of a step at the work."""
    return request.POST.get("back") == TO_WORK


def at_work_page(request: ShopRequest, job: Job, step: Step, *, said: str = "", status: int = 200) -> HttpResponse:
    """One step, filling the screen; one that is no longer made is read on its own page."""
    shown = Shown.of(job, step.pk, request.user)
    if shown is None:
        return redirect("step", job.number, step.pk)
    context = {"shown": shown, "step": shown.step, "said": said, **_come_from(request, job)}
    context["put_away"] = PutAway.of_job(job) if is_cut_last(job) else None
    context["here"] = reverse("at_work", args=[job.number, step.pk]) if request.POST else request.get_full_path()
    return render(request, "work/page.html", context, status=status)


def all_done_page(request: ShopRequest, job: Job) -> HttpResponse:
    """In the place of the next step where every one is ticked, or none is planned."""
    count = to_do(job).count()
    context = {"count": count, "put_away": PutAway.of_job(job), **_come_from(request, job)}
    context["here"] = request.get_full_path()
    return render(request, "work/done.html", context)


def on_from(request: ShopRequest, job: Job, step: Step) -> HttpResponse:
    """From a step that was ticked on to the next to do; from one whose tick was taken back, to that one itself."""
    page = reverse("at_work", args=[job.number, step.pk])
    if step.done_at:
        ahead = next_after(job, step.pk)
        page = reverse("at_work", args=[job.number, ahead]) if ahead else reverse("work", args=[job.number])
        page += f"?ticked={step.pk}"
    return HttpResponseClientRedirect(page) if request.htmx else redirect(page)


def _come_from(request: ShopRequest, job: Job) -> dict[str, object]:
    """What led here: the paper that was scanned, the step that was ticked just now and may be taken back."""
    ticked = _ticked(job, request.GET.get("ticked", ""))
    words = left_out_words(ticked) if ticked else ""
    paper = judge_mark(job, request.GET.get("paper"))
    return {"job": job, "ticked": ticked, "out_of_turn": words, "paper": paper}


def _ticked(job: Job, key: str) -> Step | None:
    number = whole_number(key)
    return None if number is None else to_do(job).filter(pk=number, done_at__isnull=False).first()
