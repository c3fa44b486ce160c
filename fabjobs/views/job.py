from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from fabjobs import papers
from fabjobs.context import shop_of
from fabjobs.drawings import Drawings
from fabjobs.models import Job, Person, Revision
from fabjobs.planning import restore
from fabjobs.requests import ShopRequest


def job_for(user: Person | AnonymousUser, number: int) -> Job:
    """The job of this number, if this person may see it: everyone of the shop may."""
    if not user.is_active:
        raise Http404
    try:
        return Job.objects.get(number=number)
    except Job.DoesNotExist:
        raise Http404(f"There is no job {number}.") from None


def latest_revision(job: Job) -> Revision:
    revision = Revision.objects.latest_of([job]).select_related("fabrication__job").first()
    if revision is None:
        raise Http404(f"Job {job.number} has no plan.")
    return revision


@require_safe
def show_job(request: ShopRequest, number: int) -> HttpResponse:
    """A job, downward in the order of the work."""
    job = job_for(request.user, number)
    revision = latest_revision(job)
    plan = restore(revision)
    context = {
        "job": job,
        "revision": revision,
        "plan": plan,
        "drawings": Drawings(plan),
        "steps": revision.fabrication.steps.all(),
    }
    return render(request, "job/page.html", context)


@require_safe
def print_traveller(request: ShopRequest, number: int, *, money: bool) -> HttpResponse:
    """The traveller as PDF, from the plan as it was stored."""
    revision = latest_revision(job_for(request.user, number))
    try:
        content = papers.of_revision(revision, shop_of(request), money=money)
    except papers.PapersUnavailable as error:
        return render(request, "503.html", {"reason": str(error)}, status=503)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{papers.name_of(revision, money=money)}"'
    return response
