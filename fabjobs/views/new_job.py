from django.http import HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from fabjobs import planning
from fabjobs.context import shop_of
from fabjobs.forms import NewJobForm
from fabjobs.preview import Preview
from fabjobs.requests import ShopRequest
from fabjobs.services import job_create


@require_http_methods(["GET", "HEAD", "POST"])
def create_job(request: ShopRequest) -> HttpResponse:
    """The form of a new job; sent, it is planned at full effort and kept."""
    form = NewJobForm(request.POST if request.method == "POST" else None, shop=shop_of(request))
    if request.method != "POST":
        return _page(request, form)
    plan = form.plan(planning.compute)
    if plan is None:
        return _page(request, form, status=422)
    job = job_create(plan=plan, due_day=form.cleaned_data["due_day"], by=request.user)
    return HttpResponseClientRedirect(job.get_absolute_url()) if request.htmx else redirect(job)


@require_POST
def preview_job(request: ShopRequest) -> HttpResponse:
    """What the measurements so far would make: a part of the page while typing, the whole page by the button."""
    form = NewJobForm(request.POST, shop=shop_of(request), seen=not request.htmx)
    preview = Preview.of(form)
    if not request.htmx:
        return _page(request, form, preview)
    return render(request, "new_job/_answer.html", {"form": form, "preview": preview})


@require_POST
def change_corners(request: ShopRequest) -> HttpResponse:
    """The same form with one corner more, or with one taken out."""
    typed = request.POST.copy()
    form = NewJobForm(typed, shop=shop_of(request), seen=False)
    if "add" in typed and form.can_grow:
        typed["corners"] = str(form.corner_count + 1)
    elif "take_out" in typed and form.can_shrink:
        _take_out(typed, form.corner_count)
    return _page(request, NewJobForm(typed, shop=shop_of(request), seen=False))


def _take_out(typed: QueryDict, count: int) -> None:
    """Move the corners behind the one to remove up by one place."""
    gone = str(typed["take_out"])
    if not gone.isascii() or not gone.isdigit() or int(gone) >= count:
        return
    for corner in range(int(gone), count - 1):
        for axis in "xy":
            typed[f"corner_{corner}_{axis}"] = typed.get(f"corner_{corner + 1}_{axis}", "")
    typed["corners"] = str(count - 1)


def _page(request: ShopRequest, form: NewJobForm, preview: Preview | None = None, status: int = 200) -> HttpResponse:
    template = "new_job/_form.html" if request.htmx else "new_job/page.html"
    context = {"form": form, "preview": preview or Preview.of(form)}
    return render(request, template, context, status=status)
