"""The rack: its list, a piece's page, what to buy, labels."""

from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from fabjobs import papers
from fabjobs.buying import Purchase, what_to_buy
from fabjobs.context import shop_of
from fabjobs.forms import CountForm, LabelsForm, PlaceForm, RackSearchForm, ScrapForm
from fabjobs.forms.lengths import exactly
from fabjobs.models import Form, SheetPrice, ShopSettings, StockItem
from fabjobs.pieces import holders_of, large_drawing, ledger_of, metals_there, offcuts_of_today, pieces_found, rows_of
from fabjobs.requests import ShopRequest
from fabjobs.views.guards import for_hands
from fabjobs.views.pages import page_of

PIECES_A_PAGE = 24  # each is drawn


@for_hands
@require_safe
def list_pieces(request: ShopRequest) -> HttpResponse:
    """What is on the rack, or what a search finds of it, each piece drawn."""
    shop = shop_of(request)
    form = RackSearchForm(request.GET, shop=shop, metals=metals_there())
    page = page_of(pieces_found(form.wanted), request, PIECES_A_PAGE)
    context = {"form": form, "page": page, "rows": rows_of(page, shop.display), "display": shop.display}
    context["currency"] = currency_for(request)
    template = "rack/_list.html" if request.htmx else "rack/page.html"
    return render(request, template, context | {"labels": LabelsForm()}, status=200 if form.is_valid() else 422)


@for_hands
@require_safe
def show_piece(request: ShopRequest, number: int) -> HttpResponse:
    """A piece: its drawing, what there is of it, its ledger, and what may be said of it."""
    return piece_page(request, piece_for(number))


@require_safe
def show_to_buy(request: ShopRequest) -> HttpResponse:
    """What to buy for the jobs in hand."""
    shop = shop_of(request)
    found = what_to_buy(shop.currency)
    metals = [(metal, [(line, _link(line, shop, line.count)) for line in lines]) for metal, lines in found.by_metal]
    return render(request, "rack/buy.html", {"list": found, "metals": metals, "display": shop.display})


@for_hands
@require_safe
def print_labels(request: ShopRequest) -> HttpResponse:
    """Labels of the pieces that were ticked; of none, of the offcuts that came today."""
    form, shop = LabelsForm(request.GET), shop_of(request)
    if not form.is_valid():
        return render(request, "rack/labels.html", {"labels": form}, status=422)
    given = form.cleaned_data
    named = StockItem.objects.exclude(form=Form.SHARE).filter(number__in=given["piece"])
    items = StockItem.objects.with_balances().filter(
        pk__in=(named if given["piece"] else offcuts_of_today()).values("pk")
    )
    found: list[Any] = list(items.select_related("from_job__job").order_by("number"))
    if not given["piece"]:
        found = [item for item in found if item.on_hand > 0]
    if not found:
        return render(request, "rack/labels.html", {"labels": form, "none": True}, status=404)
    try:
        content = papers.of_pieces(found, shop, given["sheet"], given["first"])
    except papers.PapersUnavailable as error:
        return render(request, "503.html", {"reason": str(error)}, status=503)
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = 'inline; filename="rack-labels.pdf"'
    return response


def piece_for(number: int) -> Any:
    """The piece of this number, with its balances."""
    items = StockItem.objects.exclude(form=Form.SHARE).with_balances().select_related("from_job__job")
    item = items.filter(number=number).first()
    if item is None:
        raise Http404(f"There is no piece R{number}.")
    return item


def currency_for(request: ShopRequest) -> str:
    """What prices are shown in; nothing where none are shown, to who is no owner."""
    return shop_of(request).currency if request.user.is_owner else ""


def piece_page(
    request: ShopRequest, item: Any, *, said: str = "", status: int = 200, **forms: CountForm | ScrapForm | PlaceForm
) -> HttpResponse:
    """The page of a piece; forms: those that came back at fault, by name."""
    display = shop_of(request).display
    context: dict[str, Any] = {"item": item, "display": display, "said": said, "currency": currency_for(request)}
    context |= {"drawing": large_drawing(item, display), "held": holders_of([item]).get(item.pk, ())}
    context |= {"lines": list(ledger_of(item)), "labels": LabelsForm()}
    context |= {"count": CountForm(), "scrap": ScrapForm(), "place": PlaceForm(item=item), **forms}
    return render(request, "rack/piece.html", context, status=status)


def sizes_bought(shop: ShopSettings) -> list[tuple[SheetPrice, str]]:
    """The sizes that the shop buys, each with the address of a form that begins with it."""
    return [(size, _link(size, shop, 1)) for size in SheetPrice.objects.order_by("alloy", "thickness", "label")]


def _link(size: Purchase | SheetPrice, shop: ShopSettings, count: int) -> str:
    """The form of sheets bought, begun with a size, as it would be typed in this shop."""
    lengths = {name: exactly(getattr(size, name), shop.display) for name in ("thickness", "length", "width")}
    price = {} if size.price is None else {"price": size.price}
    begun = {"count": count, "alloy": size.alloy, "label": size.label, **lengths, **price}
    return f"{reverse('buy_sheets')}?{urlencode(begun)}"
