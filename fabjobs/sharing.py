"""Two jobs on one sheet, as their stored sheets tell it: what is shared now, what is due for it, and whether both agree."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from calc import Plan
from calc.costing import CENT
from calc.laid import Layout, Placed
from calc.records import as_json, from_json
from calc.shared import APART, CopiesElsewhere, Elsewhere, is_guests, renumbered
from calc.sharing import shares_of
from calc.sheet import JobSheet
from fabjobs.frozen import FrozenSheet, cut_into
from fabjobs.models import Fabrication, Revision, StockItem, StockMove

Json = Mapping[str, Any]


def partners_of(sheet: Json) -> list[str]:
    """The numbers of the jobs that share sheets with the one of a stored sheet."""
    told = (*sheet.get("guests", ()), *sheet.get("elsewhere", ()))
    return list(dict.fromkeys(entry["job"] for entry in told))


def latest_of_job(number: str) -> Revision | None:
    """The newest revision of a job's first fabrication that has one."""
    revisions = Revision.objects.filter(fabrication__job__number=int(number)).select_related("fabrication__job")
    return revisions.order_by("fabrication__position", "-number").first()


@dataclass(frozen=True)
class ShareDue:
    """What a guest takes of a host's sheet, counted from 1: area [mm2], and price where the sheet costs `whole`, as it was
    planned. fabrication: the guest's."""

    job: str
    sheet: int
    stock: str
    area: float
    price: Decimal
    whole: Decimal
    fabrication: Fabrication | None

    def price_of(self, sheet: StockItem) -> Decimal:
        """Its price of the sheet that was issued, which may have cost more or less than was planned."""
        if sheet.price == self.whole:
            return self.price
        return (sheet.price * Decimal(repr(self.area / sheet.area))).quantize(CENT, ROUND_HALF_UP)

    def is_told_by(self, line: StockMove) -> bool:
        """Whether a line of the ledger passed it on, whatever the sheet cost."""
        same = line.fabrication_id == getattr(self.fabrication, "pk", None)
        return same and abs(line.item.area - self.area) < 1e-3


def shares_due(revision: Revision) -> list[ShareDue]:
    """What guests take of the sheets of a host, its latest revision, that were cut into."""
    cut = {sheet.number for sheet in cut_into(revision.fabrication)}
    sheet, layout = from_json(JobSheet, revision.sheet), from_json(Layout, revision.plan["layout"])
    prices = {size.label: size.price for size in sheet.stock}
    due = []
    for share in shares_of(sheet, layout):
        if share.sheet in cut:
            guest = latest_of_job(share.job)
            stock = layout.sheets[share.sheet - 1].stock
            made = None if guest is None else guest.fabrication
            price, whole = Decimal(share.price), Decimal(prices[stock])
            due.append(ShareDue(share.job, share.sheet, stock, share.area, price, whole, made))
    return due


def shared_now(revision: Revision) -> dict[str, Any]:
    """What the next sheet of a job, whose latest revision this is, says of other jobs on its sheets, and of its copies on
    theirs: only what lies on sheets that were cut into stays."""
    return {"guests": _guests_now(revision), "elsewhere": _elsewhere_now(revision)}


def _guests_now(host: Revision) -> list[dict[str, Any]]:
    if not host.sheet.get("guests"):
        return []
    cut = cut_into(host.fabrication)
    lying = Counter(placed["blank"] for sheet in cut for placed in sheet.layout["placed"])
    number = {sheet.number: place for place, sheet in enumerate(cut, 1)}
    sheet, layout = from_json(JobSheet, host.sheet), from_json(Layout, host.plan["layout"])
    shares = [share for share in shares_of(sheet, layout) if share.sheet in number]
    found = []
    for guest in sheet.guests:
        parts = [{**as_json(part), "count": lying[name]} for part in guest.parts if lying[name := guest.called(part)]]
        charged = [
            {"sheet": number[share.sheet], "area": share.area, "price": share.price}
            for share in shares
            if share.job == guest.job
        ]
        if parts:
            found.append({"job": guest.job, "parts": parts, "charged": charged})
    return found


def _elsewhere_now(guest: Revision) -> list[dict[str, Any]]:
    job = str(guest.fabrication.job.number)
    kept = []
    for entry in guest.sheet.get("elsewhere", ()):
        host = latest_of_job(entry["job"])
        number = None if host is None else _number_now(host, entry["sheet"], job)
        if host is not None and number is not None:
            # as the host has it, which says how copies lie where an earlier sheet of the guest does not
            due = {each["sheet"]: each for each in elsewhere_on(host.plan, int(entry["job"]), job)}
            kept.append({**due.get(entry["sheet"], entry), "sheet": number})
    return kept


def _number_now(host: Revision, number: int, guest: str) -> int | None:
    """Which of the host's sheets this one is once what it shares with a guest and is not cut into is parted; None where it is
    parted."""
    cut = [sheet.number for sheet in cut_into(host.fabrication)]
    if number not in cut:
        return None
    return cut.index(number) + 1 if parts_from(host, guest) else number


def parts_from(host: Revision, guest: str) -> bool:
    """Whether a host has blanks of a guest, a job's number, on sheets that are not cut into, which a change of either takes off
    them."""

    def counts(told: Iterable[Json]) -> dict[str, int]:
        return {part["name"]: part["count"] for one in told if one["job"] == guest for part in one["parts"]}

    return counts(host.sheet.get("guests", ())) != counts(_guests_now(host))


def parts_with(revision: Revision) -> list[Revision]:
    """The latest revisions of the jobs that a change of one, whose latest revision this is, lays out anew: those with which it
    shares sheets that are not cut into."""
    own = str(revision.fabrication.job.number)
    others = [(number, latest_of_job(number)) for number in partners_of(revision.sheet)]
    return [
        other
        for number, other in others
        if other is not None and (parts_from(revision, number) or parts_from(other, own))
    ]


def renumbers(host: Revision) -> list[Revision]:
    """The latest revisions of the guests whose blanks lie on sheets of a host that are cut into, and that a change of the host
    parts from nothing, but gives those sheets other numbers: they come first then."""
    cut = [sheet.number for sheet in cut_into(host.fabrication)] if host.sheet.get("guests") else []
    moved = {number for place, number in enumerate(cut, 1) if number != place}
    own, found = str(host.fabrication.job.number), []
    for guest in host.sheet.get("guests", ()):
        other = latest_of_job(guest["job"])
        if other is None or parts_from(host, guest["job"]) or parts_from(other, own):
            continue
        if any(entry["job"] == own and entry["sheet"] in moved for entry in other.sheet.get("elsewhere", ())):
            found.append(other)
    return found


def elsewhere_on(host: Json, number: int, job: str) -> list[dict[str, Any]]:
    """What a guest's sheet says of its copies on a host's sheets. host: the host's plan as JSON; number: its job's; job: the
    guest's."""
    sheet, layout = from_json(JobSheet, host["sheet"]), from_json(Layout, host["layout"])
    outlines = {guest.called(part): part for guest in sheet.guests if guest.job == job for part in guest.parts}
    found: list[dict[str, Any]] = []
    for share in (share for share in shares_of(sheet, layout) if share.job == job):
        placed = layout.sheets[share.sheet - 1].placed
        over = [one for one in placed if one.turned_over]
        copies = tuple(
            CopiesElsewhere(part.name, numbers, part.outline, _copies(over, called))
            for called, part in outlines.items()
            if (numbers := _copies(placed, called))
        )
        found.append(as_json(Elsewhere(str(number), share.sheet, share.area, share.price, copies)))
    return found


def left_elsewhere(revision: Revision, plan: Plan) -> list[Elsewhere]:
    """What a job, whose latest revision this is, has on other jobs' sheets that are cut into, and what its next plan says
    nothing of: it is of another metal."""
    told = {entry.job for entry in plan.sheet.elsewhere}
    stays = [from_json(Elsewhere, entry) for entry in _elsewhere_now(revision)]
    return [entry for entry in stays if entry.job not in told]


def _copies(placed: Iterable[Placed], called: str) -> tuple[int, ...]:
    return tuple(sorted(one.copy for one in placed if one.blank == called))


def as_told(due: Sequence[Json], said: Sequence[Json]) -> list[dict[str, Any]]:
    """What is due to a guest's sheet, less how its copies lie where that, an earlier one, does not say it."""
    silent = any("turned_over" not in of for entry in said for of in entry["copies"])
    keys = ("blank", "copies", "outline") if silent else ("blank", "copies", "outline", "turned_over")
    return [{**entry, "copies": [{key: of[key] for key in keys} for of in entry["copies"]]} for entry in due]


def new_numbers(plan: Plan, number: int, guest: Revision) -> dict[int, int]:
    """By their numbers, those that a host's sheets have in its next plan, where nothing else of what a guest is told of them
    changes; empty where more does, or nothing. number: the host's job's."""
    said = _told_of(guest, number)
    due = as_told(elsewhere_on(plan.as_json(), number, str(guest.fabrication.job.number)), said)
    if said == due or [{**entry, "sheet": 0} for entry in said] != [{**entry, "sheet": 0} for entry in due]:
        return {}
    return {entry["sheet"]: now["sheet"] for entry, now in zip(said, due, strict=True)}


def has_news_of(plan: Plan, number: int, guest: Revision) -> bool:
    """Whether a host's next plan tells a guest otherwise of its copies there. One that was of another metal since, and so says
    nothing of them, is told nothing."""
    said = _told_of(guest, number)
    return bool(said) and said != as_told(elsewhere_on(plan.as_json(), number, str(guest.fabrication.job.number)), said)


def with_numbers(guest: Revision, number: int, numbers: Mapping[int, int]) -> Plan:
    """A guest's plan as it is stored, but for the numbers of the host's sheets: nothing is laid out anew."""
    job = str(number)

    def told(plan: Any, key: str) -> list[dict[str, Any]]:
        return [{**each, key: renumbered(each[key], job, numbers)} for each in plan]

    stored = guest.plan
    elsewhere = [
        {**entry, "sheet": numbers[entry["sheet"]]} if entry["job"] == job else entry
        for entry in stored["sheet"]["elsewhere"]
    ]
    return Plan.from_json(
        {
            **stored,
            "sheet": {**stored["sheet"], "elsewhere": elsewhere},
            "steps": told(stored["steps"], "text"),
            "cost": {**stored["cost"], "lines": told(stored["cost"]["lines"], "what")},
            "warnings": told(stored["warnings"], "text"),
        }
    )


def _told_of(guest: Revision, number: int) -> list[dict[str, Any]]:
    """What a guest's sheet says of its copies on a host's sheets."""
    return [entry for entry in guest.sheet.get("elsewhere", ()) if entry["job"] == str(number)]


def told_alike(host: Revision, guest: Revision) -> bool:
    """Whether what a host's sheet and a guest's say of each other is the same. A guest that was of another metal since says
    nothing more of copies that lie on sheets that were cut into."""
    number, job = host.fabrication.job.number, str(guest.fabrication.job.number)
    due = elsewhere_on(host.plan, number, job)
    said = _told_of(guest, number)
    if said or not due:
        return as_told(due, said) == said
    cut = {sheet.number for sheet in cut_into(host.fabrication)}
    return all(entry["sheet"] in cut for entry in due)


def cut_sheets_shared(revision: Revision) -> list[tuple[FrozenSheet, list[str]]]:
    """The sheets of a host that were cut into and hold blanks of guests, with the guests' jobs."""
    found = []
    for sheet in cut_into(revision.fabrication) if revision.sheet.get("guests") else ():
        blanks = {placed["blank"] for placed in sheet.layout["placed"]}
        names = {blank.partition(APART)[0] for blank in blanks if is_guests(blank)}
        if names:
            found.append((sheet, sorted(names)))
    return found
