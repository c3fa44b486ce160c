"""What every request passes: the doors for those signed in and for owners, and honest caching of htmx answers."""

from collections.abc import Callable
from typing import Any, cast

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseRedirect
from django.http.response import HttpResponseBase
from django.utils.cache import patch_vary_headers
from django_htmx.http import HttpResponseClientRedirect

from fabjobs.models import Person


class SignedInMiddleware(LoginRequiredMiddleware):
    """Every page asks for a sign-in, and for an owner's, unless its view says otherwise."""

    def process_view(
        self,
        request: HttpRequest,
        view_func: Callable[..., HttpResponseBase],
        view_args: tuple[Any, ...],
        view_kwargs: dict[str, Any],
    ) -> HttpResponseBase | None:
        refused = super().process_view(request, view_func, view_args, view_kwargs)
        if refused is not None or not getattr(view_func, "login_required", True):
            return refused
        is_owner = isinstance(request.user, Person) and request.user.is_owner
        if not is_owner and not getattr(view_func, "for_hands", False):
            raise PermissionDenied
        return None

    def handle_no_permission(
        self,
        request: HttpRequest,
        view_func: Callable[..., HttpResponseBase],  # noqa: ARG002 - Django's signature
    ) -> HttpResponseRedirect:
        htmx = request.htmx  # type: ignore[attr-defined]
        # What a lost POST carried is gone, and the address it was sent to may not open as a page.
        page = request.get_full_path() if request.method in {"GET", "HEAD"} else "/"
        if not htmx:
            return redirect_to_login(page)
        # A plain redirect would be followed unseen and the sign-in page swapped into the middle of this one.
        answer = HttpResponseClientRedirect(redirect_to_login(htmx.current_url_abs_path or "/").url)
        return cast(HttpResponseRedirect, answer)


def vary_on_htmx(get_response: Callable[[HttpRequest], HttpResponseBase]) -> Callable[[HttpRequest], HttpResponseBase]:
    """One address may answer with a page or a part of it; a cache must not mix the two."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        patch_vary_headers(response, ["HX-Request"])
        return response

    return middleware
