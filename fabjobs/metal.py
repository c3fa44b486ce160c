"""A fabrication's metal as a page shows it: what was planned, what was logged, and what is still to be logged."""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property
from typing import Any, TypeVar

from django.db.models import QuerySet

from calc import Plan
from calc.balance import Balance, Metal, laid_square, size_of, strike_balance
from calc.laid import SheetLayout
from calc.records import Outline
from calc.units import Display
from fabjobs.cut_up import mass_in_hand
from fabjobs.defaults import SAME
from fabjobs.forms.lengths import exactly
from fabjobs.frozen import Metal as MetalKey
from fabjobs.frozen import metal_key
from fabjobs.models import BoughtIn, Fabrication, Form, MoveKind, Part, Revision, Spoiled, StockMove
from fabjobs.models.logged import MetalLine

Line = TypeVar("Line", bound=MetalLine)
SIDES = ("length", "width")
PARTS_OF_BALANCE = {
    "bought": "Sheets bought for it",
    "issued": "Issued to it",
    "in_blanks": "In the blanks",
    "returned": "Offcuts returned",
    "spoiled": "Spoiled",
    "in_hand": "In hand, not cut up yet",
    "scrap": "Scrap",
}


@dataclass(frozen=True)
class PlannedSheet:
    """So many sheets of a size [mm] in a metal, and the price of one; rack: the number of a piece that is there already."""

    label: str
    length: float
    width: float
    price: Decimal
    count: int
    metal: MetalKey
    rack: int | None = None


@dataclass(frozen=True)
class PlannedOffcut:
    """So many offcuts of a size [mm] in a metal; the area of one [mm2] is its outline's, told where it is no rectangle."""

    length: float
    width: float
    area: float
    count: int
    metal: MetalKey
    outline: Outline | None = None


@dataclass(frozen=True)
class PassedOn:
    """A share of its sheets that another job took: the line by which it went, and the number of that job."""

    line: StockMove
    job: int


@dataclass(frozen=True)
class BalanceRow:
    """A line of the balance. `actual` is None while no sheet is logged, `planned` where the plan does not say."""

    name: str
    planned: Metal | None
    actual: Metal | None

    @property
    def difference(self) -> Metal | None:
        return None if self.actual is None or self.planned is None else self.actual - self.planned


def balance_rows(planned: Balance, actual: Balance | None) -> Iterator[BalanceRow]:
    """The table: planned, actual and the difference; what is in hand only while something is."""
    for part, name in PARTS_OF_BALANCE.items():
        if part == "in_hand" and not (actual and actual.in_hand.mass):
            continue
        yield BalanceRow(name, getattr(planned, part), getattr(actual, part) if actual else None)


def planned_sheets(plan: Plan) -> list[PlannedSheet]:
    """The sheets of a plan's layout, by size."""
    stock = {size.label: size for size in plan.sheet.stock}
    prices = {label: Decimal(size.price) for label, size in stock.items()}
    racked = {label: size.rack for label, size in stock.items()}
    counted = Counter((used.stock, used.length, used.width) for used in plan.layout.sheets)
    metal = _metal_of(plan)
    return [
        PlannedSheet(label, length, width, prices.get(label, Decimal(0)), count, metal, racked.get(label))
        for (label, length, width), count in counted.items()
    ]


def planned_offcuts(plan: Plan) -> list[PlannedOffcut]:
    """The offcuts of a plan's layout, by size."""
    return offcuts_on(plan.layout.sheets, _metal_of(plan))


def offcuts_on(sheets: Iterable[SheetLayout], metal: MetalKey) -> list[PlannedOffcut]:
    """The offcuts of these sheets, by size and outline."""
    pieces = Counter((*size_of(kept.outline), laid_square(kept.outline)) for used in sheets for kept in used.offcuts)
    return [
        PlannedOffcut(length, width, area, count, metal, outline)
        for (length, width, area, outline), count in pieces.items()
    ]


def _metal_of(plan: Plan) -> MetalKey:
    return metal_key(plan.sheet.material.alloy, plan.sheet.material.thickness)


def sheets_to_log(planned: Sequence[PlannedSheet], lines: Sequence[StockMove]) -> list[PlannedSheet]:
    """The planned sheets that no line tells of yet."""
    left = []
    for size in planned:
        same = (line for line in lines if _is_of(line, size))
        if (count := size.count - sum(line.count for line in same)) > 0:
            left.append(replace(size, count=count))
    return left


def offcuts_to_return(planned: Sequence[PlannedOffcut], lines: Sequence[StockMove]) -> list[PlannedOffcut]:
    """The planned offcuts that no line tells of yet. A line of another size stands for one of those left, in turn.

    A line of another metal stands for none of them: it was kept before the plan changed.
    """
    metals = {piece.metal for piece in planned}
    lines = [line for line in lines if metal_key(line.item.alloy, line.item.thickness) in metals]
    logged = sum(line.count for line in lines)
    same = [min(piece.count, sum(line.count for line in lines if _same_piece(piece, line))) for piece in planned]
    others = logged - sum(same)
    left = []
    for piece, known in zip(planned, same, strict=True):
        stood_for = min(piece.count - known, others)
        others -= stood_for
        if count := piece.count - known - stood_for:
            left.append(replace(piece, count=count))
    return left


def _is_of(line: StockMove, size: PlannedSheet) -> bool:
    """Whether a line issued sheets that were planned: that piece of the rack as itself, or sheets of that size, of the rack
    too where they came in place of ones to be bought."""
    as_itself = line.of_stock in line.item.labels
    if size.rack is not None:
        return line.item.number == size.rack and as_itself
    return line.item.form == Form.SHEET and not as_itself and _same_piece(size, line)


def _same_piece(piece: PlannedSheet | PlannedOffcut, line: StockMove) -> bool:
    """Of one metal and one size; what was typed in inches or to a tenth of a mm is the size that was planned."""
    of = line.item
    same_metal = piece.metal == metal_key(of.alloy, of.thickness)
    return same_metal and max(abs(piece.length - of.length), abs(piece.width - of.width)) <= SAME


@dataclass(frozen=True)
class MetalBook:
    """The lines of one fabrication beside its plan; passed_on: what other jobs took of its sheets."""

    revision: Revision
    plan: Plan
    sheets: Sequence[StockMove]
    purchases: Sequence[StockMove]
    offcuts: Sequence[StockMove]
    passed_on: Sequence[PassedOn]
    spoiled: Sequence[Spoiled]
    bought: Sequence[BoughtIn]

    @classmethod
    def of(cls, revision: Revision, plan: Plan) -> "MetalBook":
        """Read in one query a kind of line."""
        made = revision.fabrication
        moves = _moves(made)
        return cls(
            revision,
            plan,
            sheets=[line for line in moves if line.kind == MoveKind.ISSUED],
            purchases=[line for line in moves if line.kind == MoveKind.BOUGHT],
            offcuts=[line for line in moves if line.kind == MoveKind.RETURNED and line.item.form != Form.SHARE],
            passed_on=_passed_on(moves),
            spoiled=_signed(made.spoiled_lines.all()),
            bought=_signed(made.boughtin_lines.all()),
        )

    @cached_property
    def parts(self) -> list[Part]:
        return list(self.revision.parts.all())

    @property
    def has_lines(self) -> bool:
        return any((self.sheets, self.offcuts, self.spoiled, self.bought))

    @cached_property
    def sheets_planned(self) -> list[PlannedSheet]:
        return planned_sheets(self.plan)

    @cached_property
    def offcuts_planned(self) -> list[PlannedOffcut]:
        return planned_offcuts(self.plan)

    @cached_property
    def sheets_left(self) -> list[PlannedSheet]:
        return sheets_to_log(self.sheets_planned, standing(self.sheets))

    @cached_property
    def offcuts_left(self) -> list[PlannedOffcut]:
        return offcuts_to_return(self.offcuts_planned, standing(self.offcuts))

    @property
    def bought_in_money(self) -> Decimal:
        return sum((line.price * line.count for line in standing(self.bought)), Decimal(0))

    @cached_property
    def planned(self) -> Balance:
        """As the takeoff has it."""
        takeoff = self.plan.takeoff
        money, areal = self.revision.metal_cost, self._areal_mass
        return strike_balance(
            issued=Metal(takeoff.sheet_mass, takeoff.sheet_area, money),
            blank_mass=takeoff.sheet_mass - takeoff.offcut_mass - takeoff.scrap_mass,
            returned=Metal(takeoff.offcut_mass, takeoff.offcut_mass / areal * 1e6),
            spoiled_mass=takeoff.spoiled_mass,
            areal_mass=areal,
            bought=self._metal((size, size.count) for size in self.sheets_planned if size.rack is None),
        )

    def _metal(self, sheets: Iterable[tuple[PlannedSheet, int]]) -> Metal:
        """So many whole sheets of each size."""
        kept = list(sheets)
        area = sum(size.length * size.width * count for size, count in kept)
        money = sum((size.price * count for size, count in kept), Decimal(0))
        return Metal(self._areal_mass * area * 1e-6, area, money)

    @cached_property
    def actual(self) -> Balance | None:
        """As it was logged, the blanks as the plan has them; None while no sheet is logged."""
        sheets = standing(self.sheets)
        if not sheets:
            return None
        return strike_balance(
            issued=_moved(sheets) - _moved(standing([share.line for share in self.passed_on])),
            blank_mass=self.plan.takeoff.net_mass,
            returned=_moved(standing(self.offcuts)),
            spoiled_mass=sum(line.mass * line.count for line in standing(self.spoiled)),
            areal_mass=self._areal_mass,
            bought=_moved(self._bought),
            in_hand_mass=mass_in_hand(self.revision, self.plan, sheets),
        )

    @property
    def _bought(self) -> list[StockMove]:
        """The lines by which metal was bought for it; bought ahead, on the rack, by which it was issued in place of a size
        that was to be bought."""
        own = {line.item_id for line in self.purchases}
        ahead = [line for line in standing(self.sheets) if line.was_to_be_bought and line.item_id not in own]
        return [*standing(self.purchases), *ahead]

    @property
    def rows(self) -> Iterator[BalanceRow]:
        return balance_rows(self.planned, self.actual)

    @property
    def _areal_mass(self) -> float:
        """[kg/m2]"""
        return self.plan.sheet.material.mass(1e6)


def _moves(made: Fabrication) -> list[StockMove]:
    """The lines of the ledger with what they moved, who wrote them and who corrected them."""
    return list(made.stock_moves.filter(corrects=None).select_related("item__from_job__job", "by", "corrected_by__by"))


def _passed_on(moves: Sequence[StockMove]) -> list[PassedOn]:
    """The shares that went to other jobs, by the lines that issued them there."""
    lines = [line for line in moves if line.kind == MoveKind.RETURNED and line.item.form == Form.SHARE]
    if not lines:
        return []
    issues = StockMove.objects.filter(
        item__in=[line.item_id for line in lines], kind=MoveKind.ISSUED, corrects=None
    ).values_list("item", "fabrication__job__number")
    to = dict(issues)
    return [PassedOn(line, to[line.item_id]) for line in lines]


def _moved(lines: Sequence[StockMove]) -> Metal:
    """The metal that these lines brought or took."""
    return Metal(
        sum(line.item.mass * line.count for line in lines),
        sum(line.item.area * line.count for line in lines),
        sum((line.item.price * line.count for line in lines), Decimal(0)),
    )


def _signed(lines: QuerySet[Line]) -> list[Line]:
    """The lines with who wrote them and who struck them out."""
    return list(lines.select_related("by", "struck_by"))


def standing(lines: Sequence[Any]) -> list[Any]:
    """The lines that are not struck out."""
    return [line for line in lines if line.struck_at is None]


def proposed(book: MetalBook, kind: str, display: Display) -> dict[str, Any]:
    """What a new line begins with: the next of what was planned, as it would be typed in this shop."""
    if kind == "sheets" and (sheets := book.sheets_left or book.sheets_planned):
        size = sheets[0]
        given = {"label": size.label, "count": size.count, "price": size.price}
        return given | {side: exactly(getattr(size, side), display) for side in SIDES}
    square = [piece for piece in book.offcuts_left if piece.outline is None]  # another's sides don't tell what it is
    if kind == "offcuts" and square:
        piece = square[0]
        # Nobody reads an offcut finer than a tenth of a mm.
        return {"count": piece.count} | {side: exactly(round(getattr(piece, side), 1), display) for side in SIDES}
    return {}
