"""Metal that can be had: sizes of sheet, and offcuts of any convex outline."""

from dataclasses import dataclass

import shapely

from calc.reading import Field, number_as_typed
from calc.records import DIGITS, Outline

LARGEST_SHEET = 20_000.0  # [mm]
LEAST_SIDE = 1.0  # [mm]
MOST_PRICE = "999999.99"  # of a sheet
MOST_SIZES = 200
MOST_DRAWN = 24  # pieces of a rack that a plan looks at: more would take longer than they save
MOST_PIECES = 10**9  # that a rack ever numbers
MOST_CORNERS = 40  # of an offcut
LEAST_AREA = 1.0  # [mm2] of an offcut
CONVEX = 1e-6  # share of the area by which an outline may fall short of its hull: rounding


@dataclass(frozen=True, slots=True)
class Stock:
    """A size of sheet that can be had: label, length and width [mm], how many (None: as many as needed), price each.

    outline: that of an offcut which is no rectangle, convex and anticlockwise [mm]. Its least x and its least y are 0, and
    length and width are those of the rectangle round it. rack: the number on the rack of a piece that is there already, and so
    is used before any that is to be bought.
    """

    label: str
    length: float
    width: float
    count: int | None = None
    price: str = "0"
    outline: Outline | None = None
    rack: int | None = None


def read_stock(item: Field) -> tuple[Stock, ...] | None:
    """The stock of a job sheet, every label once; None where it is at fault."""
    sizes = item.list_of(_read_size, 1, MOST_SIZES, "sheet sizes")
    if sizes is None:
        return None
    seen: set[str] = set()
    racked: set[int] = set()
    for index, size in enumerate(sizes):
        if size.rack in racked:
            item.at(index).at("rack").fault(
                f"piece {size.rack} of the rack is in the stock already; give each piece once"
            )
        racked |= {size.rack} if size.rack is not None else set()
        if size.label in seen:
            item.at(index).at("label").fault(f"{size.label!r} is the label of an earlier size; give each its own")
        seen.add(size.label)
    return sizes


def _read_size(item: Field) -> Stock | None:
    keys = ("label", "length", "width", "count", "price", "outline", "rack")
    if not item.has_keys():
        return None
    outlined = item.value.get("outline") is not None
    if not item.mapping(keys, required=() if outlined else ("length", "width")):
        return None
    number = int(item.path.rsplit("[", 1)[1].rstrip("]")) + 1
    label = item.at("label", f"S{number}").text(40)
    outline = read_convex(item.at("outline")) if outlined else None
    sides = _read_sides(item, outline)
    unlimited = item.value.get("count") is None
    count = None if unlimited else item.at("count").whole(0, 100_000)
    price = item.at("price", "0").money(MOST_PRICE)
    racked = item.value.get("rack") is not None
    rack = item.at("rack").whole(1, MOST_PIECES) if racked else None
    if label is not None and not label:
        item.at("label").fault('must not be empty; a short name such as "S1"')
    faulty = (count is None and not unlimited) or (rack is None and racked)
    if faulty or (outlined and outline is None) or not label or sides is None or price is None:
        return None
    return Stock(label, *sides, 1 if unlimited and (outlined or racked) else count, price, outline, rack)


def _read_sides(item: Field, outline: Outline | None) -> tuple[float, float] | None:
    """Length and width as given; of an offcut those of its outline, which they must agree with where they are given."""
    around = None if outline is None else tuple(max(corner[axis] for corner in outline) for axis in (0, 1))
    read = []
    for axis, key in enumerate(("length", "width")):
        side = item.at(key, None if around is None else around[axis])
        if side.value is None and item.value.get("outline") is not None:
            return None  # the outline is at fault, and said to be
        length = side.length(LEAST_SIDE, LARGEST_SHEET)
        if length is not None and around is not None and abs(length - around[axis]) > 10**-DIGITS:
            side.wrong(f"{number_as_typed(around[axis])} mm as its outline measures, or left out")
            length = None
        read.append(length)
    return None if read[0] is None or read[1] is None else (read[0], read[1])


def read_convex(item: Field) -> Outline | None:
    """A convex outline [mm], either way round as typed, anticlockwise and from (0, 0) as read; None where it is at fault."""
    corners = item.list_of(lambda corner: corner.point(LARGEST_SHEET), 3, MOST_CORNERS, "corners")
    if corners is None:
        return None
    rounded = [(round(x, DIGITS), round(y, DIGITS)) for x, y in corners]
    if len(set(rounded)) < len(rounded):
        item.fault("has a corner twice; give each corner once, and do not come back to the first")
        return None
    shape = shapely.Polygon(corners)
    if not shape.is_valid or shape.area < LEAST_AREA:
        item.fault("must be an outline that does not cross itself, with metal inside it")
        return None
    if shape.convex_hull.area - shape.area > CONVEX * shape.area:
        item.fault("must be convex: no corner may point inward; give the largest convex piece that it holds")
        return None
    left, low = min(x for x, _ in corners), min(y for _, y in corners)
    moved = tuple((round(x - left, DIGITS), round(y - low, DIGITS)) for x, y in corners)
    return moved if shape.exterior.is_ccw else moved[::-1]
