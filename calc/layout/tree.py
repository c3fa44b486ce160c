"""The cut tree: every layout it can hold comes apart by edge-to-edge cuts, in the order the tree is read.

A node is a convex region. The cuts made in it follow one another: each takes away what lies beyond it (a child node in
`wastes`), and what is left after the last is the `core`: a part exactly, or a node again. A node without a core is free.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import permutations
from math import hypot
from random import Random

from calc.layout.polygons import FLUSH, ON_LINE, Line, area, clip, edge_line, opposite, parted, reach
from calc.layout.regions import Pose, Region, Seat, Seated, Spot, stood_again
from calc.records import Outline

GUIDABLE = 5.0  # mm of waste beyond the kerf: a strip thinner than this can hardly be clamped or guided
MOST_NEEDS = 300  # sets of a part's cuts that are looked through for an order in which all can be made
SMALLEST_WASTE = 1e-3  # mm: the thinnest waste a cut of no width may leave


class Node:
    """A region, the cuts made in it one after another, what each takes off, and what is left.

    Where the cuts free a part or a block, `spot` is where it stands and `edges` are the edges of it that the cuts lie on.
    """

    __slots__ = ("core", "cuts", "edges", "region", "spot", "wastes")

    def __init__(self, region: Region) -> None:
        self.region = region
        self.clear()

    def clear(self) -> None:
        self.cuts: tuple[Line, ...] = ()
        self.wastes: tuple[Node | None, ...] = ()
        self.core: Seat | Node | None = None
        self.spot: Spot | None = None
        self.edges: tuple[int, ...] = ()

    def stand(self, spot: Spot, core: "Seat | Node", carving: "Carving") -> None:
        """Cut a part or a block out of this node."""
        self.spot, self.core = spot, core
        self.cuts, self.edges = carving.cuts, carving.edges
        self.wastes = tuple([Node(waste) if waste else None for waste in carving.wastes])

    def copy(self) -> "Node":
        """A tree of its own; not recursive, since a long chain of cuts makes a deep tree."""
        twin = Node(self.region)
        waiting = [(self, twin)]
        while waiting:
            old, new = waiting.pop()
            new.cuts, new.spot, new.edges = old.cuts, old.spot, old.edges
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

    def split_up(self) -> tuple[list["Node"], list["Node"]]:
        """This node and all below it: those that cuts were made in, and those that are free."""
        carved: list[Node] = []
        free: list[Node] = []
        waiting = [self]
        while waiting:
            node = waiting.pop()
            core = node.core
            if core is None:
                free.append(node)
                continue
            carved.append(node)
            for waste in node.wastes:
                if waste:
                    waiting.append(waste)
            if core.__class__ is Node:
                waiting.append(core)
        return carved, free

    def spots(self) -> list[Seat]:
        """The parts placed in this node and below it."""
        return [node.core for node in self.nodes() if isinstance(node.core, Seat)]


@dataclass(frozen=True, slots=True, eq=False)
class Carving:
    """Cuts that free a part from a region, in order, and what each takes off (None: nothing of use)."""

    cuts: tuple[Line, ...]
    edges: tuple[int, ...]  # of the part, one for each cut
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
        if lines and len(lines) > 3 and not known:
            order = _by_need(region.points, lines, kerf)
            carving = _in_order(region.points, order, kerf, smallest) if order else None
            known += [carving] if carving else []
    return known


FreeEdge = tuple[int, Line]


def _free_lines(region: Outline, part: Outline, kerf: float) -> list[FreeEdge] | None:
    """The part's edges off the region's, the shortest first; None where a cut has no room."""
    lines = []
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    sides = [
        (hypot(b[0] - a[0], b[1] - a[1]), k) for k, (a, b) in enumerate(zip(part, part[1:] + part[:1], strict=True))
    ]
    for _, edge in sorted(sides):
        line = edge_line(part[edge], part[(edge + 1) % len(part)])
        waste = reach(region, line[0], line[1]) - line[2]
        if waste > FLUSH:
            if waste < least:
                return None
            lines.append((edge, line))
    return lines


def _orders(lines: Sequence[FreeEdge], rng: Random) -> list[Sequence[FreeEdge]]:
    if len(lines) <= 3:
        return list(permutations(lines))
    return [rng.sample(lines, len(lines)) for _ in range(8)]


def _by_need(region: Outline, lines: Sequence[FreeEdge], kerf: float) -> list[FreeEdge]:
    """An order in which no cut leaves another without room for the saw, found step by step; empty where none is found.

    What is left does not hang on the order of the cuts made, so that each set of them is looked at once, and so many in all.
    """
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    seen = {frozenset[int]()}

    def go_on(region: Outline, made: frozenset[int]) -> list[FreeEdge] | None:
        if len(made) == len(lines):
            return []
        for one in lines:
            then = made | {one[0]}
            if one[0] in made or then in seen or len(seen) > MOST_NEEDS:
                continue
            seen.add(then)
            near = clip(region, one[1])
            rest = [line for edge, line in lines if edge not in then]
            rooms = [reach(near, nx, ny) - c for nx, ny, c in rest] if near else [0.5 * least]
            if not any(FLUSH < room < least for room in rooms) and (order := go_on(near, then)) is not None:
                return [one, *order]
        return None

    return go_on(region, frozenset()) or []


def _in_order(region: Outline, order: Sequence[FreeEdge], kerf: float, smallest: float) -> Carving | None:
    cuts: list[Line] = []
    edges: list[int] = []
    wastes: list[Region | None] = []
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    worth = 1.0
    for edge, line in order:
        room, near, far = parted(region, line, kerf)
        if room > FLUSH:
            if room < least or not near:
                return None
            cuts.append(line)
            edges.append(edge)
            waste = Region(far) if far else None
            size = waste.area if waste else 0.0
            # large regions count more than their sum; a strip too thin to guide halves the worth
            worth += size * size
            if room < 2 * kerf + GUIDABLE:
                worth *= 0.5
            wastes.append(waste if size >= smallest else None)
            region = near
    return Carving(tuple(cuts), tuple(edges), tuple(wastes), worth)


def moved(tree: Node, pose: Pose) -> Node:
    """A tree of its own with everything in it brought to where the pose says; it moves as one from then on."""
    node = Node(Region(pose.points(tree.region.points)))
    node.cuts = tuple([pose.line(line) for line in tree.cuts])
    node.wastes = tuple([moved(waste, pose) if waste else None for waste in tree.wastes])
    if isinstance(tree.core, Node):
        node.core = moved(tree.core, pose)
    elif tree.core is not None:
        lies = tree.core.pose.then(pose)
        points = lies.points(tree.core.part.hull)
        node.core = Seated(tree.core.part, lies.over, max([x for x, _ in points]), points, lies)
    return node


def regrown(tree: Node, region: Region, kerf: float, smallest: float) -> Node:
    """The tree grown again in another region: every part on the same side, pushed the same way, cut out in the same order.

    What does not fit any more is left out with all that hangs on it.
    """
    fresh = Node(region)
    waiting = [(tree, fresh)]
    while waiting:
        old, new = waiting.pop()
        waiting += _stood_in(old, new, kerf, smallest) if old.spot else _cut_again(old, new, kerf, smallest)
    return fresh


Pairs = list[tuple[Node, Node]]


def _stood_in(old: Node, new: Node, kerf: float, smallest: float) -> Pairs:
    """Put the old node's part or block in the new one; returns the wastes, old and new."""
    assert old.spot is not None  # noqa: S101
    spot = stood_again(old.spot, new.region)
    free = _free_lines(new.region.points, spot.points, kerf) if spot else None
    if spot is None or free is None:
        return []
    rank = {edge: k for k, edge in enumerate(old.edges)}
    free.sort(key=lambda one: rank.get(one[0], len(rank)))
    carving = _in_order(new.region.points, free, kerf, smallest)
    if carving is None:
        return []
    core: Seat | Node = spot
    if isinstance(old.core, Node):
        (x0, y0), (x1, y1) = old.spot.points[0], spot.points[0]
        core = moved(old.core, Pose(False, 0.0, (x1 - x0, y1 - y0)))
    new.stand(spot, core, carving)
    before = dict(zip(old.edges, old.wastes, strict=True))
    return [
        (waste, fresh)
        for edge, fresh in zip(new.edges, new.wastes, strict=True)
        if fresh and (waste := before.get(edge))
    ]


def _cut_again(old: Node, new: Node, kerf: float, smallest: float) -> Pairs:
    """Make the old node's cuts, which lie on no part of its own, in the new one."""
    if old.core is None:
        return []
    points = new.region.points
    least = max(kerf, SMALLEST_WASTE) - ON_LINE
    cuts, wastes, pairs = [], [], []
    for line, waste in zip(old.cuts, old.wastes, strict=True):
        room = reach(points, line[0], line[1]) - line[2]
        if room <= FLUSH:
            continue
        near, far = clip(points, line), clip(points, opposite(line, kerf))
        if room < least or not near:
            return []
        cuts.append(line)
        wastes.append(Node(Region(far)) if far and area(far) >= smallest else None)
        if waste and wastes[-1]:
            pairs.append((waste, wastes[-1]))
        points = near
    if isinstance(old.core, Node):
        new.cuts, new.wastes = tuple(cuts), tuple(wastes)
        new.core = Node(Region(points))
        return [*pairs, (old.core, new.core)]
    if area(old.core.points) > area(points) + FLUSH * old.core.part.perimeter:
        return []  # it was cut to fit, so it does unless the region has lost some of it
    new.cuts, new.wastes, new.core = tuple(cuts), tuple(wastes), old.core
    return pairs
