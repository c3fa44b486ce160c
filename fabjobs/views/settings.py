"""Settings: the shop and its saw, its rates, the sheets that it buys."""

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from calc.papers.saw_lines import saw_lines
from fabjobs import services
from fabjobs.context import shop_of
from fabjobs.forms import RatesForm, SheetPriceForm, ShopForm
from fabjobs.models import RateBook, SheetPrice, ShopSettings
from fabjobs.moments import moment
from fabjobs.requests import ShopRequest
from fabjobs.stamps import stamp_of

CHANGED = "Someone changed this while your form was open; nothing of yours was kept. Here it is as it stands now."
BOOKS_SHOWN = 20
KEPT = {
    "shop": "Kept. New jobs begin with these settings.",
    "rates": "Kept. New jobs are costed with these rates.",
    "sheet": "Kept. New jobs are laid out on the sheets as they stand here.",
}


@require_safe
def show_settings(request: ShopRequest) -> HttpResponse:
    """All settings on one page; the address says what was kept just now."""
    return _page(request, kept=KEPT.get(request.GET.get("kept", ""), ""))


def _kept(what: str) -> HttpResponse:
    """Back to the page, which says so."""
    return redirect(f"{reverse('settings')}?kept={what}")


@require_POST
def change_shop(request: ShopRequest) -> HttpResponse:
    """Keep the shop's own settings."""
    form = ShopForm(request.POST, shop=ShopSettings.current())
    if not form.is_valid():
        return _page(request, shop_form=form, status=422)
    try:
        services.shop_change(shop=form.instance, seen=form.cleaned_data["seen"])
    except services.SettingsAreStale:
        return _page(request, said=CHANGED, status=409)
    return _kept("shop")


@require_POST
def change_rates(request: ShopRequest) -> HttpResponse:
    """Begin a new book of rates."""
    form = RatesForm(request.POST, book=RateBook.current())
    if not form.is_valid():
        return _page(request, rates_form=form, status=422)
    try:
        services.rates_set(figures=form.figures, seen=form.cleaned_data["seen"], by=request.user)
    except services.RatesAreStale as error:
        when = moment(error.book.created_at)
        said = f"{error.book.created_by} set new rates {when}; nothing of yours was kept. Here they are."
        return _page(request, said=said, status=409)
    return _kept("rates")


@require_POST
def add_sheet(request: ShopRequest) -> HttpResponse:
    """One more size of sheet; the same twice is one."""
    form = SheetPriceForm(request.POST, shop=shop_of(request))
    if form.is_valid():
        try:
            services.sheet_price_add(sheet=form.instance)
        except services.SheetIsThere as error:
            form.add_error("label", str(error))
    if form.is_valid() or form.is_kept_already:
        return _kept("sheet")
    return _page(request, sheet_form=form, status=422)


@require_http_methods(["GET", "HEAD", "POST"])
def change_sheet(request: ShopRequest, sheet: int) -> HttpResponse:
    """Another price or size for a sheet."""
    row = get_object_or_404(SheetPrice, pk=sheet)
    form = SheetPriceForm(request.POST if request.method == "POST" else None, shop=shop_of(request), sheet=row)
    context: dict[str, Any] = {"form": form, "sheet": row}
    if request.method != "POST":
        return render(request, "settings/sheet.html", context)
    if not form.is_valid():
        return render(request, "settings/sheet.html", context, status=422)
    try:
        services.sheet_price_change(sheet=form.instance, seen=form.cleaned_data["seen"])
    except services.SettingsAreStale:
        return _page(request, said=CHANGED, status=409)
    except services.SheetIsThere as error:
        form.add_error("label", str(error))
        return render(request, "settings/sheet.html", context, status=422)
    return _kept("sheet")


@require_POST
def take_out_sheet(request: ShopRequest, sheet: int) -> HttpResponse:
    """The shop no longer buys this sheet; plans that were made with it keep it."""
    try:
        services.sheet_price_take_out(key=sheet, seen=request.POST.get("seen", ""))
    except services.SettingsAreStale:
        return _page(request, said=CHANGED, status=409)
    return _kept("sheet")


def _page(request: ShopRequest, *, said: str = "", kept: str = "", status: int = 200, **forms: Any) -> HttpResponse:
    shop, book = ShopSettings.current(), RateBook.current()
    context = {
        "said": said,
        "kept": kept,
        "shop_form": ShopForm(shop=shop),
        "rates_form": RatesForm(book=book),
        "sheet_form": SheetPriceForm(shop=shop),
        "books": RateBook.objects.select_related("created_by")[:BOOKS_SHOWN],
        "sheets": [(row, stamp_of(row)) for row in SheetPrice.objects.all()],
        "display": shop.display,
        "saw": saw_lines(shop.saw, "aluminium", shop.display),
        **forms,
    }
    return render(request, "settings/page.html", context, status=status)
