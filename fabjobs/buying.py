"""What to buy, over all jobs in hand: the sheets that their newest plans need and that are not theirs yet."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import F, OuterRef, QuerySet, Subquery

from fabjobs.defaults import SAME_THICKNESS
from fabjobs.frozen import Metal, metal_of
from fabjobs.metal import PlannedSheet, sheets_to_log
from fabjobs.models import Form, Job, MoveKind, Revision, StockItem, StockMove
from fabjobs.stages import jobs_in_hand

SIZE = 0.05  # [mm] sizes no further apart are one size


@dataclass(frozen=True)
class Need:
    """Sheets of a size that a job needs."""

    job: Job
    count: int


@dataclass(frozen=True)
class Purchase:
    """A size of sheet [mm] of a metal: what it costs, who needs it, and what of it lies free on the rack.

    price: of one, by the newest plan; None where that is in another currency than the shop's.
    """

    metal: Metal
    label: str
    length: float
    width: float
    price: Decimal | None
    needs: Sequence[Need]
    free: int
    pieces: Sequence[StockItem]

    @property
    def alloy(self) -> str:
        return self.metal[0]

    @property
    def thickness(self) -> float:
        return self.metal[1]

    @property
    def needed(self) -> int:
        return sum(need.count for need in self.needs)

    @property
    def count(self) -> int:
        """How many to buy."""
        return max(0, self.needed - self.free)

    @property
    def money(self) -> Decimal | None:
        return None if self.price is None else self.price * self.count


@dataclass(frozen=True)
class BuyingList:
    """All purchases, by metal and size."""

    lines: Sequence[Purchase]

    @property
    def money(self) -> Decimal:
        return sum((line.money or Decimal(0) for line in self.lines), Decimal("0.00"))

    @property
    def has_unpriced(self) -> bool:
        """Whether a price is left out of the sum."""
        return any(line.price is None and line.count for line in self.lines)

    @property
    def by_metal(self) -> list[tuple[Metal, list[Purchase]]]:
        found: dict[Metal, list[Purchase]] = defaultdict(list)
        for line in self.lines:
            found[line.metal].append(line)
        return list(found.items())


def what_to_buy(currency: str) -> BuyingList:
    """The sheets to buy for the jobs in hand. As many queries whatever their number; of each plan only its sheets are read.

    A sheet of the rack that the plan lies on is reserved for it, and none to buy; so is one that was issued to it. Sheets of
    the same metal and size that lie free on the rack are set against the need.
    """
    wanted: dict[tuple[Metal, float, float], list[tuple[PlannedSheet, Need, Decimal | None]]] = defaultdict(list)
    plans = list(_newest_plans())
    issued = _issued_to([plan["fabrication"] for plan in plans])
    jobs = Job.objects.in_bulk([plan["fabrication__job"] for plan in plans])
    for plan in plans:
        for sheet in sheets_to_log(_planned(plan), issued[plan["fabrication"]]):
            need = Need(jobs[plan["fabrication__job"]], sheet.count)
            key = (sheet.metal, round(sheet.length, 1), round(sheet.width, 1))
            wanted[key].append((sheet, need, sheet.price if plan["currency"] == currency else None))
    there = _free_sheets({alloy for (alloy, _), *_ in wanted})
    return BuyingList([_purchase(lines, there) for _, lines in sorted(wanted.items(), key=lambda line: line[0])])


def _newest_plans() -> QuerySet[Revision, Any]:
    """Of each fabrication in hand the newest revision's stock, metal and sheets, without the rest of its plan."""
    newest = Revision.objects.filter(fabrication=OuterRef("fabrication")).order_by("-number").values("pk")[:1]
    of_jobs = Revision.objects.filter(fabrication__job__in=jobs_in_hand(), pk=Subquery(newest))
    return of_jobs.order_by("created_at", "pk").values(
        "fabrication",
        "fabrication__job",
        "currency",
        material=F("sheet__material"),
        stock=F("sheet__stock"),
        sheets=F("plan__layout__sheets"),
    )


def _planned(plan: dict[str, Any]) -> list[PlannedSheet]:
    """The sheets of a plan that are to be bought, by size."""
    prices = {size["label"]: Decimal(size["price"]) for size in plan["stock"] if not size.get("rack")}
    metal = metal_of({"material": plan["material"]})
    counted = Counter((sheet["stock"], sheet["length"], sheet["width"]) for sheet in plan["sheets"])
    return [
        PlannedSheet(label, length, width, prices[label], count, metal)
        for (label, length, width), count in counted.items()
        if label in prices
    ]


def _issued_to(fabrications: Iterable[int]) -> dict[int, list[StockMove]]:
    lines = StockMove.objects.standing(MoveKind.ISSUED).filter(fabrication__in=list(fabrications))
    found: dict[int, list[StockMove]] = defaultdict(list)
    for line in lines:
        if line.fabrication_id is not None:
            found[line.fabrication_id].append(line)
    return found


def _free_sheets(alloys: Iterable[str]) -> list[Any]:
    """The sheets of these metals that no job has reserved, with how many of each are free."""
    items: Any = StockItem.objects.with_balances().filter(form=Form.SHEET, alloy__in=alloys)
    return list(items.filter(free__gt=0))


def _purchase(lines: Sequence[tuple[PlannedSheet, Need, Decimal | None]], there: Sequence[Any]) -> Purchase:
    """One size of one metal, called and priced as the newest plan has it."""
    size, _, price = lines[-1]
    alike = [
        item
        for item in there
        if item.alloy == size.metal[0]
        and abs(item.thickness - size.metal[1]) <= SAME_THICKNESS
        and max(abs(item.length - size.length), abs(item.width - size.width)) <= SIZE
    ]
    return Purchase(
        size.metal,
        size.label,
        size.length,
        size.width,
        price,
        [need for _, need, _ in lines],
        sum(item.free for item in alike),
        alike,
    )
