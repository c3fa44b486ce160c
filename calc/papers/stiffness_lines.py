"""How stiff it is, as papers and pages print it: a row a facet, the verdict, and what it is reckoned with."""

from dataclasses import dataclass

from calc import Plan
from calc.advice.stiffness import load_words, sag_figure
from calc.stiffness import AT_MOST, FILLED, LEANED_ON, FacetStiffness, Stiffness
from calc.units import Display

MOST = 6  # rows; of more facets the worst
NO_CASE = "–"
UNDER = "< "  # columns are narrow


@dataclass(frozen=True, slots=True)
class FacetLine:
    """A row: the facet, the rectangle that the tables are read for; its sag, by the tables, what is borne; its stress, by the
    tables, what is allowed and where; what would do.

    is_soft: whether it bears too little.
    """

    face: str
    plate: str
    load: str
    sag: str
    table_sag: str
    borne: str
    stress: str
    table_stress: str
    allowed: str
    where: str
    needs: str
    is_soft: bool


def stiffness_lines(stiffness: Stiffness, display: Display, most: int | None = None) -> list[FacetLine]:
    """A row for each facet; where there are more than so many, for the worst."""
    facets = list(stiffness.facets)
    if most is not None and len(facets) > most:
        facets = sorted(facets, key=lambda facet: -facet.share)[:most]
    return [_line(facet, display) for facet in facets]


def _line(facet: FacetStiffness, display: Display) -> FacetLine:
    sag, stress = facet.sags_most, facet.stressed_most
    return FacetLine(
        facet.face,
        " × ".join(display.figure(size) for size in facet.round_it),
        sag.load,
        _sag(sag.sag, display),
        NO_CASE if sag.published_sag is None else _sag(sag.published_sag, display),
        _sag(facet.sag_borne, display),
        _stress(stress.stress),
        NO_CASE if stress.published_stress is None else _stress(stress.published_stress),
        _stress(stress.allowed),
        stress.where,
        _needs(facet, display),
        facet.is_soft,
    )


def _sag(sag: float, display: Display) -> str:
    return sag_figure(sag, display, UNDER)


def _stress(stress: float) -> str:
    return f"{stress:.0f}" if stress >= 1 else f"{UNDER}1"


def _needs(facet: FacetStiffness, display: Display) -> str:
    if not facet.is_soft:
        return "enough" if facet.share <= 1.0 else "just enough"
    thicker = "no usual sheet" if facet.thickness is None else display.fine(facet.thickness)
    return f"{thicker}, or a rib" if facet.rib is not None and facet.rib <= AT_MOST else thicker


def verdict_words(stiffness: Stiffness, display: Display) -> str:
    """Whether the metal is stiff enough, and if not what sheet would do for all."""
    worst = stiffness.nearest
    has = display.fine(stiffness.thickness)
    if stiffness.is_enough:
        return f"Stiff enough in {has}: {worst.face} comes nearest, {nearest_words(worst.share)}."
    too_soft = "Too soft" if any(facet.gives for facet in stiffness.facets) else "Perhaps too soft"
    soft = sum(1 for facet in stiffness.facets if facet.is_soft)
    thicker = (
        "no usual sheet would do for all"
        if stiffness.needed is None
        else f"{display.fine(stiffness.needed)} sheet would do for all"
    )
    return (
        f"{too_soft} in {has}: {soft} of {len(stiffness.facets)} facets bear{'s' if soft == 1 else ''} too little, "
        f"{worst.face} worst, {nearest_words(worst.share)}; {thicker}."
    )


def nearest_words(share: float) -> str:
    """How near a facet comes to what is borne, or how far over that.

    >>> nearest_words(0.957), nearest_words(1.004), nearest_words(1.234)
    ('at 96 % of what is borne', 'just at what is borne', 'at 123 % of what is borne')
    """
    return "just at what is borne" if 1.0 < share <= AT_MOST else f"at {share * 100:.0f} % of what is borne"


def basis_words(plan: Plan, stiffness: Stiffness) -> list[str]:
    """What it is reckoned with, in short."""
    sheet = plan.sheet
    loads = [load_words(sheet, load) for load in (FILLED, LEANED_ON)]
    told = [
        f"An estimate: each facet a flat plate by itself, its edges held by weld, fold or bench. {loads[0]}; or "
        f"{loads[1][0].lower()}{loads[1][1:]} at its middle; each with its own weight. Sag as if edges could turn, 1 in "
        f"{sheet.duty.sag:g} of the short span is borne. Stress in N/mm²: {sheet.material.alloy} stays bent from "
        f"{stiffness.proof:.0f}, beside a weld from {stiffness.welded:.0f} ({stiffness.source}); three quarters of that is "
        "allowed, at held edges one and a half times. Sag and stress of the facet itself decide; beside them, by the tables "
        "(Timoshenko, Roark; from memory), what is published of the rectangle round it, held alike, sure to be no stiffer."
    ]
    if stiffness.stretched:
        every = len(stiffness.stretched) == len(stiffness.facets) > 1
        which = "Every facet" if every else ", ".join(stiffness.stretched)
        told.append(f"{which}: over half a thickness of sag sheet is stretched too, and in truth sags less.")
    if any(facet.has_free_edge for facet in stiffness.facets):
        told.append(
            "Tops without a return are free, a return holds them; the tables have no walls less than half as high as long."
        )
    return told
