"""Standard minutes of a step of work: those of welding longer where the metal or the process travels slower."""

from calc.seams import travel_of
from calc.sheet import JobSheet
from calc.tables.minutes import STANDARD, WELD_TRAVEL

BY_TRAVEL = frozenset({"weld", "install"})  # kinds of work whose minutes go by how fast is welded


def standard_minutes(sheet: JobSheet, kind: str, driver: float) -> float:
    """The minutes of a step of this kind with so much of its driver to do, set-up included."""
    slower = WELD_TRAVEL / travel_of(sheet).speed if kind in BY_TRAVEL else 1.0
    return STANDARD[kind].minutes(driver * slower)
