"""The door to calc: what the app and the command line ask to be computed, and how a plan becomes rows."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any

from django.db import transaction

import calc
from calc.drainage import depth_for_fall
from calc.families.rims import LONGEST, SHORTEST, corners_of, read_rim
from calc.reading import Field
from calc.records import Outline, Point
from calc.sheet import JobSheet
from fabjobs.codes import CHECK_CODE_LENGTH, CROCKFORD
from fabjobs.models import Fabrication, Part, Person, Revision, Step


def compute(sheet: JobSheet | Mapping[str, Any]) -> calc.Plan:
    """The plan of a sheet. Nothing is stored. Raises `SheetFaults`, each fault with its path."""
    return calc.plan(sheet)


def preview(sheet: Mapping[str, Any]) -> calc.Plan:
    """The plan at quick effort, for a person still at the form. Nothing is stored."""
    return calc.plan({**sheet, "making": {**sheet.get("making", {}), "effort": "quick"}})


def depth_for(plan: calc.Plan, one_in: float) -> float:
    """The depth [mm] at which the least fall of this plan's shell is 1 in `one_in`. Raises ValueError if none is."""
    return depth_for_fall(plan.shell, 1 / one_in)


def rim_corners(rim: object) -> Outline | None:
    """The corners [mm] of a rim as a job sheet holds it, for a drawing before there is a plan; None if at fault."""
    read = read_rim(Field(rim))
    return None if read is None else corners_of(read)


def point(typed: object) -> Point | None:
    """A point [mm] as a job sheet holds it; None if at fault."""
    return Field(typed).point(LONGEST)


def length(typed: object) -> float | None:
    """A length [mm] as a job sheet holds it; None if at fault."""
    return Field(typed).length(SHORTEST, LONGEST)


def restore(revision: Revision) -> calc.Plan:
    """The plan as it was stored, so that an old paper prints again exactly."""
    return calc.Plan.from_json(revision.plan)


def check_code(*, job: int, fabrication: int, revision: int, plan: Mapping[str, Any]) -> str:
    """Six signs that differ when the job, the revision or anything in the plan does.

    >>> len(check_code(job=7, fabrication=1, revision=1, plan={"format": "fabjobs-plan/1"}))
    6
    """
    text = json.dumps(plan, sort_keys=True, separators=(",", ":"), allow_nan=False)
    digest = hashlib.sha256(f"{job}/{fabrication}/{revision}\n{text}".encode()).digest()
    bits = int.from_bytes(digest, "big")
    return "".join(CROCKFORD[bits >> 5 * place & 31] for place in range(CHECK_CODE_LENGTH))


@transaction.atomic
def store(*, fabrication: Fabrication, plan: calc.Plan, by: Person) -> Revision:
    """Keep a plan, computed before this is called, as the fabrication's next revision; bring its rows in line.

    Parts belong to their revision. A step whose key stays keeps its row, with all that hangs on it.
    """
    content = plan.as_json()
    last = fabrication.revisions.order_by("-number").values_list("number", flat=True).first() or 0
    code = check_code(job=fabrication.job.number, fabrication=fabrication.position, revision=last + 1, plan=content)
    revision = Revision.objects.create(
        fabrication=fabrication, number=last + 1, sheet=content["sheet"], plan=content, check_code=code, created_by=by
    )
    Part.objects.bulk_create(_parts(revision, content["blanks"]))
    _bring_steps_in_line(revision, content["steps"])
    return revision


def _parts(revision: Revision, blanks: list[dict[str, Any]]) -> list[Part]:
    return [
        Part(
            fabrication=revision.fabrication,
            revision=revision,
            blank=blank["name"],
            count=blank["count"],
            same_as=blank["same_as"] or "",
            mirrored=blank["mirrored"],
            area=blank["area"],
            mass=blank["mass"],
        )
        for blank in blanks
    ]


def _bring_steps_in_line(revision: Revision, steps: list[dict[str, Any]]) -> None:
    Step.objects.bulk_create(
        [
            Step(fabrication=revision.fabrication, revision=revision, position=position, **_step_fields(step))
            for position, step in enumerate(steps, start=1)
        ],
        update_conflicts=True,
        unique_fields=["fabrication", "key"],
        update_fields=["revision", "position", "kind", "text", "driver", "unit", "minutes"],
    )
    Step.objects.filter(fabrication=revision.fabrication).exclude(revision=revision).delete()


def _step_fields(step: dict[str, Any]) -> dict[str, Any]:
    return {name: step[name] for name in ("key", "kind", "text", "driver", "unit", "minutes")}
