from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from fabjobs.forms import PutAwayForm
from fabjobs.models import Job
from fabjobs.planning import restore
from fabjobs.putting_away import PutAway, offcuts_cut_free
from fabjobs.requests import ShopRequest
from fabjobs.services import NothingLeftToLog, offcuts_return_as_planned
from fabjobs.services.metal import PlannedAnew
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for, latest_revision

NOT_WHOLE = "That form was not whole. Nothing was put away; reload the page and try again."


@for_hands
@require_POST
def put_away(request: ShopRequest, number: int) -> HttpResponse:
    """Put the offcuts of sheets that are cut up on the rack."""
    job, form = job_for(request.user, number), PutAwayForm(request.POST)
    revision = latest_revision(job)
    if not form.is_valid():
        return _answer(request, job, PutAway.of(revision, said=form.said or NOT_WHOLE), status=422)
    try:
        kept = offcuts_return_as_planned(
            fabrication=revision.fabrication,
            planned=offcuts_cut_free(revision, restore(revision)),
            by=request.user,
            **form.cleaned_data,
        )
    except NothingLeftToLog:
        return _answer(request, job, PutAway.of(revision, said="All of them are on the rack already."), status=409)
    except PlannedAnew as error:
        return _answer(request, job, PutAway.of(revision, said=str(error)), status=409)
    return _answer(request, job, PutAway.of(revision, kept=kept))


def _answer(request: ShopRequest, job: Job, said: PutAway, *, status: int = 200) -> HttpResponse:
    """The part of the job's page; without htmx the page itself, or one of the part alone where something is to be told."""
    if not request.htmx and status == 200:
        return redirect(f"{job.get_absolute_url()}#put-away")
    template = "job/_put_away.html" if request.htmx else "job/put_away.html"
    return render(request, template, {"job": job, "put_away": said}, status=status)
