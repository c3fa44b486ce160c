"""What is left of a sheet that was cut into: its cuts made again on paper, and the pieces that no blank with a use lies on.

A cut that was made stands, and so does one that it hangs on: a person who ticked the later one first has made both, or will
make them, and either way no new blank may lie across. So what is in hand is what the standing cuts leave. Blanks with a use
stay where they are marked out, with the cuts that free them; what those cuts leave over is free as well.
"""

from collections.abc import Iterator, Set
from dataclasses import dataclass, field
from math import dist

from calc.laid import Cut, Placed, SheetLayout
from calc.layout.offcuts import worth_keeping
from calc.layout.polygons import clip, convex_hull, edge_line, opposite
from calc.layout.result import Piece
from calc.records import Outline

ON_KERF = 1e-3  # [mm] an edge so near the side of a kerf lies on it; stored figures are rounded
ON_METAL = 1e-5  # [mm] an edge so near the sheet's own is on it
SHORTEST_CUT = 1e-6  # [mm]


@dataclass(slots=True, eq=False)
class Remnant:
    """A piece as the cuts make it: where it came from, the copies on it, and the cut made in it with the two it leaves."""

    outline: Outline  # convex, anticlockwise; empty where the saw leaves nothing
    copies: tuple[str, ...]
    parent: "Remnant | None" = None
    cut: int | None = None  # its place in the sheet's list
    sides: tuple["Remnant", ...] = ()
    stands: bool = field(default=False, init=False)  # the cut in it was made, or one that hangs on it

    def below(self) -> Iterator["Remnant"]:
        """This piece and all that come of it, a piece before those that come of it."""
        waiting = [self]
        while waiting:
            piece = waiting.pop()
            yield piece
            waiting += reversed(piece.sides)

    def holds(self, outline: Outline) -> bool:
        """Whether an outline lies within it, but for rounding."""
        edges = [edge_line(a, b) for a, b in zip(self.outline, self.outline[1:] + self.outline[:1], strict=True)]
        return all(nx * x + ny * y - c < ON_KERF for nx, ny, c in edges for x, y in outline)

    def above(self) -> Iterator["Remnant"]:
        """The pieces it came of, the nearest first."""
        piece = self.parent
        while piece is not None:
            yield piece
            piece = piece.parent


def cut_up(used: SheetLayout, kerf: float) -> Remnant | None:
    """The sheet as the pieces that its cuts make, with the width of the cuts [mm].

    None where they do not come out so: it was laid out for a saw of another width, or to be cut along outlines.
    """
    if not used.cuts or not all(_is_of_kerf(cut, used, kerf) for cut in used.cuts):
        return None
    outlines = {placed.name: placed.outline for placed in used.placed}
    whole = Remnant(convex_hull(used.metal), tuple(outlines))
    uncut = {frozenset(whole.copies): whole}
    for number, cut in enumerate(used.cuts):
        piece = uncut.pop(frozenset((*cut.parts[0], *cut.parts[1])), None)
        if piece is None or not _halve(piece, number, cut, kerf, outlines):
            return None
        uncut |= {frozenset(side.copies): side for side in piece.sides if side.copies}
    for piece in whole.below():
        if piece.cut is not None and used.cuts[piece.cut].made:
            piece.stands = True
            for one in piece.above():
                one.stands = True
    return whole


def _is_of_kerf(cut: Cut, used: SheetLayout, kerf: float) -> bool:
    """Whether every edge that a cut is said to finish lies half this kerf from its middle."""
    if dist(cut.start, cut.end) < SHORTEST_CUT:
        return False
    named = {edge.rpartition(":")[0] for edge in cut.finishes}
    along = {edge for placed in used.placed if placed.name in named for edge in edges_along(placed, cut, kerf, ON_KERF)}
    return set(cut.finishes) <= along


def edges_along(placed: Placed, cut: Cut, kerf: float, near: float) -> list[str]:
    """The edges ("A.1:2") of a copy that lie along the kerf of a cut, to either side of it, no further off than `near`."""
    nx, ny, c = edge_line(cut.start, cut.end)
    return [
        f"{placed.name}:{number}"
        for number, ends in enumerate(placed.edges)
        if all(abs(abs(nx * x + ny * y - c) - 0.5 * kerf) < near for x, y in ends)
    ]


def finished_by(used: SheetLayout, cut: Cut, kerf: float, near: float) -> tuple[str, ...]:
    """The edges that a cut finishes, and those that it leaves no more than `near` [mm] on, which dressing takes off."""
    parted = {name for names in cut.parts for name in names}
    along = (edge for placed in used.placed if placed.name in parted for edge in edges_along(placed, cut, kerf, near))
    return tuple(dict.fromkeys((*cut.finishes, *along)))


def _halve(piece: Remnant, number: int, cut: Cut, kerf: float, outlines: dict[str, Outline]) -> bool:
    """Make a cut in a piece; False where it does not run through it, or comes too near a copy."""
    nx, ny, c = edge_line(cut.start, cut.end)
    lines = [(nx, ny, c - 0.5 * kerf), opposite((nx, ny, c - 0.5 * kerf), kerf)]
    if not piece.holds((cut.start, cut.end)):
        return False
    for (x, y, d), names in zip(lines, cut.parts, strict=True):
        if any(x * px + y * py - d > ON_KERF for name in names for px, py in outlines[name]):
            return False
    piece.cut = number
    halves = [clip(piece.outline, line) for line in lines]
    piece.sides = tuple(
        Remnant(convex_hull(half) if half else (), names, piece) for half, names in zip(halves, cut.parts, strict=True)
    )
    return all(len(side.outline) > 2 or not side.copies for side in piece.sides)


def free_remnants(whole: Remnant, good: Set[str], least: float) -> list[Remnant]:
    """The pieces in hand, or freed on the way to the `good` copies, that hold none of these and a square of side `least`.

    A piece that is a blank already, to its last edge, is none of them: it may be folded or bored by now.
    """
    found = []
    waiting = [whole]
    while waiting:
        piece = waiting.pop()
        if piece.cut is not None and (piece.stands or not good.isdisjoint(piece.copies)):
            waiting += reversed(piece.sides)
        elif (piece.cut is not None or not piece.copies) and worth_keeping(piece.outline, least):
            found.append(piece)
    return found


def piece_of(remnant: Remnant, used: SheetLayout, label: str) -> Piece:
    """A remnant as stock: of its edges those on the sheet's own keep the trim."""
    metal = convex_hull(used.metal)
    lines = [edge_line(a, b) for a, b in zip(metal, metal[1:] + metal[:1], strict=True)]
    edges = zip(remnant.outline, remnant.outline[1:] + remnant.outline[:1], strict=True)
    trimmed = [
        number
        for number, ends in enumerate(edges)
        if any(all(abs(nx * x + ny * y - c) < ON_METAL for x, y in ends) for nx, ny, c in lines)
    ]
    return Piece(label, used.length, used.width, remnant.outline, tuple(trimmed))
