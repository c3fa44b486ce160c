from http import HTTPStatus

from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST, require_safe

from fabjobs import planning
from fabjobs.forms import TakeJoinsForm
from fabjobs.joining import JOINS_TOLD, CannotJoin, is_open, plan_joined, side_by_side
from fabjobs.models import Job, Person, Revision
from fabjobs.requests import ShopRequest
from fabjobs.services import JobIsStale, NotOnTheRack, revision_of_form
from fabjobs.together import CannotLayTogether, keep_next, parted_by, renumbered_by
from fabjobs.views.job import job_for, latest_revision, on_to

NOT_WHOLE = "That did not come back whole. Nothing was changed; choose once more."


@require_safe
def show_joins(request: ShopRequest, number: int) -> HttpResponse:
    """Both ways of joining the facets, side by side: a part of the job's page, or a page of its own."""
    return _answer(request, joined_job_for(request.user, number))


@require_POST
def take_joins(request: ShopRequest, number: int) -> HttpResponse:
    """Join the facets so from now on: planned at the job's own effort and kept as the next revision."""
    job = joined_job_for(request.user, number)
    form = TakeJoinsForm(request.POST)
    if not form.is_valid():
        return _answer(request, job, said=NOT_WHOLE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    given, revision = form.cleaned_data, latest_revision(job)
    is_taken = revision.number == given["started_from"] and revision.sheet["making"]["joins"] == given["joins"]
    if is_taken or revision_of_form(given["form_key"]) is not None:
        return on_to(request, job)
    try:
        _take(request, revision, form)
    except (JobIsStale, NotOnTheRack) as stale:
        said = f"{stale} Nothing was changed; here are the figures as they are now."
        return _answer(request, job, said=said, status=HTTPStatus.CONFLICT)
    except (CannotJoin, CannotLayTogether) as error:
        return _answer(request, job, said=str(error), status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return on_to(request, job)


def joined_job_for(user: Person | AnonymousUser, number: int) -> Job:
    """The job of this number, if this person may see it and there is anything to choose."""
    job = job_for(user, number)
    if not is_open(planning.restore(latest_revision(job))):
        raise Http404(f"Nothing of job {number} is welded or folded as one likes.")
    return job


def _take(request: ShopRequest, revision: Revision, form: TakeJoinsForm) -> None:
    """Raises `JobIsStale`; where another revision is there already nothing is computed for it."""
    given = form.cleaned_data
    is_stale = revision.number != given["started_from"]
    plan = planning.restore(revision) if is_stale else plan_joined(revision, given["joins"])
    told = f"Joins: {JOINS_TOLD[given['joins']]}"
    keep_next(
        revision=revision,
        plan=plan,
        started_from=given["started_from"],
        reason=told,
        by=request.user,
        form_key=given["form_key"],
    )


def _answer(request: ShopRequest, job: Job, *, said: str = "", status: int = HTTPStatus.OK) -> HttpResponse:
    revision = latest_revision(job)
    sheet = planning.restore(revision).sheet
    context = {
        "job": job,
        "revision": revision,
        "making": sheet.making,
        "display": sheet.making.display,
        "currency": sheet.rates.currency,
        "joining": side_by_side(revision),
        "parted": parted_by(revision),
        "renumbered": renumbered_by(revision),
        "said": said,
    }
    template = "joins/_section.html" if request.htmx else "joins/page.html"
    return render(request, template, context, status=status)
