"""The opening in the bench: set out from a tray as it was measured, drawn, printed."""

from http import HTTPStatus
from uuid import uuid4

from django.core.exceptions import BadRequest
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from fabjobs import papers, services
from fabjobs.aperture import figures_to_begin_with, opening_of
from fabjobs.as_built import Tray, Trays
from fabjobs.context import shop_of
from fabjobs.forms import ApertureForm
from fabjobs.making import thing_of
from fabjobs.requests import ShopRequest
from fabjobs.services.once import SentBefore
from fabjobs.views.as_built import tray_for, trays_for
from fabjobs.views.guards import for_hands

NOT_MEASURED = "This one is not measured yet: measure it first. Nothing was kept."


@for_hands
@require_safe
def show_aperture(request: ShopRequest, number: int) -> HttpResponse:
    """The first tray that is measured; else the first."""
    trays = trays_for(request.user, number)
    first = next(iter(trays.measured), trays.each[0])
    return redirect("aperture_tray", number, first.number)


@for_hands
@require_http_methods(["GET", "HEAD", "POST"])
def set_out_opening(request: ShopRequest, number: int, tray: int) -> HttpResponse:
    """A tray's opening by the figures that were kept last, and the form to set it out by others."""
    trays, found = tray_for(request.user, number, tray)
    if request.method != "POST":
        return _page(request, trays, found)
    if found.fit is None or not trays.are_let_in:
        return _page(request, trays, found, said=NOT_MEASURED if trays.are_let_in else "", status=HTTPStatus.CONFLICT)
    form = _form(request, trays, found, request.POST)
    if not form.is_valid():
        return _page(request, trays, found, form, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        services.aperture_set_out(
            fabrication=trays.revision.fabrication, copy=found.number, by=request.user, **form.kept
        )
    except SentBefore as error:
        typed = request.POST.copy()
        typed["form_key"] = str(uuid4())
        again = _form(request, trays, found, typed)
        return _page(request, trays, found, again, said=str(error), status=HTTPStatus.CONFLICT)
    return _page(request, trays, found) if request.htmx else redirect("aperture_tray", number, tray)


@for_hands
@require_safe
def print_opening(request: ShopRequest, number: int, tray: int, *, kind: str) -> HttpResponse:
    """The opening on paper: its figures, or at true size. One that must not be cut is not printed: its page says why."""
    trays, found = tray_for(request.user, number, tray)
    opening = opening_of(found)
    if opening is None:
        raise Http404(f"The opening of number {tray} of job {number} is not set out yet.")
    if not opening.may_be_cut:
        return _page(request, trays, found, status=HTTPStatus.CONFLICT)
    paper = request.GET.get("paper", papers.USUAL_PAPER)
    if paper not in papers.PAPER_SIZES:
        raise BadRequest(f"no paper is of size {paper}")
    try:
        content = papers.of_opening(opening, shop_of(request), kind, paper)
    except papers.PapersUnavailable as error:
        return render(request, "503.html", {"reason": str(error)}, status=HTTPStatus.SERVICE_UNAVAILABLE)
    response = HttpResponse(content, content_type="application/pdf")
    name = papers.opening_name(opening, kind, paper)
    response["Content-Disposition"] = f'inline; filename="{name}"'
    return response


def _form(request: ShopRequest, trays: Trays, tray: Tray, data: QueryDict | None = None) -> ApertureForm:
    return ApertureForm(data, tray=tray, shop=shop_of(request), figures=figures_to_begin_with(trays, tray))


def _page(
    request: ShopRequest,
    trays: Trays,
    tray: Tray,
    form: ApertureForm | None = None,
    *,
    said: str = "",
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "thing": thing_of(trays.plan),
        "job": trays.revision.fabrication.job,
        "trays": trays,
        "tray": tray,
        "opening": opening_of(tray),
        "form": form or _form(request, trays, tray),
        "said": said,
        "display": shop_of(request).display,
        "paper_sizes": papers.PAPER_SIZES,
    }
    template = "aperture/_opening.html" if request.htmx else "aperture/page.html"
    return render(request, template, context, status=status)
