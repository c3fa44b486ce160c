"""A rib along the middle of a facet: what each of the two plates bears that it makes of it.

The rib runs along the rectangle round the facet, through the middle of the largest circle that the facet holds. It is taken to
be far stiffer than the sheet, and as welded on: each half is a plate of its own, held all round, and solved like any other.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from calc.stiffness.facets import LoadedFacet, load_panel
from calc.stiffness.published import long_way

ON_LINE = 1e-3  # of the facet's size: a corner nearer than that to the rib is at its end
RIB = "weld"  # how a half ends at the rib


def ribbed(facet: LoadedFacet) -> tuple[LoadedFacet, LoadedFacet]:
    """The two halves of a facet that has a rib along its middle."""
    one, other = (_half(facet, side) for side in (1.0, -1.0))
    return one, other


def _half(facet: LoadedFacet, side: float) -> LoadedFacet:
    """The half on one side of the rib."""
    corners = np.array(facet.panel.outline)
    along, across = long_way(facet.panel.outline)
    over = side * ((corners - facet.plate.centre) @ (-across, along))
    over[np.abs(over) < ON_LINE * float(np.ptp(corners, axis=0).max())] = 0.0
    found: list[tuple[NDArray[np.float64], str]] = []
    for here, kind in enumerate(facet.edges):
        after = (here + 1) % len(corners)
        start, end = float(over[here]), float(over[after])
        crossing = corners[here] + (corners[after] - corners[here]) * (start / (start - end) if start != end else 0.0)
        if start > 0.0:
            found.append((corners[here], kind))
        if start == 0.0:
            found.append((corners[here], kind if end > 0.0 else RIB))
        elif start * end < 0.0:
            found.append((crossing, kind if end > 0.0 else RIB))
    spots, kinds = zip(*found, strict=True)
    outline = tuple((round(float(x), 4), round(float(y), 4)) for x, y in spots)
    return load_panel(facet.face, facet.metal, facet.duty, replace(facet.panel, outline=outline), kinds, facet.brim)
