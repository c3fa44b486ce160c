"""A cut at the bench: both marks on the edges of the piece in hand, and where the guide goes."""

from collections.abc import Iterator

from calc import Plan
from calc.at_work.records import AtWork, Figure
from calc.cut_list import CutInHand, Mark, cuts_in_hand
from calc.cut_words import caution_words, half_words
from calc.laid import Cut
from calc.steps import Step, cut_keys
from calc.units import Display


def of_cut(plan: Plan, step: Step) -> AtWork | None:
    """The cut that this step makes; None where it makes none of a layout's straight cuts."""
    for sheet, keys in enumerate(cut_keys(plan.layout)):
        if step.key in keys:
            return _of(plan, sheet, keys.index(step.key))
    return None


def _of(plan: Plan, sheet: int, place: int) -> AtWork:
    used, display = plan.layout.sheets[sheet], plan.sheet.making.display
    in_hand = cuts_in_hand(used, plan.sheet.making)
    name = cut_name(plan, sheet, place)
    if in_hand is None:
        return AtWork(name, tuple(_on_sheet(used.cuts[place], display)))
    cut = in_hand[place]
    minded = tuple(_sentence(caution_words(caution, display)) for caution in cut.cautions)
    return AtWork(name, tuple(_figures(cut, plan.sheet.making.kerf, display)), minded=minded)


def cut_name(plan: Plan, sheet: int, place: int) -> str:
    """What a cut is called: by its number, and by its sheet where there are several."""
    of = f"Sheet {sheet + 1}, cut" if len(plan.layout.sheets) > 1 else "Cut"
    return f"{of} {place + 1}"


def _figures(cut: CutInHand, kerf: float, display: Display) -> Iterator[Figure]:
    """Marks, guide, length, what comes free and what is cut again."""
    for label, mark in zip(("Mark", "And mark"), cut.marks, strict=True):
        yield _mark(label, mark, display)
    yield Figure("Saw cut", display.fine(kerf), "its middle on the marks, on the marked-out face")
    guide, half = cut.guide, cut.halves[cut.guide.side]
    on = f"off the cut, on {half_words(half)}" if guide.marks else "off the cut, packed up"
    yield Figure("Guide", display.length(guide.offset), on)
    for label, mark in zip(("Guide's edge", "And guide's"), guide.marks or (), strict=False):
        yield _mark(label, mark, display)
    yield Figure("Cut", display.length(cut.length), "edge to edge")
    if cut.frees:
        yield Figure("Frees", ", ".join(cut.frees))
    if pieces := [half.name for half in cut.halves if half.number is not None]:
        yield Figure("Leaves", ", ".join(pieces), "pencil it on: the number of the cut to be made in it")


def _mark(label: str, mark: Mark, display: Display) -> Figure:
    """A mark along an edge; one that falls on a corner has no figure but that corner."""
    if display.rounded(mark.distance) == 0:
        return Figure(label, f"at {mark.corner}")
    return Figure(label, display.length(mark.distance), f"from {mark.corner} towards {mark.towards}")


def _on_sheet(cut: Cut, display: Display) -> Iterator[Figure]:
    """The ends of a cut whose pieces can't be followed."""
    for label, (along, square) in zip(("From", "To"), (cut.start, cut.end), strict=True):
        yield Figure(
            label, f"{display.figure(along)}; {display.figure(square)}", "along; square, from the sheet's corner"
        )
    yield Figure("Cut", display.length(cut.length), "edge to edge")


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
