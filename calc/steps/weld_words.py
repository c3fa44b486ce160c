"""How a weld is made, in words that a step's detail and its papers share: settings, places of tacks, numbers of runs."""

from itertools import pairwise

from calc.shell import LEVEL
from calc.steps.work import Work
from calc.units import Display
from calc.welding.records import Setting, Weld

TRAVEL_TOLD = {"mm": 10.0, "in": 12.7}  # [mm/min] a hand holds no speed closer than this
MOST_PLACES = 24  # tacks whose places are told one by one; the rest of a long seam go on as these


def filler_words(weld: Weld, display: Display) -> str:
    """The rod or wire and its diameter."""
    return f"{weld.filler} {'wire' if weld.wire else 'rod'} {display.fine(weld.setting.rod)}"


def setting_words(setting: Setting, process: str, display: Display) -> str:
    """Where the machine is set to begin with."""
    amps = _span(setting.amps, ".0f", "A")
    flow = _span(setting.gas_flow, "g", "l/min")
    set_by = f"{amps} (wire feed about {display.wire_feed(setting.feed)})" if setting.feed else amps
    about = TRAVEL_TOLD[display.unit]
    travel = f"about {display.length(round(setting.travel / about) * about)} a minute"
    return f"{process} {set_by} at {setting.volts:.1f} V, {setting.gas} {flow}, {travel}: try it on an offcut"


def _span(ends: tuple[float, float], digits: str, unit: str) -> str:
    low, high = (format(end, digits) for end in ends)
    return f"{high} {unit}" if low == high else f"{low} to {high} {unit}"


def start_words(weld: Weld, work: Work) -> str:
    """Which end places along a seam are measured from: its upper one, of a level seam the one nearer a corner."""
    (x, y, z), end = weld.line[0], weld.line[-1]
    if z - end[2] > LEVEL * weld.length:
        return "its upper end"
    corners = work.sheet.shape.corners
    nearest = min(range(len(corners)), key=lambda i: (corners[i][0] - x) ** 2 + (corners[i][1] - y) ** 2)
    return f"its end nearer corner {nearest + 1}"


def tack_words(weld: Weld, work: Work) -> str:
    """Where the tacks of a weld lie, in the order in which they are made."""
    places = sorted(tack.at for tack in weld.tacks)
    if weld.kind == "outlet":
        return f"{len(places)} tacks first, opposite ones in turn."
    gaps = [after - before for before, after in pairwise(places)]
    if weld.kind == "rim":
        return (
            f"{len(places)} tacks, up to {work.length(max(gaps))} apart and one at each corner: the middle of each side first, "
            "then outward, opposite sides in turn."
        )
    told = ", ".join(work.display.figure(tack.at) for tack in weld.tacks[:MOST_PLACES])
    more = " and so on outward" if len(weld.tacks) > MOST_PLACES else ""
    where = f"from {start_words(weld, work)}, in this order, at {told} {work.display.called}{more}"
    return f"{len(places)} tacks, {work.length(min(gaps))} apart; {where}."


def run_words(weld: Weld) -> str:
    """How many runs a weld takes, which way each goes, and their numbers over all that is welded in one go."""
    numbers = ", ".join(str(run.turn) for run in sorted(weld.runs, key=lambda run: run.turn))
    back = "each begun at its outer end and welded back to the one before"
    match weld.kind:
        case "reliefs":
            return f"Numbers {numbers} on the weld map, after the seams."
        case "outlet":
            return f"{len(weld.runs)} runs, a quarter of the way round at a time and opposite quarters in turn."
        case "rim":
            return f"{len(weld.runs)} runs, from each side's middle outward, {back}; numbered by themselves on the weld map."
    if len(weld.runs) == 1:
        return f"One run, number {numbers} on the weld map."
    return f"{len(weld.runs)} runs from the middle outward, {back}: numbers {numbers} on the weld map, seams in turn."


def weld_detail(weld: Weld, work: Work) -> str:
    """Settings and runs of a weld."""
    process = work.sheet.making.process
    return f"{setting_words(weld.setting, process, work.display)}. {run_words(weld)}"
