from django.core.exceptions import BadRequest
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from fabjobs import papers
from fabjobs.context import shop_of
from fabjobs.requests import ShopRequest
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for, latest_revision, revision_for


@for_hands
@require_safe
def download_paper(request: ShopRequest, number: int, revision_number: int | None = None, *, kind: str) -> HttpResponse:
    """A paper to cut or buy by, from the plan as it was stored: of the latest revision, or of any again."""
    job = job_for(request.user, number)
    revision = latest_revision(job) if revision_number is None else revision_for(job, revision_number)
    paper = request.GET.get("paper", papers.USUAL_PAPER)
    if paper not in papers.PAPER_SIZES:
        raise BadRequest(f"no paper is of size {paper}")
    try:
        content = papers.download(revision, shop_of(request), kind, paper)
    except papers.PapersUnavailable as error:
        return render(request, "503.html", {"reason": str(error)}, status=503)
    made = papers.KINDS[kind]
    response = HttpResponse(content, content_type=made.content_type)
    kept = "inline" if made.is_shown else "attachment"
    response["Content-Disposition"] = f'{kept}; filename="{papers.download_name(revision, kind, paper)}"'
    return response
