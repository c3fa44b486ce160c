"""Two jobs laid out together on one's sheets, beside both as they are; and parted again where either changes."""

import hashlib
import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.core.cache import cache
from django.utils.safestring import SafeString

from calc import Plan, SheetFaults
from calc.laid import SheetLayout
from calc.records import as_json
from fabjobs import planning
from fabjobs.better_layout import Figure, cuts_of, drawn, offcuts_of, taken_by
from fabjobs.changes import Line
from fabjobs.frozen import cut_into, has_cuts, metal_of
from fabjobs.heading import Heading
from fabjobs.models import Improvement, Job, Person, Revision
from fabjobs.rack import sheet_now
from fabjobs.rows import retiring, substances
from fabjobs.services import Along, job_change
from fabjobs.services.job import Lies
from fabjobs.sharing import (
    elsewhere_on,
    has_news_of,
    latest_of_job,
    new_numbers,
    partners_of,
    parts_from,
    parts_with,
    renumbers,
    with_numbers,
)
from fabjobs.stages import jobs_in_hand
from fabjobs.wording import hours, kilograms, run

KEPT_FOR = 24 * 3600  # [s]
ALIKE = ("cutting", "kerf", "edge_trim")  # of the making, that two jobs on one sheet have in common
BY_SAW = "straight-saw"
LATE = date.max


class CannotLayTogether(Exception):
    """These two can't be laid out together; the text says why."""


def candidates(revision: Revision) -> list[Revision]:
    """The latest revisions of the jobs in hand that a job, whose latest revision this is, may be laid out with; by number."""
    if not _is_free(revision):
        return []
    made = revision.fabrication
    jobs = jobs_in_hand().exclude(pk=made.job_id)
    alloy, _ = metal_of(revision.sheet)
    latest = Revision.objects.latest_of(jobs).filter(sheet__material__alloy=alloy).select_related("fabrication__job")
    latest = latest.defer("plan", "thumbnail")
    first: dict[int, Revision] = {}
    for other in latest.order_by("fabrication__job__number", "fabrication__position"):
        first.setdefault(other.fabrication.job_id, other)
    return [other for other in first.values() if _are_alike(revision, other) and _is_free(other)]


def _are_alike(one: Revision, other: Revision) -> bool:
    """Whether both are of one metal, sawn the same way and costed in one currency, so that a share of one is the other's."""
    same = metal_of(one.sheet) == metal_of(other.sheet)
    same &= one.sheet["rates"]["currency"] == other.sheet["rates"]["currency"]
    same &= all(one.sheet["material"][key] == other.sheet["material"][key] for key in ("finished_face", "grain"))
    return same and all(one.sheet["making"][key] == other.sheet["making"][key] for key in ALIKE)


def _is_free(revision: Revision) -> bool:
    """Whether it is sawn, shares no sheet and has none that was cut into."""
    by_saw = revision.sheet["making"]["cutting"] == BY_SAW
    if not by_saw or partners_of(revision.sheet):
        return False
    return not (has_cuts(revision.fabrication) and cut_into(revision.fabrication))  # the second reads the whole plan


@dataclass(frozen=True)
class Pair:
    """Two jobs as they are and laid out together: the host's sheets hold the blanks of both. Each plan as it would be."""

    host: Revision
    guest: Revision
    host_plan: Plan
    guest_plan: Plan
    host_now: Plan
    guest_now: Plan

    @property
    def host_job(self) -> Job:
        return self.host.fabrication.job

    @property
    def guest_job(self) -> Job:
        return self.guest.fabrication.job

    @property
    def lines(self) -> Iterator[Line]:
        """What both come to as they are, and together: metal first."""
        show, currency = self.host_plan.sheet.making.display, self.host_plan.cost.currency

        def money(amount: float) -> str:
            return f"{amount:.2f} {currency}"

        host, guest = (f"Cost of job {job.number}" for job in (self.host_job, self.guest_job))
        costs = [
            (float(was.cost.total), float(now.cost.total))
            for was, now in ((self.host_now, self.host_plan), (self.guest_now, self.guest_plan))
        ]
        both = (
            Figure("Metal taken: sheet less offcuts", *self._sums(taken_by), kilograms),
            Figure("Sheets", *self._sums(lambda plan: len(plan.layout.sheets)), "{:g}".format),
            Figure("Cuts", *self._sums(cuts_of), "{:g}".format),
            Figure("Sawing", *self._sums(lambda plan: plan.takeoff.cut_length), lambda mm: run(mm, show)),
            Figure("Offcuts kept", *self._sums(offcuts_of), "{:g}".format),
            Figure(
                "Standard time",
                *self._sums(lambda plan: sum(step.minutes for step in plan.steps)),
                hours,
            ),
            Figure(host, *costs[0], money),
            Figure(guest, *costs[1], money),
            Figure("Cost of both", costs[0][0] + costs[1][0], costs[0][1] + costs[1][1], money),
        )
        return (figure.line for figure in both if figure.present or figure.found)

    def _sums(self, of: Any) -> tuple[float, float]:
        return of(self.host_now) + of(self.guest_now), of(self.host_plan) + of(self.guest_plan)

    @property
    def sheets(self) -> Iterator[tuple[int, SheetLayout, SafeString]]:
        """The shared sheets: number, layout, drawing."""
        return drawn(self.host_plan, 0)

    @property
    def retired(self) -> int:
        """How many steps with work on them would count no more, of both."""
        pairs = ((self.host, self.host_plan), (self.guest, self.guest_plan))
        return sum(len(retiring(one.fabrication, substances(plan), metal_of(one.sheet))) for one, plan in pairs)

    @property
    def along(self) -> dict[str, Along]:
        """What is to be stored: host and guest, each with why."""
        told = "Laid out together with job {}"
        return {
            "host": Along(self.host, self.host_plan, told.format(self.guest_job.number)),
            "guest": Along(self.guest, self.guest_plan, told.format(self.host_job.number)),
        }


def pair_of(one: Revision, other: Revision) -> Pair:
    """Both together, on the sheets of the one that is due first. Raises `CannotLayTogether`."""
    host, guest = sorted(
        (one, other), key=lambda each: (each.fabrication.job.due_day or LATE, each.fabrication.job.number)
    )
    present = planning.restore(host), planning.restore(guest)
    host_sheet = {**_sheet_by_page(host), "guests": [_as_guest(guest, present[1])]}
    guest_sheet = _sheet_by_page(guest)
    key = _key(host.fabrication.job.number, host_sheet, guest_sheet)
    found = cache.get(key)
    if found is None:
        found = _planned(host, host_sheet, guest, guest_sheet)
        cache.set(key, found, KEPT_FOR)
    if isinstance(found, str):
        raise CannotLayTogether(found)
    host_plan, guest_plan = (Plan.from_json(plan) for plan in found)
    return Pair(host, guest, host_plan, guest_plan, *present)


def _planned(
    host: Revision, host_sheet: dict[str, Any], guest: Revision, guest_sheet: dict[str, Any]
) -> tuple[dict[str, Any], dict[str, Any]] | str:
    """Both plans as JSON, or why there are none."""
    try:
        host_plan = planning.compute(host_sheet)
        if left := host_plan.layout.unplaced:
            return f"No sheet that job {host.fabrication.job.number} has takes all of both: {', '.join(left)} would be left."
        stored = host_plan.as_json()
        lies = elsewhere_on(stored, host.fabrication.job.number, str(guest.fabrication.job.number))
        return stored, planning.compute({**guest_sheet, "elsewhere": lies}).as_json()
    except SheetFaults as faults:
        return " ".join(fault.text for fault in faults.faults)


def _key(host: int, *sheets: dict[str, Any]) -> str:
    """host: its job's number, which the guest's plan names and no sheet of its own does: a shop may have two jobs alike."""
    return f"together:{host}:" + hashlib.sha256(json.dumps(sheets, sort_keys=True).encode()).hexdigest()


def _as_guest(revision: Revision, plan: Plan) -> dict[str, Any]:
    """A job's blanks as a host's sheet holds them."""
    parts = [
        {
            "name": blank.name,
            "outline": as_json(blank.cut_outline),
            "count": blank.count * plan.sheet.quantity,
            "by_hand": [start for start, _ in blank.hand_cuts],
        }
        for blank in plan.blanks
    ]
    return {"job": str(revision.fabrication.job.number), "parts": parts}


def partners(revision: Revision) -> list[Job]:
    """The jobs that share sheets with one, whose latest revision this is."""
    return list(
        Job.objects.filter(number__in=[int(number) for number in partners_of(revision.sheet)]).order_by("number")
    )


def parted_by(revision: Revision) -> list[Job]:
    """The jobs that a change of one, whose latest revision this is, lays out anew."""
    return [other.fabrication.job for other in parts_with(revision)]


def renumbered_by(revision: Revision) -> list[Job]:
    """The jobs that a change of one tells other numbers of the sheets that their blanks lie on, and nothing else."""
    return [other.fabrication.job for other in renumbers(revision)]


def plan_apart(revision: Revision) -> Plan:
    """The plan of a job's latest revision by itself, but for what lies on shared sheets that were cut into. Raises
    `CannotLayTogether`."""
    try:
        return planning.compute(_sheet_by_page(revision))
    except SheetFaults as faults:
        raise CannotLayTogether(" ".join(fault.text for fault in faults.faults)) from None


def along(revision: Revision, plan: Plan) -> list[Along]:
    """What a change brings with it: the next plans of the jobs that shared sheets with one, whose latest revision is this and
    whose next plan is that. Each is laid out by itself again, but for what lies on sheets that were cut into; where these only
    get other numbers, nothing is. Raises `CannotLayTogether` where one can't be laid out again."""
    found = []
    job = revision.fabrication.job
    for number in partners_of(revision.sheet):
        other = latest_of_job(number)
        if other is None:
            continue
        if numbers := new_numbers(plan, job.number, other):
            moved = with_numbers(other, job.number, numbers)
            found.append(Along(other, moved, f"Job {job.number}'s sheets have other numbers"))
        elif (sheet := _follows(revision, plan, other)) is not None:
            sheet["stock"] = _without_taken(sheet["stock"], plan)
            found.append(Along(other, _laid_out_again(other, sheet), _why(job, sheet)))
    return found


def keep_next(
    *,
    revision: Revision,
    plan: Plan,
    started_from: int,
    reason: str,
    by: Person,
    form_key: UUID,
    lies: Lies | None = None,
) -> Revision:
    """Keep a plan as the next of a job whose latest revision this is, and the plans that it brings `along`; the job's own lines
    stay. Raises as `job_change` does, `JobIsStale` where `started_from` is another revision by now."""
    job = revision.fabrication.job
    return job_change(
        fabrication=revision.fabrication,
        plan=plan,
        heading=Heading.of(job),
        started_from=started_from,
        job_version=job.version,
        reason=reason,
        by=by,
        form_key=form_key,
        along=along(revision, plan) if revision.number == started_from else [],
        lies=lies,
    )


def _why(job: Job, sheet: dict[str, Any]) -> str:
    """Why a job is laid out again as another changed."""
    stays = any(str(job.number) in (entry["job"] for entry in sheet[key]) for key in ("guests", "elsewhere"))
    return f"No longer laid out with job {job.number}" + (", but for what is cut into" if stays else "")


def _laid_out_again(other: Revision, sheet: dict[str, Any]) -> Plan:
    try:
        return planning.compute(sheet)
    except SheetFaults as faults:
        told = " ".join(fault.text for fault in faults.faults)
        raise CannotLayTogether(
            f"Job {other.fabrication.job.number}, which shares sheets with it, can't be laid out again: {told} "
            "Put that right first. Nothing was changed."
        ) from None


def along_found(revision: Revision, found: Improvement) -> list[Along]:
    """The same for a layout that was found for it."""
    if found.plan is None or not partners_of(revision.sheet):
        return []
    return along(revision, Plan.from_json(found.plan))


def _follows(revision: Revision, plan: Plan, other: Revision) -> dict[str, Any] | None:
    """The next sheet of the other job; None where it is as it was."""
    job, guest = revision.fabrication.job, str(other.fabrication.job.number)
    if any(entry["job"] == guest for entry in revision.sheet.get("guests", ())):
        if not has_news_of(plan, job.number, other):
            return None
        lies = elsewhere_on(plan.as_json(), job.number, guest)
        others = [entry for entry in other.sheet["elsewhere"] if entry["job"] != str(job.number)]
        return {**_sheet_by_page(other), "elsewhere": [*others, *lies]}
    return _sheet_by_page(other) if parts_from(other, str(job.number)) else None


def _sheet_by_page(revision: Revision) -> dict[str, Any]:
    """The sheet of a job's latest revision to be laid out anew while a page waits."""
    return sheet_now(revision, effort=planning.in_a_request(revision.sheet["making"]["effort"]))


def _without_taken(stock: list[dict[str, Any]], plan: Plan) -> list[dict[str, Any]]:
    """The stock less the pieces of the rack that a plan takes."""
    racked = {size.label: size.rack for size in plan.sheet.stock if size.rack is not None}
    taken = Counter(racked[used.stock] for used in plan.layout.sheets if used.stock in racked)
    return [
        {**size, "count": max(0, size["count"] - taken[size["rack"]])} if size.get("rack") in taken else size
        for size in stock
    ]
