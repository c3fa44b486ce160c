"""What a layout is: sheets, the blanks on them, the cuts in order, the pieces worth keeping.

Frame of a sheet: a corner at (0, 0), its length along x, its width along y; lengths [mm], angles [degrees].
"""

from dataclasses import dataclass, field

from calc.records import Outline, Point


@dataclass(frozen=True, slots=True)
class Placed:
    """One copy of a blank on its sheet.

    A point (x, y) of the blank's own outline lies on the sheet at ``at + R(angle) (x, y)``, or, where the blank is
    `turned_over` (about its own x axis, before it is turned), at ``at + R(angle) (x, -y)``; R turns anticlockwise,
    `angle` [degrees], 0 to 360.

    `outline` [mm] runs anticlockwise on the sheet and begins with the blank's own corner 0. Turned over, the order of
    the corners is the reverse: corner k of the blank is ``outline[-k]``.
    """

    blank: str
    copy: int
    outline: Outline
    turned_over: bool
    at: Point
    angle: float


@dataclass(frozen=True, slots=True)
class Cut:
    """A straight cut from edge to edge of the piece it is made in; the line is the middle of the kerf.

    `frees` names the copies ("A.1") that this cut leaves with every edge done. `finishes` names edges done by this cut:
    "A.1:2" is the edge of copy 1 of blank A from corner 2 to corner 3 of the blank's own outline. `parts` are the copies
    still in the pieces to the left and to the right of the cut, looking from `start` to `end`. `length` [mm].
    """

    start: Point = field(metadata={"key": "from"})
    end: Point = field(metadata={"key": "to"})
    frees: tuple[str, ...]
    finishes: tuple[str, ...]
    parts: tuple[tuple[str, ...], tuple[str, ...]]
    length: float


@dataclass(frozen=True, slots=True)
class Offcut:
    """A left piece worth keeping, convex, anticlockwise on the sheet [mm]."""

    outline: Outline


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One sheet: the blanks on it, the cuts in the order made, and the pieces worth keeping."""

    stock: str
    length: float
    width: float
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]


@dataclass(frozen=True, slots=True)
class Layout:
    """Sheets in the order they were opened, the copies that fit no stock, and the blanks' share of the sheets' area."""

    sheets: tuple[SheetLayout, ...]
    unplaced: tuple[str, ...]
    share_used: float
