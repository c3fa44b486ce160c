"""The plots of a review, each beside its table. Only what calc.drawing made is marked safe to show."""

from collections.abc import Sequence
from decimal import Decimal

from django.utils.safestring import SafeString, mark_safe

from calc.balance import Balance
from calc.drawing import Pair, plot_pairs
from fabjobs.looking_back.review import MoneyLine, WorkLine
from fabjobs.metal import balance_rows
from fabjobs.templatetags.signed import fixed
from fabjobs.wording import hours

NONE = "–"


def plot_hours(kinds: Sequence[WorkLine]) -> SafeString:
    """Hours by kind of work."""
    pairs = [
        Pair(
            line.name,
            line.expected.minutes,
            line.actual.minutes,
            hours(line.expected.minutes),
            hours(line.actual.minutes),
        )
        for line in kinds
    ]
    return mark_safe(plot_pairs(pairs, title="Hours by kind of work, expected and actual"))


def plot_money(lines: Sequence[MoneyLine], currency: str) -> SafeString:
    """Money by what it went for."""
    pairs = [
        Pair(line.name, _bar(line.expected), _bar(line.actual), f"{line.expected:.2f}", f"{line.actual:.2f}")
        if line.is_known
        else Pair(line.name, None, None, NONE, NONE)
        for line in lines
    ]
    return mark_safe(plot_pairs(pairs, title=f"Money in {currency}, expected and actual"))


def plot_metal(planned: Balance, actual: Balance | None) -> SafeString:
    """Where the metal went, by mass."""
    pairs = [
        Pair(
            row.name,
            _bar(row.planned.mass) if row.planned else None,
            _bar(row.actual.mass) if row.actual else None,
            f"{fixed(row.planned.mass)} kg" if row.planned else NONE,
            f"{fixed(row.actual.mass)} kg" if row.actual else NONE,
        )
        for row in balance_rows(planned, actual)
    ]
    return mark_safe(plot_pairs(pairs, title="Metal by mass, planned and actual"))


def _bar(value: float | Decimal) -> float | None:
    """No bar where there is less than nothing: the figure says so."""
    return float(value) if value >= 0 else None
