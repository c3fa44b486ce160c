"""In which order seams and runs are welded, so that the heat is spread: each as far as can be from the last two."""

import math
from collections.abc import Sequence

from calc.records import Point3
from calc.shell import Joint, Shell

LATELY = (0.5, 1.0)  # how much the last but one and the last of them count: the last is the warmest
SAME = 1e-6  # [mm] of places equally far the first is taken, whatever rounding says


def in_turn(joints: Sequence[Joint], shell: Shell) -> tuple[Joint, ...]:
    """Joints in an order that spreads the heat: the longest first, then each as far as can be from the last two."""
    if not joints:
        return ()
    middles = [[middle(*(shell.vertices[index] for index in joint.edge))] for joint in joints]
    longest = max(range(len(joints)), key=lambda i: joints[i].length)
    return tuple(joints[i] for i, _ in spread(middles, longest))


def spread(queues: Sequence[Sequence[Point3]], first: int, after: Sequence[Point3] = ()) -> list[tuple[int, int]]:
    """The order in which to go to places (their middles in space), each as far as can be from the last two.

    queues: places that must be gone to in their order, queue by queue. A queue counts as farther the more is left of it (by the
    square root), so that no long one is left over to be gone through at the end. first: the queue to begin with, where nothing
    was done before; after: the places that were gone to last. Returns (queue, place in it) of each.
    """
    places, done, recent = [0] * len(queues), list[tuple[int, int]](), list(after)
    for _ in range(sum(len(queue) for queue in queues)):
        last = recent[-2:]
        weights = LATELY[-len(last) :]
        best, most = first, -1.0
        for i, queue in enumerate(queues if last else ()):
            if (left := len(queue) - places[i]) > 0:
                room = _room(queue[places[i]], last, weights) * math.sqrt(left)
                best, most = (i, room) if room > most + SAME else (best, most)
        done.append((best, places[best]))
        recent.append(queues[best][places[best]])
        places[best] += 1
    return done


def _room(place: Point3, last: Sequence[Point3], weights: Sequence[float]) -> float:
    return min(math.dist(place, spot) / weight for spot, weight in zip(last, weights, strict=True))


def middle(start: Point3, end: Point3) -> Point3:
    """The point half-way between two."""
    return ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2, (start[2] + end[2]) / 2)
