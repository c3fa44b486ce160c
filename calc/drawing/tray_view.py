"""The tray or pan in an oblique view from above and in front, in true proportion."""

import math

from calc import Plan
from calc.drawing.dimensions import Measure, draw_dimension
from calc.drawing.flat_view import flat_sketch
from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.oblique import Eye, paint
from calc.drawing.parts import bottoms, has_walls, rim_loop, strip_reach, strip_word, thing, wall_heights
from calc.drawing.places import anywhere, beside, between, ring, within
from calc.drawing.rim import CROWDED, WIDTH, away_from, pointed_at
from calc.drawing.svg import INK, Drawing
from calc.drawing.view import View, fit
from calc.records import Outline, Point, Point3
from calc.shell import Face
from calc.units import Display

MARGIN = 46.0
STANDOFF = 18.0  # a height is dimensioned this far beside what it measures


def tray_view(plan: Plan, display: Display, *, width: float = WIDTH) -> str:
    """The tray as it looks from above and in front: faces shaded, corners numbered, depth dimensioned; a pan its height.
    Flat parts are seen square from above.

    Returns inline SVG.
    """
    shell, shape = plan.shell, plan.sheet.shape
    if shell.is_loose:
        return flat_sketch(plan, width=width)
    eye, lowest = Eye.before(shell.points), bottoms(plan)
    brim: list[Point3] = [(*bottom.at[:2], 0.0) for bottom in lowest]
    view = fit([eye.sees(vertex) for vertex in (*shell.vertices, *brim)], width, width * 0.6, min(MARGIN, width * 0.12))
    labels = Labels(Drawing(), view.width, view.height)
    seen = paint(labels, view, eye, shell, shell.faces)
    if shape.outlet and shape.outlet_at:
        _outlet(labels, view, eye, (*shape.outlet_at, -shell.depth), shape.outlet.bore)
    for bottom, point in zip(lowest, brim, strict=True):
        at, key = view.at(eye.sees(bottom.at)), bottom.name if len(lowest) > 1 else "Depth"
        _depth(labels, view.at(eye.sees(point)), at, display.figure(bottom.depth), key)
    _heights(labels, view, eye, plan, display)
    rim = tuple(view.at(eye.sees(shell.vertices[index])) for index in rim_loop(shell))
    for index, corner in enumerate(rim):
        towards = away_from(rim, index)
        number = str(index + 1)
        places = [
            ring(corner, (3.0, 6.0), towards=towards),
            ring(corner, (9.0, 16.0, 26.0, 40.0), towards=towards, leader=True),
            anywhere(labels.width, labels.height, corner),
        ]
        labels.put(((number, SIZE, True),), places, key=f"Corner {number}: no room to number it", style="figure corner")
    for face in sorted(shell.faces, key=lambda face: face.role == "strip"):
        if face.role != "strip" or len(rim) < CROWDED:  # among many, a strip has the name of the facet beside it
            _name(labels, seen.get(face.name, ()), face)
    deep = " and ".join(display.length(bottom.depth) for bottom in lowest)
    high = f"{deep} deep" if lowest else f"{display.length(wall_heights(plan)[0])} high"
    return labels.finish(f"The {thing(plan)} from above and in front, {high}", "tray-view")


def _heights(labels: Labels, view: View, eye: Eye, plan: Plan, display: Display) -> None:
    """The height of a pan outside, at both ends where they differ; of an upstand, at one corner of the rim."""
    corners = plan.sheet.shape.corners

    def drawn(x: float, y: float, z: float) -> Point:
        return view.at(eye.sees((x, y, z)))

    if has_walls(plan.shell):
        room = strip_reach(plan) * view.scale + STANDOFF
        near, far = wall_heights(plan)
        for (x, y), high, way in ((corners[0], near, -1.0), (corners[1], far, 1.0))[: 1 if near == far else 2]:
            top = drawn(x, y, 0.0)
            beyond = drawn(x + way, y, 0.0)
            out = ((beyond[0] - top[0]) / math.dist(top, beyond), (beyond[1] - top[1]) / math.dist(top, beyond))
            _height(labels, (drawn(x, y, -high), top), out, room, display.figure(high))
    elif strip_word(plan) == "upstand":
        x, y = min(corners, key=lambda corner: drawn(corner[0], corner[1], 0.0)[0])
        high = strip_reach(plan)
        _height(labels, (drawn(x, y, 0.0), drawn(x, y, high)), (-1.0, 0.0), STANDOFF, display.figure(high))


def _height(labels: Labels, ends: tuple[Point, Point], out: Point, offset: float, figure: str) -> None:
    """An upright dimension beside its ends, the way `out`."""
    measure = Measure(*ends, figure, f"Height: {figure}")
    draw_dimension(labels, measure, out, offset)
    foot, top = ((x + out[0] * offset, y + out[1] * offset) for x, y in ends)
    block: Block = ((f"{figure} high", SIZE, False),)
    middle = between(foot, top, 0.5)
    beyond = (middle[0] + out[0], middle[1])
    places = [
        beside(foot, top, 2.0),
        ring(middle, (4.0, 9.0), towards=beyond),
        ring(middle, (16.0, 30.0, 50.0), towards=beyond, leader=True),
        anywhere(labels.width, labels.height, middle),
    ]
    labels.put(block, places, key=measure.key)


def _outlet(labels: Labels, view: View, eye: Eye, low: Point3, bore: float) -> None:
    turns = [2 * math.pi * step / 40 for step in range(40)]
    circle: list[Point3] = [
        (low[0] + bore / 2 * math.cos(turn), low[1] + bore / 2 * math.sin(turn), low[2]) for turn in turns
    ]
    outline = [view.at(eye.sees(point)) for point in circle]
    labels.drawing.outline(outline, "thin outlet", {"fill": INK, "fill-opacity": 0.45})
    labels.avoid(outline, "thin", closed=True)


def _depth(labels: Labels, brim: Point, low: Point, figure: str, name: str) -> None:
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
    labels.put(block, places, key=f"{name} below the rim: {figure}")


def _name(labels: Labels, seen: Outline, face: Face) -> None:
    """A face's name, within what is seen of it or pointed at; strips, which are narrow, smaller."""
    block: Block = ((face.name, SIZE if face.role == "strip" else SIZE + 2, True),)
    found = labels.find(block, [within(seen), *pointed_at(labels, seen)], 120.0) if seen else None
    if found:
        labels.write(*found, style="figure facet")
    else:
        labels.keyed.append((f"{face.name}: {'no room to name it' if seen else 'behind the others'}", None))
