"""The door to calc: what the app and the command line ask to be computed, and how a plan becomes rows."""

import hashlib
import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import transaction

import calc
from calc.drainage import depth_for_fall
from calc.drawing import tray_view
from calc.families import read_shape
from calc.families.metal import Metal
from calc.families.rims import LONGEST, SHORTEST, corners_of, read_rim
from calc.reading import Field
from calc.records import Outline, Point
from calc.sheet import JobSheet
from fabjobs.codes import CHECK_CODE_LENGTH, CROCKFORD
from fabjobs.models import Fabrication, Person, Revision
from fabjobs.rows import bring_steps_in_line, keep_parts

SQUARE_METRE = 1e6  # [mm2]
BY_THE_PIECE = "piece"

ANY_METAL = Metal(thickness=1.0, usual_radius=1.0)  # a tray is measured on its wet face: no fall depends on the metal
ANY_DEPTH = 100.0  # [mm] falls are in proportion to the depth, so any will do to find another


def compute(sheet: JobSheet | Mapping[str, Any]) -> calc.Plan:
    """The plan of a sheet. Nothing is stored. Raises `SheetFaults`, each fault with its path."""
    return calc.plan(sheet)


def preview(sheet: Mapping[str, Any]) -> calc.Plan:
    """The plan at quick effort, for a person still at the form. Nothing is stored."""
    return calc.plan({**sheet, "making": {**sheet.get("making", {}), "effort": "quick"}})


def depth_for(rim: object, low_point: object, one_in: float) -> float | None:
    """The depth [mm] at which a tray of this rim and low point, as a job sheet holds them, falls 1 in `one_in` at the
    least; None while they are at fault."""
    tray = {"family": "fall-tray", "rim": rim, "low_point": low_point, "depth": ANY_DEPTH}
    shape = read_shape(Field(tray), ANY_METAL)
    return None if shape is None else depth_for_fall(shape.shell(ANY_METAL.thickness), 1 / one_in)


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
def store(
    *, fabrication: Fabrication, plan: calc.Plan, by: Person, reason: str = "", form_key: UUID | None = None
) -> Revision:
    """Keep a plan, computed before this is called, as the fabrication's next revision; bring its rows in line.

    Parts belong to their revision. A step that stays keeps its row, with all that was logged on it (`fabjobs.rows`).
    """
    content = plan.as_json()
    last = fabrication.revisions.order_by("-number").values_list("number", flat=True).first() or 0
    code = check_code(job=fabrication.job.number, fabrication=fabrication.position, revision=last + 1, plan=content)
    revision = Revision.objects.create(
        fabrication=fabrication,
        number=last + 1,
        sheet=content["sheet"],
        plan=content,
        check_code=code,
        created_by=by,
        reason=reason,
        form_key=form_key,
        **_summary(plan),
    )
    keep_parts(revision, plan.blanks)
    bring_steps_in_line(revision, plan)
    return revision


def _summary(plan: calc.Plan) -> dict[str, Any]:
    """What lists and the review read of a plan."""

    def cost(kind: str) -> Decimal:
        """The lines of a kind; a fitting, which is bought by the piece, is none of the supplies that are used up."""
        lines = (line for line in plan.cost.lines if line.kind == kind and line.unit != BY_THE_PIECE)
        return sum((Decimal(line.amount) for line in lines), Decimal(0))

    return {
        "thumbnail": tray_view(plan, plan.sheet.making.display),
        "minutes": sum(step.minutes for step in plan.steps),
        "net_mass": plan.takeoff.net_mass,
        "sheet_mass": plan.takeoff.sheet_mass,
        "offcut_mass": plan.takeoff.offcut_mass,
        "areal_mass": plan.sheet.material.mass(SQUARE_METRE),
        "metal_cost": cost("metal"),
        "labour_cost": cost("labour"),
        "supplies_cost": cost("supplies"),
        "total_cost": Decimal(plan.cost.total),
        "currency": plan.cost.currency,
    }
