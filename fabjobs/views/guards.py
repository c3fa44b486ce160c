"""What a hand may open. Every page is the owners' unless its view says otherwise, so that a new one can't be left open."""

from collections.abc import Callable
from typing import Concatenate, ParamSpec

from django.core.exceptions import PermissionDenied
from django.http.response import HttpResponseBase

from fabjobs.models import Person
from fabjobs.requests import ShopRequest

Given = ParamSpec("Given")


def for_hands(
    view: Callable[Concatenate[ShopRequest, Given], HttpResponseBase],
) -> Callable[Concatenate[ShopRequest, Given], HttpResponseBase]:
    """A view that hands may open too; `fabjobs.middleware.SignedInMiddleware` refuses them all others."""
    view.for_hands = True  # type: ignore[attr-defined]
    return view


def owners_only(person: Person) -> None:
    """Within a view that hands may open, what is the owners' alone. Raises `PermissionDenied`."""
    if not person.is_owner:
        raise PermissionDenied
