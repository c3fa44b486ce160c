"""How amounts, flows and times of draining are told."""


def litres(volume: float) -> str:
    """Litres as they are told.

    >>> litres(7.26), litres(310.4)
    ('7.3 litres', '310 litres')
    """
    return f"{volume:.1f} litres" if volume < 100 else f"{volume:.0f} litres"


def amount(volume: float) -> str:
    """A little [litres], in litres or millilitres.

    >>> amount(1.24), amount(0.0163)
    ('1.2 litres', '16 ml')
    """
    return litres(volume) if volume >= 0.95 else f"{volume * 1000:.0f} ml" if volume >= 0.001 else "under 1 ml"


def flow(per_minute: float) -> str:
    """A flow [l/min] as a pump's plate says it.

    >>> flow(21.7), flow(4.26)
    ('22 l/min', '4.3 l/min')
    """
    return f"{per_minute:.0f} l/min" if per_minute >= 10 else f"{per_minute:.1f} l/min"


def lasting(seconds: float) -> str:
    """How long something takes [s]: to the second while that matters.

    >>> lasting(23.06), lasting(250.0), lasting(3900.0)
    ('23 s', '4 min 10 s', '65 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    return f"{whole // 60} min {whole % 60:02} s" if whole < 600 else f"{seconds / 60:.0f} min"
