"""The columns of the review's CSV: hours and kilograms to three places, money to two, days as ISO 8601 has them."""

from decimal import Decimal
from typing import Any

from django.utils import timezone

from fabjobs.looking_back.csv_file import Cell
from fabjobs.looking_back.plots import NONE
from fabjobs.looking_back.review import JobLine, WorkLine

PARTS = ("bought", "issued", "in_blanks", "returned", "spoiled", "scrap")


def work_head(currency: str) -> list[str]:
    return [
        *("kind", "expected hours", "actual hours"),
        *(f"expected {currency}", f"actual {currency}"),
    ]


def work_row(line: WorkLine) -> list[Cell]:
    return [line.name, *_work(line)]


def job_head(currency: str) -> list[str]:
    return [
        *("job", "title", "customer", "finished", "expected hours", "actual hours"),
        *(f"expected labour {currency}", f"actual labour {currency}"),
        *(f"expected total {currency}", f"actual total {currency}"),
        *(f"{part.replace('_', ' ')} {side} kg" for part in PARTS for side in ("planned", "actual")),
        *("metal", "spoiled work hours", f"spoiled work {currency}"),
    ]


def job_row(line: JobLine) -> list[Cell]:
    said = "" if line.has_sheets else "no sheet logged: not in the totals"
    sides = (line.planned, line.actual)
    return [
        *(line.number, line.title, line.customer),
        timezone.localdate(line.finished).isoformat() if line.finished else "",
        *_work(line.work),
        *(line.money.expected, line.money.actual),
        *(_mass(getattr(side, part, None)) for part in PARTS for side in sides),
        "does not add up" if line.actual and line.actual.discrepancy else said,
        *(round(line.spoiled.minutes / 60, 3), line.spoiled.money),
    ]


def _mass(metal: Any) -> Cell:
    return NONE if metal is None else round(metal.mass, 3)


def _work(line: WorkLine) -> list[Cell]:
    hours = [round(side.minutes / 60, 3) for side in (line.expected, line.actual)]
    money: list[Decimal] = [line.expected.money, line.actual.money]
    return [*hours, *money]
