"""What a hand may open. Every page is the owners' unless its view says otherwise, so that a new one can't be left open."""

from collections.abc import Callable
from typing import Any, TypeVar

from django.core.exceptions import PermissionDenied

from fabjobs.models import Person

View = TypeVar("View", bound=Callable[..., Any])


def for_hands(view: View) -> View:
    """A view that hands may open too; `fabjobs.middleware.SignedInMiddleware` refuses them all others."""
    view.for_hands = True  # type: ignore[attr-defined]
    return view


def owners_only(person: Person) -> None:
    """Within a view that hands may open, what is the owners' alone. Raises `PermissionDenied`."""
    if not person.is_owner:
        raise PermissionDenied
