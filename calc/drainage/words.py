"""How amounts, flows and times of draining are told."""

from calc.duty import FLOW_UNITS, FLOWS
from calc.units import Display

LEAST = 0.1  # of a flow that is told in figures, in either unit
LITTLE = 0.05  # [litres] which to a tenth of one would be none
LONG = 120  # [min] from there on hours are told


def litres(volume: float) -> str:
    """Litres as they are told.

    >>> litres(7.26), litres(310.4), litres(0.004)
    ('7.3 litres', '310 litres', '4 ml')
    """
    if 0 < volume < LITTLE:
        return amount(volume)
    return f"{volume:.1f} litres" if volume < 100 else f"{volume:.0f} litres"


def amount(volume: float) -> str:
    """A little [litres], in litres or millilitres.

    >>> amount(1.24), amount(0.0163)
    ('1.2 litres', '16 ml')
    """
    return litres(volume) if volume >= 0.95 else f"{volume * 1000:.0f} ml" if volume >= 0.001 else "under 1 ml"


def flow(per_minute: float, shown: Display) -> str:
    """A flow [l/min] that was worked out, as the shop says it.

    >>> flow(21.7, Display()), flow(4.26, Display()), flow(0.04, Display()), flow(75.7, Display("in"))
    ('22 l/min', '4.3 l/min', 'under 0.1 l/min', '20 US gal/min')
    """
    name = FLOWS[shown.unit]
    size = per_minute / FLOW_UNITS[name]
    if 0 < size < LEAST:
        return f"under {LEAST:g} {name}"
    return f"{size:.0f} {name}" if size >= 10 else f"{size:.1f} {name}"


def pumped(per_minute: float, shown: Display) -> str:
    """A flow [l/min] that somebody gave, with every figure of it that matters.

    >>> pumped(10_000.0, Display()), pumped(30.2832943, Display()), pumped(30.2832943, Display("in"))
    ('10000 l/min', '30.28 l/min', '8 US gal/min')
    """
    name = FLOWS[shown.unit]
    return f"{float(f'{per_minute / FLOW_UNITS[name]:.4g}'):g} {name}"


def lasting(seconds: float) -> str:
    """How long something takes [s]: to the second while that matters.

    >>> lasting(23.06), lasting(250.0), lasting(3900.0), lasting(26400.0), lasting(0.2)
    ('23 s', '4 min 10 s', '65 min', '7 h 20 min', 'under 1 s')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s" if whole else "under 1 s"
    if whole < 600:
        return f"{whole // 60} min {whole % 60:02} s"
    minutes = round(seconds / 60)
    return f"{minutes} min" if minutes < LONG else f"{minutes // 60} h {minutes % 60:02} min"
