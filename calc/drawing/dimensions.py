"""Dimension lines by drawing practice (ISO 129-1 in spirit).

Thin extension lines leave the object with a gap and run a little past the dimension line; its figure stands above it,
readable from below or from the right; where there is no room between the arrowheads they come from outside.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.drawing.labels import SIZE, WELCOME, Block, Labels, Places, Spot
from calc.drawing.places import anywhere, between, readable_angle, ring
from calc.records import Point

GAP, PAST = 2.5, 3.5  # an extension line begins this far from the object and ends this far past the dimension line
TIP = 8.0
OFFSETS = (18.0, 38.0, 57.0)  # far enough apart for the figure of one to clear the lines of the one before
OFFSET_COST = 4.0
CROSSED = 60.0  # a dimension line through a figure that is already there


@dataclass(frozen=True, slots=True)
class Measure:
    """What a dimension says: its two ends, its figure, its words in the key, and the form field it belongs to."""

    start: Point
    end: Point
    figure: str
    key: str
    field: str | None = None
    size: float = SIZE


def dimension(labels: Labels, measure: Measure, normal: Point, *, offsets: Sequence[float] = OFFSETS) -> None:
    """Draw a dimension beside its ends, `normal` to the side it belongs on, at the offset where it is clearest.

    Where no dimension line has room the figure gets a leader to the middle; failing that it goes to the key.
    """
    block: Block = ((measure.figure, measure.size, False),)
    fields = (measure.field,) if measure.field else ()
    best: tuple[float, float, Block, Spot] | None = None
    for index, offset in enumerate(offsets):
        line = _moved(measure, normal, offset)
        found = labels.find(block, [along(*line)], limit=70.0)
        if found is None:
            continue
        blocked = labels.has_strip(*line) + sum(
            not labels.is_free(*part) for part in (line, *_extensions(measure, offset, normal))
        )
        cost = found[1].cost + index * OFFSET_COST + blocked * CROSSED
        if best is None or cost < best[0]:
            best = (cost, offset, *found)
        if cost < WELCOME:
            break
    if best is not None and best[0] < CROSSED:
        _, offset, lettered, spot = best
        draw_dimension(labels, measure, normal, offset)
        labels.write(lettered, spot, fields=fields)
        return
    middle = between(measure.start, measure.end, 0.5)
    beyond = (middle[0] + normal[0], middle[1] + normal[1])
    places = [
        ring(middle, (10.0, 22.0, 36.0), towards=beyond, leader=True),
        anywhere(labels.width, labels.height, middle),
    ]
    labels.put(block, places, key=measure.key, fields=fields)


def draw_dimension(labels: Labels, measure: Measure, normal: Point, offset: float) -> None:
    """Draw a dimension's lines; its figure is written apart."""
    start, end = _moved(measure, normal, offset)
    drawing = labels.drawing
    extensions = _extensions(measure, offset, normal)
    drawing.lines(extensions, "dim")
    for part in extensions:
        labels.avoid(part, "dim")
    length = math.dist(start, end)
    labels.reserve_strip(start, end)
    if length >= 2.6 * TIP:
        drawing.line(start, end, "dim")
        drawing.tip(start, end, TIP)
        drawing.tip(end, start, TIP)
        labels.avoid((start, end), "dim")
        return
    ux, uy = _unit(start, end)
    for at, way in ((start, -1), (end, 1)):  # no room between: the arrows come from outside
        tail = (at[0] + way * ux * 1.8 * TIP, at[1] + way * uy * 1.8 * TIP)
        drawing.line(at, tail, "dim")
        drawing.tip(at, tail, TIP * 0.8)
        labels.avoid((at, tail), "dim")
    drawing.line(start, end, "dim")


def _moved(measure: Measure, normal: Point, offset: float) -> tuple[Point, Point]:
    dx, dy = normal[0] * offset, normal[1] * offset
    return (measure.start[0] + dx, measure.start[1] + dy), (measure.end[0] + dx, measure.end[1] + dy)


def _extensions(measure: Measure, offset: float, normal: Point) -> list[tuple[Point, Point]]:
    if offset <= GAP:
        return []
    reach = offset + PAST
    return [
        ((x + normal[0] * GAP, y + normal[1] * GAP), (x + normal[0] * reach, y + normal[1] * reach))
        for x, y in (measure.start, measure.end)
    ]


def along(start: Point, end: Point) -> Places:
    """Above the dimension line: in its middle, near its ends, or beyond them where it is too short for the figure."""
    angle = readable_angle(start, end)
    up = (math.sin(math.radians(angle)), -math.cos(math.radians(angle)))
    length = math.dist(start, end)
    ux, uy = _unit(start, end)

    def places(width: float, height: float) -> list[Spot]:
        rise = height / 2 + 1.8
        spots = []
        if width + 4 <= length:
            for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8):
                if (min(share, 1 - share)) * length >= width / 2 + 2:
                    x, y = between(start, end, share)
                    spots.append(Spot(x + up[0] * rise, y + up[1] * rise, angle, abs(share - 0.5) * 8))
        else:
            out = width / 2 + (2.0 * TIP if length < 2.6 * TIP else 4.0)
            for (x, y), way in ((end, 1), (start, -1)):
                for lift in (rise, 0.0):
                    reach = out if lift else out + 4.0
                    spots.append(
                        Spot(x + way * ux * reach + up[0] * lift, y + way * uy * reach + up[1] * lift, angle, 6.0)
                    )
        return spots

    return places


def _unit(start: Point, end: Point) -> Point:
    length = math.dist(start, end) or 1.0
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
