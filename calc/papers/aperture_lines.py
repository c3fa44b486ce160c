"""The aperture sheet: the rim as planned, to find one's way by, with room for what is measured on the tray itself."""

from dataclasses import dataclass

from calc import Plan
from calc.aperture import Cutting, open_up
from calc.fitup import wanted
from calc.seams import told_out
from calc.units import Display

FIRST = (
    "The opening is cut from the tray as measured, never from this page: what is planned stands here only to find "
    "one's way by."
)


@dataclass(frozen=True, slots=True)
class RimLine:
    """A side or a diagonal as planned; of a side how far outside it what passes through the bench stands, else empty."""

    what: str
    planned: str
    out: str


@dataclass(frozen=True, slots=True)
class ApertureSheet:
    """What the sheet prints. through: what stands outside the rim and passes through the bench, in words."""

    lines: tuple[RimLine, ...]
    corners: tuple[str, ...]
    through: str
    clearance: str


def aperture_sheet(plan: Plan, display: Display) -> ApertureSheet | None:
    """The sheet for what is let into a bench; None for what stands free or has no rim."""
    cutting = Cutting()
    opening = open_up(plan, plan.sheet.shape.corners, cutting)
    if opening is None:
        return None
    through = {
        "bare": "the dry face of each side",
        "lap": "the bend under the lap",
        "upstand": "the outside of the upstand",
    }[opening.seat]
    lines = []
    for line in wanted(plan):
        if line.between is None:
            continue
        out = opening.out[line.between[0]] - cutting.clearance
        shown = display.fine(told_out(out)) if line.kind == "side" else ""
        lines.append(RimLine(line.what, display.length(line.nominal), shown))
    corners = tuple(str(number) for number in range(1, len(opening.rim) + 1))
    return ApertureSheet(tuple(lines), corners, through, display.fine(cutting.clearance))
