"""A blank at the bench: its offsets and proofs, its edges, its holes, one bend."""

from collections.abc import Iterator

from calc import Plan
from calc.at_work.marked import DONE, OnBlank, blank_of, lying_words, place_tables
from calc.at_work.records import AtWork, Figure, Table
from calc.blank import Blank
from calc.folding import Folding, fold_order
from calc.papers.lines import check_lines, offset_lines
from calc.steps import Step
from calc.steps.again import BORE
from calc.steps.blanks import by_hand_words
from calc.units import Display

HOLES = "Holes, in {}: along from corner 1 towards corner 2, square to that line"


def of_blank(plan: Plan, step: Step) -> AtWork | None:
    """The step on one pattern, or on one in place of a spoiled copy: `mark:A`, `fold:A:bend`, `mark:A.1:again`."""
    on = blank_of(plan, step.key)
    if on is None:
        return None
    display = plan.sheet.making.display
    if on.bend:
        return _of_fold(on, plan, display)
    figures, tables = _told(on.work, plan, on.pattern, display)
    if on.work != "mark":
        return AtWork(on.words(DONE[on.work], plan), figures, tables)
    places, first = place_tables(plan, on, display), tuple(lying_words(plan, on))
    return AtWork(on.words(DONE[on.work], plan), figures, (*tables, *places), first=first)


def _told(kind: str, plan: Plan, blank: Blank, display: Display) -> tuple[tuple[Figure, ...], tuple[Table, ...]]:
    """The figures and tables of a kind of work on a blank."""
    offsets = offset_lines(blank, display)
    if kind == "mark":
        base = Figure("Base", display.length(blank.marking.shown[1][0]), "corner 1 to 2")
        corners = tuple(row for row in offsets if row[0] not in {"1", "2"})
        return (base,), (
            Table(f"Offsets, in {display.called}", ("Corner", "Along", "Square"), corners),
            Table(
                f"Prove, in {display.called}",
                ("Edge", "Length", "Meets"),
                tuple(check_lines(plan, blank, display)),
                worded=True,
            ),
        )
    if kind == "hand-cut":
        by_hand = {f"{start + 1}–{end + 1}" for start, end in blank.edges_by_hand}
        edges = tuple(row for row in _edges(plan, blank, display) if row[0] in by_hand)
        return (Figure("Corners", by_hand_words(blank)),), (_edge_table(edges, display),)
    if kind in ("drill", BORE):
        holes = tuple(row for row in offsets if row[0].startswith("ø"))
        return (Figure("Holes", str(len(holes)), "in each, before folding"),), (
            Table(HOLES.format(display.called), ("Hole", "Along", "Square"), holes),
        )
    return (), (_edge_table(_edges(plan, blank, display), display),)


def _edges(plan: Plan, blank: Blank, display: Display) -> tuple[tuple[str, str, str], ...]:
    """The edges among the lengths that prove a blank, from and to, length, what each meets; none across it."""
    count = len(blank.cut_outline)
    ends = {f"{index + 1}–{(index + 1) % count + 1}" for index in range(count)}
    return tuple(row for row in check_lines(plan, blank, display) if row[0] in ends)


def _edge_table(rows: tuple[tuple[str, str, str], ...], display: Display) -> Table:
    return Table(f"Edges, in {display.called}", ("Edge", "Length", "Meets"), rows, worded=True)


def _of_fold(on: OnBlank, plan: Plan, display: Display) -> AtWork:
    """One bend: its turn, which way and how far, the radius, where its line lies."""
    order = fold_order(on.pattern)
    turn, bend = next((turn, bend) for turn, bend in enumerate(order, 1) if bend.name == on.bend)
    words = on.words("Fold", plan, f", bend {bend.name}")
    return AtWork(words, (Figure("Bend", f"{turn} of {len(order)}"), *_bend(bend, display)))


def _bend(bend: Folding, display: Display) -> Iterator[Figure]:
    yield Figure("Fold", f"{bend.way} {abs(bend.fold.angle):.1f}°", "wet face up")
    yield Figure("Inside radius", display.fine(bend.fold.inside_radius))
    if bend.edge is not None and bend.distance is not None:
        yield Figure("Bend line", display.length(bend.distance), f"from edge {bend.edge[0] + 1}–{bend.edge[1] + 1}")
    else:
        for label, (along, square) in zip(("Bend line from", "To"), bend.fold.line, strict=True):
            yield Figure(label, f"{display.figure(along)}; {display.figure(square)}", "along; square")
    yield Figure("Length", display.length(bend.length))
