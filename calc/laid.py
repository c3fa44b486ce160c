"""What a layout is: sheets, the blanks on them, the cuts in order, the pieces worth keeping; and one read back from a sheet.

Frame of a sheet: a corner at (0, 0), its length along x, its width along y; lengths [mm], angles [degrees].
"""

import re
from dataclasses import dataclass, field

from calc.reading import Field
from calc.records import Outline, Point

FARTHEST = 20_000.0  # [mm] no sheet is longer
MOST_PLACED, MOST_CUTS, MOST_CORNERS = 2_000, 20_000, 200
LONGEST_NAME = 100
COPY = re.compile(r"[^\s:]+\.[0-9]{1,7}")
EDGE = re.compile(r"[^\s:]+\.[0-9]{1,7}:[0-9]{1,3}")


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


def read_sheet_layout(item: Field) -> SheetLayout | None:
    """A sheet as an earlier plan laid it out; None where it is at fault."""
    keys = ("stock", "length", "width", "placed", "cuts", "offcuts")
    if not item.mapping(keys, required=keys):
        return None
    stock = item.at("stock").text(LONGEST_NAME)
    length, width = (item.at(key).number(1.0, FARTHEST, "mm") for key in ("length", "width"))
    placed = item.at("placed").list_of(_read_placed, 0, MOST_PLACED, "placed blanks")
    cuts = item.at("cuts").list_of(_read_cut, 0, MOST_CUTS, "cuts")
    offcuts = item.at("offcuts").list_of(_read_offcut, 0, MOST_CUTS, "offcuts")
    if stock is None or length is None or width is None or placed is None or cuts is None or offcuts is None:
        return None
    return SheetLayout(stock, length, width, placed, cuts, offcuts)


def _read_placed(item: Field) -> Placed | None:
    keys = ("blank", "copy", "outline", "turned_over", "at", "angle")
    if not item.mapping(keys, required=keys):
        return None
    blank, copy = item.at("blank").text(LONGEST_NAME), item.at("copy").whole(1, 1_000_000)
    outline, turned_over = _read_outline(item.at("outline")), item.at("turned_over").flag()
    at, angle = item.at("at").point(2 * FARTHEST), item.at("angle").number(-360.0, 360.0, "degrees")
    if not blank or copy is None or outline is None or turned_over is None or at is None or angle is None:
        return None
    return Placed(blank, copy, outline, turned_over, at, angle)


def _read_cut(item: Field) -> Cut | None:
    keys = ("from", "to", "frees", "finishes", "parts", "length")
    if not item.mapping(keys, required=keys):
        return None
    start, end = item.at("from").point(FARTHEST), item.at("to").point(FARTHEST)
    frees, finishes = _read_copies(item.at("frees")), _read_edges(item.at("finishes"))
    parts = item.at("parts").list_of(_read_copies, 2, 2, "sides")
    length = item.at("length").number(0.0, 2 * FARTHEST, "mm")
    if start is None or end is None or frees is None or finishes is None or parts is None or length is None:
        return None
    return Cut(start, end, frees, finishes, (parts[0], parts[1]), length)


def _read_offcut(item: Field) -> Offcut | None:
    if not item.mapping(("outline",), required=("outline",)):
        return None
    outline = _read_outline(item.at("outline"))
    return None if outline is None else Offcut(outline)


def _read_outline(item: Field) -> Outline | None:
    return item.list_of(lambda point: point.point(FARTHEST), 3, MOST_CORNERS, "corners")


def _read_copies(item: Field) -> tuple[str, ...] | None:
    return item.list_of(lambda name: _read_name(name, COPY, 'a copy such as "A.1"'), 0, MOST_CUTS, "copies")


def _read_edges(item: Field) -> tuple[str, ...] | None:
    return item.list_of(lambda name: _read_name(name, EDGE, 'an edge of a copy such as "A.1:2"'), 0, MOST_CUTS, "edges")


def _read_name(item: Field, form: re.Pattern[str], what: str) -> str | None:
    text = item.text(LONGEST_NAME)
    if text is not None and not form.fullmatch(text):
        item.wrong(what)
        return None
    return text
