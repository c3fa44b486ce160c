"""From a cut tree to the cuts of a sheet, in the order they are made.

The tree was grown in the room inside the trimmed margin; here the same lines are drawn on the sheet's real pieces.
"""

import heapq
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot
from typing import Union

from calc.layout.offcuts import worth_keeping
from calc.layout.polygons import ON_CUT, Line, clip, edge_line, opposite
from calc.layout.regions import Seat
from calc.layout.tree import Node
from calc.records import Outline, Point

Edge = tuple[int, int]  # a blank's place in the list of the sheet's blanks, and the number of its edge


@dataclass(slots=True)
class Piece:
    """A piece of the sheet: it is `blank`, or waste (None), or is cut along `line` into `near` and `far`."""

    points: Outline
    blanks: list[int]
    blank: int | None = None
    line: Line | None = None
    finishes: list[Edge] = field(default_factory=list)
    near: Union["Piece", None] = None
    far: Union["Piece", None] = None


@dataclass(frozen=True, slots=True)
class CutLine:
    """A cut in the middle of the kerf, the near piece to its left; blanks by their place in the list."""

    start: Point
    end: Point
    frees: tuple[int, ...]
    finishes: tuple[Edge, ...]
    left: tuple[int, ...]
    right: tuple[int, ...]


class Cutter:
    """Cuts a sheet up along a tree. Cuts that neither finish an edge, part blanks nor free an offcut are left out."""

    def __init__(self, blanks: Sequence[Seat], kerf: float, least_offcut: float) -> None:
        self.number = {id(spot): i for i, spot in enumerate(blanks)}
        self.blanks = blanks
        self.kerf = kerf
        self.least_offcut = least_offcut
        self.edges: dict[tuple[int, int, int], list[tuple[Edge, Point, Point]]] = defaultdict(list)
        for i, spot in enumerate(blanks):
            for k, (a, b) in enumerate(zip(spot.points, spot.points[1:] + spot.points[:1], strict=True)):
                self.edges[_drawer(edge_line(a, b))].append(((i, k), a, b))

    def cut_up(self, sheet: Outline, tree: Node) -> Piece:
        """The sheet as a tree of pieces."""
        within = self._blanks_of_every_node(tree)
        whole = Piece(sheet, within[id(tree)])
        waiting = [(whole, tree, 0)]
        while waiting:
            piece, node, done = waiting.pop()
            if not piece.blanks:
                continue
            if done == len(node.cuts):
                if isinstance(node.core, Node):
                    waiting.append((piece, node.core, 0))
                elif node.core is not None:
                    piece.blank = self.number[id(node.core)]
                continue
            waste = node.wastes[done]
            beyond = within[id(waste)] if waste else []
            self._cut(piece, node.cuts[done], beyond)
            if piece.near and piece.far:
                waiting.append((piece.near, node, done + 1))
                if waste:
                    waiting.append((piece.far, waste, 0))
            elif waste and len(beyond) == len(piece.blanks):
                waiting.append((piece, waste, 0))
            else:
                waiting.append((piece, node, done + 1))
        return whole

    def _cut(self, piece: Piece, line: Line, beyond: list[int]) -> None:
        """Cut the piece in two along the line if there is a reason to."""
        inside = set(beyond)
        near_blanks = [i for i in piece.blanks if i not in inside]
        finishes = self._on(line, set(near_blanks)) + self._on(opposite(line, self.kerf), inside)
        near, far = clip(piece.points, line), clip(piece.points, opposite(line, self.kerf))
        wanted = finishes or (near_blanks and beyond) or worth_keeping(near if beyond else far, self.least_offcut)
        if wanted:
            piece.line, piece.finishes = line, finishes
            piece.near, piece.far = Piece(near, near_blanks), Piece(far, beyond)

    def _on(self, line: Line, blanks: set[int]) -> list[Edge]:
        """The edges of these blanks that lie on the line, the blank on its inner side."""
        if not blanks:
            return []
        nx, ny, c = line
        x, y, z = _drawer(line)
        found = []
        for key in [(x + i, y + j, z + k) for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1)]:
            for edge, a, b in self.edges.get(key, ()):
                if edge[0] in blanks and all(abs(nx * p[0] + ny * p[1] - c) < ON_CUT for p in (a, b)):
                    found.append(edge)
        return sorted(found)

    def _blanks_of_every_node(self, tree: Node) -> dict[int, list[int]]:
        nodes = list(tree.nodes())
        within: dict[int, list[int]] = {}
        for node in reversed(nodes):  # children before their parents
            blanks = [self.number[id(node.core)]] if isinstance(node.core, Seat) else []
            if isinstance(node.core, Node):
                blanks += within[id(node.core)]
            for waste in node.wastes:
                if waste:
                    blanks += within[id(waste)]
            within[id(node)] = sorted(blanks)
        return within


def _drawer(line: Line) -> tuple[int, int, int]:
    """Where an edge with this line is kept; one that differs by rounding only is in this drawer or the next."""
    return round(line[0] * 1e4), round(line[1] * 1e4), round(line[2] * 10)


def cuts_in_order(whole: Piece, kerf: float) -> list[CutLine]:
    """The cuts, the longest that can be made yet first: long ones while the pieces are large enough to clamp.

    Cuts that free offcuts would come last, were it free to choose. The one straight across at the used length is not: the
    cuts behind it run from edge to edge of their pieces, so without it they would run on into the remainder and spoil the
    most valuable piece there is. It comes first, and keeps the remainder whole. The same holds for any
    other cut that frees an offcut: it is made only where later cuts end on it.
    """
    cuts = []
    ready: list[tuple[float, int, Piece, Point, Point]] = []
    count = 0
    waiting = [whole]
    while waiting or ready:
        for piece in waiting:
            if piece.line:
                start, end = chord(piece.points, piece.line, 0.5 * kerf)
                count += 1
                # to the micrometre: lengths that are equal but for rounding keep the order of the tree
                length = round(hypot(end[0] - start[0], end[1] - start[1]), 3)
                heapq.heappush(ready, (-length, count, piece, start, end))
        if not ready:
            break
        _, _, piece, start, end = heapq.heappop(ready)
        assert piece.near is not None  # noqa: S101
        assert piece.far is not None  # noqa: S101
        waiting = [piece.near, piece.far]
        frees = tuple(side.blank for side in waiting if side.blank is not None)
        cuts.append(
            CutLine(start, end, frees, tuple(piece.finishes), tuple(piece.near.blanks), tuple(piece.far.blanks))
        )
    return cuts


def chord(points: Outline, line: Line, beyond: float) -> tuple[Point, Point]:
    """Where a line `beyond` the given one crosses a convex piece; what lies within the line is to the left."""
    nx, ny, c = line[0], line[1], line[2] + beyond
    crossings = []
    x0, y0 = points[-1]
    d0 = nx * x0 + ny * y0 - c
    for x1, y1 in points:
        d1 = nx * x1 + ny * y1 - c
        if (d0 < 0) != (d1 < 0):
            t = d0 / (d0 - d1)
            crossings.append((x0 + t * (x1 - x0), y0 + t * (y1 - y0)))
        x0, y0, d0 = x1, y1, d1
    start, end = sorted(crossings, key=lambda p: -ny * p[0] + nx * p[1])
    return start, end


def offcuts_of(whole: Piece, least: float) -> list[Outline]:
    """The pieces that are left and worth keeping, the largest first."""
    kept = []
    waiting = [whole]
    while waiting:
        piece = waiting.pop()
        if piece.near and piece.far:
            waiting += [piece.far, piece.near]
        elif piece.blank is None and worth_keeping(piece.points, least):
            kept.append(piece.points)
    return kept
