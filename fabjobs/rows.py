"""A revision's rows: its parts, and its steps brought in line without losing what was logged on earlier ones."""

from collections.abc import Mapping, Sequence
from decimal import Decimal

import calc
import calc.steps
from calc.blank import Blank
from calc.shared import unnumbered
from calc.sheet import Rates
from fabjobs.frozen import Metal, metal_key, metal_of, retired_cuts
from fabjobs.models import Fabrication, Part, Photo, Revision, Step, StepNote, Tick, TimeEntry

BY_FIGURES = {"measure", "cut", "hand-cut"}  # kinds of work whose words tell where or how far, not what is done
WHATEVER_METAL = {"measure"}  # kinds of work that stay done whatever the tray is made of
Substance = tuple[str, str, float, str]
KEPT_FIELDS = ["revision", "position", "kind", "text", "detail", "driver", "unit", "minutes", "rate"]


def keep_parts(revision: Revision, blanks: Sequence[Blank]) -> None:
    """A row for each blank of the revision."""
    Part.objects.bulk_create(
        Part(
            fabrication=revision.fabrication,
            revision=revision,
            blank=blank.name,
            count=blank.count,
            same_as=blank.same_as or "",
            mirrored=blank.mirrored,
            area=blank.area,
            mass=blank.mass,
        )
        for blank in blanks
    )


def bring_steps_in_line(revision: Revision, plan: calc.Plan) -> None:
    """The fabrication's steps as this revision has them.

    A step that stays keeps its row. One that went, or whose substance changed, is retired if anything was logged on it
    (it keeps its row and shows as done under the revision before), else deleted or written over. A cut that was made
    and retired on a sheet left as it lies takes its row up again where the plan has it again.
    """
    rates = plan.sheet.rates
    wanted = {
        step.key: Step(
            fabrication=revision.fabrication,
            revision=revision,
            position=position,
            key=step.key,
            kind=step.kind,
            text=step.text,
            detail=step.detail,
            driver=step.driver,
            unit=step.unit,
            minutes=step.minutes,
            rate=labour_rate(rates, step.kind),
        )
        for position, step in enumerate(plan.steps, start=1)
    }
    retiring = steps_retiring(revision.fabrication, plan)
    going: list[int] = []
    staying: list[Step] = []
    for old in revision.fabrication.steps.filter(retired=False).exclude(pk__in=retiring):
        new = wanted.get(old.key)
        if new is None:
            going.append(old.pk)
        else:
            new.pk = old.pk
            staying.append(new)
    back = _coming_back(revision, plan, [step for step in wanted.values() if step.pk is None])
    staying += back
    Step.objects.filter(pk__in=retiring).update(retired=True)
    Step.objects.filter(pk__in=going).delete()
    Step.objects.filter(pk__in=[step.pk for step in back]).update(retired=False)
    Step.objects.bulk_update(staying, KEPT_FIELDS, batch_size=100)
    Step.objects.bulk_create([step for step in wanted.values() if step.pk is None])


def _coming_back(revision: Revision, plan: calc.Plan, new: Sequence[Step]) -> list[Step]:
    """Those of the new steps that are cuts made already, each with the row it had."""
    frozen = len(plan.sheet.frozen)
    keys = {key for of_sheet in calc.steps.cut_keys(plan.layout)[:frozen] for key in of_sheet}
    made = {step.key: step for step in retired_cuts(revision)} if keys else {}
    back = []
    for step in new:
        if step.key in keys and (old := made.get(step.key)) is not None and substance(old) == substance(step):
            step.pk = old.pk
            back.append(step)
    return back


def steps_retiring(fabrication: Fabrication, plan: calc.Plan) -> set[int]:
    """The steps with work on them that this plan has no more, or has with another substance; nothing is written.

    Of another metal all is made anew; only the measuring stays done.
    """
    material = plan.sheet.material
    return retiring(fabrication, substances(plan), metal_key(material.alloy, material.thickness))


def retiring(fabrication: Fabrication, wanted: Mapping[str, Substance], metal: Metal) -> set[int]:
    """The same for steps of these keys and substances, in this metal."""
    steps = fabrication.steps.filter(retired=False)
    was = steps.values_list("revision__sheet", flat=True).first()
    same_metal = was is None or metal_of(was) == metal
    return {
        old.pk
        for old in steps.filter(pk__in=steps_worked_on(fabrication))
        if wanted.get(old.key) != substance(old) or not (same_metal or old.kind in WHATEVER_METAL)
    }


def substances(plan: calc.Plan) -> dict[str, Substance]:
    """The substance of each step of a plan, by its key."""
    return {step.key: substance(step) for step in plan.steps}


def steps_worked_on(fabrication: Fabrication) -> set[int]:
    """The steps of a fabrication on which a tick, a note, a photo or time was ever logged."""
    return {
        pk
        for line in (Tick, StepNote, Photo, TimeEntry)
        for pk in line.objects.filter(step__fabrication=fabrication).values_list("step_id", flat=True)
    }


def substance(step: Step | calc.steps.Step) -> Substance:
    """What makes a step, of those of its key, the same work: what is done, how much of it, and its words if they tell.

    A cut is named by what it parts, so that neither its place in a list nor how it is worded makes it another. The rim is
    measured the same whatever depth below it is looked for. What is marked out on another job's sheet stays so whatever number
    that sheet has.
    """
    return step.kind, step.unit, round(step.driver, 4), "" if step.kind in BY_FIGURES else unnumbered(step.text)


def labour_rate(rates: Rates, kind: str) -> Decimal:
    """What an hour of a kind of work costs by a sheet's rates."""
    return Decimal(rates.labour_by_kind.get(kind, rates.labour))
