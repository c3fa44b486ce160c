"""What is done to the whole thing, or to its place on the machine, and what proves it."""

from collections.abc import Sequence

from calc import Plan
from calc.at_work.records import AtWork, Figure, Table
from calc.fitup.measurements import Wanted, wanted
from calc.papers.lines import mass
from calc.steps import Step
from calc.units import Display

SAID = {
    "measure:rim": "Check the opening on the machine",
    "measure:place": "Check the place it stands in",
    "measure:parts": "Check the sides against where they go",
    "clean:seams": "Degrease every joint, then brush it bright",
    "check:tacked": "Check it as tacked, before any long run",
    "outlet:bore": "Bore the outlet",
    "test:leak": "Fill it with water, look for leaks",
    "check:as-built": "Measure it as built",
    "install:stand": "Set it in its place and level it",
    "aperture:rim": "Set the opening out from the measured sizes, and cut",
    "clean:rim": "Clean the bench and the rim",
    "seal:rim": "Set it in on sealant, and screw it",
    "finish:hand-over": "Clean it, hand over",
}
LOCKED_OFF = "Machine isolated and locked off."
AT_MACHINE = ("measure:rim", "measure:place", "measure:parts", "install:stand", "aperture:rim", "clean:rim", "seal:rim")


def of_whole(plan: Plan, step: Step) -> AtWork | None:
    """The step on the whole thing; None where its key is none of those."""
    words = SAID.get(step.key)
    if words is None:
        return None
    display = plan.sheet.making.display
    lengths = wanted(plan)
    tables: tuple[Table, ...] = ()
    if step.key in ("measure:rim", "check:tacked", "check:as-built") and lengths:
        tables = (_lengths([length for length in lengths if step.key != "measure:rim" or length.between], display),)
    first = (LOCKED_OFF,) if step.key in AT_MACHINE else ()
    return AtWork(words, tuple(_figures(plan, step, display)), tables, first=first)


def _figures(plan: Plan, step: Step, display: Display) -> list[Figure]:
    """The one or two figures that such a step has."""
    outlet = plan.sheet.shape.outlet
    if step.key == "outlet:bore" and outlet is not None:
        return [Figure("Bore", display.fine(outlet.bore), f"at {plan.sheet.shape.lowest_words}")]
    if step.key == "measure:rim":
        return [
            Figure("Room below the rim", display.length(plan.shell.depth), "to the wet face; plate and outlet below it")
        ]
    if step.key in ("install:stand", "seal:rim"):
        return [Figure("To lift", mass(plan.takeoff.net_mass / plan.sheet.quantity))]
    return []


def _lengths(lengths: Sequence[Wanted], display: Display) -> Table:
    rows = tuple((length.what, display.figure(length.nominal)) for length in lengths)
    return Table(f"As drawn, in {display.called}", ("What", "Length"), rows)
