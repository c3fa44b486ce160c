"""A blank with folds or many corners: its size over all and bend lines on the drawing, its corners in a table below."""

import math
from collections.abc import Iterator, Sequence
from itertools import groupby

from calc.blank import Blank
from calc.drawing.blank_outline import CROSS, hole_letters, hole_names
from calc.drawing.dimensions import Measure, dimension, draw_dimension
from calc.drawing.labels import OFF_LINES, SIZE, Block, Labels
from calc.drawing.parts import edge_words
from calc.drawing.places import anywhere, beside, between, inner_side, ring
from calc.drawing.rim import away_from
from calc.drawing.svg import Attributes
from calc.drawing.view import View, outward
from calc.folding import Folding, fold_order
from calc.records import Point
from calc.units import Display

TOGETHER = 10.0  # corners of a blank nearer each other than this in the drawing are numbered as one
SAME = 0.05  # [units]
LONG = 0.2  # of the drawing's width: an edge as long has its length beside it
MOST_DIMENSIONED = 7  # corners of a blank; each of them has its dimensions
OFFSETS = (18.0, 36.0)
IN_HAND = 3.2  # how heavy the bend that is in hand is drawn
SHARES = (0.14, 0.2, 0.26, 0.32, 0.68, 0.74, 0.8, 0.86)  # of a bend line, where its distance from the edge may be shown
HEADINGS = ("Corner", "Along", "Square", "To next", "Is")


def is_tabled(blank: Blank) -> bool:
    """Whether the corners of a blank go to a table: it has folds, or too many corners to dimension each."""
    return bool(blank.folds) or len(blank.cut_outline) > MOST_DIMENSIONED


def tabulate(
    labels: Labels,
    view: View,
    blank: Blank,
    display: Display,
    names: Sequence[str],
    *,
    bend: str = "",
    table: bool = True,
) -> None:
    """Sizes, bend lines, corner numbers and what edges meet, as there is room; every corner in the table.

    bend: the name of one that is in hand, drawn heavier; table: whether that goes below.
    """
    corners = view.all(blank.cut_outline)
    order = fold_order(blank)
    for folding in order:
        _bend_line(labels, view, folding, in_hand=folding.name == bend)
    _over_all(labels, view, blank, display)
    _edge_lengths(labels, corners, blank, display)
    _number(labels, corners, blank)
    _letter_holes(labels, view, blank)
    for place, folding in enumerate(order):
        _bend_words(labels, view, folding, display)
        _bend_distance(labels, corners, view, folding, display, place)
    _meets(labels, corners, blank, names)
    labels.keyed += [(words, None) for words in _taken(blank)]
    if table:
        labels.table = (HEADINGS, *_rows(blank, display, names))


def _taken(blank: Blank) -> Iterator[str]:
    """Which corners are not marked out, since a hole takes them: their numbers are left out of drawing and table."""
    taken: dict[str, list[str]] = {}
    for index, corner in enumerate(blank.cut_outline):
        if index not in blank.marked_corners:
            hole = min(blank.holes, key=lambda hole: math.dist(hole.centre, corner))
            taken.setdefault("the outlet" if hole.purpose == "outlet" else "reliefs", []).append(str(index + 1))
    for by, (*others, last) in taken.items():
        yield f"{', '.join(others)} and {last} are taken by {by}" if others else f"{last} is taken by {by}"


def _rows(blank: Blank, display: Display, names: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """A row for each corner that is marked out, and one for each hole."""
    for index in blank.marked_corners:
        along, square = (display.figure(offset) for offset in blank.marking.shown[index])
        drilled = index in blank.drilled_edges
        length = "–" if drilled else display.figure(blank.marking.checks[index].shown)
        yield str(index + 1), along, square, length, names[blank.edges[index].edge[0]] if blank.edges else ""
    for name, hole in zip(hole_names(blank, display), blank.holes, strict=True):
        along, square = (display.figure(offset) for offset in hole.centre)
        yield name, along, square, "", hole.purpose


def _over_all(labels: Labels, view: View, blank: Blank, display: Display) -> None:
    """The base and the size over all, along it below the blank, square to it at its left."""
    xs, ys = zip(*blank.cut_outline, strict=True)
    start, end = view.at((0.0, 0.0)), view.at(blank.cut_outline[1])
    low = start[1]
    base = display.figure(blank.marking.shown[1][0])
    dimension(labels, Measure(start, end, base, f"Base, corner 1 to 2: {base}"), (0.0, 1.0), offsets=OFFSETS)
    left, right = view.at((min(xs), 0.0)), view.at((max(xs), 0.0))
    if display.figure(max(xs) - min(xs)) != base:
        over = display.figure(max(xs) - min(xs))
        measure = Measure((left[0], low), (right[0], low), over, f"Over all, along the base: {over}")
        dimension(labels, measure, (0.0, 1.0), offsets=(38.0, 56.0))
    high = display.figure(max(ys))
    measure = Measure(
        (left[0], view.at((0.0, max(ys)))[1]), (left[0], low), high, f"Over all, square to the base: {high}"
    )
    dimension(labels, measure, (-1.0, 0.0), offsets=OFFSETS)


def _edge_lengths(labels: Labels, corners: Sequence[Point], blank: Blank, display: Display) -> None:
    """The lengths of the edges that are long in the drawing; the base has its own, and one as high as the blank at its left."""
    left, top, low = min(x for x, _ in corners), min(y for _, y in corners), max(y for _, y in corners)
    for index in range(1, len(corners)):
        after = (index + 1) % len(corners)
        ends = (corners[index], corners[after])
        if all(x < left + SAME for x, _ in ends) and low - top < abs(ends[0][1] - ends[1][1]) + SAME:
            continue
        if math.dist(*ends) > LONG * labels.width:
            figure = display.figure(blank.marking.checks[index].shown)
            dimension(labels, Measure(*ends, figure, f"Edge {index + 1}-{after + 1}: {figure}"), outward(*ends))


def _bend_line(labels: Labels, view: View, folding: Folding, *, in_hand: bool) -> None:
    ends = view.all(folding.fold.line)
    mark: Attributes = {"data-bend": folding.name}
    if in_hand:
        labels.drawing.line(ends[0], ends[1], "bend now", {**mark, "stroke-width": IN_HAND})
    else:
        labels.drawing.line(ends[0], ends[1], "bend", mark)
    labels.avoid(ends, "bend")


def _bend_words(labels: Labels, view: View, folding: Folding, display: Display) -> None:
    """A bend's name, the way it is folded, wet face up, and its angle."""
    ends = (view.at(folding.fold.line[0]), view.at(folding.fold.line[1]))
    words = f"{folding.name} {folding.way} {abs(folding.fold.angle):.1f}°"
    middle = between(*ends, 0.5)
    places = [
        beside(*ends, 2.0, shares=(0.5, 0.4, 0.6, 0.3, 0.7)),
        ring(middle, (8.0, 18.0, 30.0), leader=True),
        anywhere(labels.width, labels.height, middle),
    ]
    key = f"Bend {folding.name}, {display.figure(folding.length)} long: {words.removeprefix(folding.name).strip()}"
    labels.put(((words, SIZE - 1, False),), places, key=key, style="figure fold")


def _bend_distance(
    labels: Labels, corners: Sequence[Point], view: View, folding: Folding, display: Display, place: int
) -> None:
    """How far a bend line is from the edge it is marked out from, square to both; where there is none, its two ends."""
    if folding.edge is None or folding.distance is None:
        one, other = (f"{display.figure(x)}; {display.figure(y)}" for x, y in folding.fold.line)
        labels.keyed.append((f"Bend line {folding.name}: from {one} to {other} (along; square)", None))
        return
    ends = (view.at(folding.fold.line[0]), view.at(folding.fold.line[1]))
    start, end = (corners[index] for index in folding.edge)
    figure = display.figure(folding.distance)
    key = f"Bend line {folding.name}: {figure} from edge {folding.edge[0] + 1}–{folding.edge[1] + 1}"
    block: Block = ((figure, SIZE - 1, False),)
    for share in SHARES[place % 2 :: 2]:
        on_line = between(*ends, share)
        on_edge = _foot(start, end, on_line)
        middle = between(on_edge, on_line, 0.5)
        places = [beside(on_edge, on_line, 1.8), ring(middle, (7.0, 14.0, 24.0), leader=True)]
        found = labels.find(block, places, OFF_LINES)
        if found and labels.is_free(on_edge, on_line) and not labels.has_strip(on_edge, on_line):
            draw_dimension(labels, Measure(on_edge, on_line, figure, key), (0.0, 0.0), 0.0)
            labels.write(*found)
            return
    labels.keyed.append((key, None))


def _foot(start: Point, end: Point, point: Point) -> Point:
    """The foot of a point on the line through start and end."""
    (x, y), length = start, math.dist(start, end)
    ux, uy = (end[0] - x) / length, (end[1] - y) / length
    along = ux * (point[0] - x) + uy * (point[1] - y)
    return (x + ux * along, y + uy * along)


def _number(labels: Labels, corners: Sequence[Point], blank: Blank) -> None:
    """The numbers of the corners that are marked out, those that lie close together as one label."""
    groups = list(_groups(corners, blank.marked_corners))
    middles = [_middle([corners[index] for index in group]) for group in groups]
    for place, (group, middle) in enumerate(zip(groups, middles, strict=True)):
        number = _run(group)
        towards = away_from(middles, place)
        block: Block = ((number, SIZE - 1 if len(group) > 1 else SIZE, True),)
        places = [
            ring(middle, (3.0, 6.0), towards=towards),
            ring(middle, (9.0, 16.0, 26.0, 40.0), towards=towards, leader=True),
            anywhere(labels.width, labels.height, middle),
        ]
        labels.put(block, places, key=f"Corner {number}: no room to number it", style="figure corner")


def _letter_holes(labels: Labels, view: View, blank: Blank) -> None:
    """The letters of the holes, as in the table, where there are several."""
    for letter, hole in zip(hole_letters(blank), blank.holes, strict=True):
        centre, reach = view.at(hole.centre), max(hole.diameter / 2 * view.scale, 1.5) + CROSS
        places = [
            ring(centre, (reach, reach + 4.0)),
            ring(centre, (reach + 10.0, reach + 20.0, reach + 34.0), leader=True),
            anywhere(labels.width, labels.height, centre),
        ]
        if letter:
            labels.put(
                ((letter, SIZE - 1, True),), places, key=f"Hole {letter}: no room for its letter", style="figure hole"
            )


def _groups(corners: Sequence[Point], marked: Sequence[int]) -> Iterator[list[int]]:
    """Runs of corners that lie close together, the last and the first of the outline included."""
    groups: list[list[int]] = []
    for index in marked:
        if groups and math.dist(corners[groups[-1][0]], corners[index]) < TOGETHER:
            groups[-1].append(index)
        else:
            groups.append([index])
    if len(groups) > 1 and math.dist(corners[groups[-1][0]], corners[groups[0][0]]) < TOGETHER:
        groups[0] = groups.pop() + groups[0]
    yield from groups


def _run(group: Sequence[int]) -> str:
    """Corner numbers as they are written together: 3–5, or 12, 1."""
    numbers = [index + 1 for index in group]
    is_run = len(numbers) > 2 and numbers == list(range(numbers[0], numbers[0] + len(numbers)))
    return f"{numbers[0]}–{numbers[-1]}" if is_run else ", ".join(map(str, numbers))


def _middle(points: Sequence[Point]) -> Point:
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))


def _meets(labels: Labels, corners: Sequence[Point], blank: Blank, names: Sequence[str]) -> None:
    """What edges meet, along those that have room; the rest in the key, edges that meet the same together."""
    count, left = len(corners), []
    for index, edge in enumerate(blank.edges):
        start, end = corners[index], corners[(index + 1) % count]
        if edge.kind == "bend":
            continue
        words = edge_words(edge, names)
        places = [beside(start, end, 2.5, shares=(0.5, 0.4, 0.6, 0.3, 0.7), side=inner_side(start, end))]
        found = labels.find(((words, SIZE - 1.5, False),), places, 30.0)
        if found:
            labels.write(*found, style="figure meets")
        else:
            left.append((words, f"{index + 1}–{(index + 1) % count + 1}"))
    for words, edges in groupby(sorted(left, key=lambda pair: pair[0]), key=lambda pair: pair[0]):
        ends = [name for _, name in edges]
        labels.keyed.append((f"Edge{'s' if len(ends) > 1 else ''} {', '.join(ends)}: {words}", None))
