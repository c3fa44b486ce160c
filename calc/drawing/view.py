"""A view: how millimetres seen from above become drawing units, y down, in true proportion."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from calc.records import Point


@dataclass(frozen=True, slots=True)
class View:
    """drawing x = left + x scale, y = top - y scale; the frame it is to be drawn in is width by height units."""

    scale: float
    left: float
    top: float
    width: float
    height: float

    def at(self, point: Point) -> Point:
        """Where a point [mm] comes in the drawing."""
        return (self.left + point[0] * self.scale, self.top - point[1] * self.scale)

    def all(self, points: Iterable[Point]) -> tuple[Point, ...]:
        """Where points [mm] come in the drawing."""
        return tuple(self.at(point) for point in points)


def fit(points: Sequence[Point], width: float, highest: float, margin: float, top: float | None = None) -> View:
    """The view that brings these points [mm] into a frame `width` wide, `highest` high at most, with a margin all round.

    top: the margin above, where it differs. The frame is only as high as the points need.
    """
    low_x, high_x = min(x for x, _ in points), max(x for x, _ in points)
    low_y, high_y = min(y for _, y in points), max(y for _, y in points)
    above = margin if top is None else top
    span_x, span_y = max(high_x - low_x, 1e-9), max(high_y - low_y, 1e-9)
    scale = min((width - 2 * margin) / span_x, (highest - margin - above) / span_y)
    left = (width - scale * (high_x + low_x)) / 2
    return View(scale, left, above + scale * high_y, width, above + margin + scale * (high_y - low_y))


def outward(start: Point, end: Point) -> Point:
    """The unit normal of a line of the drawing, on the outer side of an outline that runs anticlockwise to the eye."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5 or 1.0
    return (-dy / length, dx / length)
