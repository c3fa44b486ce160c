"""What a blank is: a flat piece of sheet, cut to an outline, from which one face or several are made.

Frame of a blank: wet face up, the base edge from (0, 0) along +x, everything else above it; lengths [mm], angles [degrees].
Outlines run anticlockwise; edge i runs from corner i to corner i + 1. Of a blank that is one face, corner i of the net and of
the cut outline belong together; a folded one has more corners cut than net, where its bends end.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from calc.records import Outline, Point

FILED = 0.3  # [mm] a corner this little outside a drilled hole goes when its burr is taken off


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole: centre and diameter [mm]. A relief, where bends meet, may lie across the edge of the blank.

    purpose: a relief, drilled before folding; or the outlet, where the blank holds it whole or it serves as the relief.
    """

    centre: Point
    diameter: float
    purpose: Literal["relief", "outlet"] = "relief"

    def holds(self, point: Point) -> bool:
        """Whether a point lies within the hole, or so little outside it that the file takes what is left."""
        return math.dist(self.centre, point) < self.diameter / 2 + FILED


@dataclass(frozen=True, slots=True)
class FoldLine:
    """A fold: the middle line of the bend, its angle (positive closes the wet faces), inside radius and allowance.

    between: the faces either side, left of the line and right of it; edge: the vertices of the shell it lies along, the
    first at the line's start.
    """

    line: tuple[Point, Point]
    angle: float
    inside_radius: float
    allowance: float
    between: tuple[str, str] = ("", "")
    edge: tuple[int, int] = (0, 0)

    @property
    def name(self) -> str:
        """The fold as the shop says it: by the two faces it joins."""
        return "-".join(self.between)

    @property
    def words(self) -> str:
        """The way the metal is folded, wet face up, and by how much."""
        return f"{'UP' if self.angle > 0 else 'DOWN'} {abs(self.angle):.1f}°"


@dataclass(frozen=True, slots=True)
class BlankEdge:
    """What an edge of the blank meets when it is fitted: a seam to another face, or nothing (a free edge).

    edge: the vertices of the shell it lies between; face: the face it belongs to; meets: the face across the seam. The
    end of a bend is an edge too: it lies at one vertex.
    """

    kind: Literal["free", "weld", "bend"]
    edge: tuple[int, int]
    face: str
    meets: str | None


@dataclass(frozen=True, slots=True)
class Check:
    """A length between two corners of the cut outline, measured after marking out to prove it [mm].

    rounded: what the rule must show there, between the corners as they are marked; None in a plan of an earlier day.
    """

    start: int = field(metadata={"key": "from"})
    end: int = field(metadata={"key": "to"})
    length: float
    rounded: float | None = None

    @property
    def shown(self) -> float:
        """The length to print [mm]."""
        return self.length if self.rounded is None else self.rounded


@dataclass(frozen=True, slots=True)
class Swing:
    """A corner marked where two arcs cross: their centres (corners marked before it) and radii, rounded to the rule [mm].

    crossing: the angle at which the arcs cross, 0 to 180 [degrees]; the nearer to 90, the sharper the mark.
    """

    corner: int
    centres: tuple[int, int] = field(metadata={"key": "from"})
    radii: tuple[float, float]
    crossing: float


@dataclass(frozen=True, slots=True)
class Marking:
    """How to mark a blank out: the base edge as two corners, each corner along and square to it [mm], and the checks.

    offsets are exact. What a hand reads is rounded to the rule (see `calc.marking` for how far that may be out): rounded,
    each corner; hole_centres, each hole; fold_ends, both ends of each fold; all along the base and square to it. swings
    mark the same corners by arcs, swing_checks prove what these marked. All empty in a plan of an earlier day.
    """

    base: tuple[int, int]
    offsets: tuple[Point, ...]
    checks: tuple[Check, ...]
    rounded: tuple[Point, ...] = ()
    hole_centres: tuple[Point, ...] = ()
    fold_ends: tuple[tuple[Point, Point], ...] = ()
    swings: tuple[Swing, ...] = ()
    swing_checks: tuple[Check, ...] = ()

    @property
    def shown(self) -> tuple[Point, ...]:
        """The offsets to print [mm]."""
        return self.rounded or self.offsets


UNMARKED = Marking((0, 1), (), ())


@dataclass(frozen=True, slots=True)
class Blank:
    """One blank; see the module for its frame. area [mm2] is the net outline's, mass [kg] the cut outline's less its holes.

    same_as names an earlier blank of the same cut outline, and mirrored tells that it must be turned over to be so.
    """

    name: str
    faces: tuple[str, ...]
    count: int
    same_as: str | None
    mirrored: bool
    net_outline: Outline
    cut_outline: Outline
    holes: tuple[Hole, ...]
    folds: tuple[FoldLine, ...]
    hand_cuts: tuple[tuple[int, int], ...]
    area: float
    mass: float
    edges: tuple[BlankEdge, ...]
    marking: Marking = UNMARKED

    @property
    def drilled_edges(self) -> frozenset[int]:
        """The edges that lie in one hole from end to end: the drill makes them, nobody marks or cuts them."""
        within = [{place for place, hole in enumerate(self.holes) if hole.holds(corner)} for corner in self.cut_outline]
        return frozenset(i for i, inside in enumerate(within) if inside & within[(i + 1) % len(within)])

    @property
    def edges_by_hand(self) -> tuple[tuple[int, int], ...]:
        """The hand cuts that the drill has not made already."""
        return tuple(cut for cut in self.hand_cuts if cut[0] not in self.drilled_edges)

    @property
    def hand_cut_length(self) -> float:
        """The length of the edges that are cut by hand where the rest is cut straight [mm]."""
        return math.fsum(math.dist(self.cut_outline[i], self.cut_outline[j]) for i, j in self.edges_by_hand)

    @property
    def marked_corners(self) -> tuple[int, ...]:
        """The corners to mark out: all but those between two edges that the drill makes."""
        drilled, count = self.drilled_edges, len(self.cut_outline)
        return tuple(i for i in range(count) if not {i, (i - 1) % count} <= drilled)


def patterns(blanks: Sequence[Blank]) -> Iterator[tuple[Blank, tuple[Blank, ...]]]:
    """Each blank that has to be marked out, with the others that are the same."""
    for blank in blanks:
        if blank.same_as is None:
            yield blank, tuple(other for other in blanks if other.same_as == blank.name)
