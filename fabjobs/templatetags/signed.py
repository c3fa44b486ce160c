"""Figures of tables that set one column against another: the unit stands in the head, a difference has its sign."""

from decimal import Decimal

from django import template

from calc.reading import number_as_typed
from calc.units import Display

register = template.Library()
SQUARE_FOOT = 304.8**2  # [mm2]
MINUS = "\N{MINUS SIGN}"


@register.filter
def area_unit(display: Display) -> str:
    return "ft²" if display.unit == "in" else "m²"


@register.filter
def area_figure(mm2: float, display: Display) -> float:
    """An area [mm2] in the unit that `area_unit` names.

    >>> area_figure(2_500_000.0, Display()), round(area_figure(92903.04, Display("in")), 9)
    (2.5, 1.0)
    """
    return mm2 / (SQUARE_FOOT if display.unit == "in" else 1e6)


@register.filter
def signed(value: float | Decimal, places: int = 2) -> str:
    """A difference, with its sign; none where it rounds to nothing.

    >>> signed(1.256), signed(Decimal("-0.50")), signed(-0.001), signed(-3, 1)
    ('+1.26', '−0.50', '0.00', '−3.0')
    """
    text = f"{abs(value):.{places}f}"
    if not text.strip("0."):
        return text
    return f"{MINUS if value < 0 else '+'}{text}"


@register.filter
def fixed(value: float | Decimal, places: int = 2) -> str:
    """A figure to so many places, a minus as `signed` has it.

    >>> fixed(-1.346), fixed(Decimal("96"), 2), fixed(-0.0001)
    ('−1.35', '96.00', '0.00')
    """
    text = signed(value, places)
    return text.removeprefix("+")


@register.filter
def minus(figure: object) -> str:
    """A figure that is text already, a minus before it as `signed` has it.

    >>> minus("-20.84"), minus(Decimal("-1")), minus("96.00")
    ('−20.84', '−1', '96.00')
    """
    text = str(figure)
    return f"{MINUS}{text[1:]}" if text.startswith("-") else text


@register.filter
def off(mm: float, display: Display) -> str:
    """How far a length is off [mm], with its sign, finer than any rule is read; its unit stands beside it once for all.

    >>> off(-0.5, Display()), off(1.27, Display("in")), off(0.01, Display())
    ('−0.5', '+0.050', '0.0')
    """
    return signed(mm / 25.4, 3) if display.unit == "in" else signed(mm, 1)


@register.filter
def off_by(mm: float, display: Display) -> str:
    """How far a length may be off [mm], as a tolerance has it.

    >>> off_by(2.0, Display()), off_by(2.0, Display("in"))
    ('2', '0.079')
    """
    return f"{mm / 25.4:.3f}" if display.unit == "in" else number_as_typed(mm)


@register.filter
def signed_hours(minutes: float) -> str:
    """
    >>> signed_hours(-75), signed_hours(8), signed_hours(0.2)
    ('−1 h 15 min', '+8 min', '0 min')
    """
    whole = round(abs(minutes))
    text = f"{whole // 60} h {whole % 60:02} min" if whole >= 60 else f"{whole} min"
    return text if not whole else f"{MINUS if minutes < 0 else '+'}{text}"
