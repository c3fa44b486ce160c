from http import HTTPStatus

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from fabjobs.better_layout import BesideIt
from fabjobs.forms import ImproveForm
from fabjobs.improving import Looking
from fabjobs.models import Job
from fabjobs.requests import ShopRequest
from fabjobs.services import JobIsStale, NotOnTheRack, improvement_ask, improvement_take
from fabjobs.together import CannotLayTogether, along_found, renumbered_by
from fabjobs.views.job import job_for, latest_revision, on_to

NOT_WHOLE = "That did not come back whole. Nothing was changed; press the button once more."


@require_safe
def show_better(request: ShopRequest, number: int) -> HttpResponse:
    """How the look for a better layout stands, and what it found: a part of the job's page, or a page of its own."""
    return _answer(request, job_for(request.user, number))


@require_POST
def ask_better(request: ShopRequest, number: int) -> HttpResponse:
    """Have a better layout looked for, unless one is being looked for already or none can be found."""
    job = job_for(request.user, number)
    form = ImproveForm(request.POST)
    if not form.is_valid():
        return _answer(request, job, said=NOT_WHOLE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    revision = latest_revision(job)
    if Looking.of(revision).may_ask:
        improvement_ask(fabrication=revision.fabrication, by=request.user, form_key=form.cleaned_data["form_key"])
    return _answer(request, job) if request.htmx else redirect("better", number)


@require_POST
def take_better(request: ShopRequest, number: int, improvement: int) -> HttpResponse:
    """Take the layout that was found: from now on it is the job's, as the next revision."""
    job = job_for(request.user, number)
    found = latest_revision(job).fabrication.improvements.filter(pk=improvement).first()
    if found is None:
        raise Http404(f"Job {number} has no such layout.")
    form = ImproveForm(request.POST)
    if not form.is_valid():
        return _answer(request, job, said=NOT_WHOLE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        others = along_found(latest_revision(job), found)
        improvement_take(improvement=found, by=request.user, form_key=form.cleaned_data["form_key"], along=others)
    except (JobIsStale, NotOnTheRack) as stale:
        said = f"{stale} Nothing was changed; look again, and the layout is of the job as it is now."
        return _answer(request, job, said=said, status=HTTPStatus.CONFLICT)
    except CannotLayTogether as error:
        return _answer(request, job, said=str(error), status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return on_to(request, job)


def _answer(request: ShopRequest, job: Job, *, said: str = "", status: int = HTTPStatus.OK) -> HttpResponse:
    revision = latest_revision(job)
    looking = Looking.of(revision)
    found = looking.offered
    context = {
        "job": job,
        "revision": revision,
        "looking": looking,
        "renumbered": renumbered_by(revision),
        "beside": None if found is None else BesideIt.of(revision, found),
        "said": said,
    }
    template = "better/_section.html" if request.htmx else "better/page.html"
    return render(request, template, context, status=status)
