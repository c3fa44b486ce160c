"""What can be ticked in the drawings of a job's page: its cuts and its seams, each by its step."""

from collections.abc import Iterable, Iterator
from functools import partial

from django.urls import reverse

from calc import Plan
from calc.drawing import Touch
from calc.steps import cut_keys
from fabjobs.models import Job, Revision, Step


def touches_of(job: Job, revision: Revision, plan: Plan, steps: Iterable[Step]) -> dict[str, Touch]:
    """A touch for each cut and seam of a plan whose step is in force, by the step's key."""
    own = {step.key: step for step in steps if step.fabrication_id == revision.fabrication_id and not step.retired}
    touch = partial(_touch, job)
    return {key: touch(own[key], label) for key, label in _labels(plan) if key in own}


def _touch(job: Job, step: Step, label: str) -> Touch:
    return Touch(str(step.pk), reverse("at_work", args=[job.number, step.pk]), label, step.done_at is not None)


def _labels(plan: Plan) -> Iterator[tuple[str, str]]:
    """Each key of a cut or a seam with what it is called: "Cut 3, frees A.1", "Seam A-B"."""
    sheets = plan.layout.sheets
    for number, (used, keys) in enumerate(zip(sheets, cut_keys(plan.layout), strict=True), 1):
        of = f"Sheet {number}, cut" if len(sheets) > 1 else "Cut"
        for place, (key, (_, _, frees)) in enumerate(zip(keys, used.cut_list, strict=True), 1):
            yield key, f"{of} {place}, frees {', '.join(frees)}" if frees else f"{of} {place}"
    for weld in plan.weld_plan.welds if plan.weld_plan else ():
        if weld.kind == "seam":
            yield weld.key, f"Seam {weld.name}"
