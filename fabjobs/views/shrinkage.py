"""Shrinkage put on the blanks of a job, or taken off them: kept as the next revision."""

from http import HTTPStatus

from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST, require_safe

from fabjobs import planning
from fabjobs.forms import TakeShrinkageForm
from fabjobs.making import thing_of
from fabjobs.models import Job, Person
from fabjobs.requests import ShopRequest
from fabjobs.services import JobIsStale, NotOnTheRack, revision_of_form
from fabjobs.shrinkage import Allowance, CannotAllow, plan_allowed
from fabjobs.together import CannotLayTogether, keep_next, parted_by, renumbered_by
from fabjobs.views.job import job_for, latest_revision, on_to
from fabjobs.views.joins import NOT_WHOLE

ON_OFF = {True: "Shrinkage put on the blanks", False: "Shrinkage taken off the blanks"}


@require_safe
def show_shrinkage(request: ShopRequest, number: int) -> HttpResponse:
    """What a job's seams are reckoned to shrink by, as a page of its own or a part of the job's."""
    return _answer(request, welded_job_for(request.user, number))


@require_POST
def take_shrinkage(request: ShopRequest, number: int) -> HttpResponse:
    """Put shrinkage on the blanks from now on, or take it off: planned anew and kept as the next revision."""
    job = welded_job_for(request.user, number)
    form = TakeShrinkageForm(request.POST)
    if not form.is_valid():
        return _answer(request, job, said=NOT_WHOLE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    given, revision = form.cleaned_data, latest_revision(job)
    now, is_stale = planning.restore(revision), revision.number != given["started_from"]
    is_taken = not is_stale and Allowance(revision, now).says(allow=given["allow"])
    if is_taken or revision_of_form(given["form_key"]) is not None:
        return on_to(request, job)
    try:
        plan = now if is_stale else plan_allowed(revision, allow=given["allow"])
        keep_next(
            revision=revision,
            plan=plan,
            started_from=given["started_from"],
            reason=ON_OFF[given["allow"]],
            by=request.user,
            form_key=given["form_key"],
        )
    except (JobIsStale, NotOnTheRack) as stale:
        said = f"{stale} Nothing was changed; here are the figures as they are now."
        return _answer(request, job, said=said, status=HTTPStatus.CONFLICT)
    except (CannotAllow, CannotLayTogether) as error:
        return _answer(request, job, said=str(error), status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return on_to(request, job)


def welded_job_for(user: Person | AnonymousUser, number: int) -> Job:
    """The job of this number, if this person may see it and it has a seam."""
    job = job_for(user, number)
    if not planning.restore(latest_revision(job)).shell.welds:
        raise Http404(f"Nothing of job {number} is welded, so nothing shrinks.")
    return job


def _answer(request: ShopRequest, job: Job, *, said: str = "", status: int = HTTPStatus.OK) -> HttpResponse:
    revision = latest_revision(job)
    plan = planning.restore(revision)
    context = {
        "thing": thing_of(plan),
        "job": job,
        "revision": revision,
        "shrinkage": Allowance(revision, plan),
        "parted": parted_by(revision),
        "renumbered": renumbered_by(revision),
        "said": said,
    }
    template = "job/_shrinkage.html" if request.htmx else "job/shrinkage.html"
    return render(request, template, context, status=status)
