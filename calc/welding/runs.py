"""Tacks and runs of a weld: how far apart, how long, and in which order.

Runs are short (common practice): a seam goes from its middle outward, and is back-stepped: each run begins at its far end and
is welded back to where the one before it began. So the metal ahead of the arc is cold, and what the last run drew together the
next one does not draw further.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from calc.records import Point3
from calc.turns import middle, spread
from calc.welding.courses import Course
from calc.welding.records import Run, Tack

SHORT, THIN_UP_TO, USUAL = 75.0, 1.5, 100.0  # [mm] common practice: runs of 75 in sheet to 1.5 thick, of 100 in thicker
SAME_LENGTH = 1e-6  # [mm]


def longest_run(thickness: float) -> float:
    """How long a run may be [mm] in metal of this thickness [mm]."""
    return SHORT if thickness <= THIN_UP_TO + SAME_LENGTH else USUAL


def parts_of(length: float, most: float) -> int:
    """In how many even parts a length is taken, none longer than `most`.

    >>> parts_of(150.0, 75.0), parts_of(150.1, 75.0)
    (2, 3)
    """
    return max(1, math.ceil((length - SAME_LENGTH) / most))


@dataclass(frozen=True, slots=True)
class Piece:
    """A run before it has its turn: of which weld, from where to where along it, and in space."""

    weld: int
    begins: float
    ends: float
    line: tuple[Point3, Point3]

    @property
    def middle(self) -> Point3:
        return middle(*self.line)


def halves(course: Course, weld: int, most: float) -> Iterator[list[Piece]]:
    """The runs of a weld, those of each half of each stretch in the order in which they must be made: outward."""
    for stretch, (start, end) in enumerate(course.stretches):
        count = parts_of(end - start, most)
        marks = [start + (end - start) * i / count for i in range(count)] + [end]
        amid = count // 2
        for here, step in ((amid, 1), (amid, -1)):
            outward = range(here, count) if step > 0 else range(here, 0, -1)
            pieces = [(marks[i + step], marks[i]) for i in outward]
            if pieces:
                yield [Piece(weld, a, b, course.between(stretch, a, b)) for a, b in pieces]


def in_order(queues: Sequence[Sequence[Piece]], before: Sequence[Piece] = ()) -> list[Piece]:
    """The runs in the order in which they are made: each as far as can be from the two next to it in turn.

    queues: runs that must be made in their order. before: what is made after them, first to last. The order is found from the
    last run backward: whichever end it is begun from, the runs that are left over bunch at the other, and the ends of seams
    that meet at a low point bunch worse than their middles do.
    """
    if not queues:
        return []
    longest = max(range(len(queues)), key=lambda i: len(queues[i]))
    backward = [[piece.middle for piece in reversed(queue)] for queue in queues]
    found = spread(backward, longest, [piece.middle for piece in reversed(before)])
    return [queues[i][-1 - place] for i, place in reversed(found)]


def end_to_end(pieces: Sequence[Piece]) -> list[Piece]:
    """The same runs as they come without a plan: weld after weld, from its start to its end, each onward."""
    onward = [
        piece if piece.begins <= piece.ends else Piece(piece.weld, piece.ends, piece.begins, piece.line[::-1])
        for piece in pieces
    ]
    return sorted(onward, key=lambda piece: (piece.weld, piece.begins))


def runs_of(weld: int, ordered: Sequence[Piece]) -> tuple[Run, ...]:
    """The runs of one weld, their turns counted over all that are made in one go."""
    return tuple(
        Run(turn, piece.begins, piece.ends, piece.line) for turn, piece in enumerate(ordered, 1) if piece.weld == weld
    )


def tacks_of(course: Course, pitch: float) -> tuple[Tack, ...]:
    """The tacks of a weld in their turn: even, no farther apart than the pitch [mm], each stretch from its middle outward.

    From the middle outward so that a gap that opens or shuts is pushed out at the ends, not caught between two tacks (common
    practice); until the ends are tacked, last, clamps hold them.
    Both ends of a seam are tacked; on a closed weld a stretch's end is the next one's beginning. Stretches take turns,
    the one opposite next.
    """
    places = []
    for start, end in course.stretches:
        count = parts_of(end - start, pitch)
        marks = [start + (end - start) * i / count for i in range(count)] + ([] if course.closed else [end])
        amid = (start + end) / 2
        places.append(sorted(marks, key=lambda at: (round(abs(at - amid), 6), at)))
    rounds = zip_longest(*_opposite(places))
    told = [at for one in rounds for at in one if at is not None]
    return tuple(Tack(turn, at) for turn, at in enumerate(told, 1))


def _opposite(stretches: list[list[float]]) -> list[list[float]]:
    """Stretches so that each that follows lies across from the one before: 1, 3, 2, 4 of four."""
    half = (len(stretches) + 1) // 2
    pairs = zip_longest(stretches[:half], stretches[half:])
    return [stretch for pair in pairs for stretch in pair if stretch is not None]
