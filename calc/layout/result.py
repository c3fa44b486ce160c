"""What is to be laid out; what comes of it is in `calc.laid`."""

from dataclasses import dataclass

from calc.laid import Cut, Layout, Offcut, Placed, SheetLayout
from calc.records import Outline
from calc.sheet import Stock

__all__ = ["Cut", "Item", "Layout", "Offcut", "Placed", "SheetLayout", "Stock"]


@dataclass(frozen=True, slots=True)
class Item:
    """Blanks to be laid out: `count` copies of one outline [mm], anticlockwise in the blank's own frame."""

    name: str
    outline: Outline
    count: int = 1
