"""Offcuts that a job's sheets leave, offered for the rack as soon as a sheet is cut up."""

from collections.abc import Sequence
from dataclasses import dataclass

from calc import Plan
from calc.laid import SheetLayout
from calc.steps import cut_keys
from calc.units import Display
from fabjobs.forms import PutAwayForm
from fabjobs.frozen import CUT, metal_key, retired_cuts
from fabjobs.metal import PlannedOffcut, offcuts_on, offcuts_to_return
from fabjobs.models import Job, Revision, StockMove, Tick
from fabjobs.planning import restore
from fabjobs.services.ledger import returned_by


@dataclass(frozen=True)
class PutAway:
    """What a job's page shows of it: the pieces left to put away, what came of a form, and a form for the next."""

    pieces: Sequence[PlannedOffcut]
    display: Display
    form: PutAwayForm
    kept: Sequence[StockMove] = ()
    said: str = ""

    @classmethod
    def of(
        cls, revision: Revision, plan: Plan | None = None, *, kept: Sequence[StockMove] = (), said: str = ""
    ) -> "PutAway":
        """plan: the revision's, where it is at hand."""
        plan = plan or restore(revision)
        pieces = offcuts_to_put_away(revision, plan)
        return cls(pieces, plan.sheet.making.display, PutAwayForm.fresh(revision.number), kept, said)

    @property
    def count(self) -> int:
        """How many pieces there are to put away; of one size there may be several."""
        return sum(piece.count for piece in self.pieces)

    @classmethod
    def of_job(cls, job: Job) -> "PutAway | None":
        """What a job has to put away; None where that is nothing, or nothing is planned."""
        revision = Revision.objects.latest_of([job]).select_related("fabrication__job").first()
        found = cls.of(revision) if revision else None
        return found if found and found.pieces else None


def is_cut_last(job: Job) -> bool:
    """Whether a cut was the last thing ticked of a job, wherever that was: the metal is still in hand."""
    newest = Tick.objects.filter(step__fabrication__job=job).select_related("step").order_by("-pk").first()
    return newest is not None and newest.done and newest.step.kind == CUT


def offcuts_to_put_away(revision: Revision, plan: Plan) -> list[PlannedOffcut]:
    """The offcuts planned on sheets that are cut up, as far as none of them came to the rack yet."""
    planned = offcuts_cut_free(revision, plan)
    return offcuts_to_return(planned, list(returned_by(revision.fabrication))) if planned else []


def offcuts_cut_free(revision: Revision, plan: Plan) -> list[PlannedOffcut]:
    """The offcuts planned on sheets that are cut up, on the rack by now or not."""
    material = plan.sheet.material
    return offcuts_on(cut_up(revision, plan), metal_key(material.alloy, material.thickness))


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
