"""How long a tray takes to empty: the area of the water surface over the flow, integrated exactly.

Between two corners' levels the area is a + b h + c h^2 of the head, and the flow goes with h^1.5 (weir) or h^0.5 (orifice), so
that each piece has a primitive. As a weir the last of it never quite goes, its flow falling faster than its depth: the time is
to a film.
"""

from collections.abc import Sequence
from itertools import pairwise

from calc.drainage.openings import PER_MINUTE, Opening
from calc.drainage.records import Slice

FILM = 1.0  # [mm] what is left on a floor that counts as drained (common practice)


def seconds_to_empty(slices: Sequence[Slice], opening: Opening, lip: float, level: float, film: float = FILM) -> float:
    """How long the level takes to sink to a film over the lip, nothing coming in [s].

    lip, level [mm], on the scale of the slices; film [mm] over the lip: 0 for an opening that is an orifice alone (a weir never
    ends). 0 where the level is no higher than the film.

    >>> import math
    >>> tank = Slice(0.0, 900.0, 1e6, 1e6, 1e6, 0.0)  # straight sides: 2 A (sqrt h1 - sqrt h2) / factor
    >>> round(seconds_to_empty([tank], Opening(math.inf, 60.0), 0.0, 900.0, 0.0), 9)
    60.0
    """
    total, change = 0.0, opening.change_over
    for piece in slices:
        bottom, top = max(piece.low - lip, film), min(piece.high, level) - lip
        if top <= bottom:
            continue
        inside = [change] if bottom < change < top else []
        ends = [bottom, *inside, top]
        a, b, c = _of_head(piece, lip)
        for start, end in pairwise(ends):
            factor, power = (opening.weir, 1.5) if end <= change else (opening.orifice, 0.5)
            total += _integral(a, b, c, power, start, end) / factor
    return total * PER_MINUTE


def _of_head(piece: Slice, lip: float) -> tuple[float, float, float]:
    """a, b, c of the area a + b h + c h^2 [mm2], h the head over the lip [mm]."""
    q0, q1, q2 = piece.quadratic
    shift = (lip - piece.low) / piece.height
    return q0 + shift * (q1 + shift * q2), (q1 + 2.0 * q2 * shift) / piece.height, q2 / piece.height**2


def _integral(a: float, b: float, c: float, power: float, start: float, end: float) -> float:
    """Of (a + b h + c h^2) / h^power from one head to another."""
    total = 0.0
    for order, factor in enumerate((a, b, c)):
        raised = order - power + 1.0
        total += factor * (end**raised - start**raised) / raised
    return total
