"""Spoiled blanks: which, why, and where another comes from; taken back where one is good after all."""

from http import HTTPStatus

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from fabjobs.context import shop_of
from fabjobs.forms import SpoilForm, StrikeForm
from fabjobs.models import Job, Spoiled, Step
from fabjobs.requests import ShopRequest
from fabjobs.services import CannotRestore, JobIsStale, LineIsStruck, NotOnTheRack, SentBefore
from fabjobs.services.once import line_of_form
from fabjobs.spoiled_copies import CannotSpoil, CutCopies
from fabjobs.spoiling import Spoiling, lines_of, take_for_good
from fabjobs.together import CannotLayTogether, parted_by, renumbered_by
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for, latest_revision
from fabjobs.views.steps import step_for
from fabjobs.whole_numbers import whole_number

NOT_WHOLE = "That did not come back whole. Nothing was changed; choose the blank once more."
MOVED = "Since you looked, ticks, the rack or the layout changed. Nothing was changed; here is where it would come from now."


@for_hands
@require_safe
def show_spoiled(request: ShopRequest, number: int) -> HttpResponse:
    """Which blanks are cut, or, of one that was chosen, where another would come from."""
    return _page(request, job_for(request.user, number), copy=request.GET.get("copy", ""))


@for_hands
@require_POST
def spoil_copy(request: ShopRequest, number: int) -> HttpResponse:
    """A blank is spoiled: another is laid out in its place, as it was shown."""
    job, form = job_for(request.user, number), SpoilForm(request.POST, auto_id="id_spoil_%s", label_suffix="")
    if not form.is_whole:
        return _page(request, job, said=NOT_WHOLE, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    given = form.cleaned_data
    if not form.is_valid():
        return _page(request, job, copy=given["copy"], form=form, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        line = _sent_before(request, job, form) or _spoil(request, job, form)
    except (JobIsStale, NotOnTheRack, SentBefore) as stale:
        return _again(request, job, form, f"{stale} Nothing was changed; here is where another would come from now.")
    except (CannotSpoil, CannotLayTogether) as error:
        return _page(request, job, said=str(error), status=HTTPStatus.UNPROCESSABLE_ENTITY)
    if line is None:
        return _again(request, job, form, MOVED)
    return redirect(f"{reverse('spoiled', args=[number])}#line-{line.pk}")


@for_hands
@require_POST
def restore_copy(request: ShopRequest, number: int, line: int) -> HttpResponse:
    """A blank is good after all: what was laid out in its place is taken back."""
    job, form = job_for(request.user, number), StrikeForm(request.POST)
    found = get_object_or_404(Spoiled, pk=line, fabrication__job=job)
    if not form.is_valid():
        told = " ".join(str(text) for errors in form.errors.values() for text in errors)
        return _page(request, job, said=told, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        take_for_good(found, why=form.cleaned_data["why"], by=request.user)
    except LineIsStruck as struck:
        said = f"{struck.line.struck_by} said before that it is good after all: {struck.line.struck_why}"
        return _page(request, job, said=said, status=HTTPStatus.CONFLICT)
    except (CannotRestore, JobIsStale, NotOnTheRack) as error:
        return _page(request, job, said=str(error), status=HTTPStatus.CONFLICT)
    except (CannotSpoil, CannotLayTogether) as error:
        return _page(request, job, said=str(error), status=HTTPStatus.UNPROCESSABLE_ENTITY)
    return redirect(f"{reverse('spoiled', args=[number])}#line-{line}")


def _sent_before(request: ShopRequest, job: Job, form: SpoilForm) -> Spoiled | None:
    """What the form made already, without laying anything out anew. Raises `SentBefore` where it said something else then."""
    given, made = form.cleaned_data, latest_revision(job).fabrication
    said = {"fabrication": made, "by": request.user, "copy": given["copy"], "why": given["why"]}
    return line_of_form(Spoiled, given["form_key"], **said)


def _spoil(request: ShopRequest, job: Job, form: SpoilForm) -> Spoiled | None:
    """The line; None where another would come from elsewhere than was seen."""
    given, revision = form.cleaned_data, latest_revision(job)
    spoiling = Spoiling.of(revision, given["copy"])
    if (revision.number, spoiling.seen) != (given["started_from"], given["seen"]):
        return None
    return spoiling.keep(why=given["why"], by=request.user, form_key=given["form_key"])


def _step(request: ShopRequest, job: Job) -> Step | None:
    """The step that the page was come to from."""
    named = whole_number(request.GET.get("step", ""))
    return None if named is None else step_for(request.user, job.number, named)[1]


def _again(request: ShopRequest, job: Job, form: SpoilForm, said: str) -> HttpResponse:
    given = form.cleaned_data
    return _page(request, job, copy=given["copy"], why=given["why"], said=said, status=HTTPStatus.CONFLICT)


def _page(
    request: ShopRequest,
    job: Job,
    *,
    copy: str = "",
    why: str = "",
    said: str = "",
    form: SpoilForm | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    revision = latest_revision(job)
    spoiling = None
    try:
        spoiling = Spoiling.of(revision, copy) if copy else None
    except CannotSpoil as error:
        said = said or str(error)
    fresh = spoiling and SpoilForm.fresh(copy=copy, revision=revision.number, seen=spoiling.seen, why=why)
    context = {
        "job": job,
        "revision": revision,
        "spoiling": spoiling,
        "form": form or fresh,
        "copies": None if spoiling else CutCopies.of_job(revision, _step(request, job)),
        "lines": lines_of(revision),
        "display": shop_of(request).display,
        "parted": parted_by(revision),
        "renumbered": renumbered_by(revision),
        "hides_money": not request.user.is_owner,
        "said": said,
    }
    return render(request, "spoiled/page.html", context, status=status)
