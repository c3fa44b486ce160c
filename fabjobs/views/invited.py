"""The link of an invitation: who follows it makes their own sign-in. One that opens nothing is not told apart from another."""

from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from fabjobs.forms import JoinForm
from fabjobs.forms.people import TAKEN
from fabjobs.models import Invitation, Person
from fabjobs.services import LinkIsSpent, NameIsTaken, invitation_use
from fabjobs.views.sign_in import BACKEND

MOST_WRONG, AN_HOUR = 20, 3600  # links that open nothing, from one address, before none is tried for so long [s]


@login_not_required
@never_cache
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def join_shop(request: HttpRequest, token: str) -> HttpResponse:
    """The form of who was invited; sent, they are signed in, and the link opens nothing more."""
    if cache.get(_tries(request), 0) >= MOST_WRONG:
        return render(request, "429.html", status=429)
    invitation = Invitation.opened_by(token)
    if invitation is None:
        return _spent(request)
    if request.method != "POST":
        return _page(request, invitation, JoinForm(initial={"username": _name_for(invitation)}))
    return _come_in(request, token, invitation)


def _come_in(request: HttpRequest, token: str, invitation: Invitation) -> HttpResponse:
    form = JoinForm(request.POST)
    if not form.is_valid():
        return _page(request, invitation, form, status=422)
    given = form.cleaned_data
    try:
        person = invitation_use(token=token, username=given["username"], password=given["password"])
    except LinkIsSpent:
        return _spent(request)
    except NameIsTaken:
        form.add_error("username", TAKEN)
        return _page(request, invitation, form, status=422)
    login(request, person, backend=BACKEND)
    return redirect("in_hand")


def _name_for(invitation: Invitation) -> str:
    """A sign-in name to begin with: the first word of what they are called, where it may be one and is free."""
    name = invitation.name.split()[0].lower()
    try:
        Person.username_validator(name)
    except ValidationError:
        return ""
    return name if not Person.objects.filter(username__iexact=name).exists() else ""


def _tries(request: HttpRequest) -> str:
    return f"links:{request.META.get('REMOTE_ADDR', '')}"


def _spent(request: HttpRequest) -> HttpResponse:
    cache.add(_tries(request), 0, AN_HOUR)
    cache.incr(_tries(request))
    return render(request, "people/spent.html", status=404)


def _page(request: HttpRequest, invitation: Invitation, form: JoinForm, *, status: int = 200) -> HttpResponse:
    return render(request, "people/join.html", {"invitation": invitation, "form": form}, status=status)
