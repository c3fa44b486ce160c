"""Cuts that a saw can hardly be guided along: those that leave a strip of waste too thin to clamp."""

from dataclasses import dataclass

from calc.laid import Cut, SheetLayout
from calc.layout.polygons import ON_CUT, clip, edge_line, opposite, reach
from calc.layout.tree import GUIDABLE
from calc.records import Outline


@dataclass(frozen=True, slots=True)
class Sliver:
    """A cut, and the width [mm] of the strip of waste that it takes off: beyond the kerf, at its widest."""

    cut: Cut
    width: float


def slivers(sheet: SheetLayout, kerf: float, metal: Outline | None = None) -> tuple[Sliver, ...]:
    """The cuts of a sheet that take off no more than a strip of waste under 5 mm (common practice), in their order.

    `metal` is the outline that the cuts were made in where that is not the whole sheet. A kerf at the very edge of a piece
    leaves a strip of no width.
    """
    pieces: list[Outline] = [metal or sheet.metal]
    found = []
    for cut in sheet.cuts:
        middle = (0.5 * (cut.start[0] + cut.end[0]), 0.5 * (cut.start[1] + cut.end[1]))
        piece = max(pieces, key=lambda outline: _depth(outline, middle))
        pieces.remove(piece)
        nx, ny, c = edge_line(cut.start, cut.end)
        left = (nx, ny, c - 0.5 * kerf)  # the inner side of this half-plane is the one to the left of the cut
        widths = []
        for line, names in ((left, cut.parts[0]), (opposite(left, kerf), cut.parts[1])):
            half = clip(piece, line)
            if half:
                pieces.append(half)
            if not names:
                widths.append(reach(half, -line[0], -line[1]) + line[2] if half else 0.0)
        if widths and min(widths) < GUIDABLE - ON_CUT:
            found.append(Sliver(cut, min(widths)))
    return tuple(found)


def _depth(outline: Outline, point: tuple[float, float]) -> float:
    """How far inside a convex outline a point lies [mm]; negative outside."""
    x, y = point
    edges = (edge_line(a, b) for a, b in zip(outline, outline[1:] + outline[:1], strict=True))
    return min(c - nx * x - ny * y for nx, ny, c in edges)
