"""The cut tree: every layout it can hold comes apart by edge-to-edge cuts, in the order the tree is read.

A node is a convex region. The cuts made in it follow one another: each takes away what lies beyond it (a child node in
`wastes`), and what is left after the last is the `core`: a part exactly, or a node again. A node without a core is free.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from random import Random

from calc.layout.polygons import FLUSH, ON_LINE, Line, area, clip, edge_line, opposite, reach
from calc.layout.regions import Region, Seat
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
        self.core: Seat | Node | None = None

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

    def spots(self) -> list[Seat]:
        """The parts placed in this node and below it."""
        return [node.core for node in self.nodes() if isinstance(node.core, Seat)]


@dataclass(frozen=True, slots=True, eq=False)
class Carving:
    """Cuts that free a part from a region, in order, and what each takes off (None: nothing of use)."""

    cuts: tuple[Line, ...]
    wastes: tuple[Region | None, ...]
    worth: float


def carvings(region: Region, spot: Seat, kerf: float, smallest: float, rng: Random) -> list[Carving]:
    """The part's free edges as cuts, in several orders; none where a cut would have no room.

    A cut needs as much waste beyond the edge as it is wide. Wastes whose area is under `smallest` are of no use.
    Remembered by the region, so that a search that comes back to a place finds what it knows of it.
    """
    known = region.carvings.get(spot)
    if known is None:
        known = region.carvings[spot] = []
        lines = _free_lines(region.points, spot.points, kerf)
        for order in _orders(lines, rng) if lines is not None else []:
            carving = _in_order(region.points, order, kerf, smallest)
            if carving:
                known.append(carving)
    return known


def _free_lines(region: Outline, part: Outline, kerf: float) -> list[Line] | None:
    lines = []
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    a = part[-1]
    for b in part:
        line = edge_line(a, b)
        waste = reach(region, line[0], line[1]) - line[2]
        if waste > FLUSH:
            if waste < least:
                return None
            lines.append(line)
        a = b
    return lines


def _orders(lines: Sequence[Line], rng: Random) -> list[Sequence[Line]]:
    if len(lines) <= 3:
        return list(permutations(lines))
    return [rng.sample(lines, len(lines)) for _ in range(8)]


def _in_order(region: Outline, order: Sequence[Line], kerf: float, smallest: float) -> Carving | None:
    cuts: list[Line] = []
    wastes: list[Region | None] = []
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    worth = 1.0
    for line in order:
        nx, ny, c = line
        room = reach(region, nx, ny) - c
        if room > FLUSH:
            if room < least:
                return None
            cuts.append(line)
            waste = clip(region, opposite(line, kerf))
            size = area(waste) if waste else 0.0
            # large regions count more than their sum; a strip too thin to guide halves the worth
            worth += size * size
            if room < 2 * kerf + GUIDABLE:
                worth *= 0.5
            wastes.append(Region(waste) if size >= smallest and waste else None)
            region = clip(region, line)
            if not region:
                return None
    return Carving(tuple(cuts), tuple(wastes), worth)


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


def _fills(spot: Seat, points: Outline) -> bool:
    """Whether a part fills a region: it was cut to fit, so it does unless the region has lost some of it."""
    return area(spot.points) <= area(points) + FLUSH * spot.part.perimeter
