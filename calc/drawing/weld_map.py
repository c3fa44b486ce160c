"""The weld map: every seam named with its length, which side it is welded from, the rim and the outlet."""

from calc import Plan
from calc.drawing.labels import OFF_LINES, SIZE, Block
from calc.drawing.places import within
from calc.drawing.rim import (
    WIDTH,
    along_seam,
    draw_outlet,
    draw_seams,
    number_corners,
    pointed_at,
    rim_of,
    seam_line,
    start_plan,
)
from calc.takeoff import outlet_weld, rim_length
from calc.units import Display

MARGIN = 44.0


def weld_map(plan: Plan, display: Display, *, width: float = WIDTH) -> str:
    """The seams seen from above, each with its name and true length. Returns inline SVG."""
    shell = plan.shell
    rim = rim_of(shell)
    labels, view = start_plan(rim, width, MARGIN)
    draw_seams(labels, view, shell, "outline weld")
    low = view.at(min(shell.vertices, key=lambda vertex: vertex[2])[:2])
    outlet = plan.sheet.shape.outlet
    if outlet:
        draw_outlet(labels, low, outlet.bore * view.scale)
    for face in shell.faces:
        outline = view.all(shell.vertices[index][:2] for index in face.loop)
        block: Block = ((face.name, SIZE + 2, True),)
        places = [within(outline), *pointed_at(labels, outline)]
        labels.put(block, places, key=f"{face.name}: no room to name it", style="figure facet")
    for joint in shell.joints:
        line = seam_line(view, shell, joint)
        words = f"{joint.name}  {display.figure(joint.length)}"
        block = ((words, SIZE, False),)
        seats = along_seam(line, (0.45, 0.35, 0.55, 0.28, 0.65, 0.2), len(rim))
        key = f"{'Seam' if joint.kind == 'weld' else 'Fold'} {joint.name}: {display.figure(joint.length)}"
        labels.put(block, seats, key=key, style="figure seam", limit=OFF_LINES)
    number_corners(labels, view.all(rim))
    labels.keyed[:0] = [(note, None) for note in _notes(plan, display)]
    return labels.finish("Weld map: seams with their true lengths", "weld-map")


def _notes(plan: Plan, display: Display) -> list[str]:
    notes = ["Seams: welded from the dry side (underneath)"]
    notes.append(f"Rim: welded all round into the bench, {display.length(rim_length(plan.shell))}")
    if plan.sheet.shape.outlet:
        around = display.length(outlet_weld(plan.sheet))
        notes.append(f"Outlet fitting: from the dry side, all round, {around}")
    return notes
