from collections.abc import Iterator, Sequence

from django.db.models import F
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.safestring import SafeString
from django.views.decorators.http import require_safe

from fabjobs.drawings import thumbnail
from fabjobs.models import Job, Revision
from fabjobs.requests import ShopRequest
from fabjobs.stages import Progress, jobs_in_hand, progress_of
from fabjobs.views.guards import for_hands
from fabjobs.views.pages import page_of

JOBS_A_PAGE = 12  # each is drawn


@for_hands
@require_safe
def show_in_hand(request: ShopRequest) -> HttpResponse:
    """Home: the jobs that are not finished, the one due first at the top, each with its drawing and what to do next."""
    jobs = jobs_in_hand().order_by(F("due_day").asc(nulls_last=True), "number")
    page = page_of(jobs, request, JOBS_A_PAGE)
    all_finished = not page.paginator.count and Job.objects.exists()
    return render(request, "in_hand/page.html", {"page": page, "rows": _rows(list(page)), "all_finished": all_finished})


def _rows(jobs: Sequence[Job]) -> Iterator[tuple[Job, Progress, SafeString]]:
    """Each job with how far it is and the drawing of its first fabrication."""
    drawn: dict[int, str] = {}
    for key, drawing in Revision.objects.latest_of(jobs).values_list("fabrication__job", "thumbnail"):
        drawn.setdefault(key, drawing)
    progress = progress_of(jobs)
    for job in jobs:
        yield job, progress[job.pk], thumbnail(drawn.get(job.pk, ""))
