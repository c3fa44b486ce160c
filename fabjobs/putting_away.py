"""Offcuts that a job's sheets leave, offered for the rack as soon as a sheet is cut up."""

from collections.abc import Sequence
from dataclasses import dataclass

from calc import Plan
from calc.units import Display
from fabjobs.cut_up import cut_up
from fabjobs.forms import PutAwayForm
from fabjobs.frozen import CUT, metal_key
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
