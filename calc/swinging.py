"""Corners marked by two swung arcs, for who has a beam compass or a tape and no long square.

Each corner past the base is where two arcs cross, swung from corners that are marked already. Each radius runs from where
its centre was marked to the corner's true place and is rounded to the rule, so that errors don't add up from corner to
corner. A radius is out by no more than half a step; what that moves the mark by depends on how the arcs cross, which is why
they are taken to cross as squarely as can be: at 30 degrees the mark may be out by half a step / sin(15 degrees), 1.9 steps.
"""

import math
from collections.abc import Iterable, Mapping
from itertools import combinations

from calc.blank import Swing
from calc.records import Outline, Point
from calc.units import Display

SHORTEST = 20.0  # [mm] common practice: nobody swings a shorter arc to find a corner
FLATTEST = 30.0  # [degrees] common practice: arcs that cross at less, or at over 180 less this, leave no sharp mark


def swing_corners(
    true: Outline, rounded: Outline, display: Display, marked: Iterable[int] | None = None
) -> tuple[tuple[Swing, ...], Outline]:
    """The arcs that mark each corner past the base, and where each corner lands that is marked so [mm].

    true, rounded: the corners, and where offsets read off the rule put them; base corners, and one that no two arcs cross
    well for, stay where the offsets put them. marked: the corners that are marked at all, in order; None: every one.

    >>> swings, landed = swing_corners(((0, 0), (40, 0), (40, 30)), ((0, 0), (40, 0), (40, 30)), Display())
    >>> swings[0].centres, swings[0].radii, round(swings[0].crossing, 3)
    ((0, 1), (50.0, 30.0), 53.13)
    """
    places, swings = {0: rounded[0], 1: rounded[1]}, []
    for corner in range(2, len(true)) if marked is None else [corner for corner in marked if corner > 1]:
        swing = _best(corner, true[corner], places, display)
        crossing = swing and _landing(swing, true[corner], places)
        if swing and crossing:
            swings.append(swing)
        places[corner] = crossing or rounded[corner]
    return tuple(swings), tuple(places.get(corner, point) for corner, point in enumerate(rounded))


def _best(corner: int, at: Point, landed: Mapping[int, Point], display: Display) -> Swing | None:
    """The arcs that cross most squarely; of equals, from the lowest corners."""
    radii = {centre: float(display.rounded(math.dist(at, place))) for centre, place in landed.items()}
    ways = {centre: (x - at[0], y - at[1]) for centre, (x, y) in landed.items()}
    best: Swing | None = None
    for one, other in combinations(landed, 2):
        (ax, ay), (bx, by) = ways[one], ways[other]
        crossing = math.degrees(math.atan2(abs(ax * by - ay * bx), ax * bx + ay * by))
        is_better = best is None or abs(crossing - 90) < abs(best.crossing - 90) - 1e-9
        if is_better and min(radii[one], radii[other]) >= SHORTEST:
            best = Swing(corner, (one, other), (radii[one], radii[other]), crossing)
    return best if best and FLATTEST <= best.crossing <= 180 - FLATTEST else None


def _landing(swing: Swing, near: Point, landed: Mapping[int, Point]) -> Point | None:
    """Where the arcs cross: of their two crossings the one nearer to the true corner; None where they don't meet."""
    (ax, ay), (bx, by) = (landed[centre] for centre in swing.centres)
    apart = math.dist((ax, ay), (bx, by))
    if apart == 0:
        return None
    along = (swing.radii[0] ** 2 - swing.radii[1] ** 2 + apart**2) / (2 * apart)
    square = swing.radii[0] ** 2 - along**2
    if square < 0:
        return None
    ux, uy, off = (bx - ax) / apart, (by - ay) / apart, math.sqrt(square)
    crossings = [(ax + ux * along - uy * side, ay + uy * along + ux * side) for side in (off, -off)]
    return min(crossings, key=lambda crossing: math.dist(crossing, near))
