"""Marking out by arcs, and what reading off a rule does to the fit, as the text that is printed."""

from calc import Plan
from calc.blank import Blank
from calc.units import Display

MOST_BY_ARCS = 8  # corners


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
