"""Offcuts worth keeping, hatched, and named by the largest rectangle along the sheet that they hold."""

from calc.drawing.labels import SIZE, Block, Labels, block_size
from calc.drawing.places import between, within
from calc.drawing.rim import pointed_at
from calc.drawing.view import View
from calc.records import Outline, Point
from calc.units import Display

HATCH = 9.0  # between the lines of a hatch


def hatch(outline: Outline) -> list[tuple[Point, Point]]:
    """Hatch lines at 45 degrees within a convex outline, in drawing units."""
    sums = [x + y for x, y in outline]
    lines = []
    level = (min(sums) // HATCH + 0.5) * HATCH
    while level < max(sums):
        crossed = []
        for (x1, y1), (x2, y2) in zip(outline, outline[1:] + outline[:1], strict=True):
            one, other = x1 + y1 - level, x2 + y2 - level
            if (one < 0) != (other < 0):
                crossed.append(between((x1, y1), (x2, y2), one / (one - other)))
        if len(crossed) == 2:
            lines.append((crossed[0], crossed[1]))
        level += HATCH
    return lines


def name_offcut(labels: Labels, view: View, outline: Outline, display: Display) -> None:
    """Letter what an offcut is good for, on paper cleared of its hatch."""
    length, width = rectangle_within(outline)
    words = f"keep {display.figure(length)} × {display.figure(width)}"
    inside = view.all(outline)
    block: Block = ((words, SIZE, False),)
    found = labels.find(block, [within(inside), within(inside, along=True), *pointed_at(labels, inside)])
    if found is None:
        labels.keyed.append((f"Offcut: {words}", None))
        return
    lettered, spot = found
    if spot.leader is None:
        clear_paper(labels, lettered, (spot.x, spot.y), spot.angle)
    labels.write(lettered, spot, style="figure offcut")


def clear_paper(labels: Labels, block: Block, centre: Point, angle: float) -> None:
    """Paper without hatch, as large as the lettering that comes on it."""
    width, height = block_size(block)
    turn = {"transform": f"rotate({angle:.2f} {centre[0]:.2f} {centre[1]:.2f})"} if angle else {}
    left, top = centre[0] - width / 2 - 2, centre[1] - height / 2 - 1
    labels.drawing.shape("rect", "paper", turn, x=left, y=top, width=width + 4, height=height + 2)


def rectangle_within(outline: Outline) -> tuple[float, float]:
    """Length and width [mm] of nearly the largest rectangle along the sheet in a convex outline; never too large.

    >>> rectangle_within(((0, 0), (400, 0), (400, 300), (0, 300)))
    (400.0, 300.0)
    """
    low, high = min(x for x, _ in outline), max(x for x, _ in outline)
    xs = sorted({*(x for x, _ in outline), *(low + (high - low) * step / 24 for step in range(25))})
    spans = [_upright_span(outline, x) for x in xs]
    best = (0.0, 0.0, 0.0)
    for i, (x1, (low1, high1)) in enumerate(zip(xs, spans, strict=True)):
        for x2, (low2, high2) in zip(xs[i + 1 :], spans[i + 1 :], strict=True):
            height = min(high1, high2) - max(low1, low2)
            best = max(best, ((x2 - x1) * height, x2 - x1, height))
    return float(best[1]), float(best[2])


def _upright_span(outline: Outline, x: float) -> tuple[float, float]:
    """From where to where a convex outline reaches upward at x."""
    found = []
    for (x1, y1), (x2, y2) in zip(outline, outline[1:] + outline[:1], strict=True):
        if min(x1, x2) - 1e-9 <= x <= max(x1, x2) + 1e-9:
            found += [y1, y2] if abs(x2 - x1) < 1e-9 else [y1 + (y2 - y1) * (x - x1) / (x2 - x1)]
    return (min(found), max(found)) if found else (0.0, 0.0)
