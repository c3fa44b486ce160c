"""From the shell to blanks: each face's true shape, what is cut of it, and which blanks are alike.

The net outline is the face as it lies in space, turned flat. The cut outline is what is cut: half the root gap is taken
off every edge that is welded to another face, so that the faces, held apart by the gap, land where the shell has them.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from calc.blank import Blank, BlankEdge
from calc.reading import Fault, SheetFaults
from calc.records import Outline, Point
from calc.sheet import MOST_BLANKS, JobSheet
from calc.shell import Face, Shell, Vectors, face_area, normal

ALIKE = 1e-3  # [mm] corners nearer than this are the same when blanks are compared
LEAST_WIDTH = 0.5  # [mm] a blank that is narrower nowhere can be cut


def unfold(shell: Shell, sheet: JobSheet) -> tuple[Blank, ...]:
    """The blanks of a shell: one a face, since its joints are welds, alike ones named.

    Raises `SheetFaults` where the root gap leaves nothing of a blank, or where the job has more blanks than can be planned.
    """
    if len(shell.faces) * sheet.quantity > MOST_BLANKS:
        most = MOST_BLANKS // len(shell.faces)
        text = f"must be at most {most}: {len(shell.faces)} blanks each, {MOST_BLANKS} in all (got {sheet.quantity})"
        raise SheetFaults([Fault("sheet.quantity", text)])
    blanks: list[Blank] = []
    for face in shell.faces:
        blanks.append(name_alike(_flatten(shell, face, sheet), blanks, sheet))
    return tuple(blanks)


def _flatten(shell: Shell, face: Face, sheet: JobSheet) -> Blank:
    net = true_shape(shell.corners(face))
    meets = {frozenset(j.edge): next(n for n in j.between if n != face.name) for j in shell.joints_of(face.name)}
    edges = [
        BlankEdge("weld" if frozenset(edge) in meets else "free", edge, face.name, meets.get(frozenset(edge)))
        for edge in face.edges
    ]
    cut = take_off(net, [sheet.making.seam_gap / 2 if edge.meets else 0.0 for edge in edges])
    if cut is None:
        text = f"leaves nothing of blank {face.name} (got {sheet.making.seam_gap:g} mm); make it smaller, or the tray larger"
        raise SheetFaults([Fault("sheet.making.seam_gap", text)])
    base = base_edge(cut)
    net, cut = _on_base(net, cut, base)
    edges = edges[base:] + edges[:base]
    return Blank(
        name=face.name,
        faces=(face.name,),
        count=1,
        same_as=None,
        mirrored=False,
        net_outline=net,
        cut_outline=cut,
        holes=(),
        folds=(),
        hand_cuts=(),
        area=face_area(shell.corners(face)),
        mass=sheet.material.mass(shapely.Polygon(cut).area),
        edges=tuple(edges),
    )


def true_shape(corners: Vectors) -> Outline:
    """A flat loop of corners in space (m, 3), turned into its own plane: m points, wet side up, anticlockwise [mm]."""
    along = corners[1] - corners[0]
    along = along / np.linalg.norm(along)
    across = np.cross(normal(corners), along)
    from_first = corners - corners[0]
    return tuple((float(x), float(y)) for x, y in zip(from_first @ along, from_first @ across, strict=True))


def take_off(outline: Outline, margins: Sequence[float]) -> Outline | None:
    """The outline with each edge i moved inward by margins[i] [mm]; None where nothing sound is left of it.

    >>> take_off(((0, 0), (10, 0), (10, 8), (0, 8)), [0, 1, 0, 1])
    ((1.0, 0.0), (9.0, 0.0), (9.0, 8.0), (1.0, 8.0))
    """
    count = len(outline)
    moved = []
    for index in range(count):
        (x, y), (end_x, end_y) = outline[index], outline[(index + 1) % count]
        length = math.hypot(end_x - x, end_y - y)
        ux, uy = (end_x - x) / length, (end_y - y) / length
        moved.append((x - uy * margins[index], y + ux * margins[index], ux, uy))
    corners = tuple(_crossing(moved[index - 1], moved[index]) for index in range(count))
    left = shapely.Polygon(corners)
    keeps_sense = all(
        (corners[(i + 1) % count][0] - corners[i][0]) * ux + (corners[(i + 1) % count][1] - corners[i][1]) * uy > 0
        for i, (_, _, ux, uy) in enumerate(moved)
    )
    sound = keeps_sense and left.is_valid and not left.buffer(-LEAST_WIDTH / 2).is_empty
    return corners if sound else None


def _crossing(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> Point:
    """Where two lines cross, each given by a point and a direction; no two following edges are parallel."""
    x1, y1, ux, uy = one
    x2, y2, vx, vy = other
    along = ((x2 - x1) * vy - (y2 - y1) * vx) / (ux * vy - uy * vx)
    return (x1 + ux * along, y1 + uy * along)


def base_edge(outline: Outline) -> int:
    """The index of the edge to mark out from: the longest that has all corners on its left.

    Longest, so that an error of the square turns into the least error of a corner.
    """
    count = len(outline)
    best, longest = 0, -1.0
    for index in range(count):
        start, end = outline[index], outline[(index + 1) % count]
        length = math.dist(start, end)
        clear = all(
            (end[0] - start[0]) * (y - start[1]) - (end[1] - start[1]) * (x - start[0]) >= -ALIKE * length
            for x, y in outline
        )
        if clear and length > longest + ALIKE:
            best, longest = index, length
    return best


def _on_base(net: Outline, cut: Outline, base: int) -> tuple[Outline, Outline]:
    """Both outlines in the blank's frame: the cut outline's edge `base` from (0, 0) along +x, and its corner first."""
    origin, end = cut[base], cut[(base + 1) % len(cut)]
    length = math.dist(origin, end)
    ux, uy = (end[0] - origin[0]) / length, (end[1] - origin[1]) / length

    def blank_from_face(point: Point) -> Point:
        x, y = point[0] - origin[0], point[1] - origin[1]
        return (x * ux + y * uy, y * ux - x * uy)

    turned = [tuple(blank_from_face(point) for point in outline[base:] + outline[:base]) for outline in (net, cut)]
    return turned[0], ((0.0, 0.0), (length, 0.0), *turned[1][2:])


def name_alike(blank: Blank, earlier: Sequence[Blank], sheet: JobSheet) -> Blank:
    """The blank, naming the first earlier one that has the same cut outline, turned or (if it may be) turned over."""
    for other in earlier:
        if other.same_as is not None or abs(other.mass - blank.mass) > 1e-6 * blank.mass + 1e-9:
            continue
        if is_alike(blank.cut_outline, other.cut_outline, grain=sheet.material.grain):
            return replace(blank, same_as=other.name)
        over = flipped(blank.cut_outline)
        if not sheet.material.finished_face and is_alike(over, other.cut_outline, grain=sheet.material.grain):
            return replace(blank, same_as=other.name, mirrored=True)
    return blank


def flipped(outline: Outline) -> Outline:
    """The outline seen from its other side, turned over about the x axis; still anticlockwise.

    >>> flipped(((0, 0), (4, 0), (1, 2)))
    ((1, -2), (4, 0), (0, 0))
    """
    return tuple((x, -y + 0) for x, y in reversed(outline))


def is_alike(outline: Outline, other: Outline, *, grain: bool = False) -> bool:
    """Whether an outline lies on another when moved and turned (by 0 or 180 degrees only where there is a grain)."""
    if len(outline) != len(other):
        return False
    count = len(outline)
    target = np.array(other)
    target = target - target[0]
    if not target[1].any():
        return False
    along = target[1] / np.linalg.norm(target[1])
    for first in range(count):
        moved = np.array(outline[first:] + outline[:first])
        moved = moved - moved[0]
        if not moved[1].any():
            continue
        own = moved[1] / np.linalg.norm(moved[1])
        cosine, sine = float(own @ along), float(own[0] * along[1] - own[1] * along[0])
        if grain and abs(sine) * float(np.abs(target).max()) > ALIKE:
            continue
        landed = moved @ np.array([[cosine, sine], [-sine, cosine]])
        if float(np.abs(landed - target).max()) < ALIKE:
            return True
    return False
