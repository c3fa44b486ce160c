"""A piece of the rack: its true outline with its sides and diagonals for the tape; small, to one scale, for a list."""

import math

from calc.drawing.dimensions import Measure, dimension
from calc.drawing.labels import SIZE, Labels
from calc.drawing.places import anywhere, beside, between, ring
from calc.drawing.rim import number_corners
from calc.drawing.svg import Drawing, path_data
from calc.drawing.view import fit, outward
from calc.records import Outline
from calc.units import Display

WIDTH = 440.0
HIGHEST = 0.8  # of the width
MARGIN = 60.0
SQUARE = 1e-3  # [mm] by which the diagonals of a rectangle may differ
LIST_WIDTH = 160.0  # [units] of the longest piece of a list
LEAST_DRAWN = 3.0  # [units] no piece of a list is drawn thinner


def stock_drawing(outline: Outline, display: Display, title: str, *, width: float = WIDTH) -> str:
    """A convex piece in true proportion, dimensioned: length and width of a rectangle, else its sides and the diagonals from
    corner 1, by which it can be marked out or checked.

    outline: anticlockwise [mm]; title: what a screen reader says. Returns inline SVG.
    """
    view = fit(outline, width, width * HIGHEST, MARGIN)
    labels = Labels(Drawing(), view.width, view.height)
    corners = view.all(outline)
    labels.drawing.outline(corners, "outline")
    labels.avoid(corners, "outline", closed=True)
    square, count = is_rectangle(outline), len(outline)
    sides = list(zip(range(count), [*range(1, count), 0], strict=True))
    for here, there in sides[:2] if square else sides:
        figure = display.figure(math.dist(outline[here], outline[there]))
        measure = Measure(corners[here], corners[there], figure, f"Side {here + 1}-{there + 1}: {figure}")
        dimension(labels, measure, outward(measure.start, measure.end))
    if not square:
        number_corners(labels, corners)
        for far in range(2, count - 1):
            _diagonal(labels, outline, corners, far, display)
    return labels.finish(title, "stock-drawing")


def is_rectangle(outline: Outline) -> bool:
    """Whether four corners are square to each other: sides opposite alike, both diagonals alike.

    >>> is_rectangle(((0, 0), (300, 0), (300, 200), (0, 200))), is_rectangle(((0, 0), (300, 0), (310, 200), (0, 200)))
    (True, False)
    """
    if len(outline) != 4:
        return False
    pairs = (((0, 1), (2, 3)), ((1, 2), (3, 0)), ((0, 2), (1, 3)))
    return all(
        abs(math.dist(outline[a], outline[b]) - math.dist(outline[c], outline[d])) < SQUARE for (a, b), (c, d) in pairs
    )


def stock_outline(outline: Outline, longest: float, title: str) -> str:
    """The piece alone for a list in which `longest` [mm] is as wide as the column: all of it is so to one scale.

    title: what a screen reader says. Returns inline SVG.
    """
    high = max(y for _, y in outline)
    scale = LIST_WIDTH / longest
    height = max(high * scale, LEAST_DRAWN) + 2
    drawing = Drawing()
    points = [(1 + x * scale, height - 1 - y * scale) for x, y in outline]
    drawing.shape("path", "outline", {"d": path_data(points, closed=True), "stroke-width": 1.4})
    return drawing.svg(title, LIST_WIDTH + 2, height, "stock-outline")


def _diagonal(labels: Labels, outline: Outline, corners: Outline, far: int, display: Display) -> None:
    """A diagonal from corner 1 as a thin line, its figure along it."""
    line = (corners[0], corners[far])
    labels.drawing.line(*line, "thin diagonal")
    figure = display.figure(math.dist(outline[0], outline[far]))
    places = [
        beside(*line, 2.0, shares=(0.6, 0.5, 0.7, 0.4, 0.8, 0.3)),
        ring(between(*line, 0.6), (8.0, 18.0, 32.0), leader=True),
        anywhere(labels.width, labels.height, between(*line, 0.6)),
    ]
    labels.put(((figure, SIZE, False),), places, key=f"Diagonal 1-{far + 1}: {figure}")
    labels.avoid(line, "thin")
