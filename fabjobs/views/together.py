from http import HTTPStatus

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST, require_safe

from fabjobs.forms.together import ChosenForm, PartForm, TogetherForm
from fabjobs.heading import Heading
from fabjobs.models import Job, Revision
from fabjobs.requests import ShopRequest
from fabjobs.services import JobIsStale, NotOnTheRack, job_change, jobs_lay_together, revision_of_form
from fabjobs.together import CannotLayTogether, along, candidates, pair_of, parted_by, partners, plan_apart
from fabjobs.views.improve import NOT_WHOLE
from fabjobs.views.job import job_for, latest_revision, on_to

PARTED = "Parted from job {}"


@require_safe
def show_together(request: ShopRequest, number: int) -> HttpResponse:
    """The jobs that it may be laid out with; with one chosen, both as they are beside both together."""
    job, form = job_for(request.user, number), ChosenForm(request.GET)
    chosen = form.cleaned_data["other"] if form.is_valid() else None
    return _answer(request, job, chosen=chosen)


@require_POST
def take_together(request: ShopRequest, number: int) -> HttpResponse:
    """Lay both out together: the next revision of each."""
    job, form = job_for(request.user, number), TogetherForm(request.POST)
    if not form.is_valid():
        return _answer(request, job, said=NOT_WHOLE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    given = form.cleaned_data
    if revision_of_form(given["form_key"]) is not None:
        return on_to(request, job)
    try:
        _take(request, job, form)
    except (JobIsStale, NotOnTheRack) as stale:
        said = f"{stale} Nothing was changed; here is how it stands now."
        return _answer(request, job, chosen=given["other"], said=said, status=HTTPStatus.CONFLICT)
    except CannotLayTogether as error:
        return _answer(request, job, said=str(error), status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return on_to(request, job)


def _take(request: ShopRequest, job: Job, form: TogetherForm) -> None:
    """Raises `JobIsStale` where one of the two is no longer what was on the screen, and nothing is computed, or the other is
    host by now."""
    given, revision = form.cleaned_data, latest_revision(job)
    other = _candidate(revision, given["other"])
    if other is None:
        raise JobIsStale(f"Job {given['other']} can't be laid out with this one any more.")
    if (revision.number, other.number) != (given["started_from"], given["other_from"]):
        raise JobIsStale("One of the two was changed meanwhile.")
    pair = pair_of(revision, other)
    if pair.host_job.number != given["host"]:
        raise JobIsStale(f"Job {pair.host_job.number} is due first by now, so that the sheets would be its.")
    both = pair.along
    jobs_lay_together(host=both["host"], guest=both["guest"], by=request.user, form_key=given["form_key"])


@require_POST
def part(request: ShopRequest, number: int) -> HttpResponse:
    """Lay each out by itself again, but for what lies on sheets that were cut into."""
    job, form = job_for(request.user, number), PartForm(request.POST)
    if not form.is_valid():
        return _answer(request, job, said=NOT_WHOLE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    given, revision = form.cleaned_data, latest_revision(job)
    if revision_of_form(given["form_key"]) is not None:
        return on_to(request, job)
    parted = parted_by(revision)
    if not parted:
        said = "Nothing of it is on a sheet that could be parted. Nothing was changed."
        return _answer(request, job, said=said, status=HTTPStatus.CONFLICT)
    try:
        plan = plan_apart(revision)
        job_change(
            fabrication=revision.fabrication,
            plan=plan,
            heading=Heading.of(job),
            started_from=given["started_from"],
            job_version=job.version,
            reason=PARTED.format(", ".join(str(other.number) for other in parted)),
            by=request.user,
            form_key=given["form_key"],
            along=along(revision, plan),
        )
    except (JobIsStale, NotOnTheRack) as stale:
        said = f"{stale} Nothing was changed; here is how it stands now."
        return _answer(request, job, said=said, status=HTTPStatus.CONFLICT)
    except CannotLayTogether as error:
        return _answer(request, job, said=str(error), status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return on_to(request, job)


def _candidate(revision: Revision, number: int) -> Revision | None:
    return next((other for other in candidates(revision) if other.fabrication.job.number == number), None)


def _answer(
    request: ShopRequest, job: Job, *, chosen: int | None = None, said: str = "", status: int = HTTPStatus.OK
) -> HttpResponse:
    revision = latest_revision(job)
    others = candidates(revision)
    other = next((each for each in others if each.fabrication.job.number == chosen), None)
    pair = None
    if other is not None:
        try:
            pair = pair_of(revision, other)
        except CannotLayTogether as error:
            said = said or str(error)
    elif chosen is not None and not said:
        said = (
            f"Job {chosen} can't be laid out with this one: another metal, saw or currency, cut into, finished, or with "
            "another job."
        )
    context = {
        "job": job,
        "revision": revision,
        "partners": partners(revision),
        "parted": parted_by(revision),
        "others": others,
        "other": other,
        "pair": pair,
        "said": said,
    }
    template = "together/_section.html" if request.htmx else "together/page.html"
    return render(request, template, context, status=status)
