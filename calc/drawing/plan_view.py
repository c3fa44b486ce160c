"""The plan: the tray seen from above, dimensioned, with the falls of its facets and seams."""

import math
from collections.abc import Sequence

from calc import Plan
from calc.drawing.dimensions import Measure, dimension, draw_dimension
from calc.drawing.labels import SIZE, Block, Labels, Spot
from calc.drawing.places import anywhere, beside, between, inner_points, ring, within
from calc.drawing.rim import (
    WIDTH,
    dimension_sides,
    draw_outlet,
    draw_seams,
    number_corners,
    pointed_at,
    rim_of,
    seam_line,
    start_plan,
)
from calc.drawing.view import View, outward
from calc.records import Outline, Point
from calc.shell import Face, Joint, normal
from calc.units import Display

ARROWS = (34.0, 24.0, 15.0)  # lengths of a fall arrow
LONG_SIDE = 0.7  # of the longest: long enough to set a point out from
MOST_FACETS = 0.75  # the share of facets that sets how all are lettered


def plan_view(plan: Plan, display: Display, *, width: float = WIDTH) -> str:
    """The tray seen from above: sides, falls of facets and seams, low point and outlet. Returns inline SVG.

    width: of the drawing [units; 1 unit is 1 px at its natural size]. Lettering doesn't shrink with it.
    """
    rim = rim_of(plan.shell)
    labels, view = start_plan(rim, width)
    outlet = plan.sheet.shape.outlet
    draw_seams(labels, view, plan.shell, "weld")
    low = min(plan.shell.vertices, key=lambda vertex: vertex[2])[:2]
    if outlet:
        draw_outlet(labels, view.at(low), outlet.bore * view.scale)
    _low_point(labels, view, rim, low, display)
    _facets(labels, view, plan)
    dimension_sides(labels, view, rim, display)
    number_corners(labels, view.all(rim))
    slopes = {fall.between: fall.fall for fall in plan.drainage.seams}
    for joint in plan.shell.joints:
        if joint.between in slopes:
            _seam_fall(labels, seam_line(view, plan.shell, joint), joint, slopes[joint.between])
    if outlet:
        note = f"outlet ø{display.figure(outlet.bore)}"
        _note(labels, view.at(low), note, outlet.bore * view.scale / 2)
    return labels.finish(f"The tray from above: {len(rim)} corners, falls to the low point", "plan-view")


def falls_as(slope: float) -> tuple[str, str]:
    """A slope as the shop reads it: in per cent, and as one in so many.

    >>> falls_as(0.0957), falls_as(0.0)
    (('9.6 %', '1 in 10.4'), ('0 %', 'level'))
    """
    if slope < 1e-6:
        return "0 %", "level"
    digits = 1 if slope >= 0.001 else 2
    return f"{slope * 100:.{digits}f} %", f"1 in {1 / slope:.1f}" if slope > 0.01 else f"1 in {1 / slope:.0f}"


def _facets(labels: Labels, view: View, plan: Plan) -> None:
    """Each facet's name and fall, with an arrow down its steepest slope; in the key what has no room.

    Facets are lettered alike: as fully as most of them have room for, and the others less.
    """
    falls = {fall.face: fall.fall for fall in plan.drainage.falls}
    faces = [face for face in plan.shell.faces if face.name in falls]
    outlines = {face.name: view.all(plan.shell.vertices[index][:2] for index in face.loop) for face in faces}
    fullest = sorted(_lettering(labels, outlines[face.name], face.name, falls[face.name])[0] for face in faces)
    usual = fullest[int(len(fullest) * MOST_FACETS)] if fullest else 0
    for face in faces:
        outline = outlines[face.name]
        level, found = _lettering(labels, outline, face.name, falls[face.name], usual)
        if found:
            labels.write(*found, style="figure facet")
        if level > 1 or (level and usual > 0) or not found:
            labels.keyed.append((f"{face.name}: {', '.join(falls_as(falls[face.name]))}", None))
        _fall_arrow(labels, outline, plan, face)


def _lettering(
    labels: Labels, outline: Sequence[Point], name: str, fall: float, least_level: int = 0
) -> tuple[int, tuple[Block, Spot] | None]:
    """The fullest lettering that a facet has room for: its level (0 for all of it) and where it goes."""
    percent, ratio = falls_as(fall)
    inside = [within(outline)]
    alone: Block = ((name, SIZE, True),)
    for level, (block, places, limit) in enumerate(
        (
            (((name, 15.0, True), (percent, SIZE, False), (ratio, SIZE - 1, False)), inside, 36.0),
            (((f"{name}  {percent}", SIZE, True),), inside, 36.0),
            (alone, inside, 36.0),
            (alone, pointed_at(labels, outline), 130.0),
        )
    ):
        found = labels.find(block, places, limit) if level >= least_level else None
        if found:
            return level, found
    return 4, None


def _fall_arrow(labels: Labels, outline: Sequence[Point], plan: Plan, face: Face) -> None:
    """An arrow down the steepest slope, inside the facet where there is room for it, clear of its lettering."""
    x, y, _ = normal(plan.shell.corners(face)).tolist()
    size = math.hypot(x, y)
    if size < 1e-9:
        return
    down = (x / size, -y / size)
    points, rooms = inner_points(outline, 90)
    for length in ARROWS:
        for (middle_x, middle_y), room in zip(points.tolist(), rooms.tolist(), strict=True):
            start = (middle_x - down[0] * length / 2, middle_y - down[1] * length / 2)
            end = (middle_x + down[0] * length / 2, middle_y + down[1] * length / 2)
            if room > 0.35 * length and labels.is_free(start, end, clear=3.0):
                labels.drawing.line(start, end, "thin fall")
                labels.drawing.tip(end, start, min(8.0, length * 0.4))
                labels.avoid((start, end), "dim")
                return


def _low_point(labels: Labels, view: View, rim: Outline, low: Point, display: Display) -> None:
    """The low point as it is set out: along a side from its first corner, and square to that side."""
    index, along = foot_of(rim, low)
    start, end = rim[index], rim[(index + 1) % len(rim)]
    foot = between(start, end, along / math.dist(start, end))
    normal_out = outward(view.at(start), view.at(end))
    corner, figure = index + 1, display.figure(along)
    measure = Measure(
        view.at(start), view.at(foot), figure, f"Low point: {figure} along side {corner} from corner {corner}"
    )
    dimension(labels, measure, normal_out)
    square = display.figure(math.dist(foot, low))
    ends = (view.at(foot), view.at(low))
    rest = Measure(*ends, square, f"Low point: {square} square from side {corner}")
    draw_dimension(labels, rest, (0.0, 0.0), 0.0)
    places = [beside(*ends, 1.8), ring(between(*ends, 0.5), (8.0, 18.0, 30.0), leader=True)]
    places.append(anywhere(labels.width, labels.height, between(*ends, 0.5)))
    labels.put(((square, SIZE, False),), places, key=rest.key)


def foot_of(rim: Outline, point: Point) -> tuple[int, float]:
    """The side to set a point out from, and how far along it the point is square to it [mm].

    The first of the long sides whose length holds the foot, else the one where the foot is least outside.
    """
    sides = []
    for index, (start, end) in enumerate(zip(rim, rim[1:] + rim[:1], strict=True)):
        length = math.dist(start, end)
        along = ((point[0] - start[0]) * (end[0] - start[0]) + (point[1] - start[1]) * (end[1] - start[1])) / length
        sides.append((max(-along, along - length, 0.0), length, index, along))
    outside = min(side[0] for side in sides)
    holding = [side for side in sides if side[0] <= outside]
    longest = max(side[1] for side in holding)
    return next((index, along) for _, length, index, along in holding if length >= LONG_SIDE * longest)


def _seam_fall(labels: Labels, line: tuple[Point, Point], joint: Joint, slope: float) -> None:
    """The fall along a valley seam, lettered along it."""
    percent, ratio = falls_as(slope)
    middle = between(*line, 0.45)
    labels.put(
        ((percent, SIZE - 1.5, False),),
        [
            beside(*line, 2.5, shares=(0.45, 0.35, 0.55, 0.3, 0.65, 0.25)),
            ring(middle, (8.0, 18.0, 30.0), leader=True),
        ],
        key=f"Seam {joint.name}: {percent}, {ratio}",
    )


def _note(labels: Labels, target: Point, text: str, radius: float) -> None:
    """A short note with a leader to a point."""
    places = [
        ring(target, (radius + 14.0, radius + 26.0, radius + 44.0), leader=True),
        anywhere(labels.width, labels.height, target),
    ]
    labels.put(((text, SIZE, False),), places, key=text[0].upper() + text[1:])
