"""The pages that say no: plain, and without the database where that may be the cause."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:  # noqa: ARG001
    return render(request, "400.html", status=400)


def csrf_failure(request: HttpRequest, reason: str = "") -> HttpResponse:  # noqa: ARG001
    return render(request, "403.html", {"stale": True}, status=403)
