"""What the person should know about draining: falls, the outlet at the pump's flow, what stands when it is out of level."""

import math
from collections.abc import Iterator

from calc.advice.records import Advice
from calc.drainage import Drainage, Outflow, Running, Tilt, face_fall, words
from calc.drainage.words import amount, lasting
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.units import Display

USUAL_FALL = 0.01  # common practice: floors and trays fall 1 in 100 to 1 in 50


def of_drainage(sheet: JobSheet, shell: Shell, drainage: Drainage) -> Iterator[Advice]:
    """Every warning about draining, each with what would cure it."""
    yield from _of_falls(shell, drainage)
    yield from _of_outlet(sheet, shell, drainage)
    yield from _of_tilt(sheet, shell, drainage)


def _of_falls(shell: Shell, drainage: Drainage) -> Iterator[Advice]:
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
        yield Advice(
            "fall-low",
            f"{drainage.least_fall_at} falls only {drainage.least_fall:.2%}; 1 to 2 % is usual. Make the tray deeper.",
        )


def _of_outlet(sheet: JobSheet, shell: Shell, drainage: Drainage) -> Iterator[Advice]:
    """A pump that sends more than the outlet passes, and one that sends it where there is no outlet."""
    flow, outlet = sheet.duty.pump_flow, drainage.outlet
    if flow is None:
        return
    if outlet is None:
        yield Advice(
            "no-outlet",
            f"The pump sends {flow:g} l/min and no outlet lets it out: full to the brim in "
            f"{lasting(drainage.litres / flow * 60)}. Give it an outlet, or have it pumped out as fast.",
        )
    elif outlet.running is not None and outlet.running.freeboard < sheet.duty.freeboard:
        yield _short_of_freeboard(sheet, shell, outlet, outlet.running)


def _short_of_freeboard(sheet: JobSheet, shell: Shell, outlet: Outflow, running: Running) -> Advice:
    shown, duty = sheet.making.display, sheet.duty
    through = " through its strainer" if duty.strainer else ""
    stands = f"At {duty.pump_flow:g} l/min coolant stands {shown.length(running.head)} over the outlet{through}"
    cure = _outlet_cure(sheet, shell, outlet)
    if running.freeboard < 0:
        text = f"{stands}, {shown.at_least(-running.freeboard)} more than there is: it runs over. {cure}"
        return Advice("overflows", text)
    return Advice(
        "freeboard-short",
        f"{stands}, which leaves {shown.length(running.freeboard)} of the {shown.length(duty.freeboard)} freeboard. {cure}",
    )


def _outlet_cure(sheet: JobSheet, shell: Shell, outlet: Outflow) -> str:
    """What keeps the freeboard: a larger outlet, a deeper tray, a smaller pump."""
    shown, called, cures = sheet.making.display, sheet.shape.called, []
    larger = outlet.enough
    if larger is not None and larger.bore > outlet.bore:
        deeper = "" if larger.depth is None else f" with the {called} {_deep(larger.depth, shell, shown)}"
        cures.append(f"a {larger.name} outlet, bore {shown.fine(larger.bore)}, would do{deeper}")
    if outlet.depth is not None and (larger is None or larger.depth is None or outlet.depth < larger.depth):
        cures.append(f"this outlet would with the {called} {_deep(outlet.depth, shell, shown)}")
    if outlet.passes_dry > 0:
        cures.append(f"as it is it passes no more than {words.flow(outlet.passes_dry)} with the freeboard kept")
    told = "; ".join(cures) or "take a smaller pump"
    return f"{told[0].upper()}{told[1:]}."


def _deep(depth: float, shell: Shell, shown: Display) -> str:
    return f"{shown.at_least(depth)} deep ({shown.at_least(depth - shell.depth)} deeper)"


def _of_tilt(sheet: JobSheet, shell: Shell, drainage: Drainage) -> Iterator[Advice]:
    """What stands, and whether it runs over, with one side as low as it may be set."""
    worst, shown = drainage.worst, sheet.making.display
    if worst is not None and worst.stands > 0:
        yield Advice("stands-out-of-level", _stands(worst, shell, drainage, shown))
    running = drainage.outlet.running if drainage.outlet else None
    over = [tilt for tilt in drainage.tilts if tilt.freeboard is not None and tilt.freeboard < 0]
    if running is not None and running.freeboard >= 0 and over:
        least = min(over, key=lambda tilt: tilt.freeboard or 0.0)
        yield Advice(
            "overflows-out-of-level",
            f"With the {least.low} side {shown.length(least.drop)} low the pump's flow runs over, by "
            f"{shown.at_least(-(least.freeboard or 0.0))}. Set it up truer, or take a larger outlet.",
        )


def _stands(tilt: Tilt, shell: Shell, drainage: Drainage, shown: Display) -> str:
    within = drainage.true_within
    side = f"With the {tilt.low} side {shown.length(tilt.drop)} low"
    left = f"{amount(tilt.stands)} stands, up to {shown.fine(round(tilt.deep, 1))} deep"
    if tilt.least_fall is None or tilt.least_fall >= 0 or within is None:
        return f"{side}, {left}, beside the outlet. Set it up truer."
    away = f"{side}, {tilt.least_fall_at} falls away from the outlet and {left}"
    if within <= 0:
        return f"{away}. It is level as drawn: give it a fall of more than {shown.length(tilt.drop)} over the {_reach(tilt)}."
    most = shown.fine(math.floor(within * 10) / 10)
    return f"{away}. Set it up true within {most}, or make it {_deep(shell.depth * tilt.drop / within, shell, shown)}."


def _reach(tilt: Tilt) -> str:
    return "whole length" if tilt.low in ("left", "right") else "whole width"
