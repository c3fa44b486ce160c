"""New blanks laid out beside what is cut: on the pieces left of the sheets that were cut into."""

from collections import defaultdict
from collections.abc import Container, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, replace

from calc.laid import Cut, SheetLayout, cut_key, numbered
from calc.layout.checking import check_sheet
from calc.layout.left import Remnant, cut_up, edges_along, free_remnants, piece_of
from calc.layout.polygons import ON_CUT
from calc.layout.result import Item, Piece
from calc.records import Outline, Point

Laid = Mapping[Remnant, SheetLayout]  # what is laid out on pieces, each in the frame of its sheet


@dataclass(frozen=True, slots=True)
class LeftMetal:
    """The pieces free on sheets that were cut into, each as stock under a label that says which it is."""

    sheets: Sequence[SheetLayout]
    remnants: Mapping[str, tuple[int, Remnant]]  # by label: the sheet's place, and the piece
    kerf: float

    @classmethod
    def of(cls, sheets: Sequence[SheetLayout], good: Set[str], *, kerf: float, least: float) -> "LeftMetal":
        """good: the copies ("A.1") that stay; least: the side of the square [mm] that a piece worth using holds."""
        remnants = {}
        for number, used in enumerate(sheets):
            whole = cut_up(used, kerf)
            away = [_middle(kept.outline) for kept in used.offcuts if kept.away]
            for place, remnant in enumerate(free_remnants(whole, good, least) if whole else ()):
                if not any(remnant.holds((middle,)) for middle in away):
                    remnants[f"{number}/{place}"] = (number, remnant)
        return cls(sheets, remnants, kerf)

    @property
    def pieces(self) -> list[Piece]:
        """As stock to lay out on."""
        return self.pieces_on(range(len(self.sheets)))

    def pieces_on(self, places: Container[int]) -> list[Piece]:
        """Those of the sheets at these places."""
        found = self.remnants.items()
        return [piece_of(piece, self.sheets[number], label) for label, (number, piece) in found if number in places]

    def with_new(self, laid: Sequence[SheetLayout]) -> list[SheetLayout]:
        """The sheets with what was laid out on their pieces; one on which nothing was is as it lies."""
        new: dict[int, dict[Remnant, SheetLayout]] = defaultdict(dict)
        for piece in laid:
            number, remnant = self.remnants[piece.stock]
            new[number][remnant] = piece
        return [
            _relaid(used, new[number], self.kerf) if number in new else used for number, used in enumerate(self.sheets)
        ]


def _middle(outline: Outline) -> Point:
    """A point well inside a convex outline."""
    return sum(x for x, _ in outline) / len(outline), sum(y for _, y in outline) / len(outline)


def _relaid(used: SheetLayout, laid: Laid, kerf: float) -> SheetLayout:
    """A sheet with new blanks on some of its pieces: what was marked out there and not cut is gone, with its cuts."""
    gone = {name for remnant in laid for name in remnant.copies}
    stayed = tuple(one for one in used.placed if one.name not in gone)
    whole = next(iter(laid))
    whole = next((piece for piece in whole.above() if piece.parent is None), whole)
    sheet = replace(
        used,
        placed=(*stayed, *(one for new in laid.values() for one in new.placed)),
        cuts=(*_kept_cuts(used, whole, laid, kerf), *(cut for new in laid.values() for cut in new.cuts)),
        offcuts=(
            *(kept for kept in used.offcuts if not any(remnant.holds(kept.outline) for remnant in laid)),
            *(kept for new in laid.values() for kept in new.offcuts),
        ),
    )
    check_sheet(sheet, sheet.metal, kerf, [Item(one.blank, one.outline) for one in sheet.placed], by_saw=True)
    return sheet


def _kept_cuts(used: SheetLayout, whole: Remnant, laid: Laid, kerf: float) -> list[Cut]:
    """The cuts that were not laid over, those that stand first; each can still be made when its turn comes.

    They keep their keys, by which what was logged on them is found, and say what they part and finish now.
    """
    keys = numbered([cut_key(cut) for cut in used.cuts])
    names = _names_now(whole, laid)
    order = sorted((not piece.stands, piece.cut, piece) for piece in _still_cut(whole, laid) if piece.cut is not None)
    return [
        _as_it_is_now(replace(used.cuts[number], key=keys[number]), piece, names, laid, kerf)
        for _, number, piece in order
    ]


def _still_cut(whole: Remnant, laid: Laid) -> Iterable[Remnant]:
    waiting = [whole]
    while waiting:
        piece = waiting.pop()
        if piece not in laid:
            yield piece
            waiting += piece.sides


def _names_now(whole: Remnant, laid: Laid) -> dict[Remnant, tuple[str, ...]]:
    """The copies on each piece, new ones among them."""
    gone = {name for remnant in laid for name in remnant.copies}
    names = {piece: [name for name in piece.copies if name not in gone] for piece in whole.below()}
    for remnant, new in laid.items():
        for piece in (remnant, *remnant.above()):
            names[piece] += [placed.name for placed in new.placed]
    return {piece: tuple(inside) for piece, inside in names.items()}


def _as_it_is_now(cut: Cut, piece: Remnant, names: Mapping[Remnant, tuple[str, ...]], laid: Laid, kerf: float) -> Cut:
    """A kept cut with the copies of now: a new one may lie along its kerf, or be all of the piece that it leaves."""
    left, right = piece.sides
    here = {*names[left], *names[right]}
    new = [placed for side in laid.values() for placed in side.placed if placed.name in here]
    finishes = [edge for edge in cut.finishes if edge.rpartition(":")[0] in here]
    frees = [name for name in cut.frees if name in here]
    frees += [name for side in (left, right) if side in laid and not laid[side].cuts for name in names[side]]
    return replace(
        cut,
        frees=tuple(frees),
        finishes=(*finishes, *(edge for placed in new for edge in edges_along(placed, cut, kerf, ON_CUT))),
        parts=(names[left], names[right]),
    )
