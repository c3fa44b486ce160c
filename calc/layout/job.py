"""A job's blanks, in its quantity, laid out on its stock; sheets that were cut into stay as they lie."""

from collections import Counter
from collections.abc import Mapping, Sequence, Set
from dataclasses import replace

from calc.blank import Blank
from calc.laid import Layout, Placed, SheetLayout
from calc.layout import lay_out
from calc.layout.beside import LeftMetal
from calc.layout.numbering import Numbers
from calc.layout.polygons import area
from calc.layout.result import Item, Piece
from calc.outlines import flipped, is_alike
from calc.records import Outline
from calc.shared import Elsewhere
from calc.sheet import JobSheet
from calc.stock import Stock

BY_SAW = "straight-saw"


def lay_out_job(blanks: Sequence[Blank], sheet: JobSheet) -> Layout:
    """The layout of a sheet's blanks, count x quantity of each, by its stock and its way of cutting.

    Frozen sheets come first. A copy on one of them counts where it is still the blank of that name; where the blank has
    changed since, it is laid out anew, first on the pieces left of the frozen sheets, then on new ones. A frozen sheet on
    which nothing new is laid out is as it lies, its copies of an earlier shape marked as ones that fit no more; on a piece
    that is laid out anew, what was marked out and not cut is gone. New copies are numbered after those on frozen sheets.
    Blanks that are cut along their outlines are laid out on new sheets only. Guests' blanks are laid out like the job's own;
    copies that lie on another job's sheets, and are still good, are not laid out.

    A spoiled copy stays where it lies, and is none that counts: one in its place is looked for first on what is left of the
    sheets on which copies were spoiled, before anything else is laid out there.
    """
    items = items_of(blanks, sheet)
    good = still_good(items, sheet)
    kept = Counter(placed.blank for placed in good)
    wanted = {item.name: item.count - kept[item.name] for item in items}
    lost = _spoiled_of(items, sheet)
    numbers = Numbers.of(sheet, lost)
    lying = [_with_fits(used, {placed.name for placed in good}) for used in sheet.frozen]
    if any(wanted.values()) and sheet.making.cutting == BY_SAW:
        making = sheet.making
        stays = {one.name for one in good} | {one.name for used in sheet.frozen for one in used.spoiled}
        left = LeftMetal.of(lying, stays, kerf=making.kerf, least=making.least_offcut)
        first = left.pieces_on([number for number, used in enumerate(lying) if used.spoiled])
        again = {name: min(len(copies), wanted[name]) for name, copies in lost.items()}
        on_pieces: list[SheetLayout] = []
        for pieces, of in ((first, again), (left.pieces, wanted)):
            taken = {used.stock for used in on_pieces}
            there = [piece for piece in pieces if piece.label not in taken]
            if there and any(of.values()):
                laid = _lay_out(items, of, there, sheet)
                on_pieces += [numbers.renumbered(used) for used in laid.sheets]
                for placed in (placed for used in laid.sheets for placed in used.placed):
                    wanted[placed.blank] -= 1
                    numbers.given[placed.blank] += 1
        lying = left.with_new(on_pieces)
    laid = _lay_out(items, wanted, _stock_left(sheet), sheet)
    sheets = (*lying, *(numbers.renumbered(used) for used in laid.sheets))
    return Layout(sheets, numbers.renamed(laid.unplaced), _share_used(sheets))


def items_of(blanks: Sequence[Blank], sheet: JobSheet) -> list[Item]:
    """What lies on the job's own sheets: its blanks, but for the copies that lie elsewhere, and those of its guests."""
    away = elsewhere_of(blanks, sheet)
    own = [
        Item(blank.name, blank.cut_outline, blank.count * sheet.quantity - len(away.get(blank.name, ())))
        for blank in blanks
    ]
    return own + [Item(guest.called(part), part.outline, part.count) for guest in sheet.guests for part in guest.parts]


def elsewhere_of(blanks: Sequence[Blank], sheet: JobSheet) -> dict[str, list[str]]:
    """By blank, the copies ("A.1") on other jobs' sheets that are what is wanted of it, no more of them than are wanted."""
    found: dict[str, list[str]] = {}
    wanted = {blank.name: blank for blank in blanks}
    for of in (of for entry in sheet.elsewhere for of in entry.copies):
        blank = wanted.get(of.blank)
        if blank is not None and is_alike(of.outline, blank.cut_outline):
            here = found.setdefault(blank.name, [])
            here += [f"{of.blank}.{copy}" for copy in of.copies][: blank.count * sheet.quantity - len(here)]
    return found


def fitting_elsewhere(blanks: Sequence[Blank], sheet: JobSheet) -> tuple[Elsewhere, ...]:
    """What lies on other jobs' sheets, less the copies that are not what is wanted any more."""
    good = {name for names in elsewhere_of(blanks, sheet).values() for name in names}
    return tuple(kept for entry in sheet.elsewhere if (kept := entry.only(good)).copies)


def sawn_off(blanks: Sequence[Blank], sheet: JobSheet, layout: Layout) -> Counter[str]:
    """How many copies of each blank straight cuts leave to be finished by hand, those on other jobs' sheets among them."""
    here = Counter(placed.blank for used in layout.sheets if used.cuts for placed in used.fitting)
    return here + Counter({name: len(copies) for name, copies in elsewhere_of(blanks, sheet).items()})


def _lay_out(
    items: Sequence[Item], wanted: Mapping[str, int], stock: Sequence[Stock | Piece], sheet: JobSheet
) -> Layout:
    """So many copies of each, numbered from 1, on this stock."""
    making, material = sheet.making, sheet.material
    return lay_out(
        [replace(item, count=wanted.get(item.name, 0)) for item in items],
        stock,
        kerf=making.kerf,
        edge_trim=making.edge_trim,
        may_turn_over=not material.finished_face,
        grain=material.grain,
        least_offcut=making.least_offcut,
        effort=making.effort,
        cutting=making.cutting,
    )


def _spoiled_of(items: Sequence[Item], sheet: JobSheet) -> dict[str, list[int]]:
    """By what is wanted, the numbers of the copies in place of spoiled ones of it on frozen sheets."""
    outlines = {item.name: item.outline for item in items}
    found: dict[str, list[int]] = {}
    for placed in (placed for used in sheet.frozen for placed in used.placed):
        if placed.spoiled is not None and placed.blank in outlines and is_copy_of(placed, outlines[placed.blank]):
            found.setdefault(placed.blank, []).append(placed.spoiled.by)
    return found


def still_good(items: Sequence[Item], sheet: JobSheet) -> list[Placed]:
    """The copies on frozen sheets that are what is now wanted of their name, no more of them than are wanted.

    Where more lie there than are wanted, those that are cut already come first.
    """
    wanted = {item.name: item.count for item in items}
    outlines = {item.name: item.outline for item in items}
    cut = {name for used in sheet.frozen for cut in used.cuts if cut.made for name in cut.frees}
    lying = (placed for used in sheet.frozen for placed in used.placed if placed.spoiled is None)
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
    return not placed.fits and placed.spoiled is None and _is_of_now(placed, blanks)


def _is_of_now(placed: Placed, blanks: Sequence[Blank]) -> bool:
    """Whether a copy, good or spoiled, is of the shape that its blank has now."""
    return any(is_copy_of(placed, blank.cut_outline) for blank in blanks if blank.name == placed.blank)


def spoiled_now(blanks: Sequence[Blank], layout: Layout) -> list[Placed]:
    """The spoiled copies in whose place there is another: less those of an earlier shape, of which none is made any more."""
    return [placed for used in layout.sheets for placed in used.spoiled if _is_of_now(placed, blanks)]


def in_place_of(blanks: Sequence[Blank], layout: Layout) -> dict[str, str]:
    """By copy ("A.2"), the spoiled one that it is in place of ("A.1")."""
    return {
        f"{placed.blank}.{placed.spoiled.by}": placed.name
        for placed in spoiled_now(blanks, layout)
        if placed.spoiled is not None
    }


def is_of(name: str, outline: Outline, blanks: Sequence[Blank]) -> bool:
    """Whether an outline is that of the blank of this name."""
    return any(blank.name == name and is_alike(outline, blank.cut_outline) for blank in blanks)


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
