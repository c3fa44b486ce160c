"""The cut tree: every layout it can hold comes apart by edge-to-edge cuts, in the order the tree is read.

A node is a convex region. The cuts made in it follow one another: each takes away what lies beyond it (a child node in
`wastes`), and what is left after the last is the `core`: a part exactly, or a node again. A node without a core is free.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from math import dist
from random import Random

from calc.layout.polygons import FLUSH, ON_LINE, Line, area, clip, edge_line, opposite, reach
from calc.layout.regions import Region, Spot
from calc.records import Outline

GUIDABLE = 5.0  # mm of waste beyond the kerf: a strip thinner than this can hardly be clamped or guided
SMALLEST_WASTE = 1e-3  # mm: the thinnest waste a cut of no width may leave


class Node:
    """A region, the cuts made in it one after another, what each takes off, and what is left."""

    __slots__ = ("core", "cuts", "region", "wastes")

    def __init__(self, region: Region) -> None:
        self.region = region
        self.clear()

    def clear(self) -> None:
        self.cuts: tuple[Line, ...] = ()
        self.wastes: tuple[Node | None, ...] = ()
        self.core: Spot | Node | None = None

    def copy(self) -> "Node":
        """A tree of its own; not recursive, since a long chain of cuts makes a deep tree."""
        twin = Node(self.region)
        waiting = [(self, twin)]
        while waiting:
            old, new = waiting.pop()
            new.cuts = old.cuts
            new.wastes = tuple([w and Node(w.region) for w in old.wastes])
            waiting += [(w, n) for w, n in zip(old.wastes, new.wastes, strict=True) if w and n]
            new.core = old.core
            if isinstance(old.core, Node):
                new.core = Node(old.core.region)
                waiting.append((old.core, new.core))
        return twin

    def nodes(self) -> Iterator["Node"]:
        """This node and all below it."""
        waiting = [self]
        while waiting:
            node = waiting.pop()
            yield node
            waiting += [w for w in node.wastes if w]
            if isinstance(node.core, Node):
                waiting.append(node.core)

    def spots(self) -> list[Spot]:
        """The parts placed in this node and below it."""
        return [node.core for node in self.nodes() if isinstance(node.core, Spot)]


@dataclass(frozen=True, slots=True, eq=False)
class Carving:
    """Cuts that free a part from a region, in order, and what each takes off (None: nothing of use)."""

    cuts: tuple[Line, ...]
    wastes: tuple[Outline, ...]


def carve(region: Outline, part: Outline, kerf: float, rng: Random, taste: float) -> Carving | None:
    """The part's free edges as cuts, in an order that leaves large regions; None where a cut would have no room.

    A cut needs as much waste beyond the edge as it is wide. `taste` is how far chance may sway the choice of the order.
    """
    lines = _free_lines(region, part, kerf)
    if lines is None:
        return None
    best, best_score = None, -1.0
    for order in _orders([line for _, line in lines], rng):
        carving = _in_order(region, order, kerf)
        if carving:
            score = _worth(carving, kerf) * (1.0 + taste * rng.random())
            if score > best_score:
                best, best_score = carving, score
    # beside a short edge the waste grows thinner with every cut, so where chance finds no order the short edges go first
    return best or _in_order(region, [line for _, line in sorted(lines)], kerf)


def _free_lines(region: Outline, part: Outline, kerf: float) -> list[tuple[float, Line]] | None:
    """The lines of the part's edges that lie on no edge of the region, each after its length; None where one has no room."""
    lines = []
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    a = part[-1]
    for b in part:
        line = edge_line(a, b)
        waste = reach(region, line[0], line[1]) - line[2]
        if waste > FLUSH:
            if waste < least:
                return None
            lines.append((dist(a, b), line))
        a = b
    return lines


def _orders(lines: Sequence[Line], rng: Random) -> list[Sequence[Line]]:
    if len(lines) <= 3:
        return list(permutations(lines))
    return [rng.sample(lines, len(lines)) for _ in range(8)]


def _in_order(region: Outline, order: Sequence[Line], kerf: float) -> Carving | None:
    cuts: list[Line] = []
    wastes: list[Outline] = []
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    for line in order:
        waste = reach(region, line[0], line[1]) - line[2]
        if waste > FLUSH:
            if waste < least:
                return None
            cuts.append(line)
            wastes.append(clip(region, opposite(line, kerf)))
            region = clip(region, line)
    return Carving(tuple(cuts), tuple(wastes))


def _worth(carving: Carving, kerf: float) -> float:
    """Large regions count more than their sum; a strip too thin to guide halves the worth."""
    worth = 1.0
    for line, waste in zip(carving.cuts, carving.wastes, strict=True):
        if waste:
            worth += area(waste) ** 2
        if not waste or reach(waste, line[0], line[1]) - line[2] < kerf + GUIDABLE:
            worth *= 0.5
    return worth


def reclip(tree: Node, region: Region, kerf: float) -> Node:
    """What of a tree still stands in a smaller region: cuts that keep their room, parts that are still inside."""
    fresh = Node(region)
    waiting = [(tree, fresh)]
    while waiting:
        old, new = waiting.pop()
        shrunk = _cuts_that_stand(old, new.region.points, kerf)
        if shrunk is None:
            continue
        new.cuts, regions, points = shrunk
        new.wastes = tuple([Node(Region(far)) if far else None for _, far in regions])
        waiting += [(w, n) for (w, _), n in zip(regions, new.wastes, strict=True) if w and n]
        if isinstance(old.core, Node):
            new.core = Node(Region(points))
            waiting.append((old.core, new.core))
        elif old.core is not None and _fills(old.core, points):
            new.core = old.core
        elif new.cuts:
            new.core = Node(Region(points))
    return fresh


Shrunk = tuple[tuple[Line, ...], list[tuple[Node | None, Outline]], Outline]


def _cuts_that_stand(node: Node, points: Outline, kerf: float) -> Shrunk | None:
    """The node's cuts in a smaller region, what each takes off, and what is left; None where one has lost its room."""
    cuts: list[Line] = []
    regions: list[tuple[Node | None, Outline]] = []
    for line, waste in zip(node.cuts, node.wastes, strict=True):
        room = reach(points, line[0], line[1]) - line[2]
        if room <= FLUSH:
            continue
        near = clip(points, line)
        if room < max(kerf, SMALLEST_WASTE) - ON_LINE or not near:
            return None
        cuts.append(line)
        regions.append((waste, clip(points, opposite(line, kerf)) if waste else ()))
        points = near
    return tuple(cuts), regions, points


def _fills(spot: Spot, points: Outline) -> bool:
    """Whether a part fills a region: it was cut to fit, so it does unless the region has lost some of it."""
    return area(spot.points) <= area(points) + FLUSH * spot.part.perimeter
