"""The dimensioned picture beside the form: what has been typed so far, however incomplete, each label tied to its field."""

import math
from collections.abc import Sequence
from typing import Literal

from calc.drawing.boxes import Box
from calc.drawing.dimensions import Measure, dimension
from calc.drawing.labels import SIZE, Block, Labels, Places
from calc.drawing.places import anywhere, beside, between, ring
from calc.drawing.rim import away_from, draw_outlet
from calc.drawing.rim_contents import (
    EXAMPLE_LOW,
    Clear,
    MaybeEnd,
    MaybePoint,
    draw_clear,
    draw_sump,
    draw_valley,
    finite,
    lowest_end,
    name_clear,
    name_low,
    name_valley,
    sound,
    sound_ends,
)
from calc.drawing.svg import Drawing
from calc.drawing.view import View, fit, outward
from calc.records import Outline, Point
from calc.units import Display

WIDTH = 480.0
HIGHEST = 0.95
MARGIN = 66.0
EXAMPLE: Outline = ((0.0, 0.0), (900.0, -8.0), (880.0, 460.0), (-6.0, 440.0))
FEW = 8  # corners up to which their figures are lettered at full size
DIAGONALS = ((0, 2), (1, 3))


def rim_picture(
    corners: Sequence[MaybePoint],
    low_point: MaybePoint,
    display: Display,
    *,
    entry: Literal["corners", "sides"] = "corners",
    depth: float | None = None,
    bore: float | None = None,
    valley: Sequence[MaybeEnd] | None = None,
    sump: MaybePoint = None,
    keep_clear: Sequence[Clear] = (),
    free_place: Point | None = None,
    width: float = WIDTH,
) -> str:
    """The rim as typed so far, seen from above. Returns inline SVG.

    corners: [mm] in the order typed, None where there is none yet (or it can't be used); with fewer than three an example
    is drawn greyed. entry "sides": the labels are those of four sides and two diagonals. valley: both ends as x, y and depth
    (low_point and depth are then not looked at); sump: length and width; keep_clear: rectangles, the whole ones of which are
    hatched; free_place: marked where it is given. Each label is in a group of class `field` with `data-field` corner-N-x,
    corner-N-y, side-N, diagonal-N, low-x, low-y, depth, bore, valley-N-x, valley-N-y, valley-N-depth, sump-length,
    sump-width or keep-clear-N.
    """
    points = [sound(corner) for corner in corners][:24]
    is_example = sum(point is not None for point in points) < 3
    rim = list(EXAMPLE) if is_example else filled(points)
    known = [not is_example and point is not None for point in (points if not is_example else rim)]
    ends = None if valley is None else sound_ends(valley, is_example)
    low = lowest_end(ends) if ends is not None else EXAMPLE_LOW if is_example else sound(low_point)
    seen = [*rim, *([low] if low else []), *(end.at for end in ends or ())]
    view = fit(seen, width, width * HIGHEST, min(MARGIN, width * 0.16))
    labels = Labels(Drawing(), view.width, view.height)
    clear = draw_clear(labels, view, () if is_example else keep_clear, low, bore, free_place)
    _draw_rim(labels, view.all(rim), known, is_example)
    draw_valley(labels, view, ends or ())
    draw_sump(labels, view, rim, None if is_example else low, sump)
    if low:
        draw_outlet(labels, view.at(low), bore * view.scale if bore is not None and finite(bore) else 0.0)
    labels.reserve(Box(22.0, labels.height - 22.0, 40.0, 42.0))
    if entry == "sides" and len(rim) == 4:
        _sides(labels, view, rim, display, is_example)
    else:
        _corners(labels, view, rim, known, display)
    if ends is not None:
        name_valley(labels, view, ends, display, bore)
    elif low:
        name_low(labels, view, low, display, (None if is_example else low), depth, bore, sump)
    name_clear(labels, view, clear, None if is_example else free_place, display)
    kind = "rim-picture example" if is_example else "rim-picture"
    title = (
        "An example of a rim, until three corners are given" if is_example else f"The rim as given: {len(rim)} corners"
    )
    return labels.finish(title, kind)


def filled(points: Sequence[Point | None]) -> list[Point]:
    """The points, the missing ones spread evenly between their neighbours round the rim.

    >>> filled([(0, 0), None, (4, 0), (4, 4)])[1]
    (2.0, 0.0)
    """
    given = [index for index, point in enumerate(points) if point is not None]
    count, whole = len(points), list(points)
    for place, index in enumerate(given):
        following = given[(place + 1) % len(given)]
        missing = (following - index) % count - 1
        for step in range(1, missing + 1):
            start, end = points[index], points[following]
            if start is not None and end is not None:
                whole[(index + step) % count] = between(start, end, step / (missing + 1))
    return [point for point in whole if point is not None]


def _draw_rim(labels: Labels, rim: Outline, known: Sequence[bool], is_example: bool) -> None:
    """Sides between known corners as outline, the rest broken; an example thin and pale."""
    for index, start in enumerate(rim):
        after = (index + 1) % len(rim)
        line = (start, rim[after])
        if is_example:
            labels.drawing.line(*line, "thin example", {"stroke-opacity": 0.6})
        else:
            labels.drawing.line(*line, "outline rim" if known[index] and known[after] else "hidden rim")
        labels.avoid(line, "outline")


def _corners(labels: Labels, view: View, rim: Sequence[Point], known: Sequence[bool], display: Display) -> None:
    """At each corner its number and its two figures, each figure of its own field."""
    drawn = view.all(rim)
    is_clockwise = _turns_clockwise(rim)
    size = SIZE if len(rim) <= FEW else SIZE - 2.0
    for index, corner in enumerate(drawn):
        number = index + 1
        towards = away_from(drawn[::-1], len(drawn) - 1 - index) if is_clockwise else away_from(drawn, index)
        x, y = (display.figure(rim[index][0]), display.figure(rim[index][1])) if known[index] else ("?", "?")
        block: Block = ((str(number), size, True), (f"x {x}", size, False), (f"y {y}", size, False))
        labels.put(
            block,
            _round_corner(labels, corner, towards),
            key=(f"Corner {number} x {x}", f"Corner {number} y {y}"),
            fields=(None, f"corner-{number}-x", f"corner-{number}-y"),
        )
    _axes(labels)


def _axes(labels: Labels) -> None:
    """Which way x and y run, in the lower left corner."""
    drawing, origin = labels.drawing, (10.0, labels.height - 10.0)
    for end, letter in (((origin[0] + 22, origin[1]), "x"), ((origin[0], origin[1] - 22), "y")):
        drawing.line(origin, end, "dim axis")
        drawing.tip(end, origin, 7.0)
        at = (end[0] + 6, end[1]) if letter == "x" else (end[0], end[1] - 9)
        drawing.letter(((letter, 10.0, False),), at)


def _round_corner(labels: Labels, corner: Point, towards: Point) -> list[Places]:
    return [
        ring(corner, (4.0, 10.0, 17.0), towards=towards),
        ring(corner, (24.0, 36.0, 50.0), towards=towards, leader=True),
        anywhere(labels.width, labels.height, corner),
    ]


def _turns_clockwise(rim: Sequence[Point]) -> bool:
    ends = [*rim[1:], rim[0]]
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(rim, ends, strict=True)) < 0


def _sides(labels: Labels, view: View, rim: Sequence[Point], display: Display, is_example: bool) -> None:
    """The four sides outside the rim and the two diagonals across it."""
    flip = -1.0 if _turns_clockwise(rim) else 1.0
    for index, start in enumerate(rim):
        end = rim[(index + 1) % 4]
        ends = (view.at(start), view.at(end))
        figure = f"side {index + 1}" if is_example else f"side {index + 1}  {display.figure(math.dist(start, end))}"
        normal = outward(*ends)
        measure = Measure(*ends, figure, figure, f"side-{index + 1}")
        dimension(labels, measure, (normal[0] * flip, normal[1] * flip))
    for index, (one, other) in enumerate(DIAGONALS):
        ends = (view.at(rim[one]), view.at(rim[other]))
        length = display.figure(math.dist(rim[one], rim[other]))
        words = f"diagonal {index + 1}" if is_example else f"diagonal {index + 1}  {length}"
        labels.drawing.line(*ends, "hidden diagonal")
        labels.avoid(ends, "diagonal")
        places = [
            beside(*ends, 2.0, shares=(0.25, 0.3, 0.2, 0.7, 0.75)),
            anywhere(labels.width, labels.height, between(*ends, 0.3)),
        ]
        labels.put(((words, SIZE, False),), places, key=words, fields=(f"diagonal-{index + 1}",))
    for index, corner in enumerate(view.all(rim)):
        towards = away_from(view.all(rim), index)
        labels.put(
            ((str(index + 1), SIZE, True),),
            _round_corner(labels, corner, towards),
            key=f"Corner {index + 1}",
            style="figure corner",
        )
