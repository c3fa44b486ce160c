"""The tray in an oblique view from above and in front, in true proportion."""

import math
from dataclasses import dataclass

import numpy as np

from calc import Plan
from calc.drawing.boxes import Array
from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.places import anywhere, ring, within
from calc.drawing.rim import WIDTH, away_from, pointed_at, rim_of
from calc.drawing.svg import INK, PAPER, Attributes, Drawing
from calc.drawing.view import View, fit
from calc.records import Point, Point3
from calc.shell import Face, normal
from calc.units import Display

ELEVATION = 35.0  # [degrees] how far above the rim plane the eye is
TURN = 16.0  # [degrees] the tray is turned this much, so that no side hides behind a seam
TALL = 1.5  # a rim this much deeper than wide is seen from its side
LIGHT = np.array([-0.45, -0.35, 0.82])  # where the light comes from, in the tray's frame
MARGIN = 46.0


@dataclass(frozen=True, slots=True)
class Eye:
    """A parallel view: unit vectors of the picture's right and up, and towards the eye, in the tray's frame."""

    right: Array
    up: Array
    towards: Array

    def sees(self, point: Point3) -> Point:
        """Where a point [mm] is in the picture [mm], y up."""
        spot = np.array(point)
        return float(spot @ self.right), float(spot @ self.up)


def tray_view(plan: Plan, display: Display, *, width: float = WIDTH) -> str:
    """The tray as it looks from above and in front: facets shaded, corners numbered, depth dimensioned. Inline SVG."""
    shell = plan.shell
    eye = _eye(shell.points)
    low = min(shell.vertices, key=lambda vertex: vertex[2])
    brim: Point3 = (low[0], low[1], 0.0)
    view = fit([eye.sees(vertex) for vertex in (*shell.vertices, brim)], width, width * 0.6, min(MARGIN, width * 0.12))
    labels = Labels(Drawing(), view.width, view.height)
    _paint(labels, view, eye, plan)
    rim = tuple(view.at(eye.sees((*corner, 0.0))) for corner in rim_of(shell))
    if plan.sheet.shape.outlet:
        _outlet(labels, view, eye, low, plan.sheet.shape.outlet.bore)
    _depth(labels, view.at(eye.sees(brim)), view.at(eye.sees(low)), display.figure(-low[2]))
    for index, corner in enumerate(rim):
        towards = away_from(rim, index)
        number = str(index + 1)
        places = [
            ring(corner, (3.0, 6.0), towards=towards),
            ring(corner, (9.0, 16.0, 26.0, 40.0), towards=towards, leader=True),
            anywhere(labels.width, labels.height, corner),
        ]
        labels.put(((number, SIZE, True),), places, key=f"Corner {number}: no room to number it", style="figure corner")
    for face in shell.faces:
        _name(labels, [view.at(eye.sees(shell.vertices[index])) for index in face.loop], face)
    return labels.finish(f"The tray from above and in front, {display.length(-low[2])} deep", "tray-view")


def _eye(points: Array) -> Eye:
    """The eye in front (at -y), raised; for a rim much deeper than wide, at its side."""
    spans = points.max(axis=0) - points.min(axis=0)
    turn = math.radians(-TURN if spans[1] < TALL * spans[0] else -TURN - 90.0)
    cosine, sine, high = math.cos(turn), math.sin(turn), math.radians(ELEVATION)
    ahead = np.array([sine, cosine, 0.0])  # level, away from the eye
    right = np.array([cosine, -sine, 0.0])
    up = ahead * math.sin(high) + np.array([0.0, 0.0, math.cos(high)])
    return Eye(right, up, np.array([0.0, 0.0, math.sin(high)]) - ahead * math.cos(high))


def _paint(labels: Labels, view: View, eye: Eye, plan: Plan) -> None:
    """The facets, farthest first, each tinted by how it faces the light; its dry side darker where that is seen."""
    shell = plan.shell
    order = sorted(shell.faces, key=lambda face: float((shell.corners(face) @ eye.towards).mean()))
    light = LIGHT / np.linalg.norm(LIGHT)
    for face in order:
        outline = [view.at(eye.sees(shell.vertices[index])) for index in face.loop]
        upward = normal(shell.corners(face))
        wet_seen = float(upward @ eye.towards) > 0
        tint = 0.02 + 0.30 * (1 - max(0.0, float(upward @ light))) if wet_seen else 0.36
        edge: Attributes = {"stroke": INK, "stroke-width": 0.9, "stroke-linejoin": "round"}
        labels.drawing.outline(outline, "paper facet", {"fill": PAPER, "data-face": face.name})
        labels.drawing.outline(outline, "tint", {"fill-opacity": round(tint, 3), **edge})
        labels.avoid(outline, "weld", closed=True)
        free = set(shell.free_edges())
        for start, end in face.edges:
            if (start, end) in free:
                ends = (view.at(eye.sees(shell.vertices[start])), view.at(eye.sees(shell.vertices[end])))
                labels.drawing.line(*ends, "outline rim")
                labels.avoid(ends, "outline")


def _outlet(labels: Labels, view: View, eye: Eye, low: Point3, bore: float) -> None:
    turns = [2 * math.pi * step / 40 for step in range(40)]
    circle: list[Point3] = [
        (low[0] + bore / 2 * math.cos(turn), low[1] + bore / 2 * math.sin(turn), low[2]) for turn in turns
    ]
    outline = [view.at(eye.sees(point)) for point in circle]
    labels.drawing.outline(outline, "thin outlet", {"fill": INK, "fill-opacity": 0.45})
    labels.avoid(outline, "thin", closed=True)


def _depth(labels: Labels, brim: Point, low: Point, figure: str) -> None:
    """The depth: a dimension from the rim plane, marked by a level tick, straight down to the low point."""
    drawing = labels.drawing
    drawing.line((brim[0] - 16, brim[1]), (brim[0] + 16, brim[1]), "dim")
    drawing.line(brim, low, "dim")
    tip = min(8.0, math.dist(brim, low) * 0.45)
    drawing.tip(brim, low, tip)
    drawing.tip(low, brim, tip)
    labels.avoid((brim, low), "dim")
    labels.avoid(((brim[0] - 16, brim[1]), (brim[0] + 16, brim[1])), "dim")
    middle = ((brim[0] + low[0]) / 2, (brim[1] + low[1]) / 2)
    block: Block = ((f"{figure} deep", SIZE, False),)
    places = [
        ring(middle, (4.0, 9.0), towards=(middle[0] + 1, middle[1])),
        ring(middle, (16.0, 30.0, 50.0), towards=(middle[0] + 1, middle[1]), leader=True),
        anywhere(labels.width, labels.height, middle),
    ]
    labels.put(block, places, key=f"Depth below the rim: {figure}")


def _name(labels: Labels, outline: list[Point], face: Face) -> None:
    """A facet's name, within it or pointed at."""
    block: Block = ((face.name, SIZE + 2, True),)
    found = labels.find(block, [within(outline), *pointed_at(labels, outline)], 120.0)
    if found:
        labels.write(*found, style="figure facet")
    else:
        labels.keyed.append((f"{face.name}: no room to name it", None))
