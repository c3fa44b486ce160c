"""Straight-cut layout: blanks on sheets, so that edge-to-edge cuts free every one of them."""

from collections.abc import Sequence
from dataclasses import replace

from calc.layout.checking import BadLayoutError, check_sheet
from calc.layout.cutting import CutLine, cuts_in_order
from calc.layout.effort import TRIES
from calc.layout.facing import mostly_face_up
from calc.layout.filling import Filled
from calc.layout.frames import Making
from calc.layout.polygons import area, in_degrees, sheet_from_blank
from calc.layout.regions import Seat
from calc.layout.result import Cut, Item, Layout, Offcut, Piece, Placed, SheetLayout, Stock
from calc.layout.sheets import Shop
from calc.layout.sweeping import unswept
from calc.records import Outline

__all__ = ["BadLayoutError", "Cut", "Item", "Layout", "Offcut", "Piece", "Placed", "SheetLayout", "Stock", "lay_out"]


def lay_out(
    items: Sequence[Item],
    stock: Sequence[Stock | Piece],
    *,
    kerf: float,
    edge_trim: float,
    may_turn_over: bool,
    grain: bool,
    least_offcut: float = 150.0,
    effort: str = "normal",
    cutting: str = "straight-saw",
    seed: int = 0,
) -> Layout:
    """Lay blanks out on sheets so that straight cuts from edge to edge free them all.

    Parameters: `kerf`, the width of a cut, and `edge_trim`, what is kept clear of blanks along the sheet's edges [mm]
    (where there is a trim it is never less than the kerf, so that its cut has room); `may_turn_over` False where a face
    is finished; `grain` True: blanks lie at 0 or 180 degrees to the sheet's length; `least_offcut`, the side of the
    square that a left piece must hold to be kept [mm]; `effort` "quick", "normal" or "long", a count of tries;
    `cutting` "contour": blanks lie by their true outlines, in each other's hollows and `holes` too, with no cuts, and
    never looser than the straight-cut layout; `seed`, which of many equally likely searches is made.

    Returns the layout, lengths in mm. An outline that is not convex is laid out, and freed, as its convex hull. A corner
    so dull that no sheet gives the saw room beyond it (the waste would be thinner than the kerf) is left standing: the
    edge that makes it is finished by no cut. Copies are numbered from 1 for each item in the order they are placed; those
    that no stock can hold are in `unplaced`, numbered last. The same input gives the same layout to the last digit.

    `stock` may hold pieces left of sheets that were cut into: they are used first, and their blanks lie in the frame of
    the sheet that the piece is of. Every sheet is checked before it is handed on (`calc.layout.checking`).

    Raises ValueError for an unknown effort or way of cutting, an outline without area, or a piece that is not convex.

    >>> layout = lay_out(
    ...     [Item("A", ((0, 0), (500, 0), (500, 400), (0, 400)), 3)],
    ...     [Stock("S1", 1000, 500, 1)], kerf=2, edge_trim=0, may_turn_over=True, grain=False, effort="quick")
    >>> layout.unplaced, layout.sheets[0].placed[0].copy
    (('A.3',), 1)
    """
    _check(items, effort, cutting)
    making = Making(kerf, edge_trim, may_turn_over, grain, least_offcut, effort, seed, cutting == "straight-saw")
    shop = Shop(items, stock, making)
    copies = [0] * len(items)
    outlines = {item.name: item.outline for item in items}
    sheets = []
    opened = 0.0
    with unswept():
        fillings = shop.fill()
    for filled in fillings:
        sheet = _sheet_layout(filled, items, copies, kerf)
        opened += filled.frame.stock.area
        if (
            may_turn_over and filled.frame.stock.is_rectangle
        ):  # a sheet may be seen in a mirror; another piece is itself
            sheet = mostly_face_up(sheet, outlines)
        sheet = sheet if making.by_saw else replace(sheet, cuts=())
        check_sheet(sheet, filled.frame.stock.outline, kerf, items, by_saw=making.by_saw)
        sheets.append(sheet)
    used = sum(abs(area(placed.outline)) for sheet in sheets for placed in sheet.placed)
    unplaced = [
        f"{item.name}.{n + 1}" for item, done in zip(items, copies, strict=True) for n in range(done, item.count)
    ]
    return Layout(tuple(sheets), tuple(unplaced), used / opened if opened else 0.0)


def _check(items: Sequence[Item], effort: str, cutting: str) -> None:
    if effort not in TRIES:
        raise ValueError(f"effort must be one of {', '.join(TRIES)} (got {effort!r})")
    if cutting not in ("straight-saw", "contour"):
        raise ValueError(f"cutting must be straight-saw or contour (got {cutting!r})")
    names = [item.name for item in items]
    if len(set(names)) < len(names):
        raise ValueError("every item needs a name of its own")
    for item in items:
        if len(item.outline) < 3 or abs(area(item.outline)) < 1e-9:
            raise ValueError(f"blank {item.name} has no area")


def _sheet_layout(filled: Filled, items: Sequence[Item], copies: list[int], kerf: float) -> SheetLayout:
    """The filled sheet in its own frame, its blanks numbered on from `copies`, which is brought up to date."""
    placed = []
    for spot in filled.spots:
        copies[spot.part.index] += 1
        placed.append(_placed(spot, filled, items[spot.part.index], copies[spot.part.index]))
    stock = filled.frame.stock
    return SheetLayout(
        stock=stock.label,
        length=stock.length,
        width=stock.width,
        placed=tuple(placed),
        cuts=tuple([_cut(line, filled, placed) for line in cuts_in_order(filled.pieces, kerf)]),
        offcuts=tuple([Offcut(_on_sheet(piece, filled)) for piece in filled.offcuts]),
        outline=None if stock.is_rectangle else stock.outline,
    )


def _on_sheet(points: Outline, filled: Filled) -> Outline:
    return tuple([filled.frame.sheet_from_strip(point) for point in points])


def _placed(spot: Seat, filled: Filled, item: Item, copy: int) -> Placed:
    pose = spot.pose
    at = filled.frame.sheet_from_strip(pose.at)
    angle = in_degrees(pose.angle + filled.frame.turn)
    return Placed(item.name, copy, sheet_from_blank(item.outline, pose.over, at, angle), pose.over, at, angle)


def _cut(line: CutLine, filled: Filled, placed: Sequence[Placed]) -> Cut:
    def names(blanks: Sequence[int]) -> tuple[str, ...]:
        return tuple([f"{placed[i].blank}.{placed[i].copy}" for i in blanks])

    finishes = [
        f"{placed[i].blank}.{placed[i].copy}:{edge}"
        for i, hull_edge in line.finishes
        for edge in filled.spots[i].outline_edges(hull_edge)
    ]
    start, end = _on_sheet((line.start, line.end), filled)
    length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    return Cut(start, end, names(line.frees), tuple(finishes), (names(line.left), names(line.right)), length)
