"""What the person should know of a thing that bears too little before metal is bought."""

from collections.abc import Iterator, Sequence

from calc.advice.records import Advice
from calc.sheet import JobSheet
from calc.stiffness import AT_MOST, FILLED, FacetStiffness, Stiffness
from calc.units import Display

MOST_NAMED = 12


def of_stiffness(sheet: JobSheet, stiffness: Stiffness) -> Iterator[Advice]:
    """Facets that may stay bent, and facets that sag more than is borne, each with what would cure it."""
    giving = [facet for facet in stiffness.facets if facet.gives]
    sagging = [facet for facet in stiffness.facets if facet.sags and not facet.gives]
    if giving:
        worst = max(giving, key=lambda facet: facet.stressed_most.stress / facet.stressed_most.allowed)
        by = worst.stressed_most
        yield Advice(
            "gives",
            f"{load_words(sheet, by.load)}, facet {_named(giving, worst)} may stay bent: {by.stress:.0f} N/mm² {by.where}, "
            f"where {by.allowed:.0f} is allowed. {cure_words(sheet, giving)}",
        )
    if sagging:
        worst = max(sagging, key=lambda facet: facet.sags_most.sag / facet.sag_borne)
        shown = sheet.making.display
        yield Advice(
            "sags",
            f"{load_words(sheet, worst.sags_most.load)}, facet {_named(sagging, worst)} sags "
            f"{_more_than_borne(worst, shown)}. "
            f"{_surely(cure_words(sheet, sagging)) if worst.face in stiffness.stretched else cure_words(sheet, sagging)}",
        )


def _more_than_borne(facet: FacetStiffness, shown: Display) -> str:
    """What a facet sags and what is borne; by how much it is more where the two would be told by one figure."""
    sag, borne = sag_words(facet.sags_most.sag, shown), sag_words(facet.sag_borne, shown)
    if sag != borne:
        return f"{sag}, where {borne} is borne"
    return f"{sag}, {(facet.sags_most.sag / facet.sag_borne - 1) * 100:.0f} % more than is borne"


def _surely(cure: str) -> str:
    """A cure for a sag past half a thickness, which is more than sheet sags in truth."""
    return (
        "That is by bending alone; past half a thickness sheet is stretched too and in truth sags less, so try it on a piece. "
        f"To be sure: {cure[0].lower()}{cure[1:]}"
    )


def load_words(sheet: JobSheet, load: str) -> str:
    """A load as the shop says it, at the head of a sentence."""
    duty = sheet.duty
    if load == FILLED:
        return f"Filled to the brim{', chips in it' if duty.chips else ''}"
    return f"With {duty.point_load:g} kg on a patch {sheet.making.display.length(duty.load_width)} across"


def sag_words(sag: float, display: Display) -> str:
    """A sag to a tenth of a mm, or to a thousandth of an inch.

    >>> sag_words(2.348, Display()), sag_words(0.03, Display()), sag_words(3.175, Display("in"))
    ('2.3 mm', 'under 0.1 mm', '0.125 in')
    """
    return f"{sag_figure(sag, display)} {display.unit}"


def sag_figure(sag: float, display: Display, under: str = "under ") -> str:
    """The same without its unit; under: what stands before the least figure for less than that.

    >>> sag_figure(2.348, Display()), sag_figure(0.03, Display(), "< ")
    ('2.3', '< 0.1')
    """
    scale, places = (1.0, 1) if display.unit == "mm" else (25.4, 3)
    least = 10**-places
    return f"{under}{least:g}" if sag / scale < least / 2 else f"{sag / scale:.{places}f}"


def cure_words(sheet: JobSheet, facets: Sequence[FacetStiffness]) -> str:
    """What would cure it, each found by solving it anew: thicker sheet, a rib, no chips left lying."""
    shown = sheet.making.display
    wanted = [facet.thickness for facet in facets]
    thick = "" if None in wanted else f"{shown.fine(max(each for each in wanted if each is not None))} sheet would do"
    ribbed = all(facet.rib is not None and facet.rib <= AT_MOST for facet in facets)
    rib = f"a stiff rib along the middle of {_few([facet.face for facet in facets])}" if ribbed else ""
    swept = "no chips left lying" if all(f.swept is not None and f.swept <= AT_MOST for f in facets) else ""
    told = ", or ".join(each for each in (thick, rib, swept) if each)
    if not told:
        return "No usual sheet would do: make it of smaller facets, or carry it from below."
    return f"{told[0].upper()}{told[1:]}{'' if thick else ' would do; no usual sheet would'}."


def _named(facets: Sequence[FacetStiffness], worst: FacetStiffness) -> str:
    others = [facet.face for facet in facets if facet is not worst]
    return f"{worst.face} ({_few(others)} too, less)" if others else worst.face


def _few(names: Sequence[str]) -> str:
    return ", ".join(names[:MOST_NAMED]) + (" ..." if len(names) > MOST_NAMED else "")
