"""A sheet's own edge, of whatever outline: drawn, its trim margin inside it, its sizes beside it."""

import math

from calc.drawing.dimensions import Measure, dimension
from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.places import beside, inner_side
from calc.drawing.view import View
from calc.drawing.windows import Detail
from calc.laid import SheetLayout
from calc.outlines import take_off
from calc.units import Display

SQUARE = 1e-6  # [mm] a side that leans by less is square to the sheet


def draw_edge(labels: Labels, detail: Detail, used: SheetLayout) -> None:
    """The sheet's edge as far as a view shows it."""
    if all(detail.window.holds(corner) for corner in used.metal):
        labels.drawing.outline(detail.view.all(used.metal), "outline sheet")
        labels.avoid(detail.view.all(used.metal), "outline", closed=True)
        return
    parts = [part for start, end in used.edges if (part := detail.window.clip(start, end))]
    lines = [detail.view.all(part) for part in parts]
    labels.drawing.lines(lines, "outline sheet")
    for line in lines:
        labels.avoid(line, "outline")


def draw_trim(labels: Labels, detail: Detail, used: SheetLayout, trim: float) -> None:
    """The margin along the edge that is kept clear of blanks, as far as a view shows it."""
    inside = take_off(used.metal, [trim] * len(used.metal)) if trim > 0 else None
    if inside is None:
        return
    edges = zip(inside, inside[1:] + inside[:1], strict=True)
    parts = [part for start, end in edges if (part := detail.window.clip(start, end))]
    labels.drawing.lines([detail.view.all(part) for part in parts], "hidden trim", {"stroke-width": 0.5})


def dimension_sheet(labels: Labels, view: View, used: SheetLayout, display: Display) -> None:
    """Length and width, of an offcut those of the rectangle round it, and then each of its own sides that leans or is short."""
    length, width = display.figure(used.length), display.figure(used.width)
    low, right, top = view.at((0.0, 0.0)), view.at((used.length, 0.0)), view.at((0.0, used.width))
    dimension(labels, Measure(low, right, length, f"Sheet length {length}"), (0.0, 1.0), offsets=(17.0, 24.0))
    dimension(labels, Measure(top, low, width, f"Sheet width {width}"), (-1.0, 0.0), offsets=(15.0, 22.0))
    for start, end in used.edges if used.outline else ():
        side = math.dist(start, end)
        along = [abs(end[axis] - start[axis]) for axis in (0, 1)]
        if min(along) < SQUARE and max(along) in (used.length, used.width):
            continue  # told already by the size over all
        block: Block = ((display.figure(side), SIZE, False),)
        outside = -inner_side(view.at(start), view.at(end))
        places = [beside(view.at(start), view.at(end), gap, side=outside) for gap in (3.0, 8.0)]
        labels.put(block, places, key=f"Side of the offcut {display.length(side)}")
