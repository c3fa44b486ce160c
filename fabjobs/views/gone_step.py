"""A step that a new revision took away while somebody still had it on the screen: told, with all that they typed."""

from collections.abc import Callable, Iterator
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import render

from fabjobs.models import Job, Revision, Step
from fabjobs.requests import ShopRequest
from fabjobs.services.steps import revision_came

TYPED = {"text": "Note", "day": "Day", "took": "Time", "reason": "Reason"}
Given = ParamSpec("Given")


class StepIsGone(Http404):
    """The job was planned anew, and the step's row went with the plan it was of."""

    def __init__(self, job: Job, step: int, came: str) -> None:
        self.job, self.step, self.came = job, step, came
        super().__init__(f"{came}; this step is no longer made.")


def missing_step(job: Job, step: int) -> Http404:
    """What to raise where a job has no such step: whether one may have been taken away, or never was there."""
    revisions = Revision.objects.filter(fabrication__job=job).order_by("number")
    if Step.objects.filter(pk=step).exists() or not revisions.filter(number__gt=1).exists():
        return Http404(f"Job {job.number} has no such step.")
    return StepIsGone(job, step, revision_came(revisions))


def tells_of_gone(
    view: Callable[Concatenate[ShopRequest, Given], HttpResponse],
) -> Callable[Concatenate[ShopRequest, Given], HttpResponse]:
    """A view that logs something on a step; where that is gone, nothing typed is lost."""

    @wraps(view)
    def told(request: ShopRequest, /, *args: Given.args, **kwargs: Given.kwargs) -> HttpResponse:
        try:
            return view(request, *args, **kwargs)
        except StepIsGone as gone:
            template = "job/_step_gone.html" if request.htmx else "step/gone.html"
            context = {"job": gone.job, "step": gone.step, "came": gone.came, "typed": list(_typed(request.POST))}
            return render(request, template, context, status=409)

    return told


def _typed(sent: QueryDict) -> Iterator[tuple[str, str]]:
    """The fields that a person fills in, by their labels; those of a correction have the entry before their name."""
    for name, value in sent.items():
        label = TYPED.get(name.rpartition("-")[2])
        if label and str(value).strip():
            yield label, str(value)
