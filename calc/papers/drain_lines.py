"""What is said of draining, on the job's page and on its traveller: labels, figures, and what they rest on."""

from collections.abc import Iterator
from dataclasses import dataclass

from calc import Plan
from calc.drainage import Drainage, Outflow, Running, Tilt
from calc.drainage.emptying import FILM
from calc.drainage.falls import names_of
from calc.drainage.words import amount, flow, lasting, litres, pumped
from calc.drawing.plan_view import falls_as
from calc.families.rims import LONGEST
from calc.papers.lines import mass
from calc.units import Display

FREE = (
    "Estimates by the rules of EN 12056-3 for an outlet in a floor (from memory), the head over the highest part of the hole's "
    "edge. The spigot must run free below: a long hose, or one that rises anywhere, passes less. Run coolant to it and look."
)

BORED = "outlet:bore"  # the key of the step that bores or trues it


@dataclass(frozen=True, slots=True)
class DrainLine:
    """A figure: what it is called, what it comes to, and what it rests on."""

    label: str
    figure: str
    aside: str = ""


@dataclass(frozen=True, slots=True)
class TiltLine:
    """The tray with one side low, as the text of a row."""

    low: str
    fall: str
    where: str
    litres: str
    stands: str
    freeboard: str


def drain_lines(plan: Plan, display: Display) -> list[DrainLine]:
    """The outlet at the pump's flow, or what it passes at all; time to empty; weight full. Empty for loose parts."""
    drainage = plan.draining
    if drainage is None or drainage.full is None:
        return []
    return [*_of_outlet(plan, drainage, display), _full(plan, drainage.full)]


def _of_outlet(plan: Plan, drainage: Drainage, display: Display) -> Iterator[DrainLine]:
    outlet, duty = drainage.outlet, plan.sheet.duty
    if outlet is None:
        yield DrainLine("Outlet", "none", f"{litres(drainage.litres)} stay in it till pumped or baled out")
        return
    through = "through a strainer" if duty.strainer else "open, no strainer"
    if outlet.running is not None and duty.pump_flow is not None:
        yield from _at_flow(outlet, outlet.running, pumped(duty.pump_flow, display), through, duty.freeboard, display)
    kept = f"{flow(outlet.passes_dry, display)} with {display.length(duty.freeboard)} freeboard, {through}"
    yield DrainLine("Passes at the brim", flow(outlet.passes, display), kept)
    if outlet.seconds is not None:
        film = f"from the brim to a {FILM:g} mm film, the pump stopped"
        yield DrainLine("Empties in", lasting(outlet.seconds), film)


def _at_flow(
    outlet: Outflow, running: Running, sent: str, through: str, wanted: float, display: Display
) -> Iterator[DrainLine]:
    rule = "as a weir" if running.governs == "weir" else "as an orifice"
    over = running.freeboard < 0
    if running.head <= LONGEST:
        needed = "would be needed, " if over else ""
        yield DrainLine(f"Over the outlet at {sent}", display.length(running.head), f"{needed}{rule}, {through}")
    left = "none" if over else display.at_most(running.freeboard)
    runs_over = f"{sent} runs over; " if over else ""
    yield DrainLine("Freeboard left", left, f"{runs_over}{display.at_least(wanted)} wanted")
    enough = outlet.enough
    if enough is None:
        yield DrainLine("Smallest usual outlet", "none", "none with room here passes it, however deep")
        return
    bore = f"bore {display.fine(enough.bore)}"
    deeper = "" if enough.depth is None else f", with {display.at_least(enough.depth)} depth"
    yield DrainLine("Smallest usual outlet", enough.name, f"{bore}{deeper}")


def _full(plan: Plan, full: float) -> DrainLine:
    duty = plan.sheet.duty
    each = " each" if plan.sheet.quantity > 1 else ""
    laden = f"to the brim with coolant of {duty.coolant_density:g} kg/l, {duty.chips:g} kg/m² of chips"
    return DrainLine("Weighs full", mass(full) + each, laden)


def outlet_made(plan: Plan) -> str:
    """When the outlet is made: in the floor of a sump, as a relief of the folds that meet there, or at last."""
    first = next((step for step in plan.steps if step.key == BORED or step.kind == "weld"), None)
    if first is not None and first.key == BORED:
        return "bored before welding"
    if any(hole.purpose == "outlet" for blank in plan.blanks for hole in blank.holes):
        return "drilled before folding, trued after welding"
    return "bored after welding"


def tilt_lines(plan: Plan, display: Display) -> list[TiltLine]:
    """Each way out of level; empty where it is to be set up true, and where nothing falls to one place (`tilt_words`)."""
    drainage = plan.draining
    tilts = drainage.tilts if drainage else ()
    return [_tilt_line(tilt, display) for tilt in tilts if tilt.least_fall is not None]


def _tilt_line(tilt: Tilt, display: Display) -> TiltLine:
    stands = f"{amount(tilt.stands)}, {display.fine(round(tilt.deep, 1))} deep" if tilt.stands > 0 else "–"
    freeboard = ""
    if tilt.freeboard is not None:
        freeboard = "runs over" if tilt.freeboard < 0 else display.at_most(tilt.freeboard)
    return TiltLine(
        tilt.low, signed_fall(tilt.least_fall or 0.0), tilt.least_fall_at, f"{tilt.litres:.1f}", stands, freeboard
    )


def tilt_words(plan: Plan, display: Display) -> str:
    """The worst way out of level in a sentence; empty where there is none."""
    drainage = plan.draining
    worst = drainage.worst if drainage else None
    if drainage is None or worst is None:
        return ""
    said = f"{worst.low.capitalize()} side {display.length(worst.drop)} low: "
    if worst.least_fall is not None:
        said += f"{worst.least_fall_at} falls {signed_fall(worst.least_fall)}; "
    said += f"holds {litres(worst.litres)}"
    if worst.stands > 0:
        said += f"; {amount(worst.stands)} stands, up to {display.fine(round(worst.deep, 1))} deep"
    if worst.freeboard is not None:
        said += "; runs over" if worst.freeboard < 0 else f"; freeboard {display.at_most(worst.freeboard)}"
    return said


def rests_on(plan: Plan) -> str:
    """What the outlet's figures rest on; empty where there is none."""
    return FREE if plan.sheet.shape.outlet else ""


def fall_lines(plan: Plan) -> list[tuple[str, str, str]]:
    """Every facet and every valley with its fall, in per cent and as one in so many, the least first."""
    drainage = plan.drainage
    if drainage is None:
        return []
    names = names_of(plan.shell)
    falls = [(fall.fall, names[fall.face,]) for fall in drainage.falls]
    falls += [(seam.fall, names[seam.between]) for seam in drainage.seams]
    return [(name, *falls_as(fall)) for fall, name in sorted(falls)]


def signed_fall(fall: float) -> str:
    """A fall towards the outlet as the shop says it, and one that runs away from it.

    >>> signed_fall(0.0111), signed_fall(-0.004), signed_fall(0.0)
    ('1 in 90.1', '1 in 250 the wrong way', 'level')
    """
    ratio = falls_as(abs(fall))[1]
    return f"{ratio} the wrong way" if fall < 0 and ratio != "level" else ratio
