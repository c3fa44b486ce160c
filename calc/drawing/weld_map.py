"""The weld map: every seam named with its length, which side it is welded from, the rim and the outlet."""

import math

from calc import Plan
from calc.drawing.boxes import Box
from calc.drawing.faces import name_faces
from calc.drawing.labels import OFF_LINES, SIZE, Labels, Places
from calc.drawing.parts import has_walls, strip_word
from calc.drawing.places import between, ring
from calc.drawing.rim import (
    CROWDED,
    WIDTH,
    along_seam,
    draw_outlet,
    draw_seams,
    is_upright,
    number_corners,
    seam_line,
    start_plan,
    strips_around,
)
from calc.drawing.touch import Touched, Touches, lay_touches
from calc.drawing.view import View
from calc.drawing.walls_and_strips import name_walls
from calc.records import Outline, Point
from calc.seams import outlet_weld, rim_length
from calc.shell import Joint, Shell
from calc.steps.setting_in import SCREW_PITCH
from calc.units import Display

MARGIN = 44.0
TOUCHED = 8.5  # radius of the ring on a seam that can be ticked
BESIDE = 16.0  # how far off the dot of an upright one it is


def weld_map(plan: Plan, display: Display, *, width: float = WIDTH, touches: Touches | None = None) -> str:
    """The seams and bends seen from above, each with its name and true length. Returns inline SVG.

    touches: by their steps' keys, the seams that can be ticked in the drawing, and which are done.
    """
    shell, corners = plan.shell, plan.sheet.shape.corners
    labels, view = start_plan(plan, width, MARGIN)
    draw_seams(labels, view, shell, "outline weld")
    outlet, at = plan.sheet.shape.outlet, plan.sheet.shape.outlet_at
    if outlet and at:
        draw_outlet(labels, view.at(at), outlet.bore * view.scale)
    touched = _touched(plan, view, touches or {})
    for one in touched:
        labels.reserve(Box(*one.middles[0], 2 * TOUCHED, 2 * TOUCHED))
    name_faces(labels, view, shell)
    for joint in _body_first(shell):
        _name_joint(labels, view, shell, joint, display, len(corners))
    name_walls(labels, view, shell)
    number_corners(labels, view.all(strips_around(plan) or corners), gaps=(3.0, 6.0, 10.0, 14.0))
    labels.keyed[:0] = [(note, None) for note in _notes(plan, display)]
    lay_touches(labels.drawing, touched, TOUCHED, boxed=True)
    return labels.finish("Weld map: seams, and bends, with their true lengths", "weld-map")


def _touched(plan: Plan, view: View, touches: Touches) -> list[Touched]:
    """The seams that can be ticked, in the order in which they are welded, each at the middle of its line."""
    welds = plan.weld_plan.welds if plan.weld_plan else ()
    joints = {joint.name: joint for joint in plan.shell.welds}
    found = []
    for weld in welds:
        if weld.kind == "seam" and weld.key in touches:
            line = seam_line(view, plan.shell, joints[weld.name])
            if is_upright(line):  # a dot at a corner: to be touched beside it, within, where its number is not
                middle = view.at(_middle(plan.sheet.shape.corners))
                apart = math.dist(line[0], middle) or 1.0
                line = (line[0], between(line[0], middle, min(2 * BESIDE / apart, 0.5)))
            found.append(Touched(touches[weld.key], (between(*line, 0.5),), (line,)))
    return found


def _middle(corners: Outline) -> Point:
    """The mean of the corners."""
    return (sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners))


def _body_first(shell: Shell) -> list[Joint]:
    """The joints, those between facets first: where room is short these have it."""
    strips = {face.name for face in shell.faces if face.role == "strip"}
    return sorted(shell.joints, key=lambda joint: len(strips & set(joint.between)))


def _name_joint(labels: Labels, view: View, shell: Shell, joint: Joint, display: Display, corners: int) -> None:
    """A joint's name and length beside it, a bend said to be one; in the key where there is no room."""
    line, figure = seam_line(view, shell, joint), display.figure(joint.length)
    words = f"{joint.name}  {figure}" if joint.kind == "weld" else f"bend {joint.name}  {figure}"
    key = f"{'Seam' if joint.kind == 'weld' else 'Bend'} {joint.name}: {figure}"
    places: list[Places] = []
    if not is_upright(line):
        places = along_seam(line, (0.45, 0.35, 0.55, 0.28, 0.65, 0.2), corners)
    elif corners < CROWDED:
        places = [ring(line[0], (8.0, 18.0, 32.0), leader=True)]
    labels.put(((words, SIZE, False),), places, key=key, style="figure seam", limit=OFF_LINES)


def _notes(plan: Plan, display: Display) -> list[str]:
    """From which side what is welded, what is folded instead, how it is set in."""
    word, walls = strip_word(plan), has_walls(plan.shell)
    seams = "Corners" if walls else "Seams"
    if word:
        seams += f", and the {'corners' if word == 'upstand' else 'mitres'} of the {word}"
    side = plan.sheet.making.weld_side
    around, flat = ("outside", "underneath") if side == "dry" else ("inside", "from above")
    notes = [f"{seams}: welded from the {side} side ({around if walls or word == 'upstand' else flat})"]
    if plan.shell.folds:
        notes.append(f"Bends, {len(plan.shell.folds)} in all: folded, not welded")
    if any(hole.purpose == "relief" for blank in plan.blanks for hole in blank.holes):
        notes.append("Reliefs: welded shut from the dry side, flush on the wet face")
    notes.append(_setting(plan, display))
    if plan.sheet.shape.outlet:
        notes.append(f"Outlet fitting: from the dry side, all round, {display.length(outlet_weld(plan.sheet))}")
    return notes


def _setting(plan: Plan, display: Display) -> str:
    """How the rim is set in."""
    corners = plan.sheet.shape.corners
    around = display.length(sum(math.dist(*side) for side in zip(corners, corners[1:] + corners[:1], strict=True)))
    pitch = display.length(SCREW_PITCH)
    match plan.sheet.shape.seat:
        case "bare":
            return f"Rim: welded all round into the bench, {display.length(rim_length(plan.shell))}"
        case "lap":
            return f"Lap: not welded to the bench; sealed under it and screwed every {pitch}, {around} all round"
        case "upstand":
            return f"Upstand: not welded to the bench; sealed round it and screwed through every {pitch}, {around} all round"
    return "Stands free: nothing is welded to the machine"
