"""How far out the last seam and the rim can be for what marking and cutting miss by: linear propagation of errors.

Marking (`as_cut`): each corner of a face is marked along a base line and square to it, out by an error of its own each way, and
an edge is the line through its two marks, so it shifts and turns. Cutting: each cut edge then lies out by an error of its own,
the same all along it. A fold line is marked only, out across it by an error of its own at each end, and out for both its faces:
what one gains the other loses. The corners of a face are where its lines cross. Both errors are met 19 times in 20, that is two
standard deviations.

Faces are stiff (`fitting`). They are put together along a spanning tree of the joints: folds first, bent to their angles about
the lines as marked, sliding nowhere; then welds in the order in which they are tacked, but those of the body that begin at the
rim before others of the body, and mitres of strips last. A weld has the rim ends of its edges together and the edges in line:
they are clamped so on the plate before its first tack, and held while it is tacked from its middle outward, its ends last (the
steps say so). So the clamps say where a seam is fixed, not which of its tacks comes first.

The rim lies on a flat plate. The first face stands on it at its slope as drawn; one that is joined to another at the rim is
turned about the seam, still a hinge, until its own edge of the rim lies on the plate. Faces too steep for that, and those that
a seam away from the rim holds, keep the angle as drawn. The joints left over close the rings, and how far their edges are apart
there is what the errors have come to.

All is linear in the errors, near enough while they are small beside the sides. Left out: what bends take more or less than
reckoned, folds bent too far, faces sprung to meet, and what welding pulls. Corners that a relief takes count as marked like the
others, and blanks that are the same as marked one by one: cut to one pattern they would err alike.
"""

from dataclasses import dataclass

from calc.budget.fitting import PutTogether, put_together
from calc.budget.rim import rim_edges, rim_face
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.units import Display

__all__ = ["Budget", "PutTogether", "budget_of", "put_together", "rim_edges", "rim_face"]

BRIDGED = 1.0  # thicknesses of root gap that filler bridges (common practice)


@dataclass(frozen=True, slots=True)
class Budget:
    """How far out things can be [mm], either way, 19 times in 20; of what is many, the worst.

    marking, cutting: the errors it is reckoned with, as often met. gap: of the last seam tacked that closes a ring, how far its
    edges gape or bind beyond the root gap, square to the seam, at the end where that is more. gap_rim, gap_low: how far corners
    that should be one are apart at its rim end (or its upper one) and at the other, along the seam too. worst_seam, worst_gap,
    worst_rim, worst_low: the same of the seam that gapes most. side, diagonal: of the rim, between two of its corners (from 1);
    None for the diagonal of a rim of three. depth: of the lowest point under the plane that fits the rim's corners best. words:
    what it means for the shop.
    """

    marking: float
    cutting: float
    last_seam: str
    gap: float
    gap_rim: float
    gap_low: float
    worst_seam: str
    worst_gap: float
    worst_rim: float
    worst_low: float
    side: float
    side_between: tuple[int, int]
    diagonal: float | None
    diagonal_between: tuple[int, int] | None
    depth: float
    words: str


def budget_of(shell: Shell, sheet: JobSheet) -> Budget | None:
    """The error budget of a shell made as its sheet says; None where no seam closes a ring, as of loose parts."""
    making = sheet.making
    laid = put_together(shell, making.marking_error, making.cutting_error)
    if not laid.closing:
        return None
    gaps = [(joint.name, laid.gap(joint)) for joint in laid.closing]
    (last_seam, last), (worst_seam, worst) = gaps[-1], max(gaps, key=lambda found: found[1].across)
    side, side_between = max(laid.sides(), key=lambda found: found[0])
    diagonals = list(laid.diagonals())
    diagonal, diagonal_between = max(diagonals, key=lambda found: found[0]) if diagonals else (None, None)
    return Budget(
        making.marking_error,
        making.cutting_error,
        last_seam,
        *last,
        worst_seam,
        *worst,
        side,
        side_between,
        diagonal,
        diagonal_between,
        laid.depth(),
        _words(worst.across, worst_seam, sheet.material.thickness, making.display),
    )


def _words(gap: float, seam: str, thickness: float, display: Display) -> str:
    """What the worst gap means, what to do about it, and how the faces must be held for that to be true."""
    held = "Reckoned with the rim flat on a plate and the rim end of each seam clamped there before it is tacked."
    bridged = f"the {display.fine(BRIDGED * thickness)} that filler bridges (about one thickness: common practice)"
    out = f"{held} Seam {seam} may gape or bind by {display.fine(round(gap, 1))} beyond its root gap"
    if gap <= BRIDGED * thickness:
        return f"{out}, no more than {bridged}."
    return (
        f"{out}, more than {bridged}. Read the rule finer, mark every corner of a blank from one edge, and leave the last "
        "blank a little large: trim it to fit when the others are tacked."
    )
