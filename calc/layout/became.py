"""What became of a sheet that was cut into when the job was planned again: what stays, what went, what is new and where."""

from dataclasses import dataclass

from calc.laid import SheetLayout
from calc.layout.left import cut_up
from calc.records import Outline


@dataclass(frozen=True, slots=True)
class NewOnPiece:
    """New copies on one of the pieces that were left, and its outline on the sheet [mm]."""

    piece: Outline
    copies: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Became:
    """The copies ("A.1") of a sheet that was cut into, by what became of them, and the new ones laid out beside them.

    stays: with a use, where they lie. idle: still there, cut or marked out, with no use. gone: they were marked out and not
    cut, and their metal is used again. spoiled: cut, and not to be taken for good ones.
    """

    stays: tuple[str, ...]
    idle: tuple[str, ...]
    gone: tuple[str, ...]
    new: tuple[NewOnPiece, ...]
    spoiled: tuple[str, ...] = ()


def what_became(before: SheetLayout, now: SheetLayout, kerf: float) -> Became:
    """A frozen sheet as it was handed to a plan, and as that plan has it; kerf [mm]."""
    lay, lies = ({placed.name for placed in used.placed} for used in (before, now))
    return Became(
        stays=tuple(placed.name for placed in now.fitting if placed.name in lay),
        idle=tuple(placed.name for placed in now.placed if not placed.fits and placed.spoiled is None),
        gone=tuple(placed.name for placed in before.placed if placed.name not in lies),
        new=_new_on_pieces(now, lies - lay, kerf),
        spoiled=tuple(placed.name for placed in now.spoiled),
    )


def _new_on_pieces(now: SheetLayout, new: set[str], kerf: float) -> tuple[NewOnPiece, ...]:
    """The pieces that the kept cuts leave, with the new copies on each: all of their cuts are new."""
    whole = cut_up(now, kerf) if new else None
    if whole is None:
        return ()
    found = []
    for piece in whole.below():
        is_left = piece.cut is None or now.cuts[piece.cut].key is None
        came_of_kept = piece.parent is None or (
            piece.parent.cut is not None and now.cuts[piece.parent.cut].key is not None
        )
        copies = tuple(name for name in piece.copies if name in new)
        if is_left and came_of_kept and copies:
            found.append(NewOnPiece(piece.outline, copies))
    return tuple(found)
