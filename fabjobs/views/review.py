"""Review: what was expected against what it took, of one job and of all that were finished in a period."""

from datetime import datetime
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from fabjobs.context import shop_of
from fabjobs.forms import PeriodForm
from fabjobs.looking_back import plots, review
from fabjobs.looking_back.csv_file import csv_response
from fabjobs.looking_back.periods import Period, presets, this_year
from fabjobs.requests import ShopRequest
from fabjobs.views import review_columns
from fabjobs.views.job import job_for

JOBS_A_PAGE = 25


@require_safe
def review_job(request: ShopRequest, number: int) -> HttpResponse:
    """One job, so far or finished."""
    job = job_for(request.user, number)
    progress = review.progress_of(job)
    in_hand = None if progress.is_finished else review.in_hand_of(job)
    found = review.Review.of(review.fabrications_of(job), in_hand)
    if not found.made:
        raise Http404(f"Job {job.number} has no plan.")
    currency, *earlier = review.currencies_of(job)
    context = {"job": job, "progress": progress, "earlier_currencies": earlier}
    return render(request, "review/job.html", context | _shown(request, found, currency))


@require_safe
def review_period(request: ShopRequest) -> HttpResponse:
    """All jobs that were finished in a period."""
    form = _form(request)
    context: dict[str, Any] = {"form": form, "presets": presets(timezone.localdate())}
    if not form.is_valid():
        return render(request, "review/page.html", context, status=422)
    period, currency = form.period, shop_of(request).currency
    finished, others, found = _finished(period, currency)
    newest_first = sorted(finished, key=lambda job: (finished[job], job), reverse=True)
    page = Paginator(newest_first, JOBS_A_PAGE).get_page(request.GET.get("page"))
    context |= {"period": period, "page": page, "in_hand": review.still_in_hand(period.start, period.end)}
    context["in_other_currencies"] = others
    if finished:
        context["lines"] = review.job_lines(found, finished, list(page))
    return render(request, "review/page.html", context | _shown(request, found, currency))


@require_safe
def download(request: ShopRequest, what: str) -> HttpResponse:
    """The same as a table for a spreadsheet: a line a job, or a line a kind of work."""
    form = _form(request)
    if not form.is_valid():
        context = {"form": form, "presets": presets(timezone.localdate())}
        return render(request, "review/page.html", context, status=422)
    period, currency = form.period, shop_of(request).currency
    finished, _, found = _finished(period, currency)
    name = f"{what}-{period.first:%Y-%m-%d}-{period.last:%Y-%m-%d}.csv"
    if what == "work":
        return csv_response(name, review_columns.work_head(currency), map(review_columns.work_row, found.kinds))
    lines = review.job_lines(found, finished, sorted(finished, key=lambda job: (finished[job], job)))
    return csv_response(name, review_columns.job_head(currency), map(review_columns.job_row, lines))


def _form(request: ShopRequest) -> PeriodForm:
    """The days asked for; this year where none are."""
    year = this_year(timezone.localdate())
    return PeriodForm({"from": year.first, "to": year.last} | request.GET.dict())


def _finished(period: Period, currency: str) -> tuple[dict[int, datetime], int, review.Review]:
    """The jobs that count, how many in other currencies do not, and the sums."""
    finished = review.finished_between(period.start, period.end)
    others = review.in_other_currencies(finished, currency)
    counted = {job: day for job, day in finished.items() if job not in others}
    return counted, len(others), review.review_jobs(counted)


def _shown(request: ShopRequest, found: review.Review, currency: str) -> dict[str, Any]:
    """The sums and their plots; no plots of nothing."""
    context: dict[str, Any] = {"review": found, "metal": found, "display": shop_of(request).display}
    context["currency"] = currency
    if found.made:
        context["plot_money"] = plots.plot_money(found.money, currency)
        context["plot_metal"] = plots.plot_metal(found.planned, found.actual)
    if found.kinds:
        context["plot_hours"] = plots.plot_hours(found.kinds)
    return context
