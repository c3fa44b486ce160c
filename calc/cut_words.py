"""The cut list in words: where to mark, where the guide goes, what to mind."""

from collections.abc import Collection, Mapping, Sequence

from calc.alike import corner_numbers
from calc.blank import Blank
from calc.cut_list import Caution, CutInHand, Mark, PieceInHand
from calc.laid import SheetLayout
from calc.shared import is_guests
from calc.units import Display


def mark_words(mark: Mark, display: Display) -> str:
    """A mark on the edge of the piece in hand, its figure without the unit.

    >>> mark_words(Mark("a", "b", 412.2, (0.0, 0.0)), Display()), mark_words(Mark("d", "c", 0.1, (0.0, 0.0)), Display())
    ('412 from a towards b', 'at d')
    """
    if display.rounded(mark.distance) == 0:
        return f"at {mark.corner}"
    return f"{display.figure(mark.distance)} from {mark.corner} towards {mark.towards}"


def marks_words(marks: Sequence[Mark], display: Display) -> str:
    """Both ends of a line."""
    return " and ".join(mark_words(mark, display) for mark in marks)


def marks_in_short(marks: Sequence[Mark], display: Display) -> str:
    """Both ends of a line for a table: how far along which edge, the corner it is taped from first.

    >>> marks_in_short((Mark("a", "b", 412.2, (0.0, 0.0)), Mark("d", "c", 0.1, (0.0, 0.0))), Display())
    '412 a–b, at d'
    """
    return ", ".join(
        f"{display.figure(mark.distance)} {mark.corner}–{mark.towards}"
        if display.rounded(mark.distance)
        else f"at {mark.corner}"
        for mark in marks
    )


def guide_words(cut: CutInHand, display: Display) -> str:
    """How far off the middle of the cut the guide lies, and on the side of what."""
    on = f"on {half_words(cut.halves[cut.guide.side])}" if cut.guide.marks else "packed up"
    return f"{display.figure(cut.guide.offset)} off, {on}"


def half_words(piece: PieceInHand) -> str:
    """What a half is called in a sentence: "piece 2", "A.1", "the offcut"."""
    return piece.name if piece.number is not None or piece.copies else f"the {piece.name}"


def leaves_words(cut: CutInHand) -> str:
    """Which pieces a cut leaves to be cut again, and an offcut; a dash where it leaves none."""
    return ", ".join(half.name for half in cut.halves if half.number is not None or half.is_offcut) or "–"


def of_sheet(text: str) -> str:
    """How the texts begin of all steps that cut the same sheet as this one; empty where it is no straight cut of a sheet.

    >>> of_sheet("Sheet 2, cut 11: mark 4 from d towards c"), of_sheet("Cut A to its outline, 2 off.")
    ('Sheet 2, cut ', '')
    """
    sheet, cut, _ = text.partition(", cut ")
    return sheet + cut if cut and sheet.startswith("Sheet ") else ""


TO_BE_FILED = 1.0  # [mm] of waste beside the kerf: a saw hardly bites on less (common practice)


def caution_words(caution: Caution, display: Display) -> str:
    """What to mind at a cut.

    >>> caution_words(Caution("sliver", 3.0, "waste"), Display()), caution_words(Caution("tip", 9.26, "A.1"), Display())
    ('strip of waste only 3 mm wide', 'sharp tip of 9.3° on A.1')
    """
    if caution.kind == "sliver":
        return (
            f"strip of waste only {display.fine(round(caution.size, 1))} wide"
            if caution.size >= TO_BE_FILED
            else "hardly any waste beside the kerf: file it to the line if the saw has nothing to bite on"
        )
    if caution.kind == "tip":
        return f"sharp tip of {caution.size:.1f}° on {caution.on}"
    if caution.kind == "narrow":
        return f"{caution.on} is only {display.length(caution.size)} across: hard to clamp"
    return f"no room for the guide, {display.length(caution.size)} off: pack up beside it"


def cautions_words(cut: CutInHand, display: Display) -> str:
    """All that is to be minded at a cut, as one sentence; empty where there is nothing."""
    words = "; ".join(caution_words(caution, display) for caution in cut.cautions)
    return f"{words[:1].upper()}{words[1:]}." if words else ""


def cut_words(cut: CutInHand, display: Display) -> str:
    """A cut as a hand makes it; the unit of all its figures stands at its length."""
    frees = f"; frees {', '.join(cut.frees)}" if cut.frees else ""
    text = (
        f"mark {marks_words(cut.marks, display)}; guide {guide_words(cut, display)}; "
        f"{display.length(cut.length)} edge to edge{frees}."
    )
    cautions = cautions_words(cut, display)
    return f"{text} {cautions}" if cautions else text


class EdgeNames:
    """How the shop reads the edges of the blanks on a sheet."""

    def __init__(self, used: SheetLayout, blanks: Sequence[Blank]) -> None:
        # a sheet cut for an earlier plan may hold blanks that this one has not
        drawn = corner_numbers(blanks)
        self._corners: dict[str, Sequence[int]] = {}
        for placed in used.placed:
            own = tuple(range(1, len(placed.outline) + 1))
            is_drawn = placed.fits and len(drawn.get(placed.blank, ())) == len(own)
            self._corners[f"{placed.blank}.{placed.copy}"] = drawn[placed.blank] if is_drawn else own
        turned = {blank.name for blank in blanks if blank.mirrored}
        self._mirrored = {f"{placed.blank}.{placed.copy}" for placed in used.fitting if placed.blank in turned}
        self._no_use = used.no_use

    def named(self, finished: str) -> str:
        """'A.1:2' as the shop reads it: blank copy and the corners the edge runs between; of a guest's, whose corners are
        numbered on its own job's papers, the copy."""
        copy = finished.rpartition(":")[0]
        if is_guests(copy):
            return copy
        return _edge_name(finished, self._corners, self._mirrored, self._no_use)


def _edge_name(
    finished: str, corners: Mapping[str, Sequence[int]], mirrored: Collection[str], no_use: Collection[str]
) -> str:
    """'A.1:2' as the shop reads it: blank copy and the corners the edge runs between."""
    copy, _, edge = finished.rpartition(":")
    index, numbers = int(edge), corners[copy]
    one, other = numbers[index], numbers[(index + 1) % len(numbers)]
    ends = f"{other}–{one}" if copy in mirrored else f"{one}–{other}"
    return f"{copy} (no use) {ends}" if copy in no_use else f"{copy} {ends}"
