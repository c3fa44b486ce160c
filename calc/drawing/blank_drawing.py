"""One blank, dimensioned for marking out: base line at the bottom, every corner along it and square to it, edges as checks."""

from collections.abc import Iterator, Sequence

from calc import Plan
from calc.alike import corner_matches, edge_matches
from calc.blank import Blank, Hole
from calc.drawing.blank_outline import draw_hole, draw_outline
from calc.drawing.blank_table import is_tabled, tabulate
from calc.drawing.boxes import Box
from calc.drawing.dimensions import Measure, dimension, draw_dimension
from calc.drawing.labels import SIZE, Labels
from calc.drawing.lettering import elide, text_width, wrapped
from calc.drawing.parts import edge_words, vertex_names
from calc.drawing.places import anywhere, beside, between, inner_side, ring
from calc.drawing.rim import WIDTH, number_corners
from calc.drawing.svg import Drawing
from calc.drawing.view import View, fit, outward
from calc.records import Point
from calc.units import Display

HIGHEST, TABLED_HIGHEST = 0.62, 0.5  # of the width
MARGIN, TIER, CAPTION = 44.0, 20.0, 30.0
NAME_SIZE, LINE = 18.0, 15.0  # of the caption
MOST_TIERS = 4  # corners beyond these get their offsets in the key
TABLED_MARGIN = 60.0  # round a blank whose corners are in a table: room for two dimension lines
MOST_DIAGONALS = 3  # more checks than these go to the key


def blank_drawing(
    plan: Plan,
    blank: Blank,
    display: Display,
    *,
    alike: Sequence[Blank] = (),
    quantity: int = 1,
    bend: str = "",
    table: bool = True,
    width: float = WIDTH,
) -> str:
    """A blank of a plan as it is marked out and cut, wet face up. Returns inline SVG.

    alike: the other blanks that are the same; quantity: how many trays; bend: the name of one that is in hand, drawn
    heavier; table: whether one goes below it, where it has one; width: of the drawing [units]. A blank of few corners has
    each of them dimensioned; one with folds, or of many corners, has them in a table.
    """
    names = vertex_names(plan)
    tabled = is_tabled(blank)
    below = TABLED_MARGIN if tabled else MARGIN + TIER * min(len(blank.cut_outline) - 2 + len(blank.holes), MOST_TIERS)
    margin = min(below, width * 0.17)
    name, lines = _caption(blank, alike, quantity, width, plan.sheet.shape.face_side)
    top = CAPTION + LINE * (len(lines) - 1) + MARGIN * 0.8
    highest = width * (TABLED_HIGHEST if tabled else HIGHEST)
    view = fit(blank.cut_outline, width, highest + margin + top, margin, top)
    labels = Labels(Drawing(), view.width, view.height)
    _write_caption(labels, name, lines)
    corners = view.all(blank.cut_outline)
    draw_outline(labels, corners, blank, plan.sheet.making.cutting == "straight-saw")
    for hole in blank.holes:
        draw_hole(labels, view.at(hole.centre), hole.diameter * view.scale, hole.purpose)
    if tabled:
        tabulate(labels, view, blank, display, names, bend=bend, table=table)
    else:
        _dimension_corners(labels, view, blank, display, names)
    labels.keyed += [(row, None) for row in _alike_rows(blank, alike, names)] if plan.shell.joints else []
    return labels.finish(f"Blank {blank.name}, dimensioned", "blank-drawing")


def _dimension_corners(labels: Labels, view: View, blank: Blank, display: Display, names: Sequence[str]) -> None:
    """Every corner's offsets, the lengths of the edges and what they meet, the checks across."""
    corners = view.all(blank.cut_outline)
    _squares(labels, view, blank, display)
    _alongs(labels, view, blank, display)
    for check in blank.marking.checks:
        if (check.start + 1) % len(corners) == check.end:
            _edge_length(labels, corners, check.start, check.end, display.figure(check.shown))
    number_corners(labels, corners, corner_names(blank, names))
    for index, edge in enumerate(blank.edges):
        _edge_meets(labels, corners, index, edge_words(edge, names))
    _diagonals(labels, corners, blank, display)


def corner_names(blank: Blank, names: Sequence[str]) -> tuple[str, ...]:
    """What each corner of a blank is on the tray, out of the names of the shell's vertices."""
    return tuple(names[edge.edge[0]] for edge in blank.edges)


def _alike_rows(blank: Blank, alike: Sequence[Blank], names: Sequence[str]) -> Iterator[str]:
    """For each blank alike, what its edges meet, named by the corners of the one that is drawn."""
    for other in alike if blank.edges else ():
        edges, corners, own = edge_matches(blank, other), corner_matches(blank, other), corner_names(other, names)
        parts = []
        for index, edge in enumerate(edges):
            if other.edges[edge].kind == "bend":
                continue
            after = (index + 1) % len(edges)
            words = edge_words(other.edges[edge], names)
            if other.edges[edge].kind == "free":
                words += f" {'–'.join(own[corners[end]].rpartition(' ')[2] for end in (index, after))}"
            parts.append(f"{index + 1}–{after + 1} {words}")
        yield f"{other.name}{' turned over' if other.mirrored else ''}: {', '.join(parts)}"


def alike_as(alike: Sequence[Blank]) -> str:
    """Which blanks are the same as this one: 'B, D alike; C alike, turned over'."""
    same = [other.name for other in alike if not other.mirrored]
    over = [other.name for other in alike if other.mirrored]
    parts = (f"{', '.join(same)} alike" if same else "", f"{', '.join(over)} alike, turned over" if over else "")
    return "; ".join(part for part in parts if part)


def _caption(
    blank: Blank, alike: Sequence[Blank], quantity: int, width: float, face_side: str
) -> tuple[str, list[str]]:
    """The name as it fits the drawing, and the words beside it in lines."""
    off = quantity * (blank.count + sum(other.count for other in alike))
    name = elide(blank.name, NAME_SIZE, width * 0.5, True)
    words = "; ".join(part for part in (f"{off} off", alike_as(alike), f"{face_side} up") if part)
    return name, wrapped(words, SIZE, width - _indent(name) - 10.0)


def _indent(name: str) -> float:
    return 20.0 + text_width(name, NAME_SIZE, True)


def _write_caption(labels: Labels, name: str, lines: Sequence[str]) -> None:
    labels.drawing.write(name, (10.0, 20.0), NAME_SIZE, bold=True)
    for row, line in enumerate(lines):
        labels.drawing.write(line, (_indent(name), 20.0 + LINE * row), SIZE)
    bottom = CAPTION + LINE * (len(lines) - 1) - 4
    labels.reserve(Box(labels.width / 2, bottom / 2, labels.width - 4, bottom))


def _squares(labels: Labels, view: View, blank: Blank, display: Display) -> None:
    """How far square to the base each corner is, on a line dropped to the base."""
    corners = view.all(blank.cut_outline)
    base = corners[0][1]
    for index, (along, square) in enumerate(blank.marking.shown):
        if index < 2:
            continue
        top = corners[index]
        foot = (top[0], base)
        figure = display.figure(square)
        if abs(top[1] - base) < 1.0:
            labels.keyed.append((f"Corner {index + 1}: {figure} square", None))
            continue
        if not corners[0][0] <= foot[0] <= corners[1][0]:
            near = corners[0] if foot[0] < corners[0][0] else corners[1]
            labels.drawing.line(near, foot, "dim")
            labels.avoid((near, foot), "dim")
        key = f"Corner {index + 1}: {display.figure(along)} along, {figure} square"
        draw_dimension(labels, Measure(foot, top, figure, key), (0.0, 0.0), 0.0)
        places = [
            beside(foot, top, 1.8, shares=(0.5, 0.4, 0.6, 0.3, 0.7, 0.25)),
            ring(between(foot, top, 0.5), (7.0, 16.0, 28.0), leader=True),
            anywhere(labels.width, labels.height, between(foot, top, 0.5)),
        ]
        labels.put(((figure, SIZE, False),), places, key=key)
    for hole in blank.holes:
        _hole_square(labels, (view.at(hole.centre), corners[0][1]), hole, display)


def _hole_square(labels: Labels, at: tuple[Point, float], hole: Hole, display: Display) -> None:
    """How far square to the base the middle of a hole is, beside a line dropped to the base."""
    centre, base = at
    foot, figure = (centre[0], base), display.figure(hole.centre[1])
    key = f"{_hole_words(hole, display)}: {figure} square to the base"
    draw_dimension(labels, Measure(foot, centre, figure, key), (0.0, 0.0), 0.0)
    places = [
        beside(foot, centre, 1.8, shares=(0.3, 0.4, 0.2, 0.5)),
        ring(between(foot, centre, 0.4), (7.0, 16.0, 28.0), leader=True),
        anywhere(labels.width, labels.height, between(foot, centre, 0.4)),
    ]
    labels.put(((figure, SIZE, False),), places, key=key)
    words = _hole_words(hole, display)
    led = [ring(centre, (hole_room, hole_room + 14.0, hole_room + 30.0), leader=True) for hole_room in (24.0, 60.0)]
    named = [*led, anywhere(labels.width, labels.height, centre)]
    labels.put(((words, SIZE, False),), named, key=words[0].upper() + words[1:])


def _hole_words(hole: Hole, display: Display) -> str:
    return f"{hole.purpose} ø{display.fine(hole.diameter)}"


def _alongs(labels: Labels, view: View, blank: Blank, display: Display) -> None:
    """How far along the base each corner is, below it, the shortest nearest; then the base itself."""
    corners = view.all(blank.cut_outline)
    start, down = corners[0], (0.0, 1.0)
    rows = sorted(
        [
            *((offset[0], f"Corner {i + 1}", corners[i][0]) for i, offset in enumerate(blank.marking.shown) if i > 1),
            *((hole.centre[0], _hole_words(hole, display), view.at(hole.centre)[0]) for hole in blank.holes),
        ]
    )
    offsets = [TIER - 2 + TIER * tier for tier in range(len(rows[:MOST_TIERS]) + 2)]
    for tier, (along, name, drawn_at) in enumerate(rows):
        figure = display.figure(along)
        key = f"{name[0].upper()}{name[1:]}: {figure} along from corner 1"
        foot = (drawn_at, start[1])
        if tier >= MOST_TIERS or abs(foot[0] - start[0]) < 1.0:
            labels.keyed.append((key, None))
        else:
            dimension(labels, Measure(start, foot, figure, key), down, offsets=offsets)
    base = display.figure(blank.marking.shown[1][0])
    dimension(labels, Measure(start, corners[1], base, f"Base, corner 1 to 2: {base}"), down, offsets=offsets)


def _edge_length(labels: Labels, corners: Sequence[Point], start: int, end: int, figure: str) -> None:
    if start == 0:
        return  # the base has its dimension below the offsets
    ends = (corners[start], corners[end])
    dimension(labels, Measure(*ends, figure, f"Edge {start + 1}-{end + 1}: {figure}"), outward(*ends))


def _edge_meets(labels: Labels, corners: Sequence[Point], index: int, words: str) -> None:
    """What an edge meets, lettered along it inside the blank."""
    start, end = corners[index], corners[(index + 1) % len(corners)]
    middle, normal = between(start, end, 0.5), outward(start, end)
    inner = (middle[0] - normal[0], middle[1] - normal[1])
    shares = (0.5, 0.4, 0.6, 0.32, 0.68, 0.25, 0.75)
    places = [
        beside(start, end, 2.5, shares=shares, side=inner_side(start, end)),
        ring(middle, (8.0, 18.0, 32.0, 46.0), towards=inner, leader=True),
        anywhere(labels.width, labels.height, middle),
    ]
    key = f"Edge {index + 1}-{(index + 1) % len(corners) + 1}: {words}"
    labels.put(((words, SIZE - 1.5, False),), places, key=key, style="figure meets")


def _diagonals(labels: Labels, corners: Sequence[Point], blank: Blank, display: Display) -> None:
    """The checks across the blank: drawn where they are few, else in the key."""
    count = len(corners)
    across = [check for check in blank.marking.checks if (check.start + 1) % count != check.end]
    for check in across:
        figure = display.figure(check.shown)
        key = f"Check {check.start + 1} to {check.end + 1}: {figure}"
        if len(across) > MOST_DIAGONALS:
            labels.keyed.append((key, None))
            continue
        ends = (corners[check.start], corners[check.end])
        labels.drawing.line(*ends, "hidden")
        labels.avoid(ends, "thin")
        shares = (0.3, 0.7, 0.25, 0.75, 0.4, 0.6)
        places = [beside(*ends, 2.0, shares=shares), ring(between(*ends, 0.3), (8.0, 18.0, 30.0), leader=True)]
        labels.put(((figure, SIZE - 1.0, False),), places, key=key)
