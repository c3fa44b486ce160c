"""Blanks that are cut alike: which edge and corner of one lies on which of the other, and which way up copies lie on sheets."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc.blank import Blank
from calc.laid import Layout
from calc.records import Outline


def edge_matches(blank: Blank, other: Blank) -> tuple[int, ...]:
    """For each edge of a blank, the edge of the other that lies on it when the two are laid one on the other.

    The other is turned over first where just one of the two is `mirrored`. Where more than one way fits, the best fit
    counts, of equals the first. Raises ValueError where the two have not as many edges.
    """
    count = len(other.cut_outline)
    if blank.mirrored != other.mirrored:
        # turned over, its corners come round the other way: the last at place 0, and edge k at place count - 2 - k
        shift = _shift(blank.cut_outline, other.cut_outline[::-1])
        return tuple((count - 2 - index - shift) % count for index in range(count))
    shift = _shift(blank.cut_outline, other.cut_outline)
    return tuple((index + shift) % count for index in range(count))


def corner_matches(blank: Blank, other: Blank) -> tuple[int, ...]:
    """For each corner of a blank, the corner of the other that lies on it, as `edge_matches` lays them."""
    edges = edge_matches(blank, other)
    step = 1 if blank.mirrored != other.mirrored else 0
    return tuple((edge + step) % len(edges) for edge in edges)


def corner_numbers(blanks: Sequence[Blank]) -> dict[str, tuple[int, ...]]:
    """The number (from 1) that each of a blank's own corners has on the drawing of its pattern, by the blank's name."""
    by_name = {blank.name: blank for blank in blanks}
    found = {}
    for blank in blanks:
        pattern = by_name.get(blank.same_as or "", blank)
        own = corner_matches(pattern, blank)
        found[blank.name] = tuple(own.index(corner) + 1 for corner in range(len(own)))
    return found


def _shift(outline: Outline, other: Outline) -> int:
    """How many places on the other outline's corners begin, for its sides and what is across them to agree best."""
    count = len(outline)
    if len(other) != count:
        raise ValueError(f"blanks of {count} and {len(other)} corners are not alike")
    own = _spans(outline)
    misfits = [
        max(abs(a - b) for a, b in zip(own, _spans(other[shift:] + other[:shift]), strict=True))
        for shift in range(count)
    ]
    least = min(misfits)
    return next(shift for shift, misfit in enumerate(misfits) if misfit <= least + 1e-6)


def _spans(outline: Outline) -> list[float]:
    """The distances between all pairs of corners [mm]: they fix an outline but for moving, turning and mirroring it."""
    return [math.dist(one, other) for index, one in enumerate(outline) for other in outline[index + 1 :]]


@dataclass(frozen=True, slots=True)
class Lying:
    """Copies on sheet `sheet` (from 1) that don't lie there as the drawing of their pattern shows them, wet face up.

    turned_over: they lie wet face down. mirrored: their outline on the sheet is the mirror image of the drawing.
    """

    sheet: int
    copies: tuple[str, ...]
    turned_over: bool
    mirrored: bool


def lying(blank: Blank, alike: Sequence[Blank], layout: Layout) -> Iterator[Lying]:
    """The copies of a pattern and of the blanks alike that lie turned over or mirrored, sheet by sheet.

    Copies of an earlier shape are none of them, whatever their name.
    """
    flips = {each.name: each.mirrored != blank.mirrored for each in (blank, *alike)}
    for number, used in enumerate(layout.sheets, 1):
        for turned, mirrored in ((True, True), (False, True), (True, False)):
            copies = tuple(
                f"{placed.blank}.{placed.copy}"
                for placed in used.fitting
                if placed.blank in flips
                and placed.turned_over == turned
                and (placed.turned_over != flips[placed.blank]) == mirrored
            )
            if copies:
                yield Lying(number, copies, turned, mirrored)
