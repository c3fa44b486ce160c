"""How to mark a blank out by hand: a base line, each corner along it and square to it, and lengths that prove it."""

import math
from collections.abc import Sequence
from dataclasses import replace

from calc.blank import Blank, Check, Marking
from calc.records import Outline


def mark_out(blanks: Sequence[Blank]) -> tuple[Blank, ...]:
    """The blanks, each with its marking."""
    return tuple(replace(blank, marking=marking_of(blank.cut_outline)) for blank in blanks)


def marking_of(cut_outline: Outline) -> Marking:
    """The marking of a blank in its own frame (base edge from (0, 0) along +x).

    cut_outline: (n, 2) [mm]. Offsets are each corner's distance along the base from corner 0 and square to it [mm]. The
    checks are every edge and, from four corners on, the diagonals from corner 0 and the one between its neighbours.

    >>> marking_of(((0.0, 0.0), (40.0, 0.0), (40.0, 30.0))).checks[2]
    Check(start=2, end=0, length=50.0)
    """
    count = len(cut_outline)
    pairs = [(i, (i + 1) % count) for i in range(count)]
    if count > 3:
        pairs += [(0, i) for i in range(2, count - 1)] + [(1, count - 1)]
    checks = tuple(Check(i, j, math.dist(cut_outline[i], cut_outline[j])) for i, j in pairs)
    return Marking((0, 1), cut_outline, checks)
