"""What the person should know about draining: falls, the outlet at the pump's flow, what stands when it is out of level."""

import math
from collections.abc import Iterator

from calc.advice.records import Advice
from calc.drainage import Drainage, Outflow, Running, Tilt, face_fall, times_deeper
from calc.drainage.words import amount, flow, lasting, pumped
from calc.families.rims import LONGEST
from calc.sheet import JobSheet
from calc.shell import Shell

USUAL_FALL = 0.01  # common practice: floors and trays fall 1 in 100 to 1 in 50


LEAST_TRUE = 0.1  # [mm] nobody sets a tray up truer


def of_drainage(sheet: JobSheet, shell: Shell, drainage: Drainage) -> Iterator[Advice]:
    """Every warning about draining, each with what would cure it."""
    yield from _of_falls(sheet, shell, drainage)
    yield from _of_outlet(sheet, shell, drainage)
    yield from _of_tilt(sheet, shell, drainage)


def _of_falls(sheet: JobSheet, shell: Shell, drainage: Drainage) -> Iterator[Advice]:
    level = [face.name for face in shell.faces if face.role == "floor" and face_fall(shell, face.name) == 0.0]
    if drainage.least_fall == 0.0:
        falls = [fall for fall in drainage.falls if fall.fall > 0]
        if level or not falls:
            where = f"the floor {', '.join(level)}" if level else drainage.least_fall_at
            text = f"Nothing drains: {where} is level, and liquid stands there until it is wiped out."
        else:
            least = min(falls, key=lambda each: each.fall)
            text = f"{least.face} falls {least.fall:.1%}, but {drainage.least_fall_at} below is level: the last stands there."
        yield Advice("level", text)
    elif drainage.least_fall < USUAL_FALL:
        told = f"{drainage.least_fall_at} falls only {_per_cent(drainage.least_fall)}; 1 to 2 % is usual."
        yield Advice("fall-low", f"{told} {_for_fall(sheet, shell)}")


def _per_cent(fall: float) -> str:
    return f"{fall:.2%}" if fall >= 0.00005 else "under 0.01%"


def _for_fall(sheet: JobSheet, shell: Shell) -> str:
    """The depth that gives the least usual fall."""
    try:
        depth = shell.depth * times_deeper(shell, USUAL_FALL)
    except ValueError:
        return "No depth alone gives it that."
    return f"Make the {sheet.shape.called} {_deep(depth, sheet, shell)} for 1 %."


def _of_outlet(sheet: JobSheet, shell: Shell, drainage: Drainage) -> Iterator[Advice]:
    """A pump that sends more than the outlet passes, and one that sends it where there is no outlet."""
    sent, outlet = sheet.duty.pump_flow, drainage.outlet
    if sent is None:
        return
    if outlet is None:
        yield Advice(
            "no-outlet",
            f"The pump sends {pumped(sent, sheet.making.display)} and no outlet lets it out: full to the brim in "
            f"{lasting(drainage.litres / sent * 60)}. Give it an outlet, or have it pumped out as fast.",
        )
    elif outlet.running is not None and outlet.running.freeboard < sheet.duty.freeboard:
        yield _short_of_freeboard(sheet, shell, outlet, outlet.running, pumped(sent, sheet.making.display))


def _short_of_freeboard(sheet: JobSheet, shell: Shell, outlet: Outflow, running: Running, sent: str) -> Advice:
    shown, duty = sheet.making.display, sheet.duty
    through = " through its strainer" if duty.strainer else ""
    cure = _outlet_cure(sheet, shell, outlet)
    if running.freeboard < 0:
        passes = f"With coolant at the brim the outlet passes {flow(outlet.passes, shown)}{through}"
        return Advice("overflows", f"{passes}, and the pump sends {sent}: it runs over. {cure}")
    return Advice(
        "freeboard-short",
        f"At {sent} coolant stands {shown.length(running.head)} over the outlet{through}, which leaves "
        f"{shown.at_most(running.freeboard)} of the {shown.at_least(duty.freeboard)} freeboard. {cure}",
    )


def _outlet_cure(sheet: JobSheet, shell: Shell, outlet: Outflow) -> str:
    """What keeps the freeboard: another outlet, a deeper tray, a smaller pump."""
    shown, called, cures = sheet.making.display, sheet.shape.called, []
    other = outlet.enough
    if other is not None and other.bore != outlet.bore:
        deeper = "" if other.depth is None else f" with the {called} {_deep(other.depth, sheet, shell)}"
        cures.append(f"a {other.name} outlet, bore {shown.fine(other.bore)}, would do{deeper}")
    if outlet.depth is not None and (other is None or other.depth is None or outlet.depth < other.depth):
        cures.append(f"this outlet would with the {called} {_deep(outlet.depth, sheet, shell)}")
    if outlet.passes_dry > 0:
        cures.append(f"as it is it passes {flow(outlet.passes_dry, shown)} with the freeboard kept, no more")
    told = "; ".join(cures) or "take a smaller pump"
    return f"{told[0].upper()}{told[1:]}."


def _deep(depth: float, sheet: JobSheet, shell: Shell) -> str:
    """A depth; where a shape has several, all of them are meant."""
    shown = sheet.making.display
    each = ", all of it in proportion" if len(sheet.shape.depths) > 1 else ""
    return f"{shown.at_least(depth)} deep ({shown.at_least(depth - shell.depth)} deeper{each})"


def _of_tilt(sheet: JobSheet, shell: Shell, drainage: Drainage) -> Iterator[Advice]:
    """What stands, and whether it runs over, with one side as low as it may be set."""
    worst, shown = drainage.worst, sheet.making.display
    if worst is not None and worst.stands > 0:
        yield Advice("stands-out-of-level", _stands(worst, sheet, shell, drainage))
    outlet = drainage.outlet
    over = [(tilt.freeboard, tilt) for tilt in drainage.tilts if tilt.freeboard is not None and tilt.freeboard < 0]
    if outlet and outlet.running and outlet.running.freeboard >= 0 and over:
        short, least = min(over, key=lambda pair: pair[0])
        yield Advice(
            "overflows-out-of-level",
            f"With the {least.low} side {shown.length(least.drop)} low the pump's flow runs over. Set it up truer"
            f"{_or_deeper(shell.depth * (1 + short / outlet.lip), sheet, shell)}.",
        )


def _stands(tilt: Tilt, sheet: JobSheet, shell: Shell, drainage: Drainage) -> str:
    within, shown = drainage.true_within, sheet.making.display
    side = f"With the {tilt.low} side {shown.length(tilt.drop)} low"
    left = f"{amount(tilt.stands)} stands, up to {shown.fine(round(tilt.deep, 1))} deep"
    if tilt.least_fall is None or tilt.least_fall >= 0 or within is None:
        return f"{side}, {left}, beside the outlet. Set it up truer."
    away = f"{side}, {tilt.least_fall_at} falls away from the outlet and {left}"
    if within < LEAST_TRUE:
        level = "level" if within <= 0 else "as good as level"
        wanted = f"give it a fall of more than {shown.length(tilt.drop)} over the {_reach(tilt)}"
        return f"{away}. It is {level} as drawn: {wanted}."
    most = shown.fine(math.floor(within * 10) / 10)
    deeper = _or_deeper(shell.depth * tilt.drop / within, sheet, shell)
    in_sump = " Some stands in the sump even so." if any(face.role == "sump" for face in shell.faces) else ""
    return f"{away}. Set it up true within {most}{deeper}.{in_sump}"


def _or_deeper(depth: float, sheet: JobSheet, shell: Shell) -> str:
    return f", or make it {_deep(depth, sheet, shell)}" if depth <= LONGEST else ""


def _reach(tilt: Tilt) -> str:
    return "whole length" if tilt.low in ("left", "right") else "whole width"
