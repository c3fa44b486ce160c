"""Time and metal: what was used, a line each, against what was planned."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST, require_safe

from fabjobs import services
from fabjobs.context import shop_of
from fabjobs.forms import AsPlannedForm, BoughtForm, LineForm, OffcutForm, SheetForm, SpoiledForm, StrikeForm
from fabjobs.metal import MetalBook, proposed
from fabjobs.models import BoughtIn, MoveKind, Spoiled, StockMove
from fabjobs.models.logged import MetalLine, StrikeableLine
from fabjobs.moments import moment
from fabjobs.planning import restore
from fabjobs.requests import ShopRequest
from fabjobs.services.metal import PlannedAnew
from fabjobs.services.once import SentBefore
from fabjobs.views.job import job_for, latest_revision

IN_ITS_PLACE = (
    "Another was laid out in the place of {}: it is taken for good on the page of spoiled blanks. Nothing was changed."
)


@dataclass(frozen=True)
class Kind:
    """A kind of line: its form, the service that adds one, and which lines of its rows are of the kind."""

    lines: type[MetalLine | StockMove]
    form: type[LineForm]
    add: Callable[..., MetalLine | StockMove]
    only: Mapping[str, Any] = field(default_factory=dict)


KINDS = {
    "sheets": Kind(StockMove, SheetForm, services.sheet_use, {"kind": MoveKind.ISSUED, "corrects": None}),
    "offcuts": Kind(StockMove, OffcutForm, services.offcut_return, {"kind": MoveKind.RETURNED, "corrects": None}),
    "spoiled": Kind(Spoiled, SpoiledForm, services.blank_spoil),
    "bought": Kind(BoughtIn, BoughtForm, services.thing_buy),
}


@require_safe
def show_metal(request: ShopRequest, number: int) -> HttpResponse:
    """The lines of a job's metal, and the balance against the takeoff."""
    return _page(request, _book(request, number))


@require_POST
def add_line(request: ShopRequest, number: int, kind: str) -> HttpResponse:
    """Log a line."""
    book, chosen = _book(request, number), _kind(kind)
    form = chosen.form(request.POST, shop=shop_of(request), parts=book.parts)
    if not form.is_valid():
        return _page(request, book, {kind: form}, status=422)
    try:
        chosen.add(fabrication=book.revision.fabrication, by=request.user, **form.kept)
    except SentBefore as error:
        return _page(request, _book(request, number), said=str(error), status=409)
    return _done(request, number)


@require_POST
def add_as_planned(request: ShopRequest, number: int, kind: str) -> HttpResponse:
    """Log what the plan has of sheets or offcuts and is not logged yet."""
    book, form = _book(request, number), AsPlannedForm(request.POST)
    if kind not in {"sheets", "offcuts"}:
        raise Http404(f"There is no plan of {kind}.")
    if not form.is_valid():
        return _page(request, book, said="That form was not whole. Reload the page and tap again.", status=422)
    given = {"fabrication": book.revision.fabrication, "by": request.user, **form.cleaned_data}
    try:
        if kind == "sheets":
            services.sheets_use_as_planned(planned=book.sheets_planned, **given)
        else:
            services.offcuts_return_as_planned(planned=book.offcuts_planned, **given)
    except (PlannedAnew, services.NotOnTheRack) as error:
        return _page(request, _book(request, number), said=str(error), status=409)
    except services.NothingLeftToLog as error:
        return _page(request, book, said=_who_logged(error.last), status=409)
    return _done(request, number)


@require_POST
def strike_line(request: ShopRequest, number: int, kind: str, line: int) -> HttpResponse:
    """Strike a wrong line out, with the reason."""
    book, form, chosen = _book(request, number), StrikeForm(request.POST), _kind(kind)
    found: Any = get_object_or_404(
        chosen.lines._default_manager.all(), pk=line, fabrication=book.revision.fabrication, **chosen.only
    )
    if isinstance(found, Spoiled) and found.copy:
        return _page(request, book, said=IN_ITS_PLACE.format(found.copy), status=409)
    if not form.is_valid():
        said = " ".join(str(text) for errors in form.errors.values() for text in errors)
        return _page(request, book, said=said, status=422)
    try:
        services.line_strike(line=found, why=form.cleaned_data["why"], by=request.user)
    except services.LineIsStruck as error:
        return _page(request, _book(request, number), said=_who_struck(error.line), status=409)
    except services.NotOnTheRack as error:
        return _page(request, book, said=str(error), status=409)
    return _done(request, number)


def _book(request: ShopRequest, number: int) -> MetalBook:
    revision = latest_revision(job_for(request.user, number))
    return MetalBook.of(revision, restore(revision))


def _kind(name: str) -> Kind:
    if name not in KINDS:
        raise Http404(f"There are no {name}.")
    return KINDS[name]


def _done(request: ShopRequest, number: int) -> HttpResponse:
    return _page(request, _book(request, number)) if request.htmx else redirect("metal", number)


def _page(
    request: ShopRequest,
    book: MetalBook,
    forms: Mapping[str, LineForm] | None = None,
    *,
    said: str = "",
    status: int = 200,
) -> HttpResponse:
    fresh: dict[str, LineForm] = {
        name: kind.form(shop=shop_of(request), parts=book.parts, initial=proposed(book, name, shop_of(request).display))
        for name, kind in KINDS.items()
    }
    context: dict[str, Any] = {"job": book.revision.fabrication.job, "revision": book.revision, "plan": book.plan}
    context |= {"metal": book, "forms": fresh | dict(forms or {}), "said": said}
    context |= {"display": shop_of(request).display, "as_planned": AsPlannedForm.fresh(book.revision.number)}
    template = "metal/_all.html" if request.htmx else "metal/page.html"
    return render(request, template, context, status=status)


def _who_logged(last: StockMove | None) -> str:
    if last is None:
        return "The plan has none of these. Nothing was added."
    return f"All that was planned is logged already, the last by {last.by} {moment(last.at)}. Nothing was added."


def _who_struck(line: StrikeableLine | StockMove) -> str:
    when = f" {moment(line.struck_at)}" if line.struck_at else ""
    return f"{line.struck_by} struck that line out{when}: {line.struck_why}"
