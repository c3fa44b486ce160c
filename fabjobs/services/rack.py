"""The rack's ledger: every write is a new line. What would leave fewer pieces than none is refused before it is written,
and by the database too."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction
from django.db.models import Max, Q, QuerySet, Sum

import calc
from calc.costing import CENT
from calc.records import Outline
from fabjobs.defaults import SAME, SAME_THICKNESS
from fabjobs.frozen import cut_into, metal_of
from fabjobs.models import Fabrication, Form, MoveKind, Person, Revision, StockItem, StockMove
from fabjobs.services.once import SentBefore
from fabjobs.sharing import shares_due

SQUARE_METRE = 1e6  # [mm2]
IS_ISSUE = Q(kind=MoveKind.ISSUED)
OFFCUT = "offcut"  # the label of one: its size is told beside it
UNTICKED = "The tick of its first cut was taken back."
BOUGHT = "bought"  # what the key of a purchase that comes with an issue is made from


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
    move = _sent(form_key, kind=MoveKind.BOUGHT, on_hand=count, fabrication=fabrication, **said)
    if move is not None:
        return move.item
    item = _new_item(form=Form.SHEET, **said)
    _move(item, MoveKind.BOUGHT, by, form_key, on_hand=count, fabrication=fabrication)
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
    size: dict[str, Any] = {"length": length, "width": width, "area": area, "mass": mass, "outline": _listed(outline)}
    said: dict[str, Any] = {"alloy": alloy, "thickness": thickness, "price": price, "place": place, **size}
    move = _sent(form_key, kind=MoveKind.COUNTED, on_hand=count, reason=reason, **said)
    if move is not None:
        return move.item
    item = _new_item(form=Form.OFFCUT, label=OFFCUT, **said)
    _move(item, MoveKind.COUNTED, by, form_key, on_hand=count, reason=reason)
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
    before = _sent(form_key, kind=MoveKind.ISSUED, on_hand=-count, fabrication=fabrication, item_id=item.pk)
    if before is not None:
        return before
    own = min(count, reserved_for(item, fabrication))
    _check_free(item, count - own)
    return _move(
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
    before = _sent(form_key, kind=MoveKind.SCRAPPED, on_hand=-count, item_id=item.pk, reason=reason)
    if before is not None:
        return before
    _check_free(item, count)
    return _move(item, MoveKind.SCRAPPED, by, form_key, on_hand=-count, reason=reason)


@transaction.atomic
def stock_count(*, item: StockItem, counted: int, reason: str, by: Person, form_key: UUID) -> StockMove:
    """How many there really are: a line of the difference, of 0 where there is none.

    Raises `NotOnTheRack` where fewer were counted than are reserved.
    """
    before = _sent(form_key, kind=MoveKind.COUNTED, item_id=item.pk, reason=reason)
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
    return _move(item, MoveKind.COUNTED, by, form_key, on_hand=counted - on_hand, reason=reason)


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
    return _correct(move, reason, by)


def _correct(move: StockMove, reason: str, by: Person) -> StockMove:
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
    return _move(
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


@transaction.atomic
def issue_undo(*, move: StockMove, reason: str, by: Person) -> StockMove:
    """Undo an issue, the purchase too that came with it, and what another job took of its sheets: see `move_correct`.

    Raises `NotOnTheRack` too where offcuts of what was issued are on the rack: they can't be there beside it.
    """
    if move.fabrication is not None and not StockMove.objects.filter(corrects=move).exists():
        _check_not_cut_up(move, move.fabrication)
    for line in shares_passed_on(move.fabrication).filter(item__label=share_label(move.item)):
        share_take_back(line=line, reason=reason, by=by)
    undone = move_correct(move=move, reason=reason, by=by)
    bought = StockMove.objects.filter(form_key=uuid5(move.form_key, BOUGHT)).select_related("item").first()
    if bought is not None:
        move_correct(move=bought, reason=reason, by=by)
    if move.fabrication is not None:
        _reserve_again(move.fabrication, by)
    return undone


def _check_not_cut_up(move: StockMove, fabrication: Fabrication) -> None:
    """Raise `NotOnTheRack` where more came back as offcuts than would be issued without this line."""
    others = sum(line.item.area * line.count for line in issued_to(fabrication) if line.pk != move.pk)
    back = list(returned_by(fabrication))
    if sum(line.item.area * line.count for line in back) > others:
        names = ", ".join(line.item.name for line in back)
        raise NotOnTheRack(
            f"Offcuts of it are on the rack ({names}): put those lines right first. Nothing was changed."
        )


@transaction.atomic
def plan_reserve(*, fabrication: Fabrication, plan: calc.Plan, by: Person) -> None:
    """Bring what a fabrication has reserved on the rack in line with its plan: what is issued needs no reserving.

    Raises `NotOnTheRack` where another job was quicker.
    """
    numbers = {size.label: size.rack for size in plan.sheet.stock if size.rack is not None}
    _reserve(fabrication, numbers, Counter(used.stock for used in plan.layout.sheets), by)


def _reserve(fabrication: Fabrication, numbers: Mapping[str, int], sheets: Mapping[str, int], by: Person) -> None:
    """numbers: that of a piece on the rack by its label in the plan; sheets: how many of a label the layout has."""
    wanted = Counter({number: sheets.get(label, 0) for label, number in numbers.items()})
    held: Counter[int] = Counter()
    moves = StockMove.objects.filter(fabrication=fabrication)
    for number, reserved in moves.values_list("item__number").annotate(sum=Sum("reserved")):
        held[number] = reserved
    issues = moves.filter(IS_ISSUE).values_list("item__number", "of_stock")
    for number, label, on_hand in issues.annotate(sum=Sum("on_hand")):
        if numbers.get(label) == number:
            wanted[number] += on_hand  # what is issued stands there below 0
    for item in StockItem.objects.filter(number__in={*wanted, *held}):
        more = max(0, wanted[item.number]) - held[item.number]
        if more > 0:
            _check_free(item, more)
        kind = MoveKind.RESERVED if more > 0 else MoveKind.RELEASED
        if more:
            _move(item, kind, by, uuid4(), reserved=more, fabrication=fabrication, by_itself=True)


def _reserve_again(fabrication: Fabrication, by: Person) -> None:
    """The same by the newest revision, after what was issued changed."""
    newest = fabrication.revisions.order_by("-number").values("sheet__stock", "plan__layout__sheets").first()
    if newest is not None:
        numbers = {size["label"]: size["rack"] for size in newest["sheet__stock"] if size.get("rack")}
        _reserve(fabrication, numbers, Counter(used["stock"] for used in newest["plan__layout__sheets"]), by)


@transaction.atomic
def cut_sheets_issue(*, fabrication: Fabrication, by: Person, form_key: UUID) -> None:
    """Issue the sheets whose first cut was ticked; where ticks were taken back, undo what was issued by them.

    A sheet of the rack is issued from it; one that was to be bought counts as bought for the job. form_key: the tick's.
    """
    revision = fabrication.revisions.order_by("number").last()
    if revision is None:
        return
    cut = Counter(sheet.layout["stock"] for sheet in cut_into(fabrication))
    lines = list(issued_to(fabrication))
    for size in revision.sheet["stock"]:
        of_size = [line for line in lines if line.of_stock == size["label"]]
        lack = cut[size["label"]] - sum(line.count for line in of_size)
        if lack > 0:
            key = uuid5(form_key, f"issue {size['label']}")
            sheets_issue(fabrication=fabrication, size=size, count=lack, by=by, form_key=key, by_itself=True)
        for line in reversed(of_size):
            if lack < 0 and line.by_itself and line.count <= -lack:
                lack += line.count
                _take_back(line, by)
    if revision.sheet.get("guests"):
        _shares_in_line(revision, by, form_key)


def _shares_in_line(revision: Revision, by: Person, form_key: UUID) -> None:
    """Pass on what guests take of the sheets that are cut into and issued; of no other sheets."""
    fabrication = revision.fabrication
    due = [share for share in shares_due(revision) if share.fabrication is not None]
    for line in shares_passed_on(fabrication):
        same = [share for share in due if share.is_told_by(line)]
        if same:
            due.remove(same[0])
        else:
            share_take_back(line=line, reason=UNTICKED, by=by)
    lines = list(issued_to(fabrication))
    for share in due:
        of_size = [line for line in lines if line.of_stock == share.stock]
        if of_size and share.area > 0:
            given: dict[str, Any] = {"area": share.area, "price": share.price, "to": share.fabrication}
            key = uuid5(form_key, f"share of sheet {share.sheet} for {share.job}")
            share_pass_on(sheet=of_size[-1], **given, by=by, form_key=key)


def shares_passed_on(fabrication: Fabrication | None) -> QuerySet[StockMove]:
    """The lines that stand by which other jobs took their share of sheets that were issued to a fabrication; oldest first."""
    lines = StockMove.objects.filter(kind=MoveKind.ISSUED, corrects=None, corrected_by=None)
    return lines.filter(item__form=Form.SHARE, item__from_job=fabrication).select_related("item", "fabrication__job")


def share_label(item: StockItem) -> str:
    """What the share of a sheet is called."""
    return f"share of {item.name}"


@transaction.atomic
def share_pass_on(
    *, sheet: StockMove, area: float, price: Decimal, to: Fabrication, by: Person, form_key: UUID
) -> StockMove:
    """Pass a share of a sheet on from the fabrication that it was issued to: an area [mm2] of it, at a price."""
    whole = sheet.item
    item = _new_item(
        form=Form.SHARE,
        label=share_label(whole),
        alloy=whole.alloy,
        thickness=whole.thickness,
        length=whole.length,
        width=whole.width,
        area=area,
        mass=whole.mass * area / whole.area,
        price=price,
        from_job=sheet.fabrication,
    )
    key = uuid5(form_key, "passed on")
    _move(item, MoveKind.RETURNED, by, key, on_hand=1, fabrication=sheet.fabrication, by_itself=True)
    return _move(item, MoveKind.ISSUED, by, form_key, on_hand=-1, fabrication=to, by_itself=True)


@transaction.atomic
def share_take_back(*, line: StockMove, reason: str, by: Person) -> None:
    """Undo a share that was passed on; line: the one by which it was issued."""
    _correct(line, reason, by)
    passed_on = StockMove.objects.select_related("item").get(item=line.item, kind=MoveKind.RETURNED, corrects=None)
    _correct(passed_on, reason, by)


def issued_to(fabrication: Fabrication) -> QuerySet[StockMove]:
    """The lines by which metal was issued to a fabrication and that stand, with what they issued; the oldest first. Shares of
    other jobs' sheets are none of them."""
    lines = StockMove.objects.filter(fabrication=fabrication, kind=MoveKind.ISSUED, corrects=None, corrected_by=None)
    return lines.exclude(item__form=Form.SHARE).select_related("item")


def returned_by(fabrication: Fabrication) -> QuerySet[StockMove]:
    """The lines by which offcuts of a fabrication came to the rack and that stand, with what came; the oldest first."""
    lines = StockMove.objects.filter(fabrication=fabrication, kind=MoveKind.RETURNED, corrects=None, corrected_by=None)
    return lines.exclude(item__form=Form.SHARE).select_related("item")


def balances(item: StockItem) -> tuple[int, int]:
    """Pieces on hand, and how many of them are reserved."""
    sums = item.moves.aggregate(on_hand=Sum("on_hand"), reserved=Sum("reserved"))
    return sums["on_hand"] or 0, sums["reserved"] or 0


def reserved_for(item: StockItem, fabrication: Fabrication) -> int:
    """How many pieces a fabrication has reserved."""
    return item.moves.filter(fabrication=fabrication).aggregate(sum=Sum("reserved"))["sum"] or 0


def _is_as_large(item: StockItem, size: Mapping[str, Any]) -> bool:
    return bool(max(abs(item.length - size["length"]), abs(item.width - size["width"])) <= SAME)


@transaction.atomic
def sheets_issue(
    *,
    fabrication: Fabrication,
    size: Mapping[str, Any],
    count: int,
    by: Person,
    form_key: UUID,
    by_itself: bool = False,
) -> list[StockMove]:
    """Issue sheets of a size as a plan's stock has it: from the rack what is planned from there, or stands there free though it
    was to be bought; the rest as bought for the fabrication. Raises `NotOnTheRack`."""
    revision = fabrication.revisions.latest("number")
    given: dict[str, Any] = {"fabrication": fabrication, "by": by, "by_itself": by_itself}
    label = size["label"]
    if size.get("rack"):
        item = StockItem.objects.get(number=size["rack"])
        return [stock_issue(item=item, count=count, form_key=form_key, of_stock=label, **given)]
    moves = []
    for item in _sheets_standing(revision, size):
        taken = min(count, item.free)
        key = uuid5(form_key, item.name)
        moves.append(stock_issue(item=item, count=taken, form_key=key, of_stock=label, **given))
        count -= taken
        if not count:
            return moves
    material = revision.sheet["material"]
    metal: dict[str, Any] = {"alloy": material["alloy"], "thickness": material["thickness"]}
    mass = revision.areal_mass * size["length"] * size["width"] / SQUARE_METRE
    sides: dict[str, Any] = {side: size[side] for side in ("label", "length", "width")}
    price = Decimal(size["price"])
    return [*moves, sheet_buy_for(count=count, form_key=form_key, mass=mass, price=price, **given, **metal, **sides)]


def _sheets_standing(revision: Revision, size: Mapping[str, Any]) -> Iterator[Any]:
    """Sheets on the rack of this size and the revision's metal that are free: bought ahead for it, as a rule."""
    alloy, thickness = metal_of(revision.sheet)
    near = (thickness - SAME_THICKNESS, thickness + SAME_THICKNESS)
    of_metal = StockItem.objects.filter(form=Form.SHEET, alloy=alloy, thickness__range=near)
    here: Iterable[Any] = of_metal.with_balances().order_by("number")
    for item in here:
        if item.free > 0 and _is_as_large(item, size):
            yield item


def _take_back(line: StockMove, by: Person) -> None:
    issue_undo(move=line, reason=UNTICKED, by=by)


@transaction.atomic
def sheet_buy_for(
    *,
    fabrication: Fabrication,
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
    by_itself: bool = False,
) -> StockMove:
    """Sheets bought for a fabrication and issued to it at once: a size [mm], mass [kg] and price of one."""
    said: dict[str, Any] = {"label": label, "length": length, "width": width, "price": price}
    before = _sent(form_key, kind=MoveKind.ISSUED, on_hand=-count, fabrication=fabrication, by=by, **said)
    if before is not None:
        return before
    size: dict[str, Any] = {"area": length * width, "mass": mass, "alloy": alloy, "thickness": thickness}
    item = _new_item(form=Form.SHEET, **said, **size)
    given: dict[str, Any] = {"fabrication": fabrication, "by_itself": by_itself}
    _move(item, MoveKind.BOUGHT, by, uuid5(form_key, BOUGHT), on_hand=count, **given)
    return _move(item, MoveKind.ISSUED, by, form_key, on_hand=-count, of_stock=label, **given)


@transaction.atomic
def offcut_put_back(
    *,
    fabrication: Fabrication,
    alloy: str,
    thickness: float,
    length: float,
    width: float,
    area: float,
    mass: float,
    count: int,
    by: Person,
    form_key: UUID,
    outline: Outline | None = None,
    place: str = "",
) -> StockMove:
    """Offcuts of a fabrication put on the rack: sizes [mm], area [mm2] and mass [kg] of one.

    Each takes its share, by mass, of what was paid for the metal issued to the fabrication and not passed on.
    """
    size: dict[str, Any] = {"length": length, "width": width, "area": area}
    before = _sent(form_key, kind=MoveKind.RETURNED, on_hand=count, fabrication=fabrication, by=by, **size)
    if before is not None:
        return before
    lines, shares = list(issued_to(fabrication)), list(shares_passed_on(fabrication))
    paid = sum((line.item.price * line.count for line in lines), Decimal(0)) - sum(line.item.price for line in shares)
    issued = sum(line.item.mass * line.count for line in lines) - sum(line.item.mass for line in shares)
    share = Decimal(repr(mass / issued)) if issued else Decimal(0)
    item = _new_item(
        form=Form.OFFCUT,
        label=OFFCUT,
        alloy=alloy,
        thickness=thickness,
        mass=mass,
        outline=_listed(outline),
        price=(paid * min(share, Decimal(1))).quantize(CENT, ROUND_HALF_UP),
        place=place,
        from_job=fabrication,
        **size,
    )
    return _move(item, MoveKind.RETURNED, by, form_key, on_hand=count, fabrication=fabrication)


def _new_item(**given: Any) -> StockItem:
    """A row of the next number: whoever writes at the same time waits, since a transaction takes the file at its start."""
    last = StockItem.objects.aggregate(last=Max("number"))["last"] or 0
    return StockItem.objects.create(number=last + 1, **given)


def _move(item: StockItem, kind: str, by: Person, form_key: UUID, **given: Any) -> StockMove:
    return StockMove.objects.create(item=item, kind=kind, by=by, form_key=form_key, **given)


def _sent(form_key: UUID, **said: Any) -> StockMove | None:
    """The line that this form made when it was sent before. Raises `SentBefore` where it says something else."""
    move = StockMove.objects.filter(form_key=form_key).select_related("item").first()
    if move is None:
        return None
    of_move = {"kind", "on_hand", "fabrication", "item_id", "reason", "by"}
    if any(getattr(move if name in of_move else move.item, name) != value for name, value in said.items()):
        raise SentBefore(move)
    return move


def _check_free(item: StockItem, count: int) -> None:
    on_hand, reserved = balances(item)
    if count > on_hand - reserved:
        held = f", {reserved} reserved ({_holders(item)})" if reserved else ""
        raise NotOnTheRack(f"{on_hand} of {item} are on the rack{held}: {count} can't be taken.")


def _holders(item: StockItem) -> str:
    """The jobs that have pieces of it reserved."""
    rows = item.moves.filter(fabrication__isnull=False).values("fabrication__job__number")
    held = rows.annotate(sum=Sum("reserved")).filter(sum__gt=0).order_by("fabrication__job__number")
    return ", ".join(f"job {row['fabrication__job__number']}" for row in held)


def _listed(outline: Outline | None) -> list[list[float]] | None:
    """The outline as its row holds it."""
    return None if outline is None else [list(point) for point in outline]
