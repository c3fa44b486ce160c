"""The cut list: each cut of a sheet on the piece that is in hand when it is made.

The pieces are replayed from the cuts in order. A piece that is cut again has the number of the cut that is made in it, so
that it can be pencilled on the metal: cuts keep their numbers when what is left of a sheet is laid out anew, and so do they.
A piece's corners are lettered a, b, c anticlockwise from the lowest one, the leftmost of those equally low, as it lay on the
sheet. Lengths [mm], in the sheet's own frame.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from calc.laid import Cut, SheetLayout
from calc.layout.cutting import chord
from calc.layout.polygons import ON_CUT, Line, area, clip, edge_line, opposite, reach
from calc.layout.tree import GUIDABLE
from calc.making import Making
from calc.records import Outline, Point

ON_EDGE = (
    1e-2  # [mm] how far a cut's end may lie off the edge of its piece: rounding, more of it where they meet at a slant
)
UNSEEN = 0.05  # [mm] corners nearer to each other, or that stand out by less, are one corner to the eye
ACUTE = 12.0  # [degrees] common practice: a tip sharper than this burns away and cuts hands
STEADY = 0.5  # of the cut's length: the least metal a guide must lie on to be clamped firmly (common practice)

CautionKind = Literal["sliver", "tip", "narrow", "no-guide"]


@dataclass(frozen=True, slots=True)
class Mark:
    """A place on the edge of the piece in hand: so far [mm] from a lettered corner towards the next one."""

    corner: str
    towards: str
    distance: float
    at: Point


@dataclass(frozen=True, slots=True)
class PieceInHand:
    """A piece of the sheet, convex, its outline anticlockwise from corner a; no corners where the kerf left nothing of it.

    `number` is that of the cut made in it, None for a piece that is not cut again; `copies` ("A.1") are the blanks still in it.
    """

    number: int | None
    outline: Outline
    copies: tuple[str, ...]
    is_offcut: bool = False

    @property
    def name(self) -> str:
        """What is pencilled on it: "piece 2", its blank, "offcut" or "waste"."""
        if self.number is not None:
            return f"piece {self.number}"
        return " + ".join(self.copies) or ("offcut" if self.is_offcut else "waste")

    @property
    def corners(self) -> tuple[tuple[str, Point], ...]:
        """Each corner by its letter."""
        return tuple((letter_of(index), corner) for index, corner in enumerate(self.outline))

    @property
    def is_kept(self) -> bool:
        """Whether it is more than waste."""
        return self.number is not None or bool(self.copies) or self.is_offcut

    def edge_at(self, point: Point) -> tuple[tuple[str, Point], tuple[str, Point]]:
        """The edge that a point lies on, or the nearest: its two corners, each by its letter, anticlockwise."""
        corners = self.corners
        edges = zip(corners, corners[1:] + corners[:1], strict=True)
        return min(edges, key=lambda edge: _off_edge(point, edge[0][1], edge[1][1]))


Halves = tuple[PieceInHand, PieceInHand]  # to the left and to the right of a cut


@dataclass(frozen=True, slots=True)
class Guide:
    """Where the straight edge lies that the saw's base runs along: parallel to the cut, `offset` from its middle.

    `side` 0 is the half to the left of the cut (`halves[0]`), 1 the one to the right. `marks` are on the piece's edges;
    None where neither half reaches so far, and the guide needs packing beside the piece.
    """

    side: int
    offset: float
    line: tuple[Point, Point]
    marks: tuple[Mark, Mark] | None


@dataclass(frozen=True, slots=True)
class Caution:
    """What to mind: `sliver` takes off a strip of waste `size` mm wide at its widest; `tip` leaves a corner of `size`
    degrees; `narrow` is made in a piece `size` mm across; `no-guide` has no room for the guide `size` mm off. `on` is the
    name of the half that it is about."""

    kind: CautionKind
    size: float
    on: str


@dataclass(frozen=True, slots=True)
class CutInHand:
    """A cut on the piece in hand.

    `number` counts all the sheet's cuts, `is_work` is False for one made already or not needed. `marks` are where the
    middle of the kerf begins and ends; `length` is between them. `halves` lie to the left and to the right, looking from
    the first mark to the second. `frees` are the copies with a use that have every edge done by it.
    """

    number: int
    cut: Cut
    is_work: bool
    piece: PieceInHand
    marks: tuple[Mark, Mark]
    length: float
    guide: Guide
    halves: Halves
    frees: tuple[str, ...]
    cautions: tuple[Caution, ...]


def letter_of(index: int) -> str:
    """The letter of a corner, counted from 0; past z they come again, doubled.

    >>> letter_of(0), letter_of(25), letter_of(26)
    ('a', 'z', 'aa')
    """
    return chr(ord("a") + index % 26) * (index // 26 + 1)


def cut_list(used: SheetLayout, *, kerf: float, guide_offset: float, least_clamp: float) -> tuple[CutInHand, ...]:
    """Every cut of a sheet in the order made, on the piece in hand.

    kerf; guide_offset, from the edge of the saw's base to the blade's near side; least_clamp, the width under which a
    piece can hardly be clamped [mm]. Cuts made already are replayed like the others. Raises ValueError where a cut does
    not run from edge to edge of a piece that is there.

    >>> sheet = SheetLayout("S", 1000, 600, (), (Cut((400, 0), (400, 600), (), (), ((), ()), 600.0),), ())
    >>> (first,) = cut_list(sheet, kerf=2, guide_offset=100, least_clamp=60)
    >>> [(mark.distance, mark.corner, mark.towards) for mark in first.marks]
    [(400.0, 'a', 'b'), (400.0, 'd', 'c')]
    """
    copies = [(f"{placed.blank}.{placed.copy}", _middle(placed.outline)) for placed in used.placed]
    there = [_Node(used.metal, copies)]
    replayed = [(_made(cut, number, there, kerf), cut) for number, cut in enumerate(used.cuts, 1)]
    found = []
    for number, ((nodes, cut), (_, is_needed, freed)) in enumerate(zip(replayed, used.cut_list, strict=True), 1):
        piece, left, right = (_in_hand(node, used) for node in nodes)
        line = edge_line(cut.start, cut.end)
        if not _crosses(piece.outline, line):
            raise ValueError(f"cut {number} leaves nothing on one side of it")
        marks, guide = _marks(piece, line, line), _guide(piece, (left, right), line, kerf, guide_offset)
        cautions = (
            *_of_strips((left, right), line, kerf),
            *_of_tips(piece, (left, right), line),
            *_of_hold(piece, guide, (left, right), least_clamp),
        )
        is_work, length = is_needed and not cut.made, math.dist(marks[0].at, marks[1].at)
        found.append(
            CutInHand(number, cut, is_work, piece, marks, length, guide, (left, right), freed, cautions),
        )
    return tuple(found)


def cuts_in_hand(used: SheetLayout, making: Making) -> tuple[CutInHand, ...] | None:
    """The cut list of a sheet as the shop makes it; None where the cuts of an earlier day can't be followed on its pieces."""
    try:
        return cut_list(used, kerf=making.kerf, guide_offset=making.guide_offset, least_clamp=making.least_clamp)
    except ValueError:
        return None


@dataclass(slots=True, eq=False)
class _Node:
    """A piece as it is replayed, with the copies in it and their middles; `number` where it is cut again.

    `box` is the rectangle round it: most pieces of a large sheet are told by it alone to be nowhere near a cut.
    """

    outline: Outline
    copies: list[tuple[str, Point]]
    number: int | None = None
    box: tuple[float, float, float, float] = field(init=False)

    def __post_init__(self) -> None:
        xs, ys = zip(*self.outline, strict=True) if self.outline else ((math.inf,), (math.inf,))
        self.box = (min(xs), min(ys), max(xs), max(ys))

    def holds(self, point: Point) -> bool:
        """Whether a point lies inside."""
        x0, y0, x1, y1 = self.box
        return x0 < point[0] < x1 and y0 < point[1] < y1 and _depth(self.outline, point) > 0


_Cut = tuple[_Node, _Node, _Node]  # the piece, its half to the left of the cut and to the right


def _made(cut: Cut, number: int, there: list[_Node], kerf: float) -> _Cut:
    """Make a cut in one of the pieces that are there, which its two halves take the place of."""
    middle = (0.5 * (cut.start[0] + cut.end[0]), 0.5 * (cut.start[1] + cut.end[1]))
    whole = next((node for node in there if node.holds(middle)), None)
    ends = (cut.start, cut.end)
    if whole is None or math.dist(*ends) < ON_EDGE or any(abs(_depth(whole.outline, end)) > ON_EDGE for end in ends):
        raise ValueError(f"cut {number} does not run from edge to edge of any piece that is there")
    nx, ny, c = edge_line(*ends)
    line = (nx, ny, c - 0.5 * kerf)
    whole.number = number
    left, right = _half(whole, line), _half(whole, opposite(line, kerf))
    there.remove(whole)
    there += [half for half in (left, right) if half.outline]
    return whole, left, right


def _half(whole: _Node, line: Line) -> _Node:
    nx, ny, c = line
    copies = [copy for copy in whole.copies if nx * copy[1][0] + ny * copy[1][1] < c]
    return _Node(clip(whole.outline, line), copies)


def _depth(outline: Outline, point: Point) -> float:
    """How far inside a convex outline a point lies [mm]; negative outside."""
    x, y = point
    edges = (edge_line(a, b) for a, b in zip(outline, outline[1:] + outline[:1], strict=True) if a != b)
    return min(c - nx * x - ny * y for nx, ny, c in edges)


def _middle(outline: Outline) -> Point:
    """The mean of the corners: within the hull of any outline."""
    xs, ys = zip(*outline, strict=True)
    return sum(xs) / len(xs), sum(ys) / len(ys)


def _in_hand(node: _Node, used: SheetLayout) -> PieceInHand:
    if not node.outline:
        return PieceInHand(node.number, (), ())
    is_left = node.number is None and not node.copies
    is_offcut = is_left and any(node.holds(_middle(offcut.outline)) for offcut in used.offcuts)
    return PieceInHand(node.number, _as_seen(node.outline), tuple(name for name, _ in node.copies), is_offcut)


def _as_seen(outline: Outline) -> Outline:
    """The corners that an eye tells apart, the lowest first, of those equally low the leftmost."""
    corners = list(outline)
    while len(corners) > 3:
        offs = [_stands_out(corners, index) for index in range(len(corners))]
        if min(offs) >= UNSEEN:
            break
        del corners[offs.index(min(offs))]
    first = min(range(len(corners)), key=lambda index: (round(corners[index][1], 3), corners[index][0]))
    return tuple(corners[first:] + corners[:first])


def _stands_out(corners: Sequence[Point], index: int) -> float:
    """How far a corner is from the straight line between its neighbours [mm]."""
    a, b, c = corners[index - 1], corners[index], corners[(index + 1) % len(corners)]
    length = math.dist(a, c)
    across = (c[0] - a[0]) * (b[1] - a[1]) - (c[1] - a[1]) * (b[0] - a[0])
    return abs(across) / length if length else math.dist(a, b)


def _marks(piece: PieceInHand, line: Line, cut: Line) -> tuple[Mark, Mark]:
    """Where a line meets the edges of a piece: both from corners on the same side of the cut, the side with less to tape."""
    start, end = chord(piece.outline, line, 0.0)
    ways = [(_mark(piece, start, cut, side), _mark(piece, end, cut, side)) for side in (0, 1)]
    return min(ways, key=lambda marks: round(marks[0].distance + marks[1].distance, 3))


def _mark(piece: PieceInHand, at: Point, cut: Line, side: int) -> Mark:
    """A place on an edge from that of its two corners which lies farther to this side of the cut."""
    one, other = piece.edge_at(at)
    beyond = [cut[0] * corner[0] + cut[1] * corner[1] - cut[2] for _, corner in (one, other)]
    (letter, corner), (towards, _) = (one, other) if (beyond[0] < beyond[1]) == (side == 0) else (other, one)
    return Mark(letter, towards, math.dist(corner, at), at)


def _off_edge(point: Point, a: Point, b: Point) -> float:
    """How far a point is from an edge [mm]."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    square = dx * dx + dy * dy
    share = min(1.0, max(0.0, ((point[0] - a[0]) * dx + (point[1] - a[1]) * dy) / square)) if square else 0.0
    return math.hypot(a[0] + share * dx - point[0], a[1] + share * dy - point[1])


def _guide(piece: PieceInHand, halves: Halves, cut: Line, kerf: float, guide_offset: float) -> Guide:
    """The guide on the half that is kept, of two such on the larger; on the other where that one is too small for it."""
    offset = 0.5 * kerf + guide_offset
    start, end = chord(piece.outline, cut, 0.0)
    order = sorted((0, 1), key=lambda side: (not halves[side].is_kept, -_area(halves[side])))
    for side in order:
        beside = (cut[0], cut[1], cut[2] + (-offset if side == 0 else offset))
        if not _crosses(piece.outline, beside):
            continue
        line = chord(piece.outline, beside, 0.0)
        if math.dist(*line) >= STEADY * math.dist(start, end):
            return Guide(side, offset, line, _marks(piece, beside, cut))
    way = -offset if order[0] == 0 else offset
    dx, dy = cut[0] * way, cut[1] * way
    return Guide(order[0], offset, ((start[0] + dx, start[1] + dy), (end[0] + dx, end[1] + dy)), None)


def _crosses(outline: Outline, line: Line) -> bool:
    """Whether a line runs through a convex outline, and not only along its edge."""
    return reach(outline, line[0], line[1]) > line[2] and reach(outline, -line[0], -line[1]) > -line[2]


def _area(piece: PieceInHand) -> float:
    return area(piece.outline) if piece.outline else 0.0


def _of_strips(halves: Halves, cut: Line, kerf: float) -> Iterator[Caution]:
    """A strip of waste that can hardly be guided along or clamped; a kerf at the very edge leaves one of no width."""
    left = (cut[0], cut[1], cut[2] - 0.5 * kerf)
    strips = [
        Caution("sliver", reach(half.outline, -line[0], -line[1]) + line[2] if half.outline else 0.0, half.name)
        for line, half in zip((left, opposite(left, kerf)), halves, strict=True)
        if not half.is_kept
    ]
    yield from sorted((strip for strip in strips if strip.size < GUIDABLE - ON_CUT), key=lambda strip: strip.size)[:1]


def _of_tips(piece: PieceInHand, halves: Halves, cut: Line) -> Iterator[Caution]:
    """The sharpest corner that the cut leaves on a half."""
    ends = chord(piece.outline, cut, 0.0)
    found = []
    for at, other in (ends, ends[::-1]):
        (_, a), (_, b) = piece.edge_at(at)
        length = math.dist(a, b) * math.dist(at, other)
        along = ((b[0] - a[0]) * (other[0] - at[0]) + (b[1] - a[1]) * (other[1] - at[1])) / length
        turn = math.degrees(math.acos(max(-1.0, min(1.0, along))))  # between the cut and the edge on towards its end
        on_left = cut[0] * (b[0] - a[0]) + cut[1] * (b[1] - a[1]) < 0
        found += [(turn, halves[0 if on_left else 1].name), (180.0 - turn, halves[1 if on_left else 0].name)]
    sharpest, name = min(found)
    if sharpest < ACUTE:
        yield Caution("tip", sharpest, name)


def _of_hold(piece: PieceInHand, guide: Guide, halves: Halves, least_clamp: float) -> Iterator[Caution]:
    """How the piece and the guide are held."""
    width = least_width(piece.outline)
    if width < least_clamp - ON_CUT:
        yield Caution("narrow", width, piece.name)
    if guide.marks is None:
        yield Caution("no-guide", guide.offset, halves[guide.side].name)


def least_width(outline: Outline) -> float:
    """How wide a convex outline is across, at its narrowest [mm]: square to one of its edges.

    >>> least_width(((0, 0), (900, 0), (900, 40), (0, 40)))
    40.0
    """
    lines = [edge_line(a, b) for a, b in zip(outline, outline[1:] + outline[:1], strict=True)]
    return min(c + reach(outline, -nx, -ny) for nx, ny, c in lines)
