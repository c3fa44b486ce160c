"""What every page shows: the shop it is in."""

from django.http import HttpRequest

from fabjobs.models import ShopSettings


def shop(request: HttpRequest) -> dict[str, ShopSettings]:
    """The shop's settings, read once a request, from whichever asks first."""
    return {"shop": shop_of(request)}


def shop_of(request: HttpRequest) -> ShopSettings:
    known: ShopSettings | None = getattr(request, "_shop", None)
    if known is None:
        known = ShopSettings.current()
        request._shop = known  # type: ignore[attr-defined]
    return known
