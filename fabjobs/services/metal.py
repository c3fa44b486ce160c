"""A job's metal and bought-in things: lines are added, and struck out where wrong; none is ever changed or deleted.

Every line carries the key of the form that it came by, so a form sent twice makes one line; sent again with
other words it is refused (`SentBefore`).
"""

from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any, TypeVar
from uuid import UUID, uuid4, uuid5

from django.db import transaction
from django.utils import timezone

from calc.records import Outline
from fabjobs.frozen import metal_of
from fabjobs.metal import PlannedOffcut, PlannedSheet, offcuts_to_return, sheets_to_log
from fabjobs.models import BoughtIn, Fabrication, MoveKind, Part, Person, Spoiled, StockMove
from fabjobs.models.logged import MetalLine, StrikeableLine
from fabjobs.planning import SQUARE_METRE
from fabjobs.services.ledger import issued_to, move_correct, returned_by
from fabjobs.services.once import SentBefore, line_of_form
from fabjobs.services.rack import issue_undo, offcut_put_back, shares_in_line, sheet_buy_for, sheets_issue
from fabjobs.services.steps import revision_came

MOST_SIZES = 200  # of sheets or offcuts in one plan, more than a form ever logged
OF_THE_PLAN = {"alloy", "thickness", "mass"}
Line = TypeVar("Line", bound=MetalLine)


class LineIsStruck(Exception):
    """Someone struck the line out already; `line` says who, when and why."""

    def __init__(self, line: StrikeableLine | StockMove) -> None:
        self.line = line
        super().__init__(str(line))


class NothingLeftToLog(Exception):
    """All that was planned is logged already; `last` is the newest line of it, if there is one."""

    def __init__(self, last: StockMove | None) -> None:
        self.last = last
        super().__init__("all that was planned is logged already")


class PlannedAnew(Exception):
    """Another revision came since the person saw what was planned; the text says whose."""


@transaction.atomic
def sheet_use(
    *,
    fabrication: Fabrication,
    count: int,
    label: str,
    length: float,
    width: float,
    price: Decimal,
    by: Person,
    form_key: UUID,
) -> StockMove:
    """Log sheets bought for a fabrication and cut into: sizes [mm], price of one. They are of the metal now planned with."""
    given: dict[str, Any] = {"count": count, "label": label, "length": length, "width": width, "price": price}
    metal = _of_its_metal(fabrication, length * width)
    move = sheet_buy_for(fabrication=fabrication, by=by, form_key=form_key, **given, **metal)
    shares_in_line(fabrication=fabrication, by=by, form_key=uuid4())
    return move


@transaction.atomic
def offcut_return(
    *,
    fabrication: Fabrication,
    count: int,
    length: float,
    width: float,
    area: float,
    by: Person,
    form_key: UUID,
    outline: Outline | None = None,
    place: str = "",
) -> StockMove:
    """Put offcuts of a fabrication on the rack: the size [mm], and the area of one [mm2] where it is no rectangle."""
    given: dict[str, Any] = {
        "count": count,
        "length": length,
        "width": width,
        "area": area,
        "outline": outline,
        "place": place,
    }
    return offcut_put_back(
        fabrication=fabrication, by=by, form_key=form_key, **given, **_of_its_metal(fabrication, area)
    )


@transaction.atomic
def blank_spoil(*, fabrication: Fabrication, count: int, part: Part, why: str, by: Person, form_key: UUID) -> Spoiled:
    """Log blanks spoiled, with the part's area and mass as they are now."""
    given = {"count": count, "blank": part.blank, "why": why, "area": part.area}
    return _added(Spoiled, fabrication, by, form_key, **given, mass=part.mass)


@transaction.atomic
def thing_buy(
    *, fabrication: Fabrication, count: int, what: str, price: Decimal, by: Person, form_key: UUID
) -> BoughtIn:
    """Log things bought for the job: price of one."""
    return _added(BoughtIn, fabrication, by, form_key, count=count, what=what, price=price)


@transaction.atomic
def sheets_use_as_planned(
    *,
    fabrication: Fabrication,
    planned: Sequence[PlannedSheet],
    by: Person,
    form_key: UUID,
    revision: int | None = None,
) -> list[StockMove]:
    """Issue the planned sheets that are not issued yet, a line a size: from the rack what is planned from there, the others
    as bought for the job. Raises `NothingLeftToLog`, and `NotOnTheRack` where a piece is gone.

    revision: the number of the one that the person saw; raises `PlannedAnew` where it is not the newest any more.
    """
    before = _same_form(fabrication, MoveKind.ISSUED, form_key)
    if before:
        return before
    check_seen(fabrication, revision)
    lines = list(issued_to(fabrication))
    left = sheets_to_log(planned, lines)
    if not left:
        raise NothingLeftToLog(_newest(lines))
    moves = [
        move
        for place, size in enumerate(left)
        for move in sheets_issue(
            fabrication=fabrication,
            size=asdict(size),
            count=size.count,
            by=by,
            form_key=_key_of(form_key, MoveKind.ISSUED, place),
        )
    ]
    shares_in_line(fabrication=fabrication, by=by, form_key=uuid4())
    return moves


@transaction.atomic
def offcuts_return_as_planned(
    *,
    fabrication: Fabrication,
    planned: Sequence[PlannedOffcut],
    by: Person,
    form_key: UUID,
    revision: int | None = None,
    place: str = "",
) -> list[StockMove]:
    """Put the planned offcuts on the rack that are not there yet, a line a piece. Raises `NothingLeftToLog`.

    revision: the number of the one that the person saw; raises `PlannedAnew` where it is not the newest any more.
    """
    before = _same_form(fabrication, MoveKind.RETURNED, form_key)
    if before:
        return before
    check_seen(fabrication, revision)
    lines = list(returned_by(fabrication))
    left = offcuts_to_return(planned, lines)
    if not left:
        raise NothingLeftToLog(_newest(lines))
    return [
        offcut_return(
            fabrication=fabrication,
            count=piece.count,
            length=piece.length,
            width=piece.width,
            area=piece.area,
            outline=piece.outline,
            place=place,
            by=by,
            form_key=_key_of(form_key, MoveKind.RETURNED, number),
        )
        for number, piece in enumerate(left)
    ]


@transaction.atomic
def line_strike(*, line: StrikeableLine | StockMove, why: str, by: Person) -> StrikeableLine | StockMove:
    """Strike a wrong line out; it stays to be seen. The same form again changes nothing.

    A line of the rack's ledger is undone by another. Raises `LineIsStruck` where it was struck out for another reason or by
    someone else, and `NotOnTheRack` where what it brought to the rack is gone.
    """
    if isinstance(line, StockMove):
        return _undone(line, why, by)
    struck = {"struck_at": timezone.now(), "struck_by": by, "struck_why": why}
    changed = type(line)._default_manager.filter(pk=line.pk, struck_at=None).update(**struck)
    line.refresh_from_db()
    if not changed and (line.struck_by_id, line.struck_why) != (by.pk, why):
        raise LineIsStruck(line)
    return line


def _undone(move: StockMove, why: str, by: Person) -> StockMove:
    undo = issue_undo if move.kind == MoveKind.ISSUED else move_correct
    try:
        undo(move=move, reason=why, by=by)
    except SentBefore:
        raise LineIsStruck(_as_it_stands(move)) from None
    return _as_it_stands(move)


def _as_it_stands(move: StockMove) -> StockMove:
    return StockMove.objects.select_related("item", "corrected_by__by").get(pk=move.pk)


def _added(kind: type[Line], fabrication: Fabrication, by: Person, form_key: UUID, **given: Any) -> Line:
    """The new line, or the one that this form made before; of what metal it is may be otherwise by now, and says nothing."""
    said = {"fabrication": fabrication, "by": by, **{name: given[name] for name in given if name not in OF_THE_PLAN}}
    line = line_of_form(kind, form_key, **said)
    if line is not None:
        return line
    return kind._default_manager.create(fabrication=fabrication, by=by, form_key=form_key, **given)


def _same_form(fabrication: Fabrication, kind: MoveKind, form_key: UUID) -> list[StockMove]:
    """The lines that this form made when it was sent before; the plan may have fewer sizes by now."""
    keys = [_key_of(form_key, kind, place) for place in range(MOST_SIZES)]
    return list(StockMove.objects.filter(fabrication=fabrication, form_key__in=keys).select_related("item"))


def _key_of(form_key: UUID, kind: MoveKind, place: int) -> UUID:
    """The key of one of the lines of a form that makes several: a page may have one key for forms of every kind."""
    return uuid5(form_key, f"{kind}:{place}")


def _newest(lines: Sequence[StockMove]) -> StockMove | None:
    return max(lines, key=lambda line: line.pk, default=None)


def _of_its_metal(fabrication: Fabrication, area: float) -> dict[str, Any]:
    """The metal of the newest revision, and the mass [kg] of sheet of this area [mm2] in it."""
    newest = fabrication.revisions.order_by("-number").values("areal_mass", "sheet__material")[0]
    alloy, thickness = metal_of({"material": newest["sheet__material"]})
    return {"alloy": alloy, "thickness": thickness, "mass": newest["areal_mass"] * area / SQUARE_METRE}


def check_seen(fabrication: Fabrication, revision: int | None) -> None:
    """Raise `PlannedAnew` where the newest revision is not the one of this number."""
    newest = fabrication.revisions.order_by("number")
    if revision is not None and newest.values_list("number", flat=True).last() != revision:
        raise PlannedAnew(f"{revision_came(newest)}. Look at what is planned now, then tap again. Nothing was added.")
