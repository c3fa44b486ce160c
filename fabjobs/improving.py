"""A better layout of a job, looked for at long effort outside any request, and how such a look stands."""

import logging
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.conf import settings
from django.utils import timezone
from django_tasks import task
from django_tasks_db.models import DBTaskResult

from calc import SheetFaults, read_sheet
from fabjobs import planning
from fabjobs.models import Fabrication, Improvement, Revision
from fabjobs.rack import pieces_gone, sheet_now
from fabjobs.safekeeping import folder_lock
from fabjobs.sharing import partners_of, parts_with

EFFORT = "long"
REMEMBERED = 10  # looks that say how long one takes
TOGETHER = "It is laid out together with another job by now: part them first."
STOPPED = "The worker was stopped while it looked."
WENT_WRONG = "Something went wrong while it was looked for; the terminal where fabjobs runs says what."
log = logging.getLogger(__name__)


@task()
def look_for_better_layout(improvement: int) -> None:
    """What a worker does; see `look`."""
    look(improvement)


def look(improvement: int) -> None:
    """Lay the job's latest revision out anew at long effort, and keep what is found or why nothing was.

    No transaction is open while it looks. One that was begun or has ended already is let be.
    """
    waiting = Improvement.objects.filter(pk=improvement, started_at=None, ended_at=None)
    asked = waiting.select_related("fabrication__job").first()
    if asked is None:
        return
    revision = asked.fabrication.revisions.latest("number")
    if not waiting.update(started_at=timezone.now(), revision=revision):
        return
    found: dict[str, Any] = {}
    try:
        if is_together(revision):
            found["error"] = TOGETHER
        else:
            found["plan"] = planning.compute(sheet_to_try(revision)).as_json()
    except SheetFaults as faults:
        found["error"] = "It can't be laid out anew: " + " ".join(fault.text for fault in faults.faults)
    except Exception:
        log.exception("No better layout of job %s was looked for", asked.fabrication.job.number)
        found["error"] = WENT_WRONG
    Improvement.objects.filter(pk=improvement, ended_at=None).update(ended_at=timezone.now(), **found)


def tell_stopped(fabrication: Fabrication | None = None) -> None:
    """End the looks that were begun and whose worker is gone, of one fabrication or of all, with that said.

    To be called by who knows that no worker is at them.
    """
    begun = Improvement.objects.filter(started_at__isnull=False, ended_at=None)
    if fabrication is not None:
        begun = begun.filter(fabrication=fabrication)
    begun.update(ended_at=timezone.now(), error=STOPPED)


def ask_again() -> None:
    """Ask once more for the looks that nobody has begun and that no task waits for: a worker ended as it took one up."""
    tasks = DBTaskResult.objects.ready().values_list("args_kwargs", flat=True)
    waited_for = {key for task in tasks for key in task["args"]}
    for waiting in Improvement.objects.filter(started_at=None, ended_at=None).exclude(pk__in=waited_for):
        look_for_better_layout.enqueue(waiting.pk)


def sheet_to_try(revision: Revision) -> dict[str, Any]:
    """The sheet of a job's latest revision as a look would lay it out now."""
    return sheet_now(revision, effort=EFFORT)


def is_together(revision: Revision) -> bool:
    """Whether a look would part it from a job whose sheets it shares: it is looked for where both are laid out together."""
    return bool(partners_of(revision.sheet)) and bool(parts_with(revision))


def has_worker() -> bool:
    """Whether a worker lives that looks for what is asked."""
    return folder_lock.has_worker(settings.DATA)


@dataclass(frozen=True)
class Looking:
    """How the last look for a better layout of a fabrication stands beside its latest revision."""

    revision: Revision
    last: Improvement | None

    @classmethod
    def of(cls, revision: Revision) -> "Looking":
        looks = revision.fabrication.improvements.select_related("by", "revision", "taken_as")
        return cls(revision, looks.order_by("pk").last())

    @cached_property
    def has_worker(self) -> bool:
        return has_worker()

    @property
    def is_stopped(self) -> bool:
        """Whether it was begun by a worker that is gone."""
        begun = self.last is not None and self.last.is_open and self.last.started_at is not None
        return begun and not self.has_worker

    @property
    def is_open(self) -> bool:
        """Whether it is still to be waited for."""
        return self.last is not None and self.last.is_open and not self.is_stopped

    @property
    def error(self) -> str:
        """Why the last look came to nothing; empty where it did not."""
        if self.is_stopped:
            return STOPPED
        return "" if self.last is None else self.last.error

    @property
    def before_it(self) -> int:
        """How many looks a worker takes up before this one."""
        if self.last is None:
            return 0
        return Improvement.objects.filter(pk__lt=self.last.pk, ended_at=None).count()

    @property
    def seconds(self) -> float:
        """How long it has been looked for [s]."""
        since = self.last.started_at if self.last else None
        return 0.0 if since is None else max(0.0, (timezone.now() - since).total_seconds())

    @property
    def usual_seconds(self) -> tuple[float, float] | None:
        """How long the last looks of this shop took [s], from and to; None before there are two."""
        done = Improvement.objects.filter(plan__isnull=False).order_by("-pk").defer("plan")[:REMEMBERED]
        took = [look.seconds for look in done if look.seconds is not None]
        return (min(took), max(took)) if len(took) > 1 else None

    @cached_property
    def _sheet(self) -> dict[str, Any]:
        return sheet_to_try(self.revision)

    @cached_property
    def outdated(self) -> str:
        """What came since the layout was found, so that it can't be taken; empty where nothing did."""
        if self.last is None or self.last.plan is None or not self.last.is_offered:
            return ""
        if self.last.revision_id != self.revision.pk:
            why = f" ({self.revision.reason})" if self.revision.reason else ""
            return f"{self.revision.created_by} saved revision {self.revision.number} since{why}."
        if self.last.sheet["frozen"] != self._sheet["frozen"]:
            return "Which sheets are cut into has changed since."
        gone = pieces_gone(self.last.plan, self.revision.fabrication)
        return f"No longer free on the rack: {', '.join(gone)}." if gone else ""

    @property
    def offered(self) -> Any:
        """The plan as JSON that was found and can be taken; None where there is none."""
        can_be_taken = self.last is not None and self.last.is_offered and not self.outdated
        return self.last.plan if self.last is not None and can_be_taken else None

    @property
    def is_all_cut(self) -> bool:
        """Whether every sheet of the present layout is cut into, so that nothing is left to lay out."""
        layout = self.revision.plan["layout"]
        return not layout["unplaced"] and len(layout["sheets"]) == len(self._sheet["frozen"])

    @cached_property
    def was_looked_for(self) -> bool:
        """Whether a look now would lay out just what was laid out at long effort before, and come to the same."""
        found = self.last.sheet if self.last is not None and self.last.plan is not None else None
        try:
            return read_sheet(self._sheet).as_json() in (self.revision.sheet, found)
        except SheetFaults:
            return False

    @property
    def may_ask(self) -> bool:
        return not (self.is_open or self.is_together or self.is_all_cut or self.was_looked_for)

    @cached_property
    def is_together(self) -> bool:
        return is_together(self.revision)
