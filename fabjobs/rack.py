"""What a plan may draw on: the pieces of the rack that are of its metal and not another job's."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum
from django.db.models.functions import Coalesce

from calc.stock import MOST_DRAWN
from fabjobs.defaults import SAME_THICKNESS
from fabjobs.frozen import cut_into, metal_of
from fabjobs.models import Fabrication, Form, MoveKind, Revision, StockItem, StockMove
from fabjobs.sharing import shared_now


def pieces_for(alloy: str, thickness: float, fabrication: Fabrication | None = None) -> QuerySet[StockItem]:
    """The pieces of a metal [mm thick] that a fabrication may be laid out on, with how many of each (`there`): those that
    are free, and those reserved for or issued to it. What was bought for it is none of the rack's."""
    items = (
        StockItem.objects.with_balances()
        .exclude(form=Form.SHARE)
        .filter(alloy=alloy, thickness__range=(thickness - SAME_THICKNESS, thickness + SAME_THICKNESS))
    )
    there: Any = F("free")
    if fabrication is not None:
        own = Q(moves__fabrication=fabrication)
        bought = StockMove.objects.filter(item=OuterRef("pk"), fabrication=fabrication, kind=MoveKind.BOUGHT)
        items = items.filter(~Exists(bought)).annotate(
            held=Coalesce(Sum("moves__reserved", filter=own), 0),
            issued=-Coalesce(Sum("moves__on_hand", filter=own & Q(moves__kind=MoveKind.ISSUED)), 0),
        )
        there = F("free") + F("held") + F("issued")
    return items.annotate(there=there).filter(there__gt=0)


def rack_stock(
    bought: Sequence[Mapping[str, Any]], alloy: str, thickness: float | None, fabrication: Fabrication | None = None
) -> list[dict[str, Any]]:
    """The pieces of the rack as a job sheet's stock holds them, offcuts first, the largest first; none while the metal can't
    be read. bought: the sizes that the shop buys, whose labels no piece takes."""
    if thickness is None:
        return []
    pieces = sorted(
        pieces_for(alloy, thickness, fabrication), key=lambda item: (item.form != Form.OFFCUT, -item.area, item.number)
    )
    taken = {size["label"] for size in bought if "label" in size}
    return [_as_stock(item, taken) for item in pieces[:MOST_DRAWN]]


def _as_stock(item: Any, taken: set[str]) -> dict[str, Any]:
    size = {"outline": item.outline} if item.outline else {"length": item.length, "width": item.width}
    label = f"Rack {item.number}" if item.name in taken else item.name
    return {"label": label, "count": item.there, "price": str(item.price), "rack": item.number, **size}


def to_be_bought(stock: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Those of a stored sheet's stock that are no pieces of the rack."""
    return [dict(size) for size in stock if not size.get("rack")]


def with_cut_into(
    stock: list[dict[str, Any]], stored: Sequence[Mapping[str, Any]], cut: Mapping[str, int]
) -> list[dict[str, Any]]:
    """The stock with those of the stored one that it lacks and that were cut into, `cut` so many of a label."""
    there = {size["label"] for size in stock}
    return [
        *stock,
        *(
            {**size, "count": cut[size["label"]]}
            for size in stored
            if cut.get(size["label"]) and size["label"] not in there
        ),
    ]


def stock_now(revision: Revision, cut: Mapping[str, int]) -> list[dict[str, Any]]:
    """The stock of a stored sheet with what the rack has for its job today; `cut`: see `with_cut_into`."""
    stored, (alloy, thickness) = revision.sheet["stock"], metal_of(revision.sheet)
    bought = to_be_bought(stored)
    return with_cut_into([*bought, *rack_stock(bought, alloy, thickness, revision.fabrication)], stored, cut)


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
    pieces: Iterable[Any] = pieces_for(*metal_of(plan["sheet"]), fabrication)
    there = {item.number: item.there for item in pieces}
    return [label for label, count in wanted.items() if count > there.get(numbers[label], 0)]
