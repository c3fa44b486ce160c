"""What is to be laid out; what comes of it is in `calc.laid`."""

from dataclasses import dataclass

from calc.laid import Cut, Layout, Offcut, Placed, SheetLayout
from calc.records import Outline
from calc.stock import Stock

__all__ = ["Cut", "Item", "Layout", "Offcut", "Piece", "Placed", "SheetLayout", "Stock"]


@dataclass(frozen=True, slots=True)
class Item:
    """Blanks to be laid out: `count` copies of one outline [mm], anticlockwise in the blank's own frame.

    `holes` are openings in it, large enough for another blank to be cut from when blanks are cut along their outlines.
    """

    name: str
    outline: Outline
    count: int = 1
    holes: tuple[Outline, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece left of a sheet that was cut into: convex, anticlockwise, in that sheet's frame [mm].

    `length` and `width` are the whole sheet's. `trimmed` lists the edges of the outline that keep the edge trim: those on
    the sheet's own edge; a sawn edge needs none.
    """

    label: str
    length: float
    width: float
    outline: Outline
    trimmed: tuple[int, ...] = ()
