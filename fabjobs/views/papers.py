from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from fabjobs.forms import PaperForm
from fabjobs.requests import ShopRequest
from fabjobs.views.guards import for_hands


@for_hands
@require_safe
def check_paper(request: ShopRequest) -> HttpResponse:
    """Whether a paper is the current one, by what its title block says."""
    form = PaperForm(request.GET or None)
    known = form.is_bound and form.is_valid()
    context = {"form": form, "paper": form.judged() if known else None}
    template = "paper_check/_answer.html" if request.htmx else "paper_check/page.html"
    return render(request, template, context, status=422 if form.is_bound and not known else 200)
