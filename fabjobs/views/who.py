"""Who does what: people at work, what is due, when it is likely done."""

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fabjobs.context import shop_of
from fabjobs.requests import ShopRequest
from fabjobs.views.pages import page_of
from fabjobs.who import WhoDoesWhat

JOBS_A_PAGE = 40


@require_safe
def show_who(request: ShopRequest) -> HttpResponse:
    """People with everybody's hours, so for owners alone; what is due, and when it is likely done."""
    who = WhoDoesWhat.of(shop_of(request), timezone.now())
    context = {"who": who, "page": page_of(who.jobs, request, JOBS_A_PAGE)}
    return render(request, "who/page.html", context)
