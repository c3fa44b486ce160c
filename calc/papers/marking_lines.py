"""How a blank is marked out, as the text that is printed: offsets, lengths that prove them, arcs, what rounding does."""

from calc import Plan
from calc.blank import Blank, BlankEdge
from calc.units import Display

MOST_BY_ARCS = 8  # corners


def offset_lines(blank: Blank, display: Display) -> list[tuple[str, str, str]]:
    """Each corner of a blank, its holes and both ends of its bends: what it is, along the base from corner 1, square to it."""
    marking = blank.marking
    found = [(str(index + 1), marking.shown[index]) for index in blank.marked_corners]
    for hole, centre in zip(blank.holes, marking.hole_centres, strict=False):
        found.append((f"{hole.purpose.capitalize()}, {display.fine(hole.diameter)}", centre))
    for index, (fold, (start, end)) in enumerate(zip(blank.folds, marking.fold_ends, strict=False), 1):
        found += [(f"Bend {index}, {fold.words}", start), ("to", end)]
    return [(what, display.figure(along), display.figure(square)) for what, (along, square) in found]


def check_lines(blank: Blank, display: Display) -> list[tuple[str, str, str]]:
    """The lengths that prove a blank: from and to, length, what that edge meets."""
    count, rows = len(blank.cut_outline), []
    marked, drilled = set(blank.marked_corners), blank.drilled_edges
    for check in blank.marking.checks:
        is_edge = (check.start + 1) % count == check.end and check.start < len(blank.edges)
        if not {check.start, check.end} <= marked or (is_edge and check.start in drilled):
            continue  # the drill makes it
        words = _edge_words(blank.edges[check.start]) if is_edge else "across"
        rows.append((f"{check.start + 1}–{check.end + 1}", display.figure(check.shown), words))
    return rows


def _edge_words(edge: BlankEdge) -> str:
    """What an edge of a blank meets."""
    return f"weld to {edge.meets}" if edge.meets else "end of a bend" if edge.kind == "bend" else "rim"


def arc_words(blank: Blank, display: Display) -> str:
    """The corners that two swung arcs mark as well, and what proves them: 'corner 3: 534 from 1, 272 from 2'.

    Nothing of a blank with many corners, which nobody would mark out so.
    """
    if len(blank.marked_corners) > MOST_BY_ARCS:
        return ""
    arcs = [
        f"corner {swing.corner + 1}: "
        + ", ".join(
            f"{display.figure(radius)} from {centre + 1}"
            for centre, radius in zip(swing.centres, swing.radii, strict=True)
        )
        for swing in blank.marking.swings
    ]
    checks = [
        f"{check.start + 1}–{check.end + 1} {display.figure(check.shown)}" for check in blank.marking.swing_checks
    ]
    return "; ".join([*arcs, *([f"prove {', '.join(checks)}"] if checks else [])])


def rounding_words(plan: Plan, display: Display) -> str:
    """What reading off the rule does to the fit; nothing for a plan of an earlier day."""
    rounding = plan.rounding
    if rounding is None:
        return ""
    seam = (
        f" It opens or closes a seam by {display.fine(rounding.gap)} at most ({rounding.gap_at})."
        if rounding.gap_at
        else ""
    )
    return (
        f"Rounded to {display.fine(rounding.rule)}: no figure is out by more than {display.fine(rounding.rule / 2)}, "
        f"no corner by more than {display.fine(rounding.corner)}.{seam} Arcs aim at the true corner, so by arcs a side may "
        "read a step more or less than in the checks."
    )
