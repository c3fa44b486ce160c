from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.shortcuts import redirect
from django.templatetags.static import static
from django.views.decorators.http import require_safe

from fabjobs.requests import ShopRequest


@login_not_required
@require_safe
def show_mark(request: ShopRequest) -> HttpResponse:  # noqa: ARG001 - the same for everyone
    """Where the mark of the app lies: a browser that shows a PDF, which can't name it, asks for it here."""
    return redirect(static("fabjobs/mark.svg"))
