"""One's own pages: another password, an end to sign-ins elsewhere, one's time."""

from django.contrib.auth import authenticate, update_session_auth_hash
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST, require_safe

from fabjobs import services
from fabjobs.forms import OwnPasswordForm
from fabjobs.forms.passwords import WRONG
from fabjobs.own_time import OwnTime
from fabjobs.requests import ShopRequest
from fabjobs.views.guards import for_hands


@for_hands
@require_safe
def show_own(request: ShopRequest) -> HttpResponse:
    """Who one is here, and what one may do about it."""
    return _page(request, OwnPasswordForm(person=request.user), done=request.GET.get("done", ""))


@for_hands
@require_safe
def show_time(request: ShopRequest) -> HttpResponse:
    """One's own time of this week and the last, each entry with the way to where it is corrected."""
    return render(request, "own/time.html", {"own": OwnTime.of(request.user, timezone.now())})


@for_hands
@sensitive_post_parameters()
@require_POST
def change_password(request: ShopRequest) -> HttpResponse:
    """Another password; every other sign-in ends by it. Wrong tries at the old one are counted like those at sign-in."""
    person = request.user
    form = OwnPasswordForm(request.POST, person=person)
    if form.is_valid() and authenticate(request, username=person.username, password=form.cleaned_data["old"]) is None:
        form.add_error("old", WRONG)
    if not form.is_valid():
        return _page(request, form, status=422)
    person.set_password(form.cleaned_data["password"])
    person.save(update_fields=["password"])
    update_session_auth_hash(request, person)
    return redirect_done("password")


@for_hands
@require_POST
def sign_out_others(request: ShopRequest) -> HttpResponse:
    """Every sign-in but this one ends."""
    services.sessions_end(person=request.user)
    update_session_auth_hash(request, request.user)
    return redirect_done("others")


def redirect_done(what: str) -> HttpResponse:
    """Back to one's own page, which then says what was done."""
    answer = redirect("me")
    answer["Location"] += f"?done={what}"
    return answer


def _page(request: ShopRequest, form: OwnPasswordForm, *, done: str = "", status: int = 200) -> HttpResponse:
    return render(request, "own/page.html", {"form": form, "done": done}, status=status)
