"""The pages that say no: plain, and without the database where that may be the cause."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fabjobs.middleware import TAP, Tap


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001
    return render(request, "400.html", status=400)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001
    answer = render(request, "403.html", {"stale": True}, status=403)
    answer[TAP] = Tap.KEEP  # it is the page that is too old, not the tap
    return answer
