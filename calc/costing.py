"""What the job costs: metal, supplies and labour, each line a quantity at a rate, in decimal money."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from calc.laid import Layout
from calc.sharing import shares_of
from calc.sheet import JobSheet, Rates
from calc.steps import Step
from calc.welding import WeldPlan, filler_masses

CENT = Decimal("0.01")
THOUSANDTH = Decimal("0.001")


@dataclass(frozen=True, slots=True)
class CostLine:
    """A line of the cost, every figure a decimal text; kind: "metal", "supplies" or "labour"."""

    kind: Literal["metal", "supplies", "labour"]
    what: str
    quantity: str
    unit: str
    rate: str
    amount: str


@dataclass(frozen=True, slots=True)
class Cost:
    """The lines and their sum, with the currency they are in."""

    lines: tuple[CostLine, ...]
    total: str
    currency: str


def cost_job(sheet: JobSheet, layout: Layout, welding: WeldPlan | None, steps: Sequence[Step]) -> Cost:
    """The cost of a job by the sheet's rates: sheets whole but for what others take of them, filler, gas, fittings, and hours
    by kind of work."""
    lines = (*_metal(sheet, layout), *_supplies(sheet, welding), *_labour(sheet.rates, steps))
    total = sum((Decimal(line.amount) for line in lines), Decimal(0))
    return Cost(lines, str(total.quantize(CENT)), sheet.rates.currency)


def cost_line(
    kind: Literal["metal", "supplies", "labour"], what: str, quantity: Decimal, unit: str, rate: str
) -> CostLine:
    """One line; the amount is rounded half up to the hundredth.

    >>> cost_line("supplies", "Filler", Decimal("0.125"), "kg", "24.00").amount
    '3.00'
    """
    amount = (quantity * Decimal(rate)).quantize(CENT, ROUND_HALF_UP)
    return CostLine(kind, what, str(quantity), unit, rate, str(amount))


def _metal(sheet: JobSheet, layout: Layout) -> Iterator[CostLine]:
    prices = {size.label: size for size in sheet.stock}
    display = sheet.making.display
    across = display.figure if display.unit == "mm" else display.length  # one unit at the end, or each with its own
    for label, count in Counter(used.stock for used in layout.sheets).items():
        size = prices[label]
        sides = f"{display.figure(size.length)} x {across(size.width)}"
        over_all = " over all" if size.outline else ""
        what = f"Sheet {label}, {sides}{over_all} x {sheet.material.thickness:g} mm {sheet.material.alloy}"
        yield cost_line("metal", what, Decimal(count), "sheet", size.price)
    for share in shares_of(sheet, layout):
        what = f"Of sheet {share.sheet}, taken by job {share.job}: {_percent(share.area, layout.sheets[share.sheet - 1].area)}"
        yield cost_line("metal", what, Decimal(-1), "share", share.price)
    for entry in sheet.elsewhere:
        what = f"Share of {entry.place}, {display.area(entry.area)}"
        yield cost_line("metal", what, Decimal(1), "share", entry.price)


def _percent(part: float, whole: float) -> str:
    return f"{part / whole * 100:.0f} %"


def _supplies(sheet: JobSheet, welding: WeldPlan | None) -> Iterator[CostLine]:
    """Filler by its name, gas, fittings; nothing of them where nothing is welded."""
    if welding is None:
        return
    for name, mass in filler_masses(welding.welds, sheet.quantity).items():
        filler = Decimal(mass).quantize(THOUSANDTH, ROUND_HALF_UP)
        yield cost_line("supplies", f"Filler {name}", filler, "kg", sheet.rates.filler)
    gas_name = welding.welds[0].setting.gas
    gas = Decimal(welding.gas_litres).quantize(Decimal(1), ROUND_HALF_UP)
    yield cost_line("supplies", gas_name[0].upper() + gas_name[1:], gas, "l", sheet.rates.gas)
    if sheet.shape.outlet is not None:
        yield cost_line("supplies", "Outlet fitting", Decimal(sheet.quantity), "piece", sheet.rates.outlet_fitting)


def _labour(rates: Rates, steps: Sequence[Step]) -> Iterator[CostLine]:
    minutes: dict[str, float] = {}
    for step in steps:
        minutes[step.kind] = minutes.get(step.kind, 0.0) + step.minutes
    for kind, total in minutes.items():
        hours = (Decimal(total) / 60).quantize(CENT, ROUND_HALF_UP)
        yield cost_line("labour", f"Labour: {kind}", hours, "h", rates.labour_by_kind.get(kind, rates.labour))
