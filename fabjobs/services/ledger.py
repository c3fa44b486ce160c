"""The rack's ledger: every write is a new line. What would leave fewer pieces than none is refused before it is written,
and by the database too."""

from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Max, QuerySet, Sum

from calc.records import Outline
from fabjobs.models import Fabrication, Form, MoveKind, Person, StockItem, StockMove
from fabjobs.services.once import SentBefore

OFFCUT = "offcut"  # the label of one: its size is told beside it


class NotOnTheRack(Exception):
    """There are not so many free pieces; the text says of what, and who has them."""


@transaction.atomic
def stock_buy(
    *,
    alloy: str,
    thickness: float,
    label: str,
    length: float,
    width: float,
    mass: float,
    price: Decimal,
    count: int,
    by: Person,
    form_key: UUID,
    place: str = "",
    fabrication: Fabrication | None = None,
) -> StockItem:
    """Sheets bought: so many of a size [mm], mass [kg] and price of one; for a job, or for the rack."""
    size: dict[str, Any] = {"length": length, "width": width, "area": length * width, "mass": mass}
    said: dict[str, Any] = {
        "alloy": alloy,
        "thickness": thickness,
        "label": label,
        "price": price,
        "place": place,
        **size,
    }
    move = move_of_form(form_key, kind=MoveKind.BOUGHT, on_hand=count, fabrication=fabrication, **said)
    if move is not None:
        return move.item
    item = item_add(form=Form.SHEET, **said)
    move_add(item, MoveKind.BOUGHT, by, form_key, on_hand=count, fabrication=fabrication)
    return item


@transaction.atomic
def piece_find(
    *,
    alloy: str,
    thickness: float,
    length: float,
    width: float,
    area: float,
    mass: float,
    price: Decimal,
    count: int,
    reason: str,
    by: Person,
    form_key: UUID,
    outline: Outline | None = None,
    place: str = "",
) -> StockItem:
    """An offcut that stood on the rack before there was a ledger, counted in: sizes [mm], area [mm2], mass [kg] of one."""
    size: dict[str, Any] = {"length": length, "width": width, "area": area, "mass": mass, "outline": as_listed(outline)}
    said: dict[str, Any] = {"alloy": alloy, "thickness": thickness, "price": price, "place": place, **size}
    move = move_of_form(form_key, kind=MoveKind.COUNTED, on_hand=count, reason=reason, **said)
    if move is not None:
        return move.item
    item = item_add(form=Form.OFFCUT, label=OFFCUT, **said)
    move_add(item, MoveKind.COUNTED, by, form_key, on_hand=count, reason=reason)
    return item


@transaction.atomic
def stock_issue(
    *,
    item: StockItem,
    count: int,
    fabrication: Fabrication,
    by: Person,
    form_key: UUID,
    by_itself: bool = False,
    of_stock: str = "",
) -> StockMove:
    """Pieces taken off the rack for a job, first those reserved for it. Raises `NotOnTheRack`.

    of_stock: the label of the size in the job's plan that they stand for.
    """
    before = move_of_form(form_key, kind=MoveKind.ISSUED, on_hand=-count, fabrication=fabrication, item_id=item.pk)
    if before is not None:
        return before
    own = min(count, reserved_for(item, fabrication))
    check_free(item, count - own)
    return move_add(
        item,
        MoveKind.ISSUED,
        by,
        form_key,
        on_hand=-count,
        reserved=-own,
        fabrication=fabrication,
        by_itself=by_itself,
        of_stock=of_stock or item.name,
    )


@transaction.atomic
def stock_scrap(*, item: StockItem, count: int, reason: str, by: Person, form_key: UUID) -> StockMove:
    """Pieces thrown out of the rack. Raises `NotOnTheRack` where they are not there or are reserved."""
    before = move_of_form(form_key, kind=MoveKind.SCRAPPED, on_hand=-count, item_id=item.pk, reason=reason)
    if before is not None:
        return before
    check_free(item, count)
    return move_add(item, MoveKind.SCRAPPED, by, form_key, on_hand=-count, reason=reason)


@transaction.atomic
def stock_count(*, item: StockItem, counted: int, reason: str, by: Person, form_key: UUID) -> StockMove:
    """How many there really are: a line of the difference, of 0 where there is none.

    Raises `NotOnTheRack` where fewer were counted than are reserved.
    """
    before = move_of_form(form_key, kind=MoveKind.COUNTED, item_id=item.pk, reason=reason)
    if before is not None:
        stood = item.moves.filter(pk__lte=before.pk).aggregate(sum=Sum("on_hand"))["sum"]
        if stood != counted:
            raise SentBefore(before)
        return before
    on_hand, reserved = balances(item)
    if counted < reserved:
        raise NotOnTheRack(
            f"{reserved} of {item} are reserved ({_holders(item)}): release those before {counted} can stand."
        )
    return move_add(item, MoveKind.COUNTED, by, form_key, on_hand=counted - on_hand, reason=reason)


@transaction.atomic
def move_correct(*, move: StockMove, reason: str, by: Person) -> StockMove:
    """Undo a wrong line by one of the opposite figures. The same again changes nothing.

    Raises `SentBefore` where it was corrected for another reason or by someone else, and `NotOnTheRack` where what it
    brought is gone or reserved by now.
    """
    if move.item.form == Form.SHARE:
        raise NotOnTheRack(
            f"It is the {move.item.label}, passed on by the first cut of that sheet: it is undone with that cut's tick."
        )
    return move_undo(move, reason, by)


def move_undo(move: StockMove, reason: str, by: Person) -> StockMove:
    """See `move_correct`; of a share too."""
    before = StockMove.objects.filter(corrects=move).first()
    if before is not None:
        if (before.by_id, before.reason) != (by.pk, reason):
            raise SentBefore(before, f"{before.by} corrected that line already: {before.reason}")
        return before
    on_hand, reserved = balances(move.item)
    held = reserved_for(move.item, move.fabrication) if move.fabrication else 0
    if on_hand - move.on_hand < max(0, reserved - move.reserved) or held < move.reserved:
        raise NotOnTheRack(f"What that line brought is gone or reserved by now ({on_hand} of {move.item} on hand).")
    return move_add(
        move.item,
        move.kind,
        by,
        uuid5(move.form_key, "corrected"),
        on_hand=-move.on_hand,
        reserved=-move.reserved,
        fabrication=move.fabrication,
        of_stock=move.of_stock,
        corrects=move,
        reason=reason,
    )


def issued_to(fabrication: Fabrication) -> QuerySet[StockMove]:
    """The lines by which metal was issued to a fabrication and that stand, with what they issued; the oldest first. Shares of
    other jobs' sheets are none of them."""
    return StockMove.objects.standing(MoveKind.ISSUED).filter(fabrication=fabrication)


def returned_by(fabrication: Fabrication) -> QuerySet[StockMove]:
    """The lines by which offcuts of a fabrication came to the rack and that stand, with what came; the oldest first."""
    return StockMove.objects.standing(MoveKind.RETURNED).filter(fabrication=fabrication)


def balances(item: StockItem) -> tuple[int, int]:
    """Pieces on hand, and how many of them are reserved."""
    sums = item.moves.aggregate(on_hand=Sum("on_hand"), reserved=Sum("reserved"))
    return sums["on_hand"] or 0, sums["reserved"] or 0


def reserved_for(item: StockItem, fabrication: Fabrication) -> int:
    """How many pieces a fabrication has reserved."""
    return item.moves.filter(fabrication=fabrication).aggregate(sum=Sum("reserved"))["sum"] or 0


def item_add(**given: Any) -> StockItem:
    """A row of the next number: whoever writes at the same time waits, since a transaction takes the file at its start."""
    last = StockItem.objects.aggregate(last=Max("number"))["last"] or 0
    return StockItem.objects.create(number=last + 1, **given)


def move_add(item: StockItem, kind: str, by: Person, form_key: UUID, **given: Any) -> StockMove:
    return StockMove.objects.create(item=item, kind=kind, by=by, form_key=form_key, **given)


def move_of_form(form_key: UUID, **said: Any) -> StockMove | None:
    """The line that this form made when it was sent before. Raises `SentBefore` where it says something else."""
    move = StockMove.objects.filter(form_key=form_key).select_related("item").first()
    if move is None:
        return None
    of_move = {"kind", "on_hand", "fabrication", "item_id", "reason", "by"}
    if any(getattr(move if name in of_move else move.item, name) != value for name, value in said.items()):
        raise SentBefore(move)
    return move


def check_free(item: StockItem, count: int) -> None:
    on_hand, reserved = balances(item)
    if count > on_hand - reserved:
        held = f", {reserved} reserved ({_holders(item)})" if reserved else ""
        raise NotOnTheRack(f"{on_hand} of {item} are on the rack{held}: {count} can't be taken.")


def _holders(item: StockItem) -> str:
    """The jobs that have pieces of it reserved."""
    rows = item.moves.filter(fabrication__isnull=False).values("fabrication__job__number")
    held = rows.annotate(sum=Sum("reserved")).filter(sum__gt=0).order_by("fabrication__job__number")
    return ", ".join(f"job {row['fabrication__job__number']}" for row in held)


def as_listed(outline: Outline | None) -> list[list[float]] | None:
    """The outline as its row holds it."""
    return None if outline is None else [list(point) for point in outline]
