"""A tray as it is measured after welding: typed in, fitted, kept; measured again, the newest stands."""

from http import HTTPStatus
from uuid import uuid4

from django.contrib.auth.models import AnonymousUser
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from fabjobs import services
from fabjobs.as_built import Tray, Trays
from fabjobs.context import shop_of
from fabjobs.drawings import Drawings
from fabjobs.forms import AsBuiltForm
from fabjobs.making import thing_of
from fabjobs.models import Person
from fabjobs.requests import ShopRequest
from fabjobs.services.metal import PlannedAnew
from fabjobs.services.once import SentBefore
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for, latest_revision


def trays_for(user: Person | AnonymousUser, number: int) -> Trays:
    """The trays of the job of this number, if this person may see it and there is anything to measure."""
    trays = Trays.of(latest_revision(job_for(user, number)))
    if not trays.are_measured:
        raise Http404(f"Nothing of job {number} is joined, so there is nothing to measure as built.")
    return trays


def tray_for(user: Person | AnonymousUser, number: int, tray: int) -> tuple[Trays, Tray]:
    """One of them; 404 where the job makes fewer."""
    trays = trays_for(user, number)
    found = trays.tray(tray)
    if found is None:
        raise Http404(f"Job {number} makes {len(trays.each)}: there is no number {tray}.")
    return trays, found


@for_hands
@require_safe
def show_as_built(request: ShopRequest, number: int) -> HttpResponse:
    """The next tray to measure."""
    return redirect("as_built_tray", number, trays_for(request.user, number).next.number)


@for_hands
@require_http_methods(["GET", "HEAD", "POST"])
def measure_tray(request: ShopRequest, number: int, tray: int) -> HttpResponse:
    """A tray as it stands, and the form to measure it."""
    trays, found = tray_for(request.user, number, tray)
    shop = shop_of(request)
    if request.method != "POST":
        return _page(request, trays, found, AsBuiltForm(tray=found, shop=shop))
    form = AsBuiltForm(request.POST, tray=found, shop=shop)
    if not form.is_valid():
        return _page(request, trays, found, form, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        services.as_built_add(fabrication=trays.revision.fabrication, by=request.user, **form.kept)
    except (PlannedAnew, SentBefore) as error:
        trays, found = tray_for(request.user, number, tray)
        again = AsBuiltForm(_to_send_again(request, trays), tray=found, shop=shop)
        return _page(request, trays, found, again, said=str(error), status=HTTPStatus.CONFLICT)
    if not request.htmx:
        return redirect("as_built_tray", number, tray)
    trays, found = tray_for(request.user, number, tray)
    return _page(request, trays, found, AsBuiltForm(tray=found, shop=shop))


def _to_send_again(request: ShopRequest, trays: Trays) -> QueryDict:
    """What was typed, to be sent once more as something new, by the plan as it is now."""
    typed = request.POST.copy()
    typed["form_key"], typed["revision"] = str(uuid4()), str(trays.revision.number)
    return typed


def _page(
    request: ShopRequest,
    trays: Trays,
    tray: Tray,
    form: AsBuiltForm,
    *,
    said: str = "",
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "thing": thing_of(trays.plan),
        "job": trays.revision.fabrication.job,
        "trays": trays,
        "tray": tray,
        "form": form,
        "said": said,
        "display": shop_of(request).display,
        "drawings": Drawings(trays.plan),
    }
    template = "as_built/_tray.html" if request.htmx else "as_built/page.html"
    return render(request, template, context, status=status)
