"""The computing half of fabjobs: a job sheet in, a plan out. No web, no database, no clock, no chance of its own."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from calc.advice import Advice, advise
from calc.blank import Blank
from calc.budget import Budget, budget_of
from calc.costing import Cost, cost_job
from calc.drainage import Drainage, drainage_of
from calc.joins import join
from calc.laid import Layout
from calc.layout.job import lay_out_job
from calc.marking import Rounding, mark_out, rounding_of
from calc.reading import Fault, SheetFaults
from calc.records import as_json, from_json
from calc.sheet import JobSheet, read_sheet
from calc.shell import Shell
from calc.steps import Step, plan_steps
from calc.stiffness import Stiffness, stiffness_of
from calc.takeoff import Takeoff, take_off_job
from calc.unfold import unfold
from calc.welding import WeldPlan, plan_welds

__all__ = ["Fault", "JobSheet", "Plan", "SheetFaults", "plan", "read_sheet"]

FORMAT = "fabjobs-plan/1"


@dataclass(frozen=True, slots=True)
class Plan:
    """What a job sheet comes to. Lengths mm, areas mm2, masses kg, angles degrees, times minutes, money decimal text."""

    format: str
    sheet: JobSheet
    shell: Shell
    blanks: tuple[Blank, ...]
    layout: Layout
    drainage: Drainage | None  # None where nothing is to drain: flat parts
    takeoff: Takeoff
    steps: tuple[Step, ...]
    cost: Cost
    warnings: tuple[Advice, ...]
    rounding: Rounding | None = None  # None in a plan of an earlier day
    welding: WeldPlan | None = None  # None where nothing is welded, and in a plan of an earlier day
    budget: Budget | None = None  # None of loose parts and in a plan of an earlier day
    stiffness: Stiffness | None = None  # None of loose parts and in a plan of an earlier day

    @property
    def weld_plan(self) -> WeldPlan | None:
        """The weld plan; of a plan that was stored without one it is worked out anew."""
        return self.welding or plan_welds(self.sheet, self.shell, self.blanks)

    @property
    def draining(self) -> Drainage | None:
        """How it drains in use; of a plan that was stored without these figures they are worked out anew."""
        if self.drainage is None or self.drainage.full is not None:
            return self.drainage
        return drainage_of(self.sheet, self.shell, self.takeoff.net_mass / self.sheet.quantity)

    def as_json(self) -> dict[str, Any]:
        """The plan as JSON, numbers rounded; the text that is stored and printed."""
        data: dict[str, Any] = as_json(self)
        return data

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> "Plan":
        """A plan from the JSON that `as_json` gave, so that its papers and drawings can be made again as they were."""
        return from_json(cls, data)


def plan(sheet: JobSheet | Mapping[str, Any]) -> Plan:
    """All that is computed from a job sheet: the stages of the work, in order.

    sheet: a `JobSheet`, or the JSON mapping of one. Raises `SheetFaults` where it can't be planned.

    >>> tray = {"family": "fall-tray", "rim": [[0, 0], [600, 0], [640, 380], [0, 400]], "low_point": [410, 150], "depth": 40}
    >>> planned = plan({"shape": tray, "material": {"alloy": "5052-H32", "thickness": 1.5}})
    >>> [blank.name for blank in planned.blanks]
    ['A', 'B', 'C', 'D']
    """
    sheet = sheet if isinstance(sheet, JobSheet) else read_sheet(sheet)
    shell = join(sheet.shape.shell(sheet.material.thickness), sheet)
    blanks = mark_out(unfold(shell, sheet), sheet.making.display)
    welding = plan_welds(sheet, shell, blanks)
    layout = lay_out_job(blanks, sheet)
    stiffness = stiffness_of(shell, sheet)
    takeoff = take_off_job(sheet, blanks, layout, welding)
    drainage = drainage_of(sheet, shell, takeoff.net_mass / sheet.quantity)
    steps = plan_steps(sheet, shell, blanks, layout, takeoff, welding)
    cost = cost_job(sheet, layout, welding, steps)
    warnings = advise(sheet, shell, blanks, layout, drainage, stiffness, takeoff, welding)
    rounding = rounding_of(blanks, shell, sheet.making.display)
    budget = budget_of(shell, sheet)
    return Plan(
        FORMAT,
        sheet,
        shell,
        blanks,
        layout,
        drainage,
        takeoff,
        steps,
        cost,
        warnings,
        rounding,
        welding,
        budget,
        stiffness,
    )
