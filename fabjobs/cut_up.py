"""Which of a job's sheets are cut up, and how much metal is still in hand on those that are not: no blank, but no scrap yet."""

import math
from collections import Counter
from collections.abc import Iterable, Sequence

from calc import Plan
from calc.balance import size_of
from calc.laid import SheetLayout
from calc.sharing import shares_of
from calc.steps import cut_keys
from fabjobs.frozen import CUT, FrozenSheet, cut_into, retired_cuts
from fabjobs.models import Revision, StockMove


def cut_up(revision: Revision, plan: Plan) -> list[SheetLayout]:
    """The sheets of a plan of which every cut is ticked; where blanks are cut by their outlines, all or none.

    On a sheet that was left as it lay, a cut counts though its step is retired: see `fabjobs.frozen.cut_into`.
    """
    cuts = revision.fabrication.steps.filter(kind=CUT, retired=False)
    done = set(cuts.filter(done_at__isnull=False).values_list("key", flat=True))
    if not any(used.cuts for used in plan.layout.sheets):
        return list(plan.layout.sheets) if done and not cuts.filter(done_at=None).exists() else []
    lain = len(plan.sheet.frozen)
    ever = done | {step.key for step in retired_cuts(revision) if step.done_at is not None} if lain else done
    return [
        used
        for number, (used, keys) in enumerate(zip(plan.layout.sheets, cut_keys(plan.layout), strict=True))
        if used.cuts and all(key in (ever if number < lain else done) for key in _work_on(used, keys))
    ]


def _work_on(used: SheetLayout, keys: Sequence[str]) -> list[str]:
    """The keys of a sheet's cuts that are work, or were."""
    return [key for (_, is_work, _), key in zip(used.cut_list, keys, strict=True) if is_work]


def mass_in_hand(revision: Revision, plan: Plan, issued: Iterable[StockMove]) -> float:
    """What is left [kg], blanks aside, of the sheets that were issued and are not cut up; issued: the lines that stand.

    A sheet is cut up too once its offcuts are all put away. What another job took of one is none of it.
    """
    whole = cut_up(revision, plan)
    lying = {sheet.number: sheet for sheet in cut_into(revision.fabrication)}
    numbered = list(enumerate(plan.layout.sheets, 1))
    numbered.sort(key=lambda one: (one[1] not in whole, one[0] not in lying))  # what is cut is issued first
    count: Counter[str] = Counter()
    for line in issued:
        count[line.of_stock] += line.count
    masses = []
    for number, used in numbered:
        count[used.stock] -= 1
        if count[used.stock] >= 0 and used not in whole:
            masses.append(_left_of(plan, number, used, lying.get(number)))
    return math.fsum(masses)


def _left_of(plan: Plan, number: int, used: SheetLayout, lying: FrozenSheet | None) -> float:
    """[kg] left of a sheet; lying: as it was cut into, None where it was not."""
    offcuts = lying.layout["offcuts"] if lying else []
    if offcuts and all(piece["away"] for piece in offcuts):
        return 0.0
    away = math.fsum(size_of(tuple(map(tuple, piece["outline"])))[2] for piece in offcuts if piece["away"])
    shared = math.fsum(share.area for share in shares_of(plan.sheet, plan.layout) if share.sheet == number and lying)
    masses = {blank.name: blank.mass for blank in plan.blanks}
    own = math.fsum(masses.get(placed.blank, 0.0) for placed in used.placed if placed.fits or placed.spoiled)
    return plan.sheet.material.mass(used.area - shared - away) - own
