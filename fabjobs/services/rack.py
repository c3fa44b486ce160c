"""What jobs do on the rack: reserve what their plans take, have it issued as it is cut, put offcuts back, share sheets."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from decimal import ROUND_HALF_UP, Decimal
from typing import Any
from uuid import UUID, uuid4, uuid5

from django.db import transaction
from django.db.models import Q, QuerySet, Sum

import calc
from calc.costing import CENT
from calc.records import Outline
from fabjobs.defaults import SAME, SAME_THICKNESS
from fabjobs.frozen import cut_into, metal_of
from fabjobs.models import Fabrication, Form, MoveKind, Person, Revision, StockItem, StockMove
from fabjobs.planning import SQUARE_METRE
from fabjobs.services.ledger import (
    OFFCUT,
    NotOnTheRack,
    as_listed,
    check_free,
    issued_to,
    item_add,
    move_add,
    move_correct,
    move_of_form,
    move_undo,
    returned_by,
    stock_issue,
)
from fabjobs.sharing import shares_due

IS_ISSUE = Q(kind=MoveKind.ISSUED)
UNTICKED = "The tick of its first cut was taken back."
NOT_SHARED = "That sheet is no longer cut into, issued or shared so."
BOUGHT = "bought"  # what the key of a purchase that comes with an issue is made from


@transaction.atomic
def issue_undo(*, move: StockMove, reason: str, by: Person) -> StockMove:
    """Undo an issue, the purchase too that came with it, and what another job took of its sheets: see `move_correct`.

    Raises `NotOnTheRack` too where offcuts of what was issued are on the rack: they can't be there beside it.
    """
    if move.fabrication is not None and not StockMove.objects.filter(corrects=move).exists():
        _check_not_cut_up(move, move.fabrication)
    undone = move_correct(move=move, reason=reason, by=by)
    bought = StockMove.objects.filter(form_key=uuid5(move.form_key, BOUGHT)).select_related("item").first()
    if bought is not None:
        move_correct(move=bought, reason=reason, by=by)
    if move.fabrication is not None:
        _reserve_again(move.fabrication, by)
        shares_in_line(fabrication=move.fabrication, by=by, form_key=uuid4(), reason=reason)
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
            check_free(item, more)
        kind = MoveKind.RESERVED if more > 0 else MoveKind.RELEASED
        if more:
            move_add(item, kind, by, uuid4(), reserved=more, fabrication=fabrication, by_itself=True)


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
    shares_in_line(fabrication=fabrication, by=by, form_key=form_key)


@transaction.atomic
def shares_in_line(*, fabrication: Fabrication, by: Person, form_key: UUID, reason: str = NOT_SHARED) -> None:
    """Pass on what guests take of the sheets that are cut into and issued; take back, for this reason, what was passed on of
    others. A share is of a sheet that stands issued, and of one piece of it there is one share for a guest."""
    passed_on = list(shares_passed_on(fabrication))
    revision = fabrication.revisions.order_by("number").last()
    if revision is None or not (passed_on or revision.sheet.get("guests")):
        return
    lines = list(issued_to(fabrication))
    there = _sheets_issued(fabrication, lines)
    due = [share for share in shares_due(revision) if share.fabrication is not None and share.sheet in there]
    pieces = Counter(share_label(line.item) for line in lines for _ in range(line.count))
    shared: Counter[tuple[str, Fabrication | None]] = Counter()
    for line in passed_on:
        of = (line.item.label, line.fabrication)
        same = [share for share in due if share.is_told_by(line)]
        if same and shared[of] < pieces[line.item.label]:
            due.remove(same[0])
            shared[of] += 1
        else:
            share_take_back(line=line, reason=reason, by=by)
    for share in (share for share in due if share.area > 0):
        of_size = [line for line in reversed(lines) if line.of_stock == share.stock]
        names = ((line, (share_label(line.item), share.fabrication)) for line in of_size)
        whole, of = next((line, of) for line, of in names if shared[of] < pieces[of[0]])
        shared[of] += 1
        given: dict[str, Any] = {"area": share.area, "price": share.price_of(whole.item), "to": share.fabrication}
        key = uuid5(form_key, f"share of sheet {share.sheet} for {share.job}")
        share_pass_on(sheet=whole, **given, by=by, form_key=key)


def _sheets_issued(fabrication: Fabrication, lines: Iterable[StockMove]) -> set[int]:
    """The numbers of the sheets that are cut into, as many of a size as stand issued; the first ones count first."""
    left: Counter[str] = Counter()
    for line in lines:
        left[line.of_stock] += line.count
    found = set()
    for sheet in cut_into(fabrication):
        label = sheet.layout["stock"]
        if left[label] > 0:
            left[label] -= 1
            found.add(sheet.number)
    return found


def shares_passed_on(fabrication: Fabrication | None) -> QuerySet[StockMove]:
    """The lines that stand by which other jobs took their share of sheets that were issued to a fabrication; oldest first."""
    return _shares().filter(item__from_job=fabrication)


def shares_taken_by(fabrication: Fabrication) -> QuerySet[StockMove]:
    """The lines that stand by which a fabrication took its share of sheets of other jobs; oldest first."""
    return _shares().filter(fabrication=fabrication)


def _shares() -> QuerySet[StockMove]:
    lines = StockMove.objects.filter(kind=MoveKind.ISSUED, corrects=None, corrected_by=None, item__form=Form.SHARE)
    return lines.select_related("item", "fabrication__job").order_by("pk")


def share_label(item: StockItem) -> str:
    """What the share of a sheet is called."""
    return f"share of {item.name}"


@transaction.atomic
def share_pass_on(
    *, sheet: StockMove, area: float, price: Decimal, to: Fabrication, by: Person, form_key: UUID
) -> StockMove:
    """Pass a share of a sheet on from the fabrication that it was issued to: an area [mm2] of it, at a price."""
    whole = sheet.item
    item = item_add(
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
    move_add(item, MoveKind.RETURNED, by, key, on_hand=1, fabrication=sheet.fabrication, by_itself=True)
    return move_add(item, MoveKind.ISSUED, by, form_key, on_hand=-1, fabrication=to, by_itself=True)


@transaction.atomic
def share_take_back(*, line: StockMove, reason: str, by: Person) -> None:
    """Undo a share that was passed on; line: the one by which it was issued."""
    move_undo(line, reason, by)
    passed_on = StockMove.objects.select_related("item").get(item=line.item, kind=MoveKind.RETURNED, corrects=None)
    move_undo(passed_on, reason, by)


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
    before = move_of_form(form_key, kind=MoveKind.ISSUED, on_hand=-count, fabrication=fabrication, by=by, **said)
    if before is not None:
        return before
    size: dict[str, Any] = {"area": length * width, "mass": mass, "alloy": alloy, "thickness": thickness}
    item = item_add(form=Form.SHEET, **said, **size)
    given: dict[str, Any] = {"fabrication": fabrication, "by_itself": by_itself}
    move_add(item, MoveKind.BOUGHT, by, uuid5(form_key, BOUGHT), on_hand=count, **given)
    return move_add(item, MoveKind.ISSUED, by, form_key, on_hand=-count, of_stock=label, **given)


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

    Each takes its share, by mass, of what was paid for the metal issued to the fabrication: what it passed on to other jobs is
    none of it, what they passed on to it is.
    """
    size: dict[str, Any] = {"length": length, "width": width, "area": area}
    before = move_of_form(form_key, kind=MoveKind.RETURNED, on_hand=count, fabrication=fabrication, by=by, **size)
    if before is not None:
        return before
    taken = [(line.item, line.count) for line in (*issued_to(fabrication), *shares_taken_by(fabrication))]
    taken += [(line.item, -line.count) for line in shares_passed_on(fabrication)]
    paid = sum((item.price * count for item, count in taken), Decimal(0))
    issued = sum(item.mass * count for item, count in taken)
    share = Decimal(repr(mass / issued)) if issued else Decimal(0)
    item = item_add(
        form=Form.OFFCUT,
        label=OFFCUT,
        alloy=alloy,
        thickness=thickness,
        mass=mass,
        outline=as_listed(outline),
        price=(paid * min(share, Decimal(1))).quantize(CENT, ROUND_HALF_UP),
        place=place,
        from_job=fabrication,
        **size,
    )
    return move_add(item, MoveKind.RETURNED, by, form_key, on_hand=count, fabrication=fabrication)
