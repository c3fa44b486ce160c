"""Which of the pieces left over are worth keeping, and what they are worth."""

import math
from collections.abc import Iterable
from itertools import pairwise

from calc.layout.polygons import Line, clip, reach, rectangle
from calc.records import Outline

COUNTED = 3  # the largest rectangles that count towards the value of what is left
LARGE_BEATS_HALVES = 1.5  # power of a rectangle's area: one is worth 2^0.5 times its two halves


def worth_keeping(piece: Outline, least: float) -> bool:
    """Whether a square of side `least` [mm], lying along the sheet, fits inside the piece.

    So the piece holds a rectangle along the sheet whose lesser side is at least `least`.

    >>> worth_keeping(((0, 0), (300, 0), (0, 300)), 150)
    True
    >>> worth_keeping(((0, 0), (2000, 0), (2000, 149)), 150)
    False
    """
    if not piece or reach(piece, 1, 0) + reach(piece, -1, 0) < least - 1e-6:
        return False
    # the square's lower left corner may lie where the piece, moved by each corner of the square, overlaps itself
    room = rectangle(-reach(piece, -1, 0), -reach(piece, 0, -1), reach(piece, 1, 0), reach(piece, 0, 1))
    for nx, ny, c in _lines(piece):
        inner = c - least * (max(nx, 0.0) + max(ny, 0.0)) + 1e-6
        room = clip(room, (nx, ny, inner))
        if not room:
            return False
    return True


def largest_rectangle(piece: Outline) -> float:
    """Nearly the area [mm2] of the largest rectangle along the sheet inside a piece: exact for a rectangle.

    The rectangle's left and right ends are tried at the piece's corners and half-way between them.
    """
    corners = sorted({x for x, _ in piece})
    xs = sorted(corners + [0.5 * (a + b) for a, b in pairwise(corners)])
    lines = _lines(piece)
    spans = [_span(lines, x) for x in xs]
    best = 0.0
    for i, (x0, (low0, high0)) in enumerate(zip(xs, spans, strict=True)):
        for x1, (low1, high1) in zip(xs[i + 1 :], spans[i + 1 :], strict=True):
            best = max(best, (x1 - x0) * (min(high0, high1) - max(low0, low1)))
    return best


def value_left(pieces: Iterable[Outline], sheet_area: float) -> float:
    """What the pieces kept of a sheet are worth: their largest rectangles, a large one more than its two halves."""
    shares = sorted((largest_rectangle(p) / sheet_area for p in pieces), reverse=True)
    return math.fsum(math.pow(share, LARGE_BEATS_HALVES) for share in shares[:COUNTED])


def _lines(piece: Outline) -> list[Line]:
    lines = []
    ax, ay = piece[-1]
    for bx, by in piece:
        length = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
        if length > 1e-9:
            nx, ny = (by - ay) / length, (ax - bx) / length
            lines.append((nx, ny, nx * ax + ny * ay))
        ax, ay = bx, by
    return lines


def _span(lines: list[Line], x: float) -> tuple[float, float]:
    """From where to where the piece reaches upward at x."""
    low, high = -1e30, 1e30
    for nx, ny, c in lines:
        if ny > 1e-12:
            high = min(high, (c - nx * x) / ny)
        elif ny < -1e-12:
            low = max(low, (c - nx * x) / ny)
    return low, high
