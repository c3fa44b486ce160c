"""A blank at the bench: its offsets and proofs, its edges, its holes, one bend."""

from collections.abc import Iterator

from calc import Plan
from calc.at_work.records import AtWork, Figure, Table
from calc.blank import Blank, patterns
from calc.folding import Folding, fold_order
from calc.papers.lines import check_lines, offset_lines
from calc.steps import Step
from calc.steps.blanks import by_hand_words
from calc.units import Display

DONE = {
    "mark": "Mark out",
    "cut": "Cut to its outline:",
    "hand-cut": "Cut by hand:",
    "drill": "Drill",
    "dress": "Dress every edge of",
}


def of_blank(plan: Plan, step: Step) -> AtWork | None:
    """The step on one pattern: `mark:A`, `fold:A:bend`; None where it is on no blank."""
    kind, _, rest = step.key.partition(":")
    found = blank_of(plan, step.key)
    if found is None:
        return None
    blank, alike = found
    display = plan.sheet.making.display
    if kind == "fold":
        return _of_fold(blank, alike, rest.removeprefix(f"{blank.name}:"), plan, display)
    off = plan.sheet.quantity * sum(each.count for each in (blank, *alike))
    words = f"{DONE[kind]} {_names(blank, alike)}, {off} off"
    return AtWork(words, *_told(kind, plan, blank, display))


def blank_of(plan: Plan, key: str) -> tuple[Blank, tuple[Blank, ...]] | None:
    """The pattern that a step of this key is done to, with the blanks alike; None where it is done to none."""
    kind, _, rest = key.partition(":")
    if kind not in (*DONE, "fold"):
        return None
    for blank, alike in patterns(plan.blanks):
        if rest == blank.name or (kind == "fold" and rest.startswith(f"{blank.name}:")):
            return blank, tuple(alike)
    return None


def _names(blank: Blank, alike: tuple[Blank, ...]) -> str:
    """The blank and those alike; what is cut turned over is said."""
    return ", ".join([blank.name, *(f"{other.name} turned over" if other.mirrored else other.name for other in alike)])


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
    if kind == "drill":
        holes = tuple(row for row in offsets if row[0].startswith("ø"))
        return (Figure("Holes", str(len(holes)), "in each, before folding"),), (
            Table(f"Holes, in {display.called}", ("Hole", "Along", "Square"), holes),
        )
    return (), (_edge_table(_edges(plan, blank, display), display),)


def _edges(plan: Plan, blank: Blank, display: Display) -> tuple[tuple[str, str, str], ...]:
    """The edges among the lengths that prove a blank, from and to, length, what each meets; none across it."""
    count = len(blank.cut_outline)
    ends = {f"{index + 1}–{(index + 1) % count + 1}" for index in range(count)}
    return tuple(row for row in check_lines(plan, blank, display) if row[0] in ends)


def _edge_table(rows: tuple[tuple[str, str, str], ...], display: Display) -> Table:
    return Table(f"Edges, in {display.called}", ("Edge", "Length", "Meets"), rows, worded=True)


def _of_fold(blank: Blank, alike: tuple[Blank, ...], name: str, plan: Plan, display: Display) -> AtWork | None:
    """One bend: its turn, which way and how far, the radius, where its line lies."""
    order = fold_order(blank)
    for turn, bend in enumerate(order, 1):
        if bend.name == name:
            off = plan.sheet.quantity * sum(each.count for each in (blank, *alike))
            words = f"Fold {_names(blank, alike)}, bend {bend.name}, {off} off"
            return AtWork(words, (Figure("Bend", f"{turn} of {len(order)}"), *_bend(bend, display)))
    return None


def _bend(bend: Folding, display: Display) -> Iterator[Figure]:
    yield Figure("Fold", f"{bend.way} {abs(bend.fold.angle):.1f}°", "wet face up")
    yield Figure("Inside radius", display.fine(bend.fold.inside_radius))
    if bend.edge is not None and bend.distance is not None:
        yield Figure("Bend line", display.length(bend.distance), f"from edge {bend.edge[0] + 1}–{bend.edge[1] + 1}")
    else:
        for label, (along, square) in zip(("Bend line from", "To"), bend.fold.line, strict=True):
            yield Figure(label, f"{display.figure(along)}; {display.figure(square)}", "along; square")
    yield Figure("Length", display.length(bend.length))
