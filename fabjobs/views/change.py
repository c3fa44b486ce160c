from itertools import zip_longest
from typing import Any
from uuid import uuid4

from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabjobs import changes, planning
from fabjobs.context import shop_of
from fabjobs.forms import ChangeForm
from fabjobs.heading import Heading
from fabjobs.models import Job, Revision
from fabjobs.preview import Preview
from fabjobs.requests import ShopRequest
from fabjobs.services import JobIsStale, NotOnTheRack, job_change, job_describe, revision_of_form
from fabjobs.sharing import left_elsewhere
from fabjobs.together import CannotLayTogether, along, parted_by, renumbered_by
from fabjobs.views.guards import for_hands
from fabjobs.views.job import job_for, latest_revision, on_to, revision_for
from fabjobs.views.new_job import asked_otherwise

NO_REASON = "Say why the measurements change: a few words."


@require_http_methods(["GET", "HEAD", "POST"])
def change_job(request: ShopRequest, number: int) -> HttpResponse:
    """The stored measurements to be changed; sent, they are planned at full effort and kept as the next revision."""
    job = job_for(request.user, number)
    revision = latest_revision(job)
    if request.method != "POST":
        return _page(request, job, ChangeForm.of(job, revision, shop=shop_of(request)), opened=True)
    form = ChangeForm(request.POST, revision=revision, shop=shop_of(request))
    if form.is_valid() and (sent := revision_of_form(form.cleaned_data["form_key"])) is not None:
        return _sent_again(request, job, sent)
    if form.is_valid() and _lacks_its_reason(form):
        form.add_error("reason", NO_REASON)
    if not form.is_valid():
        return _page(request, job, form, status=422)
    try:
        saved = _save(request, job, form)
    except (JobIsStale, NotOnTheRack) as stale:
        return _told(request, job, str(stale), form.cleaned_data["started_from"])
    except CannotLayTogether as error:
        form.add_error(None, str(error))
        return _page(request, job, form, status=422)
    return on_to(request, job) if saved else _page(request, job, form, status=422)


def _lacks_its_reason(form: ChangeForm) -> bool:
    """Against the revision that it began with; where another came since, that is told first, as `_save` finds."""
    given = form.cleaned_data
    return given["started_from"] == form.revision.number and form.changes_the_sheet and not given["reason"]


def _sent_again(request: ShopRequest, job: Job, sent: Revision) -> HttpResponse:
    """Answer like the first time; but what was typed over since, by way of the browser's Back, must not be lost."""
    form = ChangeForm(request.POST, revision=sent, shop=shop_of(request))
    if form.is_valid() and form.repeats(sent.sheet) and form.heading == Heading.of(job):
        return on_to(request, sent.fabrication.job)
    return _told(request, job, f"This form made revision {sent.number} already.", sent.number)


def _save(request: ShopRequest, job: Job, form: ChangeForm) -> bool:
    """Whether it was kept; if not, the faults stand in the form. Raises `JobIsStale`."""
    given = form.cleaned_data
    if not form.changes_the_sheet:
        job_describe(job=job, heading=form.heading, version=given["job_version"], by=request.user)
        return True
    plan = form.plan(planning.compute)
    if plan is None:
        return False
    job_change(
        fabrication=form.revision.fabrication,
        plan=plan,
        heading=form.heading,
        started_from=given["started_from"],
        job_version=given["job_version"],
        reason=given["reason"],
        by=request.user,
        form_key=given["form_key"],
        along=along(form.revision, plan) if form.revision.number == given["started_from"] else [],
    )
    return True


def _told(request: ShopRequest, job: Job, words: str, was: int) -> HttpResponse:
    """The form again with all that was typed, now against what is stored, and what happened meanwhile."""
    job.refresh_from_db()
    revision = latest_revision(job)
    typed = request.POST.copy()
    typed["started_from"], typed["job_version"] = str(revision.number), str(job.version)
    typed["form_key"] = str(uuid4())
    form = ChangeForm(typed, revision=revision, shop=shop_of(request))
    return _page(request, job, form, status=409, stale=words, was=was)


@require_POST
def preview_change(request: ShopRequest, number: int) -> HttpResponse:
    """What the change so far would make: a part of the page while typing, the whole page by the button."""
    job = job_for(request.user, number)
    form = ChangeForm(request.POST, revision=latest_revision(job), shop=shop_of(request), seen=not request.htmx)
    if not request.htmx:
        return _page(request, job, form)
    return render(request, "change/_answer.html", _context(job, form))


@require_POST
def ask_change_otherwise(request: ShopRequest, number: int) -> HttpResponse:
    """The same form for another family, or with a row more, or with one taken out."""
    job = job_for(request.user, number)
    given: dict[str, Any] = {"revision": latest_revision(job), "shop": shop_of(request), "seen": False}
    typed = asked_otherwise(ChangeForm(request.POST.copy(), **given))
    return _page(request, job, ChangeForm(typed, **given))


@for_hands
@require_safe
def compare_revisions(request: ShopRequest, number: int, before: int, after: int) -> HttpResponse:
    """Two revisions of a job side by side, the earlier one first."""
    job = job_for(request.user, number)
    if before == after:
        raise Http404("A revision does not differ from itself.")
    if before > after:
        return redirect("compare_revisions", number, after, before)
    earlier, later = revision_for(job, before), revision_for(job, after)
    difference = changes.of_revisions(earlier, later, seen_by=request.user)
    context = {"job": job, "earlier": earlier, "later": later, "saved": (earlier, later), "difference": difference}
    return render(request, "change/comparison.html", context)


def _page(
    request: ShopRequest, job: Job, form: ChangeForm, *, status: int = 200, opened: bool = False, **told: Any
) -> HttpResponse:
    template = "change/_form.html" if request.htmx else "change/page.html"
    return render(request, template, {**_context(job, form, opened=opened), **told}, status=status)


def _context(job: Job, form: ChangeForm, *, opened: bool = False) -> dict[str, Any]:
    preview = Preview.as_opened(form) if opened else Preview.of(form)
    difference = None
    if preview.plan is not None and form.changes_the_sheet:
        difference = changes.of_change(
            form.revision, preview.plan, frozen=form.frozen, other_metal=form.is_of_another_metal
        )
    names = {"save": "change_job", "preview": "preview_change", "ask": "ask_change_otherwise"}
    return {
        "job": job,
        "revision": form.revision,
        "parted": parted_by(form.revision),
        "renumbered": renumbered_by(form.revision),
        "next_number": form.revision.number + 1,
        "form": form,
        "preview": preview,
        "difference": difference,
        "left_elsewhere": left_elsewhere(form.revision, preview.plan) if difference and preview.plan else [],
        "frozen": [
            (sheet, changes.cuts_told(sheet), became)
            for sheet, became in zip_longest(form.frozen, difference.became if difference else ())
        ],
        "to": {name: reverse(view, args=[job.number]) for name, view in names.items()},
    }
