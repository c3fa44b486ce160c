"""At the work: one step at a time, with the next one ahead."""

from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_safe

from fabjobs.at_work import next_after
from fabjobs.requests import ShopRequest
from fabjobs.views.at_work import all_done_page, at_work_page
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for
from fabjobs.views.steps import step_for


@for_hands
@require_safe
def show_next(request: ShopRequest, number: int) -> HttpResponse:
    """On to the next step to do, where the code on a traveller leads; with what the address says of that paper."""
    job = job_for(request.user, number)
    ahead = next_after(job)
    if ahead is None:
        return all_done_page(request, job)
    said = request.GET.urlencode()
    return redirect(reverse("at_work", args=[number, ahead]) + (f"?{said}" if said else ""))


@for_hands
@require_safe
def show_at_work(request: ShopRequest, number: int, step: int) -> HttpResponse:
    """A step as it is done at the bench."""
    return at_work_page(request, *step_for(request.user, number, step))
