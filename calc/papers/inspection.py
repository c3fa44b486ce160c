"""The inspection table: what is measured on the tray as built, and how far it may be off."""

from dataclasses import dataclass

from calc import Plan
from calc.fitup import wanted
from calc.reading import number_as_typed
from calc.tables.lookup import NotListedError
from calc.tables.tolerances import linear_iso13920
from calc.units import Display


@dataclass(frozen=True, slots=True)
class InspectionLine:
    """A row of the inspection table."""

    what: str
    nominal: str
    tolerance: str


def inspection_lines(plan: Plan, display: Display) -> list[InspectionLine]:
    """The sizes that prove a tray or pan, each with its tolerance by ISO 13920 in the sheet's class."""
    grade = plan.sheet.making.tolerance_class
    return [
        InspectionLine(line.what, display.length(line.nominal), tolerance_words(line.nominal, grade, display))
        for line in wanted(plan)
    ]


def tolerance_words(size: float, grade: str, display: Display) -> str:
    """How far a size may be out, either way; it must agree where it is below the table."""
    try:
        either_way = linear_iso13920(size, grade)
    except NotListedError:
        return "agree"
    return f"± {number_as_typed(either_way)} mm" if display.unit == "mm" else f"± {either_way / 25.4:.3f} in"
