"""Sheets that were cut into, as a job sheet hands them back: an earlier plan's layout, read and checked for sense."""

import re
from collections.abc import Mapping

import shapely

from calc.laid import Cut, Offcut, Placed, SheetLayout, Spoiled
from calc.reading import Field
from calc.records import Outline
from calc.shared import is_guests

FARTHEST = 20_000.0  # [mm] no sheet is longer
MOST_SHEETS, MOST_PLACED, MOST_CUTS, MOST_CORNERS = 2_000, 2_000, 20_000, 200
LONGEST_NAME = 100
LONGEST_KEY = 20_000  # it may name every blank of a sheet
ON_SHEET = 1e-3  # [mm] a blank may stand over the sheet by no more than rounding
LEAST_AREA = 1e-3  # [mm2]
COPY = re.compile(r"[^\s:]+\.[0-9]{1,7}")
EDGE = re.compile(r"[^\s:]+\.[0-9]{1,7}:[0-9]{1,3}")
KEY = re.compile(r"cut:\S+")
WORK = re.compile(r"mark|cut|hand-cut|drill|bore|dress|fold:\S+")  # on a spoiled copy; of folds each bend by its name
MOST_WORK = 200  # kinds of it on one copy


def read_frozen(item: Field, sizes: Mapping[str, tuple[float, float]]) -> tuple[SheetLayout, ...] | None:
    """The frozen sheets; None where one is at fault. sizes: length and width [mm] of each sheet in the stock by label."""
    sheets = item.list_of(read_sheet_layout, 0, MOST_SHEETS, "sheets")
    seen: set[str] = set()
    instead: set[str] = set()
    for index, used in enumerate(sheets or ()):
        size = sizes.get(used.stock)
        if sizes and size is None:
            item.at(index).at("stock").wrong(f"the label of a sheet in the stock ({', '.join(sorted(sizes))})")
        elif size is not None and (used.length, used.width) != size:
            item.at(index).fault(f"must be {size[0]:g} x {size[1]:g} mm as sheet {used.stock} is")
        for place, placed in enumerate(used.placed):
            name = f"{placed.blank}.{placed.copy}"
            if name in seen:
                item.at(index).at("placed").at(place).fault(f"{name} is on a frozen sheet already")
            if placed.spoiled is not None and is_guests(placed.blank):
                where = item.at(index).at("placed").at(place).at("spoiled")
                where.fault(f"must not be there: {name} is another job's blank, of which that job's sheet tells")
            seen.add(name)
            if placed.spoiled is not None:
                other = f"{placed.blank}.{placed.spoiled.by}"
                if other in instead:
                    where = item.at(index).at("placed").at(place).at("spoiled").at("by")
                    where.fault(f"{other} is in place of another spoiled copy already")
                instead.add(other)
    return sheets


def read_sheet_layout(item: Field) -> SheetLayout | None:
    """A sheet as an earlier plan laid it out; None where it is at fault."""
    keys = ("stock", "length", "width", "placed", "cuts", "offcuts")
    if not item.mapping((*keys, "outline"), required=keys):
        return None
    stock = item.at("stock").text(LONGEST_NAME)
    length, width = (item.at(key).number(1.0, FARTHEST, "mm") for key in ("length", "width"))
    placed = item.at("placed").list_of(_read_placed, 0, MOST_PLACED, "placed blanks")
    cuts = item.at("cuts").list_of(_read_cut, 0, MOST_CUTS, "cuts")
    offcuts = item.at("offcuts").list_of(_read_offcut, 0, MOST_CUTS, "offcuts")
    if stock is None or length is None or width is None or placed is None or cuts is None or offcuts is None:
        return None
    edge = None
    if item.value.get("outline") is not None:
        edge = item.at("outline").list_of(lambda point: point.point(FARTHEST), 3, MOST_CORNERS, "corners")
        if edge is None:
            return None
    room = (shapely.Polygon(edge) if edge else shapely.box(0, 0, length, width)).buffer(ON_SHEET)
    for index, one in enumerate(placed):
        outline = shapely.Polygon(one.outline)
        if not outline.is_valid or outline.area < LEAST_AREA or not outline.within(room):
            item.at("placed").at(index).at("outline").fault("must be a blank's outline that lies on the sheet")
            return None
    return SheetLayout(stock, length, width, placed, cuts, offcuts, edge)


def _read_placed(item: Field) -> Placed | None:
    keys = ("blank", "copy", "outline", "turned_over", "at", "angle")
    if not item.mapping((*keys, "fits", "spoiled"), required=keys):
        return None
    blank, copy = item.at("blank").text(LONGEST_NAME), item.at("copy").whole(1, 1_000_000)
    outline, turned_over = _read_outline(item.at("outline")), item.at("turned_over").flag()
    at, angle = item.at("at").point(2 * FARTHEST), item.at("angle").number(-360.0, 360.0, "degrees")
    fits = item.at("fits", True).flag()  # plans of before there was such a key had none to say False of
    is_spoiled = item.value.get("spoiled") is not None
    spoiled = _read_spoiled(item.at("spoiled"), copy) if is_spoiled else None
    if not blank or copy is None or outline is None or turned_over is None or at is None or angle is None:
        return None
    if fits is None or (is_spoiled and spoiled is None):
        return None
    return Placed(blank, copy, outline, turned_over, at, angle, fits, spoiled)


def _read_spoiled(item: Field, copy: int | None) -> Spoiled | None:
    if not item.mapping(("again", "by"), required=("again", "by")):
        return None
    work = item.at("again").list_of(_read_work, 0, MOST_WORK, "kinds of work")
    number = item.at("by").whole(1, 1_000_000)
    if number is not None and number == copy:
        item.at("by").wrong("the number of another copy than the one that is spoiled")
        return None
    return None if work is None or number is None else Spoiled(work, number)


def _read_work(item: Field) -> str | None:
    return _read_name(item, WORK, 'work such as "mark", "dress" or "fold:" and the name of a bend')


def _read_cut(item: Field) -> Cut | None:
    keys = ("from", "to", "frees", "finishes", "parts", "length")
    if not item.mapping((*keys, "made", "key"), required=keys):
        return None
    start, end = item.at("from").point(FARTHEST), item.at("to").point(FARTHEST)
    frees, finishes = _read_copies(item.at("frees")), _read_edges(item.at("finishes"))
    parts = item.at("parts").list_of(_read_copies, 2, 2, "sides")
    length, made = item.at("length").number(0.0, 2 * FARTHEST, "mm"), item.at("made", False).flag()
    if start is None or end is None or frees is None or finishes is None or parts is None or length is None:
        return None
    keyed = item.value.get("key") is not None
    key = _read_name(item.at("key"), KEY, 'a key such as "cut:A.1:2"', LONGEST_KEY) if keyed else None
    if made is None or (keyed and key is None):
        return None
    return Cut(start, end, frees, finishes, (parts[0], parts[1]), length, made, key)


def _read_offcut(item: Field) -> Offcut | None:
    if not item.mapping(("outline", "away"), required=("outline",)):
        return None
    outline, away = _read_outline(item.at("outline")), item.at("away", False).flag()
    return None if outline is None or away is None else Offcut(outline, away)


def _read_outline(item: Field) -> Outline | None:
    return item.list_of(lambda point: point.point(FARTHEST), 3, MOST_CORNERS, "corners")


def _read_copies(item: Field) -> tuple[str, ...] | None:
    return item.list_of(lambda name: _read_name(name, COPY, 'a copy such as "A.1"'), 0, MOST_CUTS, "copies")


def _read_edges(item: Field) -> tuple[str, ...] | None:
    return item.list_of(lambda name: _read_name(name, EDGE, 'an edge of a copy such as "A.1:2"'), 0, MOST_CUTS, "edges")


def _read_name(item: Field, form: re.Pattern[str], what: str, longest: int = LONGEST_NAME) -> str | None:
    text = item.text(longest)
    if text is not None and not form.fullmatch(text):
        item.wrong(what)
        return None
    return text
