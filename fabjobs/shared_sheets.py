"""What the page of a job tells of the sheets that it shares: how far its blanks are sawn, what nobody wants any more."""

from collections.abc import Iterator
from dataclasses import dataclass

from calc import Plan
from calc.laid import Layout
from calc.layout.job import fitting_elsewhere
from calc.records import from_json
from calc.shared import APART, Elsewhere
from calc.steps import cut_keys
from fabjobs.frozen import cut_into
from fabjobs.models import Revision, StockMove
from fabjobs.planning import restore
from fabjobs.services.rack import shares_taken_by
from fabjobs.sharing import latest_of_job


@dataclass(frozen=True)
class LyingElsewhere:
    """Copies of a job that lie on a sheet of another and are still wanted, and which of them are sawn; is_begun: whether that
    sheet was cut into."""

    entry: Elsewhere
    sawn: tuple[str, ...]
    is_begun: bool

    @property
    def how_far(self) -> str:
        """How far they are sawn, in words."""
        left = [name for name in self.entry.names if name not in self.sawn]
        if not self.is_begun:
            return "that sheet is not cut into yet"
        if not left:
            return "all sawn"
        return f"sawn: {', '.join(self.sawn) or 'none'}; not yet: {', '.join(left)}"


@dataclass(frozen=True)
class SharedSheets:
    """What a job shares, as it is now. unwanted: guests' copies on its sheets that their jobs have no use for any more, by
    job. charged: the shares that it took for an earlier revision, of sheets on which nothing of it is told any more."""

    lies: list[LyingElsewhere]
    unwanted: list[tuple[str, list[str]]]
    charged: list[StockMove]

    @classmethod
    def of(cls, revision: Revision, plan: Plan) -> "SharedSheets":
        """revision: the latest of its job; plan: its."""
        number = str(revision.fabrication.job.number)
        told = {entry.job for entry in plan.sheet.elsewhere}
        taken = shares_taken_by(revision.fabrication).select_related("item__from_job__job")
        return cls(
            [_lying(entry, number) for entry in fitting_elsewhere(plan.blanks, plan.sheet)],
            list(_unwanted(plan, number)),
            [line for line in taken if line.item.from_job and str(line.item.from_job.job.number) not in told],
        )


def _lying(entry: Elsewhere, guest: str) -> LyingElsewhere:
    """What is sawn is told by the ticks of the cuts that leave a copy with every edge done."""
    host = latest_of_job(entry.job)
    cut = [] if host is None else [sheet for sheet in cut_into(host.fabrication) if sheet.number == entry.sheet]
    if host is None or not cut:
        return LyingElsewhere(entry, (), is_begun=False)
    layout = from_json(Layout, host.plan["layout"])
    ticked = {step.key for step in cut[0].cuts if step.done_at is not None}
    keyed = zip(layout.sheets[entry.sheet - 1].cuts, cut_keys(layout)[entry.sheet - 1], strict=True)
    freed = {name for one, key in keyed if key in ticked for name in one.frees}
    return LyingElsewhere(entry, tuple(name for name in entry.names if f"{guest}{APART}{name}" in freed), is_begun=True)


def _unwanted(plan: Plan, number: str) -> Iterator[tuple[str, list[str]]]:
    there = [placed.name for used in plan.layout.sheets for placed in used.fitting]
    for guest in plan.sheet.guests:
        latest = latest_of_job(guest.job)
        if latest is None:
            continue
        its = restore(latest)
        entries = (entry for entry in fitting_elsewhere(its.blanks, its.sheet) if entry.job == number)
        wanted = {f"{guest.job}{APART}{name}" for entry in entries for name in entry.names}
        names = [name for name in there if name.startswith(f"{guest.job}{APART}") and name not in wanted]
        if names:
            yield guest.job, names
