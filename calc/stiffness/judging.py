"""Whether a facet bears what is asked of it, and what would cure it if not."""

from collections.abc import Sequence
from dataclasses import replace

from calc.stiffness.facets import LoadedFacet
from calc.stiffness.records import AT_MOST, FacetStiffness
from calc.stiffness.ribs import ribbed

MOST_RIBBED = 6  # facets: nobody ribs more of them one by one, and each takes two plates to solve


def judge(facet: LoadedFacet, thickness: float, usual: Sequence[float]) -> FacetStiffness:
    """How stiff a facet is in sheet of a thickness [mm], and which of the usual ones, thinnest first, would do."""
    bearings = tuple(facet.bearing(load, thickness) for load in facet.loads(thickness))
    share = max(max(each.sag / facet.sag_borne, each.stress / each.allowed) for each in bearings)
    judged = FacetStiffness(
        facet.face.name,
        (facet.round_it.width, facet.round_it.length),
        facet.round_it.has_free_edge,
        facet.sag_borne,
        bearings,
        share,
        thickness,
        None,
    )
    if not judged.is_soft:
        return judged
    swept = replace(facet, duty=replace(facet.duty, chips=0.0)) if facet.duty.chips else None
    return replace(
        judged,
        thickness=next((each for each in usual if each > thickness and facet.share(each) <= AT_MOST), None),
        swept=None if swept is None else swept.share(thickness),
    )


def with_ribs(
    facets: Sequence[LoadedFacet], judged: Sequence[FacetStiffness], thickness: float
) -> tuple[FacetStiffness, ...]:
    """What was judged, and of each facet that bears too little what it would with a rib; nothing where they are many."""
    soft = sum(1 for each in judged if each.is_soft)
    return tuple(
        each
        if not each.is_soft or each.has_free_edge or soft > MOST_RIBBED
        else replace(each, rib=max(half.share(thickness) for half in ribbed(facet)))
        for facet, each in zip(facets, judged, strict=True)
    )
