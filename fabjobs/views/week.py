"""The shop's week in Settings: days of work, hours by person."""

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from fabjobs import services
from fabjobs.forms import WeekForm
from fabjobs.models import ShopSettings
from fabjobs.requests import ShopRequest
from fabjobs.services.week import people_at_work
from fabjobs.views.settings import CHANGED


@require_http_methods(["GET", "HEAD", "POST"])
def set_week(request: ShopRequest) -> HttpResponse:
    """On which days the shop works, and how many hours a week each person has for the bench."""
    shop, people = ShopSettings.current(), people_at_work()
    fresh = WeekForm(shop=shop, people=people)
    if request.method != "POST":
        return render(request, "settings/week.html", {"form": fresh})
    form = WeekForm(request.POST, shop=shop, people=people)
    if not form.is_valid():
        return render(request, "settings/week.html", {"form": form}, status=422)
    try:
        given = form.cleaned_data
        services.week_set(work_days=form.work_days, day_end=given["day_end"], hours=form.hours, seen=given["seen"])
    except services.SettingsAreStale:
        return render(request, "settings/week.html", {"form": fresh, "said": CHANGED}, status=409)
    return redirect("who")
