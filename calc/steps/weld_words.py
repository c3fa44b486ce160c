"""How a weld is made, in words that a step's detail and its papers share: settings, places of tacks, numbers of runs."""

from collections.abc import Sequence
from itertools import pairwise

from calc.records import Point
from calc.shell import LEVEL
from calc.steps.work import Work
from calc.units import Display
from calc.welding.records import Setting, Weld

# What the drawings are headed on which the runs are numbered; the page, the traveller and each drawing's title say the same.
RUNS_DRAWN, RIM_DRAWN = "Weld map: runs", "Weld map: rim"
BEFORE = {"rim": "R", "outlet": "F"}  # the number of a run that is made apart from those of the seams
AT_RIM = 1e-6  # [mm]
TRAVEL_TOLD = {"mm": 10.0, "in": 12.7}  # [mm/min] a hand holds no speed closer than this
MOST_PLACES = 24  # tacks whose places are told one by one; the rest of a long seam go on as these


def filler_words(weld: Weld, display: Display) -> str:
    """The rod or wire and its diameter."""
    return f"{weld.filler} {'wire' if weld.wire else 'rod'} {display.fine(weld.setting.rod)}"


def setting_words(setting: Setting, process: str, display: Display) -> str:
    """Where the machine is set to begin with."""
    amps = span_words(setting.amps, ".0f", "A")
    flow = span_words(setting.gas_flow, "g", "l/min")
    set_by = f"{amps} (wire feed about {display.wire_feed(setting.feed)})" if setting.feed else amps
    about = TRAVEL_TOLD[display.unit]
    travel = f"about {display.length(round(setting.travel / about) * about)} a minute"
    return f"{process} {set_by} at {setting.volts:.1f} V, {setting.gas} {flow}, {travel}: try it on an offcut"


def span_words(ends: tuple[float, float], digits: str, unit: str) -> str:
    """A figure, or from the lower to the higher where they differ.

    >>> span_words((56.0, 75.4), ".0f", "A"), span_words((6.0, 6.0), "g", "l/min")
    ('56 to 75 A', '6 l/min')
    """
    low, high = (format(end, digits) for end in ends)
    return f"{high} {unit}" if low == high else f"{low} to {high} {unit}"


def start_words(weld: Weld, corners: Sequence[Point]) -> str:
    """Where places along a weld are measured from: of a seam its upper end, of a level one the end nearer a corner.

    corners: of the rim [mm].
    """
    if weld.kind == "rim":
        return "corner 1, round the rim"
    if weld.kind == "outlet":
        return "its right as drawn, anticlockwise"
    (x, y, z), end = weld.line[0], weld.line[-1]
    if z - end[2] > LEVEL * weld.length:
        return "its upper end"
    nearest = min(range(len(corners)), key=lambda i: (corners[i][0] - x) ** 2 + (corners[i][1] - y) ** 2)
    return f"its end nearer corner {nearest + 1}"


def apart_words(weld: Weld, display: Display) -> str:
    """How far apart the tacks of a weld are: even along a seam, of a rim even along each of its sides."""
    places = sorted(tack.at for tack in weld.tacks)
    if weld.kind != "seam":
        places.append(places[0] + weld.length)  # a closed weld goes on to where it began
    gaps = [after - before for before, after in pairwise(places)]
    least, most = display.figure(min(gaps)), display.length(max(gaps))
    return f"{most} apart" if least == display.figure(max(gaps)) else f"{least} to {most} apart by side"


def tack_words(weld: Weld, work: Work) -> str:
    """Where the tacks of a weld lie, in the order in which they are made."""
    places = sorted(tack.at for tack in weld.tacks)
    if weld.kind == "outlet":
        return f"{len(places)} tacks first, opposite ones in turn."
    apart = apart_words(weld, work.display)
    if weld.kind == "rim":
        return (
            f"{len(places)} tacks, {apart} and one at each corner: the middle of each side first, then outward, opposite sides "
            "in turn."
        )
    told = ", ".join(work.display.figure(tack.at) for tack in weld.tacks[:MOST_PLACES])
    more = " and so on outward" if len(weld.tacks) > MOST_PLACES else ""
    where = f"from {start_words(weld, work.sheet.shape.corners)}, in this order, at {told} {work.display.called}{more}"
    held = " Clamp its rim end together, true to a flat plate, before the first tack, until that end is tacked."
    return f"{len(places)} tacks, {apart}; {where}.{held if _begins_at_rim(weld) else ''}"


def _begins_at_rim(weld: Weld) -> bool:
    """Whether the upper end of a seam is at the rim, the plane at height 0."""
    return abs(weld.line[0][2]) < AT_RIM and weld.line[0][2] - weld.line[-1][2] > LEVEL * weld.length


def run_number(weld: Weld, turn: int) -> str:
    """What a run is called: by its turn, with a letter before it where it is made apart from the seams."""
    return f"{BEFORE.get(weld.kind, '')}{turn}"


def run_words(weld: Weld, *, rim: bool) -> str:
    """How many runs a weld takes, which way each goes, and their numbers on the drawing that shows them.

    rim: whether a bare rim is welded too; what is made apart from the seams is then drawn with it.
    """
    numbers = ", ".join(run_number(weld, turn) for turn in sorted(run.turn for run in weld.runs))
    drawn = f"({RIM_DRAWN if rim and weld.kind in BEFORE else RUNS_DRAWN})"
    back = "each begun at its outer end and welded back to the one before"
    match weld.kind:
        case "reliefs":
            return f"Numbers {numbers} {drawn}, after the seams."
        case "outlet":
            way = "a quarter of the way round at a time and opposite quarters in turn"
            return f"{len(weld.runs)} runs, {way}: numbers {numbers} {drawn}."
        case "rim":
            ends = f"{run_number(weld, 1)} to {run_number(weld, len(weld.runs))}"
            return f"{len(weld.runs)} runs, from each side's middle outward, {back}: numbers {ends} {drawn}."
    if len(weld.runs) == 1:
        return f"One run, number {numbers} {drawn}."
    return f"{len(weld.runs)} runs from the middle outward, {back}: numbers {numbers} {drawn}."


def weld_detail(weld: Weld, work: Work) -> str:
    """Settings and runs of a weld."""
    process = work.sheet.making.process
    rim = work.sheet.shape.seat == "bare"
    return f"{setting_words(weld.setting, process, work.display)}. {run_words(weld, rim=rim)}{_pause_words(weld)}"


def _pause_words(weld: Weld) -> str:
    """Before which runs the metal is let cool, and how long."""
    waits = waits_of([weld])
    return f" Let the metal cool before {', '.join(waits)}." if waits else ""


def waits_of(welds: Sequence[Weld]) -> list[str]:
    """The runs before which the metal is let cool, each with how long."""
    waits = sorted(
        (run.turn, run_number(weld, run.turn), run.pause) for weld in welds for run in weld.runs if run.pause
    )
    return [f"{number} ({pause:g} min)" for _, number, pause in waits]
