"""Blanks that are cut alike: which edge of one lies on which of the other, and which way up copies lie on sheets."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from calc.blank import Blank, FoldLine, Hole
from calc.laid import Layout
from calc.outlines import ALIKE, flipped, landings
from calc.records import Outline, Point
from calc.shared import Elsewhere, place_of


def name_alike(blank: Blank, earlier: Sequence[Blank], *, turn_over: bool, grain: bool) -> Blank:
    """The blank, naming the first earlier one that is cut, drilled and folded the same, turned or (if it may be) turned over.

    A blank turned over before it is folded has its other face wet, so that its folds keep their way.
    """
    for other in earlier:
        if other.same_as is not None or abs(other.mass - blank.mass) > 1e-6 * blank.mass + 1e-9:
            continue
        if _lies_on(blank, other, grain=grain):
            return replace(blank, same_as=other.name)
        if turn_over and _lies_on(turned_over(blank), other, grain=grain):
            return replace(blank, same_as=other.name, mirrored=True)
    return blank


def turned_over(blank: Blank) -> Blank:
    """The blank seen from its other side, turned over about its base line; its outline still anticlockwise."""

    def over(point: Point) -> Point:
        return (point[0], -point[1])

    return replace(
        blank,
        cut_outline=flipped(blank.cut_outline),
        holes=tuple(replace(hole, centre=over(hole.centre)) for hole in blank.holes),
        folds=tuple(replace(fold, line=(over(fold.line[0]), over(fold.line[1]))) for fold in blank.folds),
    )


def _lies_on(blank: Blank, other: Blank, *, grain: bool) -> bool:
    """Whether some way of laying one outline on the other brings holes on holes and folds on folds."""
    if len(blank.holes) != len(other.holes) or len(blank.folds) != len(other.folds):
        return False
    for turn, shift in landings(blank.cut_outline, other.cut_outline, grain=grain):

        def landed(point: Point, turn: complex = turn, shift: complex = shift) -> complex:
            return turn * complex(*point) + shift

        holes = all(any(_same_hole(landed(hole.centre), hole, its) for its in other.holes) for hole in blank.holes)
        if holes and all(
            any(_same_fold((landed(fold.line[0]), landed(fold.line[1])), fold, its) for its in other.folds)
            for fold in blank.folds
        ):
            return True
    return False


def _same_hole(centre: complex, hole: Hole, other: Hole) -> bool:
    return abs(centre - complex(*other.centre)) < ALIKE and abs(hole.diameter - other.diameter) < ALIKE


def _same_fold(line: tuple[complex, complex], fold: FoldLine, other: FoldLine) -> bool:
    ends = complex(*other.line[0]), complex(*other.line[1])
    apart = min(max(abs(line[0] - ends[i]), abs(line[1] - ends[1 - i])) for i in (0, 1))
    same_bend = abs(fold.angle - other.angle) < ALIKE and abs(fold.inside_radius - other.inside_radius) < ALIKE
    return apart < ALIKE and same_bend


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

    turned_over: they lie wet face down. mirrored: their outline on the sheet is the mirror image of the drawing. job: whose
    sheet it is; empty for the job's own.
    """

    sheet: int
    copies: tuple[str, ...]
    turned_over: bool
    mirrored: bool
    job: str = ""

    def words(self, side: str) -> str:
        """How they lie, and how they are marked out there. side: the face that is up on the drawing.

        >>> Lying(2, ("A.1", "B.1"), turned_over=True, mirrored=True).words("wet face")
        'A.1, B.1 lie turned over on sheet 2: mark them out mirrored there'
        >>> Lying(1, ("B.2",), turned_over=False, mirrored=True, job="12").words("wet face")
        'B.2 lies wet face up on job 12, sheet 1: mark it out mirrored there'
        """
        verb, them = ("lies", "it") if len(self.copies) == 1 else ("lie", "them")
        face = "turned over" if self.turned_over else f"{side} up"
        where = place_of(self.job, self.sheet) if self.job else f"sheet {self.sheet}"
        way = "mirrored" if self.mirrored else "as drawn"
        return f"{', '.join(self.copies)} {verb} {face} on {where}: mark {them} out {way} there"


Copies = Sequence[tuple[str, str, bool]]  # of each its blank, its name, whether it lies turned over


def lying(blank: Blank, alike: Sequence[Blank], layout: Layout) -> Iterator[Lying]:
    """The copies of a pattern and of the blanks alike that lie turned over or mirrored, sheet by sheet.

    Copies of an earlier shape are none of them, whatever their name.
    """
    for number, used in enumerate(layout.sheets, 1):
        copies = [(placed.blank, placed.name, placed.turned_over) for placed in used.fitting]
        yield from _lying(blank, alike, copies, Lying(number, (), turned_over=False, mirrored=False))


def lying_elsewhere(blank: Blank, alike: Sequence[Blank], elsewhere: Sequence[Elsewhere]) -> Iterator[Lying]:
    """The same of the copies on other jobs' sheets; elsewhere: those that are what is wanted."""
    for entry in elsewhere:
        copies = [(of.blank, f"{of.blank}.{copy}", copy in of.turned_over) for of in entry.copies for copy in of.copies]
        yield from _lying(
            blank, alike, copies, Lying(entry.sheet, (), turned_over=False, mirrored=False, job=entry.job)
        )


def _lying(blank: Blank, alike: Sequence[Blank], copies: Copies, there: Lying) -> Iterator[Lying]:
    flips = {each.name: each.mirrored != blank.mirrored for each in (blank, *alike)}
    for turned, mirrored in ((True, True), (False, True), (True, False)):
        names = tuple(
            name
            for of, name, is_over in copies
            if of in flips and is_over == turned and (is_over != flips[of]) == mirrored
        )
        if names:
            yield replace(there, copies=names, turned_over=turned, mirrored=mirrored)
