"""A step as it is done at the bench: what to do in few words, its figures each by itself, what to mind.

The step's own text says all of it in sentences; here are the parts that a hand reads from arm's length.
"""

from dataclasses import replace

from calc import Plan
from calc.at_work.blanks import of_blank
from calc.at_work.cuts import of_cut
from calc.at_work.records import AtWork, Figure, Table
from calc.at_work.welds import of_weld
from calc.at_work.whole import of_whole
from calc.steps import Step

__all__ = ["AtWork", "Figure", "Table", "at_work"]


def at_work(plan: Plan, key: str) -> AtWork:
    """What the step of this key says at the bench; a key that the plan has no step of raises KeyError.

    Figures are in the display of the plan's own sheet.
    """
    step = next((step for step in plan.steps if step.key == key), None)
    if step is None:
        raise KeyError(f"the plan has no step {key!r}")
    by_copy = of_cut(plan, step) or of_blank(plan, step)
    return by_copy or _on_each(of_weld(plan, step) or of_whole(plan, step) or AtWork(step.text), plan, step)


def _on_each(says: AtWork, plan: Plan, step: Step) -> AtWork:
    """The same with how many it is done to, where that is more than one: no tick is due before the last of them."""
    each = f"each of the {plan.sheet.quantity}"
    if plan.sheet.quantity == 1 or not step.text.endswith(f"On {each}."):
        return says
    return replace(says, words=f"{says.words}: {each}")
