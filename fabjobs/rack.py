"""What a plan may draw on: the pieces of the rack that are of its metal and not another job's."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import F, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from calc.balance import RECTANGLE
from calc.stock import LEAST_SIDE, MOST_DRAWN
from fabjobs.defaults import SAME_THICKNESS
from fabjobs.frozen import cut_into, metal_of
from fabjobs.models import Fabrication, Form, MoveKind, Revision, StockItem, StockMove
from fabjobs.sharing import shared_now

UNSQUARE = 1e-4  # share of its rectangle that an offcut taken for one may lack


def pieces_for(alloy: str, thickness: float, fabrication: Fabrication | None = None) -> QuerySet[StockItem]:
    """The pieces of a metal [mm thick] that a fabrication may be laid out on, whole, with how many of each (`there`): those
    that are free, and those reserved for it."""
    items = (
        StockItem.objects.with_balances()
        .exclude(form=Form.SHARE)
        .filter(alloy=alloy, thickness__range=(thickness - SAME_THICKNESS, thickness + SAME_THICKNESS))
    )
    there: Any = F("free")
    if fabrication is not None:
        items = items.annotate(held=Coalesce(Sum("moves__reserved", filter=Q(moves__fabrication=fabrication)), 0))
        there = F("free") + F("held")
    return items.annotate(there=there).filter(there__gt=0)


def rack_stock(
    bought: Sequence[Mapping[str, Any]], alloy: str, thickness: float | None, fabrication: Fabrication | None = None
) -> list[dict[str, Any]]:
    """The pieces of the rack as a job sheet's stock holds them, offcuts first, the largest first; none while the metal can't
    be read. bought: the sizes that the shop buys, whose labels no piece takes."""
    if thickness is None:
        return []
    pieces = sorted(
        (item for item in pieces_for(alloy, thickness, fabrication) if is_measured(item)),
        key=lambda item: (item.form != Form.OFFCUT, -item.area, item.number),
    )
    taken = {size["label"] for size in bought if "label" in size}
    return [_as_stock(item, taken) for item in pieces[:MOST_DRAWN]]


def is_measured(item: StockItem) -> bool:
    """Whether it is known where there is metal: an offcut that is less than the rectangle round it, and of which no outline
    was kept, has to be measured before anything is laid out on it."""
    square = item.length * item.width
    known = item.outline is not None or square - item.area <= max(RECTANGLE, UNSQUARE * square)
    return known and min(item.length, item.width) >= LEAST_SIDE


def _as_stock(item: Any, taken: set[str]) -> dict[str, Any]:
    size = {"outline": item.outline} if item.outline else {"length": item.length, "width": item.width}
    label = next(label for label in item.labels if label not in taken or label == item.labels[-1])
    return {"label": label, "count": item.there, "price": str(item.price), "rack": item.number, **size}


def to_be_bought(stock: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Those of a stored sheet's stock that are no pieces of the rack."""
    return [dict(size) for size in stock if not size.get("rack")]


def with_cut_into(
    stock: list[dict[str, Any]],
    stored: Sequence[Mapping[str, Any]],
    cut: Mapping[str, int],
    fabrication: Fabrication,
) -> list[dict[str, Any]]:
    """The stock with what was cut into of the rack, `cut` so many of a label: they are issued, and so not on it any more; one
    begun and not yet issued is."""
    issued = issued_as(fabrication)
    gone = {label: min(count, issued.get(label, 0)) for label, count in cut.items()}
    here = [
        {**size, "count": size["count"] + gone.get(size["label"], 0)} if size.get("rack") else size for size in stock
    ]
    there = {size["label"] for size in stock}
    lacking = [size for size in stored if cut.get(size["label"]) and size["label"] not in there]
    return [*here, *({**size, "count": cut[size["label"]]} for size in lacking)]


def issued_as(fabrication: Fabrication) -> dict[str, int]:
    """How many pieces stand issued to a fabrication, by the label that they have in its plan."""
    lines = StockMove.objects.filter(fabrication=fabrication, kind=MoveKind.ISSUED)
    return {row["of_stock"]: -row["sum"] for row in lines.values("of_stock").annotate(sum=Sum("on_hand"))}


def stock_now(revision: Revision, cut: Mapping[str, int]) -> list[dict[str, Any]]:
    """The stock of a stored sheet with what the rack has for its job today; `cut`: see `with_cut_into`."""
    stored, (alloy, thickness) = revision.sheet["stock"], metal_of(revision.sheet)
    bought = to_be_bought(stored)
    made = revision.fabrication
    return with_cut_into([*bought, *rack_stock(bought, alloy, thickness, made)], stored, cut, made)


def sheet_now(revision: Revision, **making: Any) -> dict[str, Any]:
    """The sheet of a revision, the latest of its job, to be laid out anew today: sheets that were cut into stay as they lie,
    the stock is what the rack has now; `making`: what of the making is otherwise. Sheets shared with another job are parted
    but for those that were cut into."""
    sheet = revision.sheet
    frozen = [lying.layout for lying in cut_into(revision.fabrication, metal=metal_of(sheet))]
    stock = stock_now(revision, Counter(layout["stock"] for layout in frozen))
    return {**sheet, "making": {**sheet["making"], **making}, "stock": stock, "frozen": frozen, **shared_now(revision)}


def pieces_gone(plan: Mapping[str, Any], fabrication: Fabrication) -> list[str]:
    """The pieces of the rack that a plan, as JSON, lays a fabrication out on and that are no longer there for it."""
    numbers = {size["label"]: size["rack"] for size in plan["sheet"]["stock"] if size["rack"] is not None}
    wanted = Counter(used["stock"] for used in plan["layout"]["sheets"] if used["stock"] in numbers)
    wanted.subtract(used["stock"] for used in plan["sheet"]["frozen"] if used["stock"] in numbers)
    pieces: Iterable[Any] = pieces_for(*metal_of(plan["sheet"]), fabrication)
    there = {item.number: item.there for item in pieces}
    return [label for label, count in wanted.items() if count > there.get(numbers[label], 0)]
