"""The plan: the tray seen from above, dimensioned, with the falls of its facets and seams."""

import math
from collections.abc import Mapping, Sequence

from calc import Plan
from calc.drawing.dimensions import Measure, dimension, draw_dimension
from calc.drawing.labels import OFF_LINES, SIZE, Block, Labels, Spot
from calc.drawing.places import anywhere, beside, between, inner_points, ring, within
from calc.drawing.rim import (
    CROWDED,
    WIDTH,
    along_seam,
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
    outlines = {face.name: view.all(plan.shell.vertices[index][:2] for index in face.loop) for face in plan.shell.faces}
    _facets(labels, outlines, plan)
    dimension_sides(labels, view, rim, display)
    number_corners(labels, view.all(rim))
    slopes = {fall.between: fall.fall for fall in plan.drainage.seams}
    for joint in plan.shell.joints:
        if joint.between in slopes:
            _seam_fall(labels, seam_line(view, plan.shell, joint), joint, slopes[joint.between], len(rim))
    if outlet:
        note = f"outlet ø{display.fine(outlet.bore)}"
        _note(labels, view.at(low), note, outlet.bore * view.scale / 2, len(rim))
    for face in plan.shell.faces:
        _fall_arrow(labels, outlines[face.name], plan, face)
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


def _facets(labels: Labels, outlines: Mapping[str, Sequence[Point]], plan: Plan) -> None:
    """Each facet's name and fall; in the key what has no room.

    Facets are lettered alike: as fully as most of them have room for, and the others less.
    """
    falls = {fall.face: fall.fall for fall in plan.drainage.falls}
    faces = [face for face in plan.shell.faces if face.name in falls]
    fullest = sorted(_lettering(labels, outlines[face.name], face.name, falls[face.name])[0] for face in faces)
    usual = fullest[int(len(fullest) * MOST_FACETS)] if fullest else 0
    for face in faces:
        outline = outlines[face.name]
        level, found = _lettering(labels, outline, face.name, falls[face.name], usual)
        if found:
            labels.write(*found, style="figure facet")
        if level > 1 or (level and usual > 0) or not found:
            labels.keyed.append((f"{face.name}: {', '.join(falls_as(falls[face.name]))}", None))


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
    """An arrow down the steepest slope, inside the facet where there is room for it, clear of all lettering and lines."""
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
            if room < 0.2 * length or labels.crosses_line(start, end):
                continue
            if labels.is_free(start, end, clear=3.0):
                labels.drawing.line(start, end, "thin fall")
                labels.drawing.tip(end, start, min(8.0, length * 0.4))
                labels.avoid((start, end), "dim")
                return


def _low_point(labels: Labels, view: View, rim: Outline, low: Point, display: Display) -> None:
    """The low point as it is set out with a tape: along a side from its first corner, and square to that side.

    That isn't how it was typed, so both are said in the key; among the many facets of a crowded tray only there.
    """
    index, along = foot_of(rim, low)
    start, end = rim[index], rim[(index + 1) % len(rim)]
    foot = between(start, end, along / math.dist(start, end))
    corner, side = index + 1, f"{index + 1}–{(index + 1) % len(rim) + 1}"
    figure, square = display.figure(along), display.figure(math.dist(foot, low))
    labels.keyed.append(
        (
            f"Low point (typed x {display.figure(low[0])}, y {display.figure(low[1])}): {figure} along side {side} from "
            f"corner {corner}, {square} square to it",
            None,
        )
    )
    if len(rim) >= CROWDED:
        return
    ends = (view.at(foot), view.at(low))
    measure = Measure(
        view.at(start), ends[0], f"{figure} from corner {corner}", f"Low point: {figure} along side {side}"
    )
    dimension(labels, measure, outward(view.at(start), view.at(end)))
    rest = Measure(*ends, f"{square} from side {side}", f"Low point: {square} square from side {side}")
    draw_dimension(labels, rest, (0.0, 0.0), 0.0)
    places = [beside(*ends, 1.8), ring(between(*ends, 0.5), (8.0, 18.0, 30.0), leader=True)]
    places.append(anywhere(labels.width, labels.height, between(*ends, 0.5)))
    labels.put(((rest.figure, SIZE, False),), places, key=rest.key)


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


def _seam_fall(labels: Labels, line: tuple[Point, Point], joint: Joint, slope: float, corners: int) -> None:
    """The fall along a valley seam, lettered along it."""
    percent, ratio = falls_as(slope)
    places = along_seam(line, (0.45, 0.35, 0.55, 0.3, 0.65, 0.25), corners)
    key = f"Seam {joint.name}: {percent}, {ratio}"
    labels.put(((percent, SIZE - 1.5, False),), places, key=key, style="figure seam", limit=OFF_LINES)


def _note(labels: Labels, target: Point, text: str, radius: float, corners: int) -> None:
    """A short note with a leader to a point; of a crowded tray in the key."""
    places = [
        ring(target, (radius + 14.0, radius + 26.0, radius + 44.0), leader=True),
        anywhere(labels.width, labels.height, target),
    ]
    key = text[0].upper() + text[1:]
    labels.put(((text, SIZE, False),), places if corners < CROWDED else [], key=key)
