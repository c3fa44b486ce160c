"""The names of a shell's faces in a drawing of it from above."""

import shapely

from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.places import within
from calc.drawing.rim import pointed_at
from calc.drawing.view import View
from calc.shell import Shell

EDGE_ON = 1.0  # a face of less area in the drawing is seen edge on


def name_faces(labels: Labels, view: View, shell: Shell, *, strips: bool = True) -> None:
    """The name of each face that isn't seen edge on: of facets and floors large, of strips, if wanted, as small as seams'."""
    for face in shell.faces:
        outline = view.all(shell.vertices[index][:2] for index in face.loop)
        is_strip = face.role == "strip"
        if shapely.Polygon(outline).area < EDGE_ON or (is_strip and not strips):
            continue
        block: Block = ((face.name, SIZE - 1 if is_strip else SIZE + 2, True),)
        places = [within(outline), *pointed_at(labels, outline)]
        style = "figure strip" if is_strip else "figure facet"
        labels.put(block, places, key=f"{face.name}: no room to name it", style=style)
