"""Metal and bought-in things: lines are added, and struck out where wrong; none is ever changed or deleted.

Every line carries the key of the form that it came by, so a form sent twice makes one line; sent again with
other words it is refused (`SentBefore`).
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, TypeVar
from uuid import UUID, uuid5

from django.db import transaction
from django.utils import timezone

from fabjobs.frozen import metal_of
from fabjobs.metal import PlannedOffcut, PlannedSheet, offcuts_to_return, sheets_to_log
from fabjobs.models import BoughtIn, Fabrication, OffcutReturned, Part, Person, SheetUsed, Spoiled
from fabjobs.models.logged import MetalLine
from fabjobs.services.once import line_of_form
from fabjobs.services.steps import revision_came

SQUARE_METRE = 1e6  # [mm2]
MOST_SIZES = 200  # of sheets or offcuts in one plan, more than a form ever logged
OF_THE_PLAN = {"alloy", "thickness", "mass"}
Line = TypeVar("Line", bound=MetalLine)


class LineIsStruck(Exception):
    """Someone struck the line out already; `line` says who, when and why."""

    def __init__(self, line: MetalLine) -> None:
        self.line = line
        super().__init__(str(line))


class NothingLeftToLog(Exception):
    """All that was planned is logged already; `last` is the newest line of it, if there is one."""

    def __init__(self, last: MetalLine | None) -> None:
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
) -> SheetUsed:
    """Log sheets cut into: sizes [mm], price of one. They are of the metal now planned with."""
    given = {"count": count, "label": label, "length": length, "width": width, "price": price}
    return _added(SheetUsed, fabrication, by, form_key, **given, **_of_its_metal(fabrication, length * width))


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
) -> OffcutReturned:
    """Log offcuts kept: the size [mm], and the area of one [mm2] where it is no rectangle."""
    given = {"count": count, "length": length, "width": width, "area": area}
    return _added(OffcutReturned, fabrication, by, form_key, **given, **_of_its_metal(fabrication, area))


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
) -> list[SheetUsed]:
    """Log the planned sheets that are not logged yet, a line a size. Raises `NothingLeftToLog`.

    revision: the number of the one that the person saw; raises `PlannedAnew` where it is not the newest any more.
    """
    before = _same_form(SheetUsed, fabrication, form_key)
    if before:
        return before
    _check_seen(fabrication, revision)
    lines = list(fabrication.sheetused_lines.filter(struck_at=None))
    left = sheets_to_log(planned, lines)
    if not left:
        raise NothingLeftToLog(_newest(lines))
    return [
        sheet_use(
            fabrication=fabrication,
            count=size.count,
            label=size.label,
            length=size.length,
            width=size.width,
            price=size.price,
            by=by,
            form_key=uuid5(form_key, str(place)),
        )
        for place, size in enumerate(left)
    ]


@transaction.atomic
def offcuts_return_as_planned(
    *,
    fabrication: Fabrication,
    planned: Sequence[PlannedOffcut],
    by: Person,
    form_key: UUID,
    revision: int | None = None,
) -> list[OffcutReturned]:
    """Log the planned offcuts that are not logged yet, a line a size. Raises `NothingLeftToLog`.

    revision: the number of the one that the person saw; raises `PlannedAnew` where it is not the newest any more.
    """
    before = _same_form(OffcutReturned, fabrication, form_key)
    if before:
        return before
    _check_seen(fabrication, revision)
    lines = list(fabrication.offcutreturned_lines.filter(struck_at=None))
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
            by=by,
            form_key=uuid5(form_key, str(place)),
        )
        for place, piece in enumerate(left)
    ]


@transaction.atomic
def line_strike(*, line: Line, why: str, by: Person) -> Line:
    """Strike a wrong line out; it stays to be seen. The same form again changes nothing.

    Raises `LineIsStruck` where it was struck out for another reason or by someone else.
    """
    struck = {"struck_at": timezone.now(), "struck_by": by, "struck_why": why}
    changed = type(line)._default_manager.filter(pk=line.pk, struck_at=None).update(**struck)
    line.refresh_from_db()
    if not changed and (line.struck_by_id, line.struck_why) != (by.pk, why):
        raise LineIsStruck(line)
    return line


def _added(kind: type[Line], fabrication: Fabrication, by: Person, form_key: UUID, **given: Any) -> Line:
    """The new line, or the one that this form made before; of what metal it is may be otherwise by now, and says nothing."""
    said = {"fabrication": fabrication, "by": by, **{name: given[name] for name in given if name not in OF_THE_PLAN}}
    line = line_of_form(kind, form_key, **said)
    if line is not None:
        return line
    return kind._default_manager.create(fabrication=fabrication, by=by, form_key=form_key, **given)


def _same_form(kind: type[Line], fabrication: Fabrication, form_key: UUID) -> list[Line]:
    """The lines that this form made when it was sent before; the plan may have fewer sizes by now."""
    keys = [uuid5(form_key, str(place)) for place in range(MOST_SIZES)]
    return list(kind._default_manager.filter(fabrication=fabrication, form_key__in=keys))


def _newest(lines: Sequence[Line]) -> Line | None:
    return max(lines, key=lambda line: line.pk, default=None)


def _of_its_metal(fabrication: Fabrication, area: float) -> dict[str, Any]:
    """The metal of the newest revision, and the mass [kg] of sheet of this area [mm2] in it."""
    newest = fabrication.revisions.order_by("-number").values("areal_mass", "sheet__material")[0]
    alloy, thickness = metal_of({"material": newest["sheet__material"]})
    return {"alloy": alloy, "thickness": thickness, "mass": newest["areal_mass"] * area / SQUARE_METRE}


def _check_seen(fabrication: Fabrication, revision: int | None) -> None:
    """Raise `PlannedAnew` where the newest revision is not the one of this number."""
    newest = fabrication.revisions.order_by("number")
    if revision is not None and newest.values_list("number", flat=True).last() != revision:
        raise PlannedAnew(f"{revision_came(newest)}. Look at what is planned now, then tap again. Nothing was added.")
