"""A copy called spoiled: where another would come from, before anyone agrees to it; and what was spoiled before."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property
from typing import Any
from uuid import UUID

from django.utils.safestring import SafeString, mark_safe

from calc import Plan, SheetFaults, drawing
from calc.laid import NAMED_IN_KEY, SheetLayout
from calc.layout.job import in_place_of
from calc.records import Outline
from calc.steps import Step as Work
from calc.steps.again import again
from calc.stock import Stock
from fabjobs import planning
from fabjobs.frozen import cut_into, lay_before
from fabjobs.looking_back.spoiled import spoiled_seconds
from fabjobs.models import Person, Revision, Spoiled, Step
from fabjobs.rack import sheet_now
from fabjobs.services import copy_restore, copy_spoil
from fabjobs.services.spoiled import restorable
from fabjobs.spoiled_copies import CannotSpoil, CutCopies
from fabjobs.spoiled_work import DoneOn
from fabjobs.together import along

NARROW = 330.0  # that a phone shows all of it at once, its figures large enough to read
SAME = 3  # decimals [mm] of what lies in the same place


@dataclass(frozen=True)
class Place:
    """Where another would be cut, in a plan that is not stored yet.

    kind: "same" (what is left of the sheet it was spoiled on), "left" (of another sheet that was cut into), "planned" (a sheet
    that is to be cut anyway), "rack" or "new" (a piece more than was planned for). sheet: its number in that plan.
    """

    kind: str
    sheet: int
    used: SheetLayout
    stock: Stock
    drawing: SafeString


@dataclass(frozen=True)
class Spoiling:
    """A copy that is to be called spoiled: the plan with another in its place, beside the latest revision."""

    revision: Revision
    copy: str
    sheet: int
    before: Plan
    plan: Plan

    @classmethod
    def of(cls, revision: Revision, copy: str) -> "Spoiling":
        """Worked out at the effort that a page waits for. Raises `CannotSpoil`."""
        number = CutCopies.of_job(revision).sheet_of(copy)
        done = DoneOn.of(revision, copy)
        return cls(revision, copy, number, done.plan, _computed(revision, done.lies()))

    @property
    def seen(self) -> str:
        """What tells this plan from another: a person agrees to the one on the screen."""
        made = self.revision.fabrication
        given = {"job": made.job.number, "fabrication": made.position, "revision": self.revision.number + 1}
        return planning.check_code(**given, plan=self.plan.as_json())

    @cached_property
    def another(self) -> str:
        """The copy in its place: "A.2"."""
        places = in_place_of(self.plan.blanks, self.plan.layout)
        return next(new for new, old in places.items() if old == self.copy)

    @cached_property
    def place(self) -> Place | None:
        """Where it lies; None where no metal takes it."""
        for index, used in enumerate(self.plan.layout.sheets):
            if any(placed.name == self.another for placed in used.fitting):
                show = self.plan.sheet.making.display
                drawn = mark_safe(drawing.sheet_drawing(self.plan, index, show, width=NARROW))
                (stock,) = (size for size in self.plan.sheet.stock if size.label == used.stock)
                return Place(self._kind(index, stock), index + 1, used, stock, drawn)
        return None

    def _kind(self, index: int, stock: Stock) -> str:
        frozen = self.plan.sheet.frozen
        if index < len(frozen):
            was_here = any(placed.name == self.copy for placed in frozen[index].placed)
            return "same" if was_here else "left"
        was = Counter(used.stock for used in self.before.layout.sheets)[stock.label]
        now = Counter(used.stock for used in self.plan.layout.sheets)[stock.label]
        return "planned" if now <= was else "rack" if stock.rack is not None else "new"

    @cached_property
    def comes_back(self) -> list[Work]:
        """The steps that it makes to do, as the plan has them."""
        known = {step.key for step in self.before.steps}
        mine = f":{again(self.copy)}"
        new = (step for step in self.plan.steps if step.key not in known)
        return [step for step in new if mine in step.key or self.another in NAMED_IN_KEY.findall(step.key)]

    @property
    def minutes(self) -> float:
        """What they take [min], by the shop's standard."""
        return sum(step.minutes for step in self.comes_back)

    @cached_property
    def joined(self) -> list[Step]:
        """What is ticked of joining the blank to others, which nobody takes back by itself."""
        faces = {
            face for blank in self.before.blanks if blank.name == self.copy.rpartition(".")[0] for face in blank.faces
        }
        done = self.revision.fabrication.steps.filter(retired=False, done_at__isnull=False, kind__in=("fit", "weld"))
        return [step for step in done if faces.intersection(step.key.partition(":")[2].split("-"))]

    @property
    def blank_mass(self) -> float:
        """What is spoiled [kg]."""
        return self.plan.takeoff.spoiled_mass - self.before.takeoff.spoiled_mass

    @property
    def cost(self) -> tuple[Decimal, Decimal]:
        """What the job costs as planned before and after."""
        return Decimal(self.before.cost.total), Decimal(self.plan.cost.total)

    @property
    def is_laid_out_anew(self) -> bool:
        """Whether sheets that are not cut into yet are laid out otherwise than they were."""
        cut = {sheet.number for sheet in cut_into(self.revision.fabrication)}
        uncut = [used for number, used in enumerate(self.before.layout.sheets, 1) if number not in cut]
        now = [_marked_on(used) for used in self.plan.layout.sheets]
        return any(_marked_on(used) not in now for used in uncut)

    def keep(self, *, why: str, by: Person, form_key: UUID) -> Spoiled:
        """Make it so: see `copy_spoil`."""
        return copy_spoil(
            fabrication=self.revision.fabrication,
            copy=self.copy,
            plan=self.plan,
            why=why,
            started_from=self.revision.number,
            by=by,
            form_key=form_key,
            along=along(self.revision, self.plan),
        )


def _marked_on(used: SheetLayout) -> set[tuple[str, Outline]]:
    """What is marked out on a sheet, whatever the numbers of the copies are."""
    return {
        (placed.blank, tuple((round(x, SAME), round(y, SAME)) for x, y in placed.outline)) for placed in used.placed
    }


def take_for_good(line: Spoiled, *, why: str, by: Person) -> Spoiled:
    """Take a copy for good after all: see `copy_restore`. Raises as that does, and `CannotSpoil`."""
    if line.struck_at is not None:
        return copy_restore(line=line, plan=None, why=why, by=by)
    revision = restorable(line)
    plan = _computed(revision, lay_before(revision, line.copy))
    return copy_restore(line=line, plan=plan, why=why, by=by, along=along(revision, plan))


def _computed(revision: Revision, lying: Sequence[Any]) -> Plan:
    """The next plan of a job with the sheets that were cut into so."""
    effort = planning.in_a_request(revision.sheet["making"]["effort"])
    try:
        return planning.compute({**sheet_now(revision, effort=effort), "frozen": lying})
    except SheetFaults as faults:
        told = " ".join(fault.text for fault in faults.faults)
        raise CannotSpoil(
            f"The job can't be laid out anew: {told} Put that right first. Nothing was changed."
        ) from None


@dataclass(frozen=True)
class SpoiledLine:
    """A line of what was spoiled, the time that was lost with it [s], and the steps that are to do for it."""

    line: Spoiled
    seconds: float
    to_do: Sequence[Step]


def lines_of(revision: Revision) -> list[SpoiledLine]:
    """What was spoiled of a job, the newest first."""
    made = revision.fabrication
    lines = made.spoiled_lines.select_related("by", "struck_by").order_by("-pk")
    seconds = spoiled_seconds([line.pk for line in lines])
    steps = list(made.steps.filter(retired=False, done_at=None, key__contains=":again"))
    return [
        SpoiledLine(
            line,
            seconds.get(line.pk, 0.0),
            [step for step in steps if line.copy and f":{again(line.copy)}" in step.key],
        )
        for line in lines
    ]
