"""What is written about the rack: pieces that come, and what is said of one that is there. Every line has a form's key."""

from typing import Any
from uuid import uuid4

from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from fabjobs import services
from fabjobs.context import shop_of
from fabjobs.forms import CountForm, FoundForm, PlaceForm, ScrapForm, StockBoughtForm, StrikeForm
from fabjobs.models import MoveKind, StockItem, StockMove
from fabjobs.moments import moment
from fabjobs.pieces import outline_drawing
from fabjobs.requests import ShopRequest
from fabjobs.services.once import SentBefore
from fabjobs.views.guards import for_hands
from fabjobs.views.rack import piece_for, piece_page, sizes_bought

BY_PLAN = (MoveKind.RESERVED, MoveKind.RELEASED)  # what a job's plan holds follows the plan


@require_http_methods(["GET", "HEAD", "POST"])
def buy_sheets(request: ShopRequest) -> HttpResponse:
    """Sheets that were bought for the rack. The address may say what the form begins with."""
    shop = shop_of(request)
    if request.method != "POST":
        known = {name: text for name, text in request.GET.items() if name != "form_key"}
        return _bought_page(request, StockBoughtForm(shop=shop, initial=known))
    form = StockBoughtForm(request.POST, shop=shop)
    if not form.is_valid():
        return _bought_page(request, form, status=422)
    try:
        item = services.stock_buy(by=request.user, **form.kept)
    except SentBefore as error:
        form = StockBoughtForm(_with_new_key(request), shop=shop)
        return _bought_page(request, form, said=str(error), status=409)
    return redirect(item)


@for_hands
@require_http_methods(["GET", "HEAD", "POST"])
def find_offcut(request: ShopRequest) -> HttpResponse:
    """An offcut that stands on the rack and was never written down. Who sees no money puts none on it."""
    shop, priced = shop_of(request), request.user.is_owner
    if request.method != "POST":
        return _found_page(request, FoundForm(shop=shop, priced=priced))
    form = FoundForm(request.POST, shop=shop, priced=priced)
    if not form.is_valid():
        return _found_page(request, form, status=422)
    try:
        item = services.piece_find(by=request.user, **form.kept)
    except SentBefore as error:
        form = FoundForm(_with_new_key(request), shop=shop, priced=priced)
        return _found_page(request, form, said=str(error), status=409)
    return redirect(item)


@for_hands
@require_POST
def preview_offcut(request: ShopRequest) -> HttpResponse:
    """The offcut as typed so far, or the form for another number of sides; nothing is written."""
    typed, priced = request.POST.copy(), request.user.is_owner
    if "ask" not in typed:
        form = FoundForm(typed, shop=shop_of(request), seen=False, priced=priced)
        return _found_page(request, form, template="rack/_outline.html" if request.htmx else "rack/found.html")
    typed["sides"] = str(typed["ask"])
    return _found_page(request, FoundForm(shop=shop_of(request), initial=typed.dict(), priced=priced))


@require_POST
def count_piece(request: ShopRequest, number: int) -> HttpResponse:
    """How many there really are."""
    item, form = piece_for(number), CountForm(request.POST)
    if not form.is_valid():
        return piece_page(request, item, count=form, status=422)
    try:
        services.stock_count(item=item, by=request.user, **form.cleaned_data)
    except (services.NotOnTheRack, SentBefore) as error:
        return piece_page(request, item, count=CountForm(_with_new_key(request)), said=str(error), status=409)
    return redirect(item)


@require_POST
def scrap_piece(request: ShopRequest, number: int) -> HttpResponse:
    """Pieces thrown out."""
    item, form = piece_for(number), ScrapForm(request.POST)
    if not form.is_valid():
        return piece_page(request, item, scrap=form, status=422)
    try:
        services.stock_scrap(item=item, by=request.user, **form.cleaned_data)
    except (services.NotOnTheRack, SentBefore) as error:
        return piece_page(request, item, scrap=ScrapForm(_with_new_key(request)), said=str(error), status=409)
    return redirect(item)


@for_hands
@require_POST
def place_piece(request: ShopRequest, number: int) -> HttpResponse:
    """Put a piece in another place, unless someone was quicker."""
    item = piece_for(number)
    form = PlaceForm(request.POST, item=item)
    if not form.is_valid():
        return piece_page(request, item, place=form, status=422)
    place, was = form.cleaned_data["place"], form.cleaned_data["was"]
    changed = StockItem.objects.filter(pk=item.pk, place__in=(was, place)).update(place=place)
    if not changed:
        said = f"It was put in another place meanwhile: {item.place or 'none'}. Nothing was changed."
        return piece_page(request, item, said=said, status=409)
    return redirect(item)


@require_POST
def correct_line(request: ShopRequest, number: int, line: int) -> HttpResponse:
    """Undo a wrong line of the ledger by another, with the reason."""
    item, form = piece_for(number), StrikeForm(request.POST)
    lines = StockMove.objects.filter(item=item, corrects=None).exclude(kind__in=BY_PLAN)
    move = get_object_or_404(lines.select_related("item"), pk=line)
    if not form.is_valid():
        said = " ".join(str(text) for errors in form.errors.values() for text in errors)
        return piece_page(request, item, said=said, status=422)
    try:
        services.line_strike(line=move, why=form.cleaned_data["why"], by=request.user)
    except services.LineIsStruck as error:
        return piece_page(request, item, said=_who_struck(error.line), status=409)
    except services.NotOnTheRack as error:
        return piece_page(request, item, said=str(error), status=409)
    return redirect(item)


def _with_new_key(request: ShopRequest) -> QueryDict:
    """What was typed, to be sent once more: as something new."""
    typed = request.POST.copy()
    typed["form_key"] = str(uuid4())
    return typed


def _who_struck(line: Any) -> str:
    return f"{line.struck_by} corrected that line {moment(line.struck_at)} already: {line.struck_why}"


def _bought_page(request: ShopRequest, form: StockBoughtForm, *, said: str = "", status: int = 200) -> HttpResponse:
    shop = shop_of(request)
    context = {"form": form, "said": said, "sizes": sizes_bought(shop), "display": shop.display}
    return render(request, "rack/bought.html", context, status=status)


def _found_page(
    request: ShopRequest, form: FoundForm, *, said: str = "", status: int = 200, template: str = "rack/found.html"
) -> HttpResponse:
    display = shop_of(request).display
    drawing = outline_drawing(form.laid, display) if form.laid else ""
    context = {"form": form, "said": said, "drawing": drawing, "display": display}
    return render(request, template, context, status=status)
