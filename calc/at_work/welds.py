"""A weld at the bench: its tacks in order, or the settings and its runs by their numbers; a seam to planish."""

from collections.abc import Iterator

from calc import Plan
from calc.at_work.records import AtWork, Figure, Table
from calc.at_work.whole import LOCKED_OFF
from calc.papers.run_lines import runs_of
from calc.steps import Step
from calc.steps.weld_words import MOST_PLACES, TRAVEL_TOLD, apart_words, run_number, span_words, start_words, waits_of
from calc.units import Display
from calc.welding.records import Weld, WeldPlan

SAID = {
    "reliefs": "Weld the reliefs shut, dry side",
    "outlet": "Tack and weld the outlet fitting on, dry side",
    "rim": "Tack and weld the rim into the bench",
}


def of_weld(plan: Plan, step: Step) -> AtWork | None:
    """The step on one weld; None where it is on none."""
    welding = plan.weld_plan
    weld = weld_of(welding, step.key) if welding else None
    if weld is None or welding is None:
        return None
    display = plan.sheet.making.display
    length = Figure("Seam", display.length(weld.length))
    kind = step.key.partition(":")[0]
    if kind == "planish":
        return AtWork(f"Planish {weld.name} on a dolly", (length,))
    if kind == "tack":
        words = f"Tack {weld.name}, {weld.side} side"
        return AtWork(words, (*_tacks(plan, weld, display), length))
    words = SAID.get(weld.kind) or f"Weld {weld.name}, {weld.side} side"
    figures = (*_settings(welding, weld, display), *_runs(weld), length if weld.kind == "seam" else None)
    minded = (weld.rule,) if weld.rule else ()
    first = (f"{LOCKED_OFF} Fire watch kept.",) if weld.kind == "rim" else ()
    tables = (_order(plan, weld, display),) if len(weld.runs) > 1 else ()
    return AtWork(words, tuple(figure for figure in figures if figure), tables, minded, first)


def weld_of(welding: WeldPlan, key: str) -> Weld | None:
    """The weld that a step of this key tacks, welds or planishes."""
    kind, _, name = key.partition(":")
    for weld in welding.welds:
        if weld.key == key or (kind in ("tack", "planish") and weld.kind == "seam" and weld.name == name):
            return weld
    return None


def _tacks(plan: Plan, weld: Weld, display: Display) -> Iterator[Figure]:
    """How many tacks, and where each is, in the order made."""
    yield Figure("Wet edges apart", display.fine(plan.sheet.making.seam_gap))
    yield Figure("Tacks", str(len(weld.tacks)), apart_words(weld, display))
    told = ", ".join(display.figure(tack.at) for tack in weld.tacks[:MOST_PLACES])
    more = " and so on outward" if len(weld.tacks) > MOST_PLACES else ""
    yield Figure(
        "In this order", f"{told}{more}", f"{display.called}, from {start_words(weld, plan.sheet.shape.corners)}"
    )


def _settings(welding: WeldPlan, weld: Weld, display: Display) -> Iterator[Figure]:
    """Where the machine is set to begin with."""
    setting = weld.setting
    yield Figure(
        welding.process, span_words(setting.amps, ".0f", "A"), f"at {setting.volts:.1f} V: try it on an offcut"
    )
    if setting.feed:
        yield Figure("Wire feed", display.wire_feed(setting.feed), "about")
    yield Figure("Wire" if weld.wire else "Rod", display.fine(setting.rod), weld.filler)
    yield Figure("Gas", span_words(setting.gas_flow, "g", "l/min"), setting.gas)
    about = TRAVEL_TOLD[display.unit]
    yield Figure("Travel", display.length(round(setting.travel / about) * about), "a minute, about")


def _order(plan: Plan, weld: Weld, display: Display) -> Table:
    """Every run in the order made: the drawing has no room for the numbers of very many."""
    lines = runs_of(plan, weld, display)
    if weld.kind == "reliefs":
        return Table("Order of runs", ("Run", "On"), tuple((line.number, line.name) for line in lines), worded=True)
    if weld.kind == "rim":
        caption = f"Order of runs, in {display.called} from the first corner of each side"
        rows = tuple((line.number, line.name.removeprefix("Rim "), *line.ends) for line in lines)
        return Table(caption, ("Run", "Side", "From", "To"), rows)
    caption = f"Order of runs, in {display.called} from {lines[0].start}"
    return Table(caption, ("Run", "From", "To"), tuple((line.number, *line.ends) for line in lines))


def _runs(weld: Weld) -> Iterator[Figure]:
    """The numbers of the runs in the order in which they are made, and before which the metal cools."""
    turns = sorted(run.turn for run in weld.runs)
    numbers = ", ".join(run_number(weld, turn) for turn in turns)
    if weld.kind == "rim":  # numbered by itself, without a gap
        numbers = f"{run_number(weld, turns[0])} to {run_number(weld, turns[-1])}"
    words = "in turn with those of the other seams" if weld.kind == "seam" else "in this order"
    yield Figure("Run" if len(weld.runs) == 1 else "Runs", numbers, "" if len(weld.runs) == 1 else words)
    waits = waits_of([weld])
    if waits:
        yield Figure("Let it cool before", ", ".join(waits))
