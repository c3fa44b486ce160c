"""The pages that say no: plain, and without the database where that may be the cause."""

from datetime import timedelta
from math import ceil
from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from axes.helpers import get_cool_off
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from fabjobs.middleware import TAP, Tap

OWNERS_ONLY = "That is for an owner of the shop: your sign-in does not reach it. Nothing was changed."


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001
    return render(request, "400.html", status=400)


def not_allowed(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001
    """For a page that asked with htmx the words alone: they are shown on it, and what is typed there stays."""
    if getattr(request, "htmx", False):
        return HttpResponse(OWNERS_ONLY, content_type="text/plain; charset=utf-8", status=403)
    return render(request, "403.html", {"words": OWNERS_ONLY}, status=403)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001
    answer = render(request, "403.html", {"stale": True}, status=403)
    answer[TAP] = Tap.KEEP  # it is the page that is too old, not the tap
    return answer


def locked_out(request: HttpRequest, response: HttpResponse | None, credentials: dict[str, Any]) -> HttpResponse:  # noqa: ARG001
    """Too many wrong passwords for one name from one address; until when even the right one is refused."""
    attempts = AxesProxyHandler.get_implementation().get_user_attempts(request, credentials)
    newest = max((attempt.attempt_time for found in attempts for attempt in found), default=timezone.now())
    left = newest + (get_cool_off(request) or timedelta()) - timezone.now()
    answer = render(request, "429.html", {"minutes": max(1, ceil(left.total_seconds() / 60))}, status=429)
    answer["Retry-After"] = str(max(1, ceil(left.total_seconds())))
    return answer
