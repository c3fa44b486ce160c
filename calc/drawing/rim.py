"""What every drawing of a tray from above shares: rim, strips on it, corner numbers, side dimensions, seams, outlet."""

import math
from collections.abc import Sequence

from calc import Plan
from calc.drawing.dimensions import OFFSETS, Measure, dimension
from calc.drawing.labels import OFF_LINES, SIZE, Block, Labels, Places
from calc.drawing.parts import has_walls, rim_loop, strip_reach, strip_word
from calc.drawing.places import anywhere, beside, between, inner_points, ring
from calc.drawing.svg import PAPER, Drawing
from calc.drawing.view import View, fit, outward
from calc.records import Outline, Point
from calc.shell import Joint, Shell
from calc.units import Display

WIDTH = 720.0
HIGHEST = 0.86  # of the width: no drawing is higher
MARGIN = 64.0
CROWDED = 12  # corners from which side lengths are lettered smaller, and what isn't beside its line goes to the key
NAMED = 9.5  # size of what a corner is, beside its number
UPRIGHT_DOT = 2.2  # radius of a joint that is seen end on


def start_plan(plan: Plan, width: float, margin: float = MARGIN, *, also: Sequence[Point] = ()) -> tuple[Labels, View]:
    """An empty drawing of this width with the outline from above in it: the labels to go on with, and the view.

    The outline is that of the rim, or of strips that lie outside it: the rim is then the bend line of their fold.
    also: points [mm] that the drawing has to hold too.
    """
    rim, strips = plan.sheet.shape.corners, strips_around(plan)
    view = fit((*rim, *strips, *also), width, width * HIGHEST, min(margin, width * 0.16))
    labels = Labels(Drawing(), view.width, view.height)
    outline = view.all(strips or rim)
    if strips:
        labels.drawing.outline(outline, "outline strips", {"stroke-width": 1.3})
    else:
        labels.drawing.outline(outline, "outline rim")
    labels.avoid(outline, "outline", closed=True)
    return labels, view


def strips_around(plan: Plan) -> Outline:
    """The outer corners of strips that lie outside the rim, anticlockwise from corner 1's [mm]; empty where none do."""
    if strip_word(plan) not in ("lap", "return"):
        return ()
    shell, rim = plan.shell, rim_loop(plan.shell)
    outer = {index for face in shell.faces if face.role == "strip" for index in face.loop} - set(rim)
    beyond = {}
    for joint in shell.joints:
        for near, far in (joint.edge, joint.edge[::-1]):
            if near in rim and far in outer:
                beyond[near] = shell.vertices[far][:2]
    return tuple(beyond[vertex] for vertex in rim)


def strip_room(plan: Plan, view: View) -> float:
    """How far strips reach outside the rim in the drawing."""
    return strip_reach(plan) * view.scale if strips_around(plan) else 0.0


def seam_line(view: View, shell: Shell, joint: Joint) -> tuple[Point, Point]:
    """Where a joint comes in plan."""
    start, end = joint.edge
    return view.at(shell.vertices[start][:2]), view.at(shell.vertices[end][:2])


def draw_seams(labels: Labels, view: View, shell: Shell, style: str) -> None:
    """The joints between faces: welds in this style, folds as bend lines; one that is upright as a dot."""
    for joint in shell.joints:
        line, mark = seam_line(view, shell, joint), {"data-seam": joint.name}
        if is_upright(line):
            labels.drawing.circle(line[0], UPRIGHT_DOT, "tip seam", mark)
            continue
        labels.drawing.line(*line, f"{style if joint.kind == 'weld' else 'bend'} seam", mark)
        labels.avoid(line, "weld")


def is_upright(line: tuple[Point, Point]) -> bool:
    """Whether a joint is seen end on from above."""
    return math.dist(*line) < 0.5


def along_seam(line: tuple[Point, Point], shares: Sequence[float], corners: int) -> list[Places]:
    """Places beside a seam, and with a leader to it where the tray has few enough corners for that to be clear."""
    led = [ring(between(*line, share), (8.0, 18.0, 32.0), leader=True) for share in (shares[0], shares[-1])]
    return [beside(*line, 2.5, shares=shares), *(led if corners < CROWDED else [])]


def draw_outlet(labels: Labels, centre: Point, diameter: float) -> None:
    """The outlet with its centre lines; `diameter` in drawing units."""
    radius = max(diameter / 2, 1.5)
    labels.drawing.circle(centre, radius, "thin outlet", {"fill": PAPER})
    reach = radius + 9.0
    for dx, dy in ((reach, 0.0), (0.0, reach)):
        line = ((centre[0] - dx, centre[1] - dy), (centre[0] + dx, centre[1] + dy))
        labels.drawing.line(*line, "centre")
        labels.avoid(line, "centre")
    turns = [math.pi * step / 10 for step in range(21)]
    labels.avoid([(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in turns], "thin")


def number_corners(
    labels: Labels, corners: Sequence[Point], names: Sequence[str] = (), *, gaps: Sequence[float] = (3.0, 6.0)
) -> None:
    """Number the corners of an outline 1, 2, 3 ... from its first, outside it where there is room.

    names: what each corner is, in small letters under its number or, where there is no room, in the key;
    gaps: how far off its corner a number may stand without a leader.
    """
    for index, corner in enumerate(corners):
        towards = away_from(corners, index)
        number = str(index + 1)
        if names:
            named: Block = ((number, SIZE, True), (names[index], NAMED, False))
            near = [
                ring(corner, (3.0, 6.0, 10.0), towards=towards),
                ring(corner, (15.0, 26.0, 40.0), towards=towards, leader=True),
            ]
            found = labels.find(named, near, OFF_LINES)
            if found:
                labels.write(*found, style="figure corner")
                continue
            labels.keyed.append((f"Corner {number}: {names[index]}", None))
        labels.put(
            ((number, SIZE, True),),
            [
                ring(corner, gaps, towards=towards),
                ring(corner, (9.0, 16.0, 26.0, 40.0), towards=towards, leader=True),
                anywhere(labels.width, labels.height, corner),
            ],
            key=f"Corner {number}: no room to number it",
            style="figure corner",
        )


def away_from(corners: Sequence[Point], index: int) -> Point:
    """A point outside an outline at one of its corners, on the line that halves the corner."""
    corner = corners[index]
    one = outward(corners[index - 1], corner)
    other = outward(corner, corners[(index + 1) % len(corners)])
    x, y = one[0] + other[0], one[1] + other[1]
    return (corner[0] + x, corner[1] + y) if math.hypot(x, y) > 0.05 else (corner[0] + one[0], corner[1] + one[1])


def side_offsets(plan: Plan, view: View) -> tuple[float, ...]:
    """Where dimension lines of sides go, outside the strips if there are any."""
    room = strip_room(plan, view)
    return tuple(room + offset for offset in OFFSETS)


def dimension_sides(labels: Labels, view: View, plan: Plan, display: Display) -> None:
    """The length of each side of the rim, outside it; of a pan, which is square, its length and its width."""
    rim, offsets = plan.sheet.shape.corners, side_offsets(plan, view)
    size = SIZE if len(rim) < CROWDED else SIZE * 0.88
    sides = list(zip(rim, rim[1:] + rim[:1], strict=True))
    for index, (start, end) in enumerate(sides[:2] if has_walls(plan.shell) else sides):
        ends = (view.at(start), view.at(end))
        figure = display.figure(math.dist(start, end))
        key = f"Side {index + 1}-{(index + 1) % len(rim) + 1}: {figure}"
        dimension(labels, Measure(*ends, figure, key, size=size), outward(*ends), offsets=offsets)


def pointed_at(labels: Labels, outline: Sequence[Point]) -> list[Places]:
    """Places outside or wherever there is room, with a leader into an outline."""
    targets = [(float(x), float(y)) for x, y in inner_points(outline, 4)[0]]
    near = [ring(target, (12.0, 24.0, 40.0), leader=True) for target in targets]
    return [*near, anywhere(labels.width, labels.height, targets[0])]
