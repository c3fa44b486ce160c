"""A blank as it is once folded: its faces in space, so that a person sees what the flat becomes."""

import numpy as np

from calc import Plan
from calc.blank import Blank
from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.oblique import TURN, Eye, paint
from calc.drawing.places import within
from calc.drawing.rim import pointed_at
from calc.drawing.svg import Drawing
from calc.drawing.view import fit
from calc.shell import face_area, normal
from calc.units import Display

WIDTH = 240.0
HIGHEST = 0.8  # of the width
MARGIN = 20.0
TURNS = (0.0, 90.0, 180.0, 270.0)  # the quarters that the eye may stand in


def folded_view(plan: Plan, blank: Blank, display: Display, *, width: float = WIDTH) -> str:
    """The faces of a blank as they lie in space, seen from where most of the wet side shows. Returns inline SVG.

    Bends are drawn thin, edges thick, each face that has room named. A blank without folds is one flat face.
    """
    faces = [plan.shell.face(name) for name in blank.faces]
    eye = _eye(plan, blank)
    spots = {index: eye.sees(plan.shell.vertices[index]) for face in faces for index in face.loop}
    view = fit(list(spots.values()), width, width * HIGHEST, MARGIN)
    labels = Labels(Drawing(), view.width, view.height)
    seen = paint(labels, view, eye, plan.shell, faces)
    for face in sorted(faces, key=lambda face: face.role == "strip"):
        outline = seen.get(face.name, ())
        block: Block = ((face.name, SIZE, True),)
        found = labels.find(block, [within(outline), *pointed_at(labels, outline)], 60.0) if outline else None
        if found:
            labels.write(*found, style="figure facet")
    bends = f"{len(blank.folds)} bend{'' if len(blank.folds) == 1 else 's'}"
    size = " by ".join(display.figure(span) for span in _size(plan, blank))
    return labels.finish(f"Blank {blank.name} folded, {bends}, {size} over all", "folded-view")


def _eye(plan: Plan, blank: Blank) -> Eye:
    """The eye in the quarter from which most of the wet side is seen; where that is all the same, in front."""
    corners = [plan.shell.corners(plan.shell.face(name)) for name in blank.faces]
    areas = [face_area(points) for points in corners]
    eyes = [Eye.at(turn - TURN) for turn in TURNS]
    seen = [
        sum(area * max(0.0, float(normal(points) @ eye.towards)) for area, points in zip(areas, corners, strict=True))
        for eye in eyes
    ]
    return next(eye for eye, area in zip(eyes, seen, strict=True) if area > max(seen) * 0.98)


def _size(plan: Plan, blank: Blank) -> tuple[float, float, float]:
    """How long, wide and high it is over all once folded, along the tray's axes [mm]."""
    points = np.vstack([plan.shell.corners(plan.shell.face(name)) for name in blank.faces])
    x, y, z = np.ptp(points, axis=0).tolist()
    return x, y, z
