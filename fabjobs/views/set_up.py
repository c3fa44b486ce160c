from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from fabjobs.forms import SetUpForm
from fabjobs.models import Person, ShopSettings
from fabjobs.services import ShopIsTaken, shop_claim
from fabjobs.views.sign_in import BACKEND


@login_not_required
@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
def claim_shop(request: HttpRequest) -> HttpResponse:
    """The first owner, by the code from the terminal; once there is one, this page is only a way to sign in."""
    if Person.objects.exists():
        return redirect("sign_in")
    form = SetUpForm(request.POST or None, instance=ShopSettings.current())
    if request.method != "POST":
        return render(request, "set_up/page.html", {"form": form})
    if not form.is_valid():
        return render(request, "set_up/page.html", {"form": form}, status=422)
    given = form.cleaned_data
    try:
        owner = shop_claim(shop=form.instance, username=given["username"], password=given["password"])
    except ShopIsTaken:
        return redirect("sign_in")
    login(request, owner, backend=BACKEND)
    return redirect("in_hand")
