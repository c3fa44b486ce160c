"""People, for owners: who may come in and as what, and the links that let someone in."""

from urllib.parse import urlsplit

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from calc.papers.codes import qr_drawing
from fabjobs import services
from fabjobs.context import shop_of
from fabjobs.forms import InviteForm, RoleForm
from fabjobs.models import Invitation, Person
from fabjobs.requests import ShopRequest
from fabjobs.views.steps import NOT_WHOLE

THIS_COMPUTER = ("localhost", "127.0.0.1", "::1")
NOT_OPEN = "That link opened nothing any more: it was used, withdrawn or too old. Nothing was changed."


@require_safe
def list_people(request: ShopRequest) -> HttpResponse:
    """Everyone of the shop, those who sign in first, and the invitations whose links still open."""
    return _page(request)


@never_cache
@require_POST
def invite_person(request: ShopRequest) -> HttpResponse:
    """A link that lets someone in, once; it stands on this answer and nowhere else."""
    form = InviteForm(request.POST)
    if not form.is_valid():
        return _page(request, form=form, status=422)
    try:
        made, token = services.person_invite(by=request.user, **form.cleaned_data)
    except services.InvitedBefore as error:
        return _page(request, said=str(error), status=409)
    link = _link(request, token)
    is_local = urlsplit(link).hostname in THIS_COMPUTER
    code = mark_safe(qr_drawing(link, f"The link for {made.name}, to scan"))
    return _page(request, made=made, link=link, is_local=is_local, code=code)


@require_POST
def withdraw_invitation(request: ShopRequest, invitation: int) -> HttpResponse:
    """Its link opens nothing from now on."""
    found = get_object_or_404(Invitation, pk=invitation)
    if not services.invitation_withdraw(invitation=found):
        return _page(request, said=NOT_OPEN, status=409)
    return redirect("people")


@require_POST
def change_role(request: ShopRequest, person: int) -> HttpResponse:
    """An owner or a hand, from that person's next page on."""
    found, form = get_object_or_404(Person, pk=person), RoleForm(request.POST)
    if not form.is_valid():
        return _page(request, said=NOT_WHOLE, status=422)
    try:
        services.role_set(person=found, role=form.cleaned_data["role"])
    except services.LastOwner as error:
        return _page(request, said=str(error), status=409)
    return redirect("people")


@require_POST
def close_person(request: ShopRequest, person: int) -> HttpResponse:
    """Someone comes in no more, and is signed out at once; all that they logged stays under their name."""
    try:
        forgotten = services.person_close(person=get_object_or_404(Person, pk=person))
    except services.LastOwner as error:
        return _page(request, said=str(error), status=409)
    return _page(request, forgotten=forgotten) if forgotten else redirect("people")


@require_POST
def open_person(request: ShopRequest, person: int) -> HttpResponse:  # noqa: ARG001
    """Someone comes in again."""
    services.person_open(person=get_object_or_404(Person, pk=person))
    return redirect("people")


@require_POST
def sign_out_person(request: ShopRequest, person: int) -> HttpResponse:  # noqa: ARG001
    """Someone is signed out wherever they are signed in."""
    services.sessions_end(person=get_object_or_404(Person, pk=person))
    return redirect("people")


def _link(request: ShopRequest, token: str) -> str:
    """By the address that papers carry, which others on the network reach; else by the one this page was asked at."""
    path, known = reverse("join", args=[token]), shop_of(request).paper_address
    return f"{known.rstrip('/')}{path}" if known else request.build_absolute_uri(path)


def _page(
    request: ShopRequest, *, form: InviteForm | None = None, said: str = "", status: int = 200, **made: object
) -> HttpResponse:
    context = {
        "people": Person.objects.order_by("-is_active", "username"),
        "invitations": Invitation.open_now().select_related("by"),
        "form": form or InviteForm(),
        "said": said,
        **made,
    }
    return render(request, "people/page.html", context, status=status)
