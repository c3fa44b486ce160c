"""A job's blanks, in its quantity, laid out on its stock; sheets that were cut into stay as they lie."""

import re
from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import replace

from calc.blank import Blank
from calc.laid import Cut, Layout, Placed, SheetLayout
from calc.layout import lay_out
from calc.layout.beside import LeftMetal
from calc.layout.polygons import area
from calc.layout.result import Item, Piece
from calc.outlines import flipped, is_alike
from calc.sheet import JobSheet
from calc.stock import Stock

BY_SAW = "straight-saw"
NAMED_IN_KEY = re.compile(r"[^\s:+|]+\.[0-9]+")  # the copies in the key of a cut


def lay_out_job(blanks: Sequence[Blank], sheet: JobSheet) -> Layout:
    """The layout of a sheet's blanks, count x quantity of each, by its stock and its way of cutting.

    Frozen sheets come first. A copy on one of them counts where it is still the blank of that name; where the blank has
    changed since, it is laid out anew, first on the pieces left of the frozen sheets, then on new ones. A frozen sheet on
    which nothing new is laid out is as it lies, its copies of an earlier shape marked as ones that fit no more; on a piece
    that is laid out anew, what was marked out and not cut is gone. New copies are numbered after those on frozen sheets.
    Blanks that are cut along their outlines are laid out on new sheets only.
    """
    good = still_good(blanks, sheet)
    kept = Counter(placed.blank for placed in good)
    wanted = {blank.name: blank.count * sheet.quantity - kept[blank.name] for blank in blanks}
    after = _numbers_taken(sheet.frozen)
    lying = [_with_fits(used, {placed.name for placed in good}) for used in sheet.frozen]
    if any(wanted.values()) and sheet.making.cutting == BY_SAW:
        making = sheet.making
        left = LeftMetal.of(lying, {one.name for one in good}, kerf=making.kerf, least=making.least_offcut)
        if left.remnants:
            laid = _lay_out(blanks, wanted, left.pieces, sheet)
            lying = left.with_new([_renumbered(used, after) for used in laid.sheets])
            for placed in (placed for used in laid.sheets for placed in used.placed):
                wanted[placed.blank] -= 1
                after[placed.blank] = after.get(placed.blank, 0) + 1
    laid = _lay_out(blanks, wanted, _stock_left(sheet), sheet)
    sheets = (*lying, *(_renumbered(used, after) for used in laid.sheets))
    return Layout(sheets, _renamed(laid.unplaced, after), _share_used(sheets))


def _lay_out(
    blanks: Sequence[Blank], wanted: Mapping[str, int], stock: Sequence[Stock | Piece], sheet: JobSheet
) -> Layout:
    """So many copies of each blank, numbered from 1, on this stock."""
    making, material = sheet.making, sheet.material
    return lay_out(
        [Item(blank.name, blank.cut_outline, wanted[blank.name]) for blank in blanks],
        stock,
        kerf=making.kerf,
        edge_trim=making.edge_trim,
        may_turn_over=not material.finished_face,
        grain=material.grain,
        least_offcut=making.least_offcut,
        effort=making.effort,
        cutting=making.cutting,
    )


def _numbers_taken(frozen: Sequence[SheetLayout]) -> dict[str, int]:
    """The highest copy of each blank on frozen sheets, or that a cut of theirs still goes by."""
    after: dict[str, int] = {}
    names = {placed.name for used in frozen for placed in used.placed}
    names |= {name for used in frozen for cut in used.cuts for name in NAMED_IN_KEY.findall(cut.key or "")}
    for name in names:
        blank, _, copy = name.rpartition(".")
        after[blank] = max(after.get(blank, 0), int(copy))
    return after


def still_good(blanks: Sequence[Blank], sheet: JobSheet) -> list[Placed]:
    """The copies on frozen sheets that are what the plan now wants of their name, no more of them than it wants.

    Where more lie there than are wanted, those that are cut already come first.
    """
    wanted = {blank.name: blank.count * sheet.quantity for blank in blanks}
    outlines = {blank.name: blank.cut_outline for blank in blanks}
    cut = {name for used in sheet.frozen for cut in used.cuts if cut.made for name in cut.frees}
    lying = (placed for used in sheet.frozen for placed in used.placed)
    good: list[Placed] = []
    for placed in sorted(lying, key=lambda one: one.name not in cut):
        if wanted.get(placed.blank, 0) > 0 and is_copy_of(placed, outlines[placed.blank]):
            wanted[placed.blank] -= 1
            good.append(placed)
    return good


def is_copy_of(placed: Placed, outline: Sequence[tuple[float, float]]) -> bool:
    """Whether a placed copy is cut to this outline."""
    as_it_lies = flipped(placed.outline) if placed.turned_over else placed.outline
    return is_alike(as_it_lies, tuple(outline))


def is_spare(placed: Placed, blanks: Sequence[Blank]) -> bool:
    """Whether a copy that the plan has no use for is one too many, and not of an earlier shape."""
    outlines = (blank.cut_outline for blank in blanks if blank.name == placed.blank)
    return not placed.fits and any(is_copy_of(placed, outline) for outline in outlines)


def _with_fits(used: SheetLayout, good: Set[str]) -> SheetLayout:
    """The sheet as it lies; of its copies only the good ones fit."""
    placed = tuple(replace(one, fits=one.name in good) for one in used.placed)
    return replace(used, placed=placed)


def _stock_left(sheet: JobSheet) -> list[Stock]:
    used = Counter(frozen.stock for frozen in sheet.frozen)
    return [
        size if size.count is None else replace(size, count=max(0, size.count - used[size.label]))
        for size in sheet.stock
    ]


def _share_used(sheets: Sequence[SheetLayout]) -> float:
    opened = sum(used.area for used in sheets)
    return sum(abs(area(placed.outline)) for used in sheets for placed in used.fitting) / opened if opened else 0.0


def _renumbered(used: SheetLayout, after: Mapping[str, int]) -> SheetLayout:
    """The sheet with every copy's number moved on past those in `after`, wherever it is named."""
    placed = tuple(replace(one, copy=one.copy + after.get(one.blank, 0)) for one in used.placed)
    return replace(used, placed=placed, cuts=tuple(_renumbered_cut(cut, after) for cut in used.cuts))


def _renumbered_cut(cut: Cut, after: Mapping[str, int]) -> Cut:
    left, right = cut.parts
    return replace(
        cut,
        frees=_renamed(cut.frees, after),
        finishes=_renamed(cut.finishes, after),
        parts=(_renamed(left, after), _renamed(right, after)),
    )


def _renamed(names: Sequence[str], after: Mapping[str, int]) -> tuple[str, ...]:
    """Copies ("A.1") or their edges ("A.1:2") with the copy's number moved on."""
    moved = []
    for name in names:
        blank, _, rest = name.rpartition(".")
        copy, colon, edge = rest.partition(":")
        moved.append(f"{blank}.{int(copy) + after.get(blank, 0)}{colon}{edge}")
    return tuple(moved)
