from django.contrib.auth.models import AnonymousUser
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe
from django_htmx.http import HttpResponseClientRedirect

from fabjobs import papers
from fabjobs.as_built import Trays
from fabjobs.context import shop_of
from fabjobs.drawings import Drawings
from fabjobs.joining import is_open
from fabjobs.making import make_section, thing_of
from fabjobs.metal import MetalBook
from fabjobs.models import Fabrication, Job, Person, Revision
from fabjobs.paper_check import judge_mark
from fabjobs.photos import PhotoStrip
from fabjobs.planning import restore
from fabjobs.putting_away import PutAway
from fabjobs.requests import ShopRequest
from fabjobs.shared_sheets import SharedSheets
from fabjobs.shrinkage import Allowance
from fabjobs.together import parted_by, renumbered_by
from fabjobs.touching import touches_of
from fabjobs.views.guards import for_hands, owners_only
from fabjobs.wording import of_metal


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


def revision_for(job: Job, number: int) -> Revision:
    """A revision of the fabrication that the job's page shows: the first that has a plan."""
    shown = job.fabrications.filter(revisions__isnull=False).order_by("position").values("pk")[:1]
    found = Revision.objects.filter(fabrication=shown, number=number).select_related("fabrication__job")
    revision = found.first()
    if revision is None:
        raise Http404(f"Job {job.number} has no revision {number}.")
    return revision


def revisions_of(fabrication: Fabrication) -> QuerySet[Revision]:
    """Every revision, the newest first, without its plan."""
    light = fabrication.revisions.defer("sheet", "plan", "thumbnail")
    return light.select_related("created_by").order_by("-number")


def on_to(request: ShopRequest, job: Job) -> HttpResponse:
    """On to the job's page, by whatever the browser asked with."""
    return HttpResponseClientRedirect(job.get_absolute_url()) if request.htmx else redirect(job)


@for_hands
@require_safe
def show_job(request: ShopRequest, number: int) -> HttpResponse:
    """A job, downward in the order of the work."""
    job, owner = job_for(request.user, number), request.user.is_owner
    revision = latest_revision(job)
    plan = restore(revision)
    making = make_section(job, request.user)
    touches = touches_of(job, revision, plan, making["steps"])
    context = {
        "job": job,
        "revision": revision,
        "plan": plan,
        "drawings": Drawings(plan, touches),
        "thing": thing_of(plan),
        "warnings": plan.warnings if owner else of_metal(plan.warnings),
        "cost": plan.cost if owner else None,
        "joins_are_open": owner and is_open(plan),
        **making,
        "metal": MetalBook.of(revision, plan) if owner else None,
        "put_away": PutAway.of(revision, plan),
        "trays": Trays.of(revision, plan),
        "photos": PhotoStrip.of(job),
        "shrinkage": Allowance(revision, plan) if owner else None,
        "parted": parted_by(revision),
        "renumbered": renumbered_by(revision),
        "shared": SharedSheets.of(revision, plan),
        "revisions": revisions_of(revision.fabrication),
        "paper": judge_mark(job, request.GET.get("paper")),
        "paper_sizes": papers.PAPER_SIZES,
    }
    return render(request, "job/page.html", context)


@for_hands
@require_safe
def print_traveller(
    request: ShopRequest, number: int, revision_number: int | None = None, *, money: bool
) -> HttpResponse:
    """The traveller as PDF, from the plan as it was stored: of the latest revision, or of any again. One with money in it
    is the owners'."""
    if money:
        owners_only(request.user)
    job = job_for(request.user, number)
    revision = latest_revision(job) if revision_number is None else revision_for(job, revision_number)
    try:
        content = papers.of_revision(revision, shop_of(request), money=money)
    except papers.PapersUnavailable as error:
        return render(request, "503.html", {"reason": str(error)}, status=503)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{papers.name_of(revision, money=money)}"'
    return response
