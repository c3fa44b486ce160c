"""The plan: the tray seen from above, dimensioned, with the falls of its facets and seams."""

import math
from collections.abc import Mapping, Sequence

from calc import Plan
from calc.drainage import Drainage
from calc.drawing.flat_view import flat_view
from calc.drawing.kept_clear import draw_kept_clear, name_kept_clear
from calc.drawing.labels import OFF_LINES, SIZE, Block, Labels, Spot
from calc.drawing.parts import bottoms, has_walls, thing
from calc.drawing.places import anywhere, between, inner_points, ring, within
from calc.drawing.rim import (
    CROWDED,
    WIDTH,
    along_seam,
    dimension_sides,
    draw_outlet,
    draw_seams,
    number_corners,
    pointed_at,
    seam_line,
    start_plan,
)
from calc.drawing.setting_out import set_out_bottoms
from calc.drawing.view import View
from calc.drawing.walls_and_strips import name_walls, size_notes, strip_size
from calc.records import Point
from calc.shell import LEVEL, Face, Joint, normal
from calc.units import Display

ARROWS = (34.0, 24.0, 15.0)  # lengths of a fall arrow
SEAM_TIP, ARROW_AT = 9.0, 0.66  # length of an arrowhead on a valley, and how far down its tail is, as a share
MOST_FACETS = 0.75  # the share of facets that sets how all are lettered


def plan_view(plan: Plan, display: Display, *, width: float = WIDTH) -> str:
    """The tray or pan seen from above: sides, strips, falls of faces and seams, outlet; flat parts as they lie.

    Returns inline SVG.

    What the outlet must keep clear of is hatched; where the outlet comes into it, the nearest free place is marked.
    width: of the drawing [units; 1 unit is 1 px at its natural size]. Lettering doesn't shrink with it.
    """
    shell, shape, drainage = plan.shell, plan.sheet.shape, plan.drainage
    if drainage is None:
        return flat_view(plan, display, width=width)
    labels, view = start_plan(plan, width)
    kept_clear = draw_kept_clear(labels, view, plan)
    draw_seams(labels, view, shell, "weld")
    outlet = shape.outlet
    if outlet and shape.outlet_at:
        draw_outlet(labels, view.at(shape.outlet_at), outlet.bore * view.scale)
    set_out_bottoms(labels, view, plan, display)
    _seam_arrows(labels, view, plan, drainage)
    outlines = {face.name: view.all(shell.vertices[index][:2] for index in face.loop) for face in shell.faces}
    _sump(labels, outlines, plan, display)
    _facets(labels, outlines, plan, drainage)
    dimension_sides(labels, view, plan, display)
    number_corners(labels, view.all(shape.corners))
    strip_size(labels, view, plan, display)
    _seam_falls(labels, view, plan, drainage)
    if outlet and shape.outlet_at:
        note = f"outlet ø{display.fine(outlet.bore)}"
        _note(labels, view.at(shape.outlet_at), note, outlet.bore * view.scale / 2, len(shape.corners))
    name_kept_clear(labels, view, kept_clear, display)
    name_walls(labels, view, shell)
    for face in shell.faces:
        if face.role in ("facet", "floor"):
            _fall_arrow(labels, outlines[face.name], plan, face)
    labels.keyed += [(note, None) for note in size_notes(plan, display)]
    if not has_walls(shell):
        least = ", ".join(falls_as(drainage.least_fall))
        labels.keyed.append((f"Least fall: {least}, {drainage.least_fall_at}", None))
    is_tray = bool(bottoms(plan))
    shown = f"{len(shape.corners)} corners, falls to {shape.lowest_words}" if is_tray else "its sizes outside"
    return labels.finish(f"The {thing(plan)} from above: {shown}", "plan-view")


def falls_as(slope: float) -> tuple[str, str]:
    """A slope as the shop reads it: in per cent, and as one in so many.

    >>> falls_as(0.0957), falls_as(0.0)
    (('9.6 %', '1 in 10.4'), ('0 %', 'level'))
    """
    if slope < 1e-6:
        return "0 %", "level"
    digits = 1 if slope >= 0.001 else 2
    return f"{slope * 100:.{digits}f} %", f"1 in {1 / slope:.1f}" if slope > 0.01 else f"1 in {1 / slope:.0f}"


def _sump(labels: Labels, outlines: Mapping[str, Sequence[Point]], plan: Plan, display: Display) -> None:
    """The floor of a sump: its name, and its length and width."""
    sizes = [size for name, size in plan.sheet.shape.sizes.items() if name.startswith("Sump")]
    for face in plan.shell.faces:
        if face.role != "sump":
            continue
        words = " × ".join(display.figure(size) for size in sizes)
        depth = display.figure(plan.shell.depth)
        block: Block = ((f"{face.name}  sump {words}, {depth} deep", SIZE, True),)
        places = pointed_at(labels, outlines[face.name])
        key = f"{face.name}: sump {words}, square to its sides, level, {depth} deep"
        if labels.put(block, places, key=key, style="figure sump"):
            labels.keyed.append((f"{face.name}: sizes of the sump are square to its sides; its floor is level", None))


def _facets(labels: Labels, outlines: Mapping[str, Sequence[Point]], plan: Plan, drainage: Drainage) -> None:
    """Each facet's name and fall; in the key what has no room.

    Facets are lettered alike: as fully as most of them have room for, and the others less.
    """
    falls = {fall.face: fall.fall for fall in drainage.falls}
    faces = [face for face in plan.shell.faces if face.name in falls and face.role in ("facet", "floor")]
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
    full: Block = ((name, 15.0, True), (percent, SIZE, False), (ratio, SIZE - 1, False))
    if fall < LEVEL:
        percent, full = ratio, (full[0], full[2])
    for level, (block, places, limit) in enumerate(
        (
            (full, inside, 36.0),
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


def _valleys(plan: Plan, drainage: Drainage) -> list[tuple[Joint, float]]:
    """The valleys between facets, each with its fall."""
    slopes = {fall.between: fall.fall for fall in drainage.seams}
    facets = {face.name for face in plan.shell.faces if face.role == "facet"}
    return [
        (joint, slopes[joint.between])
        for joint in plan.shell.joints
        if joint.between in slopes and facets.issuperset(joint.between)
    ]


def _seam_arrows(labels: Labels, view: View, plan: Plan, drainage: Drainage) -> None:
    """An arrowhead on each valley that falls, the way coolant runs along it."""
    for joint, fall in _valleys(plan, drainage):
        high, low = sorted(joint.edge, key=lambda index: -plan.shell.vertices[index][2])
        start, end = view.at(plan.shell.vertices[high][:2]), view.at(plan.shell.vertices[low][:2])
        run = math.dist(start, end)
        if fall > LEVEL and run > 4 * SEAM_TIP:
            tail, tip = between(start, end, ARROW_AT), between(start, end, ARROW_AT + SEAM_TIP / run)
            labels.drawing.tip(tip, start, SEAM_TIP, slim=0.28)
            labels.avoid((tail, tip), "dim")


def _seam_falls(labels: Labels, view: View, plan: Plan, drainage: Drainage) -> None:
    """The falls along the valleys between facets, lettered along them; the least of all falls is said to be that."""
    for joint, slope in _valleys(plan, drainage):
        percent, ratio = falls_as(slope)
        is_least = drainage.least_fall_at.endswith(f" {joint.name}")
        line = seam_line(view, plan.shell, joint)
        places = along_seam(line, (0.45, 0.35, 0.55, 0.3, 0.65, 0.25), len(plan.sheet.shape.corners))
        key = f"{'Seam' if joint.kind == 'weld' else 'Fold'} {joint.name}: {percent}, {ratio}"
        found = labels.find(((f"{percent}, least", SIZE - 1.5, True),), places, OFF_LINES) if is_least else None
        if found:
            labels.write(*found, style="figure seam")
        else:
            labels.put(((percent, SIZE - 1.5, is_least),), places, key=key, style="figure seam", limit=OFF_LINES)


def _note(labels: Labels, target: Point, text: str, radius: float, corners: int) -> None:
    """A short note with a leader to a point; of a crowded tray in the key."""
    places = [
        ring(target, (radius + 14.0, radius + 26.0, radius + 44.0), leader=True),
        anywhere(labels.width, labels.height, target),
    ]
    key = text[0].upper() + text[1:]
    labels.put(((text, SIZE, False),), places if corners < CROWDED else [], key=key)
