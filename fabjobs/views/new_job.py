from typing import cast
from uuid import uuid4

from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from fabjobs import planning
from fabjobs.context import shop_of
from fabjobs.forms import NewJobForm
from fabjobs.models import Job, Person, Revision
from fabjobs.preview import Preview
from fabjobs.requests import ShopRequest
from fabjobs.services import NotOnTheRack, job_create, revision_of_form
from fabjobs.views.job import on_to

TRIES = 3  # at a plan whose pieces of the rack are still free when it is stored


@require_http_methods(["GET", "HEAD", "POST"])
def create_job(request: ShopRequest) -> HttpResponse:
    """The form of a new job; sent, it is planned at full effort and kept."""
    form = NewJobForm(request.POST if request.method == "POST" else None, shop=shop_of(request))
    if request.method != "POST":
        return _page(request, form)
    sent = revision_of_form(form.cleaned_data["form_key"]) if form.is_valid() else None
    if sent is not None and not _says_the_same(form, sent):
        return _made_already(request, sent.fabrication.job)
    job = sent.fabrication.job if sent else _kept(form, request.user)
    if job is None:
        return _page(request, form, status=422)
    return on_to(request, job)


def _says_the_same(form: NewJobForm, sent: Revision) -> bool:
    """Whether the form says what it said when it made this revision; the due day is the job's, not its sheet's."""
    return form.repeats(sent.sheet) and form.cleaned_data["due_day"] == sent.fabrication.job.due_day


def _made_already(request: ShopRequest, job: Job) -> HttpResponse:
    """The form again, come back to by the browser's Back and typed over: nothing of it is lost, and nothing made twice."""
    typed = request.POST.copy()
    typed["form_key"] = str(uuid4())
    form = NewJobForm(typed, shop=shop_of(request))
    form.add_error(
        None, f"This form made job {job.number} already; change it on its page. Saved now, this is another job."
    )
    return _page(request, form, status=409)


def _kept(form: NewJobForm, by: Person) -> Job | None:
    """The job, planned and stored; None where the form is at fault.

    Where another job is quicker to a piece of the rack, it is planned again without that piece.
    """
    for tries_left in reversed(range(TRIES)):
        plan = form.plan(planning.compute)
        if plan is None:
            return None
        given = form.cleaned_data
        try:
            return job_create(plan=plan, due_day=given["due_day"], by=by, form_key=given["form_key"])
        except NotOnTheRack as taken:
            if not tries_left:
                form.add_error(None, f"{taken} Save once more, and it is planned without.")
    return None


@require_POST
def preview_job(request: ShopRequest) -> HttpResponse:
    """What the measurements so far would make: a part of the page while typing, the whole page by the button."""
    form = NewJobForm(request.POST, shop=shop_of(request), seen=not request.htmx)
    preview = Preview.of(form)
    if not request.htmx:
        return _page(request, form, preview)
    return render(request, "new_job/_answer.html", {"form": form, "preview": preview})


@require_POST
def ask_otherwise(request: ShopRequest) -> HttpResponse:
    """The same form for another family, or with a row more, or with one taken out."""
    typed = asked_otherwise(NewJobForm(request.POST.copy(), shop=shop_of(request), seen=False))
    return _page(request, NewJobForm(typed, shop=shop_of(request), seen=False))


def asked_otherwise(form: NewJobForm) -> QueryDict:
    """What was typed into a form, with the row more or less that its button asked for, and the choices that a family
    begins with where it is asked for the first time."""
    typed = cast(QueryDict, form.data)
    for name, initial in form.choices_to_begin_with:
        typed.setdefault(name, initial)
    form.asked.ask_otherwise(typed)
    return typed


def _page(request: ShopRequest, form: NewJobForm, preview: Preview | None = None, status: int = 200) -> HttpResponse:
    template = "new_job/_form.html" if request.htmx else "new_job/page.html"
    to = {"save": reverse("new_job"), "preview": reverse("preview_job"), "ask": reverse("ask_otherwise")}
    context = {"form": form, "preview": preview or Preview.of(form), "to": to}
    return render(request, template, context, status=status)
