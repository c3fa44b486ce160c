from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from fabjobs.models import Job
from fabjobs.requests import ShopRequest
from fabjobs.stages import progress_of
from fabjobs.views.guards import for_hands
from fabjobs.views.pages import page_of

JOBS_A_PAGE = 50
LONGEST_SEARCH = 120


@for_hands
@require_safe
def list_jobs(request: ShopRequest) -> HttpResponse:
    """Every job with its stage, the newest first, or those that a few words find."""
    words = request.GET.get("q", "")[:LONGEST_SEARCH].strip()
    page = page_of(_found(words), request, JOBS_A_PAGE)
    template = "jobs/_list.html" if request.htmx else "jobs/page.html"
    progress = progress_of(page)
    rows = [(job, progress[job.pk].stage) for job in page]
    return render(request, template, {"page": page, "rows": rows, "words": words})


def _found(words: str) -> QuerySet[Job]:
    """Jobs in which every word stands somewhere; a number alone may be a job's number."""
    jobs = Job.objects.all()
    for word in words.split():
        found = Q(title__icontains=word) | Q(customer__icontains=word) | Q(machine__icontains=word)
        if word.isascii() and word.isdigit():
            found |= Q(number=int(word))
        jobs = jobs.filter(found)
    return jobs
