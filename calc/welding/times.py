"""Standard minutes of a step of work: those of welding longer where it travels slower."""

from calc.tables.minutes import STANDARD, WELD_TRAVEL

BY_TRAVEL = frozenset({"weld", "install"})  # kinds of work whose minutes go by how fast is welded


def standard_minutes(kind: str, driver: float, travel: float = WELD_TRAVEL) -> float:
    """The minutes of a step of this kind with so much of its driver to do, set-up included.

    travel [mm/min] of the weld that the step makes, if it makes one.

    >>> standard_minutes("weld", 1.0), standard_minutes("weld", 1.0, 200.0), standard_minutes("fit", 4, 200.0)
    (9.0, 16.0, 4.5)
    """
    return STANDARD[kind].minutes(driver * (WELD_TRAVEL / travel if kind in BY_TRAVEL else 1.0))
