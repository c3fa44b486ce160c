from collections.abc import Iterator, Sequence

from django.db.models import F, OuterRef, Subquery
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from fabjobs.drawings import Drawings
from fabjobs.models import Job, Revision, Step
from fabjobs.planning import restore
from fabjobs.requests import ShopRequest
from fabjobs.views.pages import page_of

JOBS_A_PAGE = 12  # each is drawn


@require_safe
def show_in_hand(request: ShopRequest) -> HttpResponse:
    """Home: the jobs in hand, the one due first at the top, each with its drawing and what to do next."""
    next_step = Step.objects.filter(fabrication__job=OuterRef("pk")).order_by("fabrication__position", "position")
    jobs = Job.objects.annotate(next_step=Subquery(next_step.values("text")[:1])).order_by(
        F("due_day").asc(nulls_last=True), "number"
    )
    page = page_of(jobs, request, JOBS_A_PAGE)
    return render(request, "in_hand/page.html", {"page": page, "rows": _drawn(list(page))})


def _drawn(jobs: Sequence[Job]) -> Iterator[tuple[Job, SafeString | None]]:
    """Each job with the drawing of its first fabrication."""
    first: dict[int, Revision] = {}
    for revision in Revision.objects.latest_of(jobs):
        first.setdefault(revision.fabrication.job_id, revision)
    for job in jobs:
        yield job, Drawings(restore(first[job.pk])).tray if job.pk in first else None
