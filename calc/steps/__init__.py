"""The steps of the work in the trade's order, each in words and figures, with its driver and standard minutes.

A step's key names the thing it is done to (a blank, a seam by its faces, a cut by the edges it finishes), never a place in
a list, so that a step that stays the same keeps what was logged on it when the plan changes.
"""

from collections.abc import Sequence
from dataclasses import replace

from calc.blank import Blank
from calc.laid import Layout, cut_key, numbered
from calc.seams import SQUARE_BUTT
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.steps.blanks import cut, cut_by_hand, cut_keys, dress, drill, fold, mark, measure
from calc.steps.joining import fit, fit_outlet, planish, weld
from calc.steps.setting_in import finish, install, test
from calc.steps.work import Step, Work
from calc.takeoff import Takeoff
from calc.turns import in_turn
from calc.welding import WeldPlan

__all__ = ["SQUARE_BUTT", "Step", "cut_key", "cut_keys", "in_turn", "plan_steps"]


def plan_steps(
    sheet: JobSheet,
    shell: Shell,
    blanks: Sequence[Blank],
    layout: Layout,
    takeoff: Takeoff,
    welding: WeldPlan | None,
) -> tuple[Step, ...]:
    """The steps of a job, in the order in which they are done; loose parts are done when they are dressed."""
    work = Work(sheet, shell, blanks, layout, takeoff, welding)
    joining = () if shell.is_loose else (fit, weld, planish, fit_outlet, test, install, finish)
    stages = (measure, mark, cut, drill, cut_by_hand, dress, fold, *joining)
    return _distinct([step for stage in stages for step in stage(work)])


def _distinct(steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps, where two would share a key the later ones numbered, so that a key names one step."""
    keys = numbered([step.key for step in steps])
    return tuple(replace(step, key=key) for step, key in zip(steps, keys, strict=True))
