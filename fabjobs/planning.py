"""The door to calc: what the app and the command line ask to be computed, and how a plan becomes rows."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import product
from typing import Any
from uuid import UUID

from django.db import transaction

import calc
from calc.drainage import drain, times_deeper
from calc.drawing import tray_view
from calc.families import read_shape
from calc.families.flat_parts import laid_round
from calc.families.metal import Metal
from calc.families.rims import LONGEST, SHORTEST, corners_of, read_rim
from calc.reading import Field
from calc.records import Outline, Point
from calc.sheet import JobSheet, Material, read_thickness
from calc.tables.alloys import ALLOYS
from calc.units import Display
from fabjobs.codes import CHECK_CODE_LENGTH, CROCKFORD
from fabjobs.models import Fabrication, Person, Revision
from fabjobs.rows import bring_steps_in_line, keep_parts

SQUARE_METRE = 1e6  # [mm2]
BY_THE_PIECE = "piece"

ANY_METAL = Metal(thickness=1.0, usual_radius=1.0)  # a tray is measured on its wet face: no fall depends on the metal
ANY_DEPTH = 100.0  # [mm] falls are in proportion to the depth, so any will do to find another
MOST_STEPS = 40  # of the rule, that the deepest is made deeper for the others to come out on the rule too
ROUNDING = 1e-9


def compute(sheet: JobSheet | Mapping[str, Any]) -> calc.Plan:
    """The plan of a sheet. Nothing is stored. Raises `SheetFaults`, each fault with its path."""
    return calc.plan(sheet)


def preview(sheet: Mapping[str, Any]) -> calc.Plan:
    """The plan at quick effort, for a person still at the form. Nothing is stored."""
    return calc.plan({**sheet, "making": {**sheet.get("making", {}), "effort": "quick"}})


def in_a_request(effort: str) -> str:
    """The effort that a page waits for: what was found by a long look outside a request is changed at the usual one.

    >>> in_a_request("long"), in_a_request("quick")
    ('normal', 'quick')
    """
    return "normal" if effort == "long" else effort


def depths_for(shape: Mapping[str, Any], one_in: float, display: Display) -> tuple[Fraction, ...] | None:
    """The depths [mm], on the shop's rule, at which a tray as a job sheet holds it falls 1 in `one_in` at the least, each in
    proportion to what it is now; None while the tray is at fault. Raises ValueError where no depth does."""
    tray = read_shape(Field(shape), ANY_METAL)
    if tray is None:
        return None
    times = times_deeper(tray.shell(ANY_METAL.thickness), 1 / one_in)
    exact = [depth * times for depth in tray.depths]
    for steps in range(MOST_STEPS):
        deepest = _rounded_up(max(exact), display) + steps * display.step
        share = float(deepest) / max(exact)
        for choice in product(*(_on_rule(depth * share, display) for depth in exact)):
            if max(choice) == deepest and _falls(shape, choice) >= (1 - ROUNDING) / one_in:
                return choice
    return tuple(_rounded_up(depth, display) for depth in exact)


def _rounded_up(depth: float, display: Display) -> Fraction:
    """A depth [mm] on the rule, never less than it is."""
    return -(-Fraction(repr(round(depth, 7))) // display.step) * display.step


def _on_rule(depth: float, display: Display) -> list[Fraction]:
    """A depth [mm] on the rule: the nearest, then those beside it."""
    near = display.rounded(depth)
    return [near, *(at for at in (near - display.step, near + display.step) if at > 0)]


def _falls(shape: Mapping[str, Any], depths: Sequence[Fraction]) -> float:
    """The least fall of a tray made so deep; 0 where it can't be made."""
    deep = [float(depth) for depth in depths]
    if shape["family"] == "valley-tray":
        shape = {**shape, "valley": [[*end[:2], depth] for end, depth in zip(shape["valley"], deep, strict=True)]}
    else:
        shape = {**shape, "depth": deep[0]}
    tray = read_shape(Field(shape), ANY_METAL)
    drainage = None if tray is None else drain(tray.shell(ANY_METAL.thickness))
    return 0.0 if drainage is None else drainage.least_fall


def rim_corners(rim: object) -> Outline | None:
    """The corners [mm] of a rim as a job sheet holds it, for a drawing before there is a plan; None if at fault."""
    read = read_rim(Field(rim))
    return None if read is None else corners_of(read)


def corners_along(sides: Sequence[str | None], angles: Sequence[float | None]) -> Outline:
    """The corners [mm] that sides as a job sheet holds them and angles [degrees] lead to, up to the first not there yet."""
    known: list[float] = []
    for count, side in enumerate(sides):
        size = length(side)
        if size is None or (count and angles[count - 1] is None):
            break
        known.append(size)
    return laid_round(known, [angle or 0.0 for angle in angles[: max(len(known) - 1, 0)]])


def point(typed: object) -> Point | None:
    """A point [mm] as a job sheet holds it; None if at fault."""
    return Field(typed).point(LONGEST)


def coordinate(typed: object) -> float | None:
    """One coordinate [mm] as a job sheet holds it; None if at fault."""
    return Field(typed).length(-LONGEST, LONGEST)


def length(typed: object) -> float | None:
    """A length [mm] as a job sheet holds it; None if at fault."""
    return Field(typed).length(SHORTEST, LONGEST)


def usual_radius(alloy: object, thickness: object) -> float | None:
    """The inside radius [mm] that folds in a metal have where nothing else is said; None while the metal is at fault."""
    name = alloy if isinstance(alloy, str) and alloy in ALLOYS else None
    mm = read_thickness(Field(thickness), name)
    return None if name is None or mm is None else Material(name, mm).usual_radius


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
