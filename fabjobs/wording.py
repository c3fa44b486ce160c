"""Figures and metals in words, for pages, messages and rows alike: templates have them by `templatetags.figures`."""

from collections.abc import Sequence

from calc.advice import MONEY, Advice
from calc.units import Display

LEVEL = 1e-6  # a slope under this shows as level: 1 mm in a kilometre


def metal(alloy: str, thickness: float) -> str:
    """A metal as papers name it; a thickness is told in mm whatever the shop reads.

    >>> metal("5052-H32", 1.5)
    '5052-H32, 1.5 mm'
    """
    return f"{alloy}, {thickness:g} mm"


def run(mm: float, display: Display) -> str:
    """A length of weld or cut, which is bought and timed by the metre or the foot.

    >>> run(12345.0, Display()), run(3048.0, Display("in"))
    ('12.3 m', '10.0 ft')
    """
    return f"{mm / 304.8:.1f} ft" if display.unit == "in" else f"{mm / 1000:.1f} m"


def one_in(fall: float) -> str:
    """A slope as the trade says it.

    >>> one_in(0.02), one_in(0.13), one_in(0.0)
    ('1 in 50', '1 in 7.7', 'level')
    """
    if fall < LEVEL:
        return "level"
    run_of_one = 1 / fall
    return f"1 in {run_of_one:.1f}" if run_of_one < 20 else f"1 in {run_of_one:.0f}"


def kilograms(mass: float) -> str:
    """
    >>> kilograms(2.345), kilograms(123.4)
    ('2.35 kg', '123 kg')
    """
    return f"{mass:.2f} kg" if mass < 100 else f"{mass:.0f} kg"


def percent(share: float) -> str:
    """
    >>> percent(0.873)
    '87 %'
    """
    return f"{share * 100:.0f} %"


def hours(minutes: float) -> str:
    """
    >>> hours(8.4), hours(135)
    ('8 min', '2 h 15 min')
    """
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02} min" if whole >= 60 else f"{whole} min"


def spent(seconds: int | None) -> str:
    """Time that was spent [s]; what was started and stopped at once is not shown as nothing.

    >>> spent(4800), spent(20), spent(None)
    ('1 h 20 min', 'under 1 min', '0 min')
    """
    return "under 1 min" if seconds and seconds < 30 else hours((seconds or 0) / 60)


def seconds(took: float) -> str:
    """A while that is waited for [s].

    >>> seconds(0.4), seconds(12.3), seconds(119.6)
    ('1 s', '12 s', '2 min 00 s')
    """
    whole = max(1, round(took))
    return f"{whole // 60} min {whole % 60:02} s" if whole >= 60 else f"{whole} s"


def of_metal(warnings: Sequence[Advice]) -> list[Advice]:
    """What may spoil metal or hurt someone; what is only money comes apart from it, and quieter."""
    return [warning for warning in warnings if warning.code not in MONEY]


def of_money(warnings: Sequence[Advice]) -> list[Advice]:
    return [warning for warning in warnings if warning.code in MONEY]
