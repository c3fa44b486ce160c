"""A sheet's cuts as the papers and pages print them: a row a cut on the piece in hand, and a picture of each."""

from dataclasses import dataclass

from calc import Plan
from calc.cut_list import cuts_in_hand
from calc.cut_words import EdgeNames, cautions_words, guide_words, leaves_words, marks_in_short
from calc.drawing.cut_drawing import cut_drawing
from calc.laid import Cut
from calc.layout.left import finished_by
from calc.records import Point
from calc.units import Display


@dataclass(frozen=True, slots=True)
class CutLine:
    """A row of a sheet's cut list: where both ends are marked, where the guide goes, what it leaves, what to mind.

    A cut is made in the piece that has its number: `leaves` tells which others come about by it, and an offcut. It and
    `guide` are empty where the pieces can't be followed: the marks then are places on the sheet, along and square from its
    lower left corner. `is_work` is False for a cut made already or not needed, which `frees` then says.
    """

    number: str
    in_hand: bool
    leaves: str
    marks: str
    guide: str
    length: str
    finishes: str
    frees: str
    cautions: str
    is_work: bool


@dataclass(frozen=True, slots=True)
class CutPicture:
    """The picture of a cut, with what stands over it."""

    title: str
    frees: str
    drawing: str


def cut_lines(plan: Plan, index: int, display: Display) -> list[CutLine]:
    """The cuts of sheet `index` in the order made.

    Edges are named by the corners they run between: of the plan's blanks, as these are numbered on the drawing each is
    marked out from; of others, and of copies that the plan has no use for, by their own.
    """
    used = plan.layout.sheets[index]
    making = plan.sheet.making
    in_hand, edges = cuts_in_hand(used, making), EdgeNames(used, plan.blanks)
    rows = []
    for number, (cut, is_needed, freed) in enumerate(used.cut_list, 1):
        one = in_hand[number - 1] if in_hand else None
        frees = "made already" if cut.made else ", ".join(freed) or "–" if is_needed else "not needed"
        finished = finished_by(used, cut, making.kerf, making.cutting_error)
        rows.append(
            CutLine(
                str(number),
                one is not None,
                leaves_words(one) if one else "",
                marks_in_short(one.marks, display) if one else _places(cut, display),
                guide_words(one, display) if one else "",
                display.length(one.length if one else cut.length),
                ", ".join(dict.fromkeys(edges.named(name) for name in finished)) or "–",
                frees,
                cautions_words(one, display) if one else "",
                is_needed and not cut.made,
            )
        )
    return rows


def cut_pictures(plan: Plan, index: int, display: Display) -> list[CutPicture]:
    """A picture of each cut of sheet `index` that is still work; none where its pieces can't be followed."""
    used = plan.layout.sheets[index]
    return [
        CutPicture(
            f"Cut {cut.number}",
            ", ".join(cut.frees),
            cut_drawing(used, cut, display),
        )
        for cut in cuts_in_hand(used, plan.sheet.making) or ()
        if cut.is_work
    ]


def _places(cut: Cut, display: Display) -> str:
    return f"{_place(cut.start, display)} to {_place(cut.end, display)}"


def _place(point: Point, display: Display) -> str:
    return f"{display.figure(point[0])}; {display.figure(point[1])}"
