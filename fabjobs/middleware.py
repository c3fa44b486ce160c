"""What every request passes: the doors for those signed in and for owners, honest caching of htmx answers, what became of a
kept tap."""

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

TAP_BY = "Tap-By"  # the person, by key, whose tap a device kept and sends
TAP = "Tap"


class Tap:
    """What became of a kept tap. An answer without it is none of ours (a router's page, a proxy's), so the tap is kept."""

    TAKEN = "taken"
    REFUSED = "refused"
    KEEP = "keep"


class SignedInMiddleware(LoginRequiredMiddleware):
    """Every page asks for a sign-in, and for an owner's, unless its view says otherwise; so does a tap of another person than
    signed in since."""

    def process_view(
        self,
        request: HttpRequest,
        view_func: Callable[..., HttpResponseBase],
        view_args: tuple[Any, ...],
        view_kwargs: dict[str, Any],
    ) -> HttpResponseBase | None:
        by = request.headers.get(TAP_BY)
        if by is not None and by != str(request.user.pk):
            return self.handle_no_permission(request, view_func)
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
        # A plain redirect would be followed unseen and the sign-in page swapped into the middle of this one.
        to_sign_in = redirect_to_login(htmx.current_url_abs_path or "/" if htmx else page)
        answer = HttpResponseClientRedirect(to_sign_in.url) if htmx else to_sign_in
        answer[TAP] = Tap.KEEP
        return cast(HttpResponseRedirect, answer)


def kept_taps(get_response: Callable[[HttpRequest], HttpResponseBase]) -> Callable[[HttpRequest], HttpResponseBase]:
    """Tell a device what became of the tap it sends: taken, refused for good, or not dealt with yet."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        if TAP_BY in request.headers and TAP not in response:
            dealt_with = Tap.TAKEN if response.status_code < 400 else Tap.REFUSED
            response[TAP] = Tap.KEEP if response.status_code >= 500 else dealt_with
        return response

    return middleware


def vary_on_htmx(get_response: Callable[[HttpRequest], HttpResponseBase]) -> Callable[[HttpRequest], HttpResponseBase]:
    """One address may answer with a page or a part of it; a cache must not mix the two."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        patch_vary_headers(response, ["HX-Request"])
        return response

    return middleware
