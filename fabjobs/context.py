"""What every page shows: the shop it is in, and the timer that runs for who looks at it."""

from django.conf import settings
from django.http import HttpRequest
from django.utils.functional import SimpleLazyObject

from fabjobs.making import RunningTimer, running_timer
from fabjobs.models import Person, ShopSettings


def shop(request: HttpRequest) -> dict[str, ShopSettings | bool]:
    """The shop's settings, read once a request, from whichever asks first; whether it is the demo shop."""
    return {"shop": shop_of(request), "demo": settings.DEMO}


def shop_of(request: HttpRequest) -> ShopSettings:
    known: ShopSettings | None = getattr(request, "_shop", None)
    if known is None:
        known = ShopSettings.current()
        request._shop = known  # type: ignore[attr-defined]
    return known


def timer(request: HttpRequest) -> dict[str, object]:
    """The running timer, read when a page comes to show it, so that an answer shows what its view has just written."""

    def read() -> RunningTimer | None:
        person = getattr(request, "user", None)
        return running_timer(person, shop_of(request)) if isinstance(person, Person) else None

    return {"timer": SimpleLazyObject(read)}
