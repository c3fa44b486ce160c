"""How it is welded, as papers and pages print it: a row a weld, the settings, the rules, and what to reckon with."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from calc import Plan
from calc.advice.welding import wants_backing
from calc.budget import Budget
from calc.seams import SQUARE_BUTT
from calc.shrinkage import Spread
from calc.steps.weld_words import filler_words, setting_words
from calc.units import Display
from calc.welding import filler_masses
from calc.welding.records import Side, Weld, WeldPlan

FLAT = 0.05  # [degrees] a seam that opens less is between faces in one plane
INCHES_A_FOOT = 12 / 1000  # that so many mm a metre are


@dataclass(frozen=True, slots=True)
class WeldLine:
    """A row of the table of welds, of one fabrication. taken: of rods of a metre, or metres of wire."""

    turn: str
    name: str
    length: str
    dihedral: str
    edges: str
    gap: str
    heat: str
    taken: str
    gas: str
    arc: str
    elapsed: str


@dataclass(frozen=True, slots=True)
class Shared:
    """What several welds have in common, and which; `welds` is empty where it is all of them."""

    welds: str
    words: str


def weld_lines(welding: WeldPlan, display: Display) -> list[WeldLine]:
    """Every weld in the order in which it is made."""
    return [
        WeldLine(
            str(turn),
            weld.name,
            display.length(weld.length),
            "–" if weld.dihedral is None else f"{weld.dihedral:.1f}°",
            weld.form if weld.groove is None else groove_words(weld.groove, weld.side),
            display.fine(weld.root_gap) if weld.root_gap else "–",
            f"{weld.heat:.2f}",
            f"{weld.wire:.1f} m" if weld.wire else f"{weld.rods:.1f}",
            f"{weld.gas_litres:.0f}",
            f"{weld.arc_minutes:.1f}",
            f"{weld.elapsed_minutes:.0f}",
        )
        for turn, weld in enumerate(welding.welds, 1)
    ]


def groove_words(opening: float, side: Side = "dry") -> str:
    """What square-cut edges are like that open by so many degrees on the dry side; negative: on the wet one.

    side: the one that they are welded from.

    >>> groove_words(11.94), groove_words(-3.0)
    ('opens 11.9° on the dry side: square butt', 'ridge, bevelled; square it opens 3.0° on the wet side')
    >>> groove_words(45.0, "wet")
    'opens 45.0° on the dry side, which stays open: closed on the wet one'
    """
    if abs(opening) < FLAT:
        return "flat: square butt"
    if opening < 0:
        return f"ridge, bevelled; square it opens {-opening:.1f}° on the wet side"
    if side == "wet":
        return f"opens {opening:.1f}° on the dry side, which stays open: closed on the wet one"
    form = "square butt" if opening <= SQUARE_BUTT else "allow for filler"
    return f"opens {opening:.1f}° on the dry side: {form}"


def settings_of(welding: WeldPlan, display: Display) -> list[Shared]:
    """Rod or wire, and where the machine is set to begin with, once for all welds that have them alike."""

    def words(weld: Weld) -> str:
        setting = weld.setting
        found = f"{filler_words(weld, display)}; {setting_words(setting, welding.process, display)} ({setting.source})."
        return f"{found} {setting.caution}." if setting.caution else found

    return _shared(welding.welds, words)


def sides_of(welding: WeldPlan) -> list[Shared]:
    """From which side welds are made, and why, once for all that are made so."""
    return _shared(welding.welds, lambda weld: f"from the {weld.side} side: {weld.why}.")


def rules_of(welding: WeldPlan) -> list[str]:
    """The rules that must not be broken, each once a filler."""
    return list(dict.fromkeys(f"{weld.filler}: {weld.rule}" for weld in welding.welds if weld.rule))


def _shared(welds: Sequence[Weld], words: Callable[[Weld], str]) -> list[Shared]:
    """Welds by what is said of them, in the order in which they come."""
    said: dict[str, list[str]] = {}
    for weld in welds:
        said.setdefault(words(weld), []).append(weld.name)
    return [Shared("" if len(said) == 1 else _named(names), text) for text, names in said.items()]


def _named(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def sums_of(plan: Plan, welding: WeldPlan) -> list[tuple[str, str]]:
    """What all the welding of the job takes: a label and a figure each."""
    taken = rods_of(plan, welding) if welding.rods else f"{welding.wire:.0f} m of wire"
    gas = f"{welding.gas_litres:.0f} litres of {welding.welds[0].setting.gas}"
    return [
        ("Arc burns", f"{welding.arc_minutes:.0f} min"),
        ("Welding, all in", f"{welding.elapsed_minutes:.0f} min"),
        ("Wire" if welding.wire else "Rods", taken),
        ("Filler", fillers_of(plan, welding)),
        ("Gas", f"{gas}, at the torch alone" if wants_backing(plan.sheet) else gas),
    ]


def rods_of(plan: Plan, welding: WeldPlan) -> str:
    """How many rods of each filler the job takes: what is left over of one does not stand in for another."""
    by_filler: dict[str, list[float]] = {}
    for weld in welding.welds:
        by_filler.setdefault(weld.filler, []).append(plan.sheet.quantity * weld.rods)
    counts = {name: math.ceil(math.fsum(rods)) for name, rods in by_filler.items()}
    told = [str(count) if len(counts) == 1 else f"{count} {name}" for name, count in counts.items()]
    return f"{', '.join(told)} of a metre"


def fillers_of(plan: Plan, welding: WeldPlan) -> str:
    """What is bought of each filler for the job."""
    masses = filler_masses(welding.welds, plan.sheet.quantity)
    return ", ".join(
        f"{name} {mass:.2f} kg" if mass >= 1 else f"{name} {mass * 1000:.0f} g" for name, mass in masses.items()
    )


def shrinkage_words(welding: WeldPlan, display: Display) -> str:
    """How much seams are reckoned to shrink, within what the next tray is to be looked for, by whose figures, and whether the
    blanks allow for it; empty without seams."""
    shrinkage = welding.shrinkage
    if shrinkage is None:
        return ""
    across, along = shrinkage.across, shrinkage.along
    whose = f"from {shrinkage.trays} of your trays" if shrinkage.trays else shrinkage.source
    if shrinkage.trays and not shrinkage.tells_along:
        whose = f"{whose}; along, nothing is learnt yet: as published"
    on = "The blanks are cut larger by it." if shrinkage.allowed else "The blanks are not cut larger for it."
    within = "the next tray is within these 19 times in 20"
    return f"Across a seam {_across(across, display)}, along it {_along(along, display)}; {within}: {whose}. {on}"


def _across(spread: Spread, display: Display) -> str:
    places, scale = (2, 1.0) if display.unit == "mm" else (3, 25.4)
    low, likely, high = (f"{part / scale:.{places}f}" for part in (spread.low, spread.likely, spread.high))
    return f"{likely} {display.unit} ({low} to {high})"


def _along(spread: Spread, display: Display) -> str:
    places, scale, unit = (1, 1.0, "mm a metre") if display.unit == "mm" else (3, INCHES_A_FOOT, "in a foot")
    low, likely, high = (f"{part * scale:.{places}f}" for part in (spread.low, spread.likely, spread.high))
    return f"{likely} {unit} ({low} to {high})"


def warmth_words(plan: Plan, welding: WeldPlan) -> str:
    """How warm the metal still is where a run begins, in this order and in the plain one; empty where the two are one."""
    ours, plain = welding.warmth, welding.plain_warmth
    if ours == plain:
        return ""
    count, minutes = welding.pauses
    on_each = f" on each of the {plan.sheet.quantity}" if plan.sheet.quantity > 1 else ""
    pauses = (
        f" Before {count} of the runs{on_each} it is let cool, {minutes:g} min in all on top, as the steps say."
        if count
        else ""
    )
    return (
        f"Where a run begins, the metal is {ours.mean:.0f} K over the shop on average, {ours.worst:.0f} K at the hottest; "
        f"seam after seam from end to end it would be {plain.mean:.0f} K and {plain.worst:.0f} K.{pauses}"
    )


def budget_words(budget: Budget, display: Display) -> str:
    """How far out the rim and the last seam can be for what marking and cutting miss by, and what to do about it."""

    def out(what: str, between: tuple[int, int], by: float) -> str:
        return f"{what} {between[0]}–{between[1]} by {_tenths(by, display)}"

    found = [out("side", budget.side_between, budget.side)]
    if budget.diagonal is not None and budget.diagonal_between is not None:
        found.append(out("diagonal", budget.diagonal_between, budget.diagonal))
    return (
        f"Marked within {display.fine(budget.marking)} and cut within {display.fine(budget.cutting)}, 19 times in 20 no more "
        f"out than these: {', '.join(found)}, the depth by {_tenths(budget.depth, display)}. {budget.words}"
    )


def _tenths(size: float, display: Display) -> str:
    """A size that is not known better, to a tenth of a millimetre or some thousandths of an inch."""
    return f"{size:.1f} mm" if display.unit == "mm" else f"{size / 25.4:.3f} in"
