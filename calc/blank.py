"""What a blank is: a flat piece of sheet, cut to an outline, from which one face or several are made.

Frame of a blank: wet face up, the base edge from (0, 0) along +x, everything else above it; lengths [mm], angles [degrees].
Outlines run anticlockwise; corner i and edge i (from corner i to corner i + 1) of the net and the cut outline belong together.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from calc.records import Outline, Point


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole: centre and diameter [mm]."""

    centre: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class FoldLine:
    """A fold: the middle line of the bend, its angle (positive closes the wet faces), inside radius and allowance."""

    line: tuple[Point, Point]
    angle: float
    inside_radius: float
    allowance: float


@dataclass(frozen=True, slots=True)
class BlankEdge:
    """What an edge of the blank meets when it is fitted: a seam to another face, or nothing (a free edge).

    edge: the vertices of the shell it lies between; face: the face it belongs to; meets: the face across the seam.
    """

    kind: Literal["free", "weld"]
    edge: tuple[int, int]
    face: str
    meets: str | None


@dataclass(frozen=True, slots=True)
class Check:
    """A length between two corners of the cut outline, measured after marking out to prove it [mm]."""

    start: int = field(metadata={"key": "from"})
    end: int = field(metadata={"key": "to"})
    length: float


@dataclass(frozen=True, slots=True)
class Marking:
    """How to mark a blank out: the base edge as two corners, each corner along and square to it [mm], and the checks."""

    base: tuple[int, int]
    offsets: tuple[Point, ...]
    checks: tuple[Check, ...]


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


def patterns(blanks: Sequence[Blank]) -> Iterator[tuple[Blank, tuple[Blank, ...]]]:
    """Each blank that has to be marked out, with the others that are the same."""
    for blank in blanks:
        if blank.same_as is None:
            yield blank, tuple(other for other in blanks if other.same_as == blank.name)
