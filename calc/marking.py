"""How to mark a blank out by hand: a base line, each corner along it and square to it, and lengths that prove it.

What a hand reads off is rounded to the shop's rule, each coordinate to its nearest step. Of all points that the rule can
reach that one is nearest to the true corner, both figure by figure and as the crow flies: no measured figure is out by more
than half a step, and a corner, which takes two figures, by no more than half a step times the square root of 2.

The lengths that prove a blank are measured between the corners as marked, and then rounded, so that they agree with the
offsets: a blank that is marked out to its figures passes its checks.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from calc.alike import edge_matches
from calc.blank import Blank, Check, Marking, patterns
from calc.records import Outline, Point
from calc.shell import Shell
from calc.swinging import SHORTEST, swing_corners
from calc.units import Display

USUAL = Display()


@dataclass(frozen=True, slots=True)
class Rounding:
    """What reading off a rule does to the fit, hands and saw apart.

    rule: its step [mm]; corner: how far the worst corner of any blank is marked from its true place [mm]; gap: how much the
    worst seam opens beyond its root gap, or closes, where its blanks lie with their base corners true [mm]; gap_at: its
    faces, empty where there is no seam.
    """

    rule: float
    corner: float
    gap: float
    gap_at: str


def mark_out(blanks: Sequence[Blank], display: Display = USUAL) -> tuple[Blank, ...]:
    """The blanks, each with its marking, read off the display's rule."""
    return tuple(replace(blank, marking=_marking(blank, display)) for blank in blanks)


def marking_of(cut_outline: Outline, display: Display = USUAL, marked: Sequence[int] | None = None) -> Marking:
    """The marking of a blank in its own frame (base edge from (0, 0) along +x).

    cut_outline: (n, 2) [mm]. Offsets are each corner's distance along the base from corner 0 and square to it [mm]. The
    checks are every edge and, from four corners on, the diagonals from corner 0 and the one between its neighbours. marked:
    the corners that are marked at all (`Blank.marked_corners`); None: every one.

    >>> marking_of(((0.0, 0.0), (40.2, 0.0), (40.2, 30.0))).rounded
    ((0.0, 0.0), (40.0, 0.0), (40.0, 30.0))
    >>> marking_of(((0.0, 0.0), (40.2, 0.0), (40.2, 30.0))).checks[2]
    Check(start=2, end=0, length=50.1601..., rounded=50.0)
    """
    rounded = tuple(to_rule(corner, display) for corner in cut_outline)
    pairs = proving_pairs(len(cut_outline))
    swings, landed = swing_corners(cut_outline, rounded, display, marked)
    swung = {frozenset((swing.corner, centre)) for swing in swings for centre in swing.centres} | {frozenset((0, 1))}
    left = [
        (start, end)
        for start, end in pairs
        if frozenset((start, end)) not in swung
        and (marked is None or {start, end} <= set(marked))
        and math.dist(cut_outline[start], cut_outline[end]) >= SHORTEST
    ]
    return Marking(
        base=(0, 1),
        offsets=cut_outline,
        checks=tuple(_check(pair, cut_outline, rounded, display) for pair in pairs),
        rounded=rounded,
        swings=swings,
        swing_checks=tuple(_check(pair, cut_outline, landed, display) for pair in left) if swings else (),
    )


def _marking(blank: Blank, display: Display) -> Marking:
    ends = tuple((to_rule(fold.line[0], display), to_rule(fold.line[1], display)) for fold in blank.folds)
    centres = tuple(to_rule(hole.centre, display) for hole in blank.holes)
    marking = marking_of(blank.cut_outline, display, blank.marked_corners)
    return replace(marking, fold_ends=ends, hole_centres=centres)


def to_rule(point: Point, display: Display) -> Point:
    """A point as near as the rule can mark it [mm]: see the module for how near that is.

    >>> to_rule((10.24, 3.26), Display())
    (10.0, 3.5)
    """
    return (float(display.rounded(point[0])), float(display.rounded(point[1])))


def proving_pairs(count: int) -> list[tuple[int, int]]:
    """The pairs of corners that prove an outline: every edge, the diagonals from corner 0, the one across corner 0.

    >>> proving_pairs(4)
    [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)]
    """
    pairs = [(index, (index + 1) % count) for index in range(count)]
    return pairs + ([(0, index) for index in range(2, count - 1)] + [(1, count - 1)] if count > 3 else [])


def _check(pair: tuple[int, int], true: Outline, marked: Outline, display: Display) -> Check:
    start, end = pair
    length = float(display.rounded(math.dist(marked[start], marked[end])))
    return Check(start, end, math.dist(true[start], true[end]), length)


def rounding_of(blanks: Sequence[Blank], shell: Shell, display: Display) -> Rounding:
    """What the rule does to the fit of these blanks, as `mark_out` gave them, on their shell.

    Blanks that are the same are marked out as the first of them is, so its rounding is theirs, turned (over) with it.
    """
    errors = _edge_errors(blanks)
    worst, at = 0.0, ""
    for joint in shell.joints:
        sides = [errors.get((face, frozenset(joint.edge))) for face in joint.between]
        if joint.kind != "weld" or None in sides:
            continue
        step = max(abs(math.fsum(side[end] for side in sides if side)) for end in joint.edge)
        if step > worst or not at:
            worst, at = step, joint.name
    corner = max((_farthest(blank) for blank, _ in patterns(blanks)), default=0.0)
    return Rounding(float(display.step), corner, worst, at)


def _farthest(blank: Blank) -> float:
    """How far the worst of a blank's marked corners is from its true place [mm]."""
    return max(math.dist(blank.cut_outline[i], blank.marking.shown[i]) for i in blank.marked_corners)


def _edge_errors(blanks: Sequence[Blank]) -> dict[tuple[str, frozenset[int]], dict[int, float]]:
    """How far outward each seam edge of each blank is marked, at its two vertices [mm], by face and edge of the shell."""
    found = {}
    for pattern, alike in patterns(blanks):
        outward = _outward(pattern)
        for blank in (pattern, *alike):
            for index, place in enumerate(edge_matches(pattern, blank) if blank.edges else ()):
                edge = blank.edges[place]
                ends = outward[index][::-1] if blank.mirrored != pattern.mirrored else outward[index]
                if edge.meets is not None:
                    found[edge.face, frozenset(edge.edge)] = dict(zip(edge.edge, ends, strict=True))
    return found


def _outward(blank: Blank) -> list[tuple[float, float]]:
    """How far outward both ends of each edge of the cut outline are marked, square to the edge [mm]."""
    true, marked, count = blank.cut_outline, blank.marking.shown, len(blank.cut_outline)
    found = []
    for start in range(count):
        end = (start + 1) % count
        along_x, along_y = true[end][0] - true[start][0], true[end][1] - true[start][1]
        length = math.hypot(along_x, along_y)
        one, other = (
            ((marked[at][0] - true[at][0]) * along_y - (marked[at][1] - true[at][1]) * along_x) / length
            for at in (start, end)
        )
        found.append((one, other))
    return found
