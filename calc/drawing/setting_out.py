"""What facets fall to, in plan: the low point, or both ends of a valley, dimensioned as they are set out with a tape."""

import math

from calc import Plan
from calc.drawing.dimensions import Measure, dimension, draw_dimension
from calc.drawing.labels import SIZE, Labels
from calc.drawing.parts import Bottom, bottoms
from calc.drawing.places import anywhere, beside, between, ring
from calc.drawing.rim import CROWDED, side_offsets
from calc.drawing.view import View, outward
from calc.records import Outline, Point
from calc.units import Display

NARROW = 420.0  # width of a drawing that has no room for the setting out of two points
LONG_SIDE = 0.7  # of the longest: long enough to set a point out from


def set_out_bottoms(labels: Labels, view: View, plan: Plan, display: Display) -> None:
    """Each point that facets fall to as it is set out with a tape; of a valley, how deep each end is as well.

    That isn't how they were typed, so both are said in the key; among the many facets of a crowded tray only there.
    """
    found = bottoms(plan)
    for bottom in found:
        _set_out(labels, view, plan, bottom, display)
    for bottom in found if len(found) > 1 else ():
        words = f"{bottom.name.removeprefix('Valley ')}, {display.figure(bottom.depth)} deep"
        at = view.at(bottom.at[:2])
        places = [ring(at, (12.0, 24.0, 42.0), leader=True), anywhere(labels.width, labels.height, at)]
        key = f"{bottom.name}: {display.figure(bottom.depth)} deep"
        labels.put(((words, SIZE, False),), places, key=key, style="figure bottom")


def _set_out(labels: Labels, view: View, plan: Plan, bottom: Bottom, display: Display) -> None:
    """Along a side from its first corner, and square to that side."""
    rim, low, name = plan.sheet.shape.corners, bottom.at[:2], bottom.name
    index, along = foot_of(rim, low)
    start, end = rim[index], rim[(index + 1) % len(rim)]
    foot = between(start, end, along / math.dist(start, end))
    corner, side = index + 1, f"{index + 1}–{(index + 1) % len(rim) + 1}"
    figure, square = display.figure(along), display.figure(math.dist(foot, low))
    labels.keyed.append(
        (
            f"{name} (typed x {display.figure(low[0])}, y {display.figure(low[1])}): {figure} along side {side} from "
            f"corner {corner}, {square} square to it",
            None,
        )
    )
    if len(rim) >= CROWDED or (len(bottoms(plan)) > 1 and labels.width < NARROW):
        return
    ends = (view.at(foot), view.at(low))
    measure = Measure(view.at(start), ends[0], f"{figure} from corner {corner}", f"{name}: {figure} along side {side}")
    dimension(labels, measure, outward(view.at(start), view.at(end)), offsets=side_offsets(plan, view))
    rest = Measure(*ends, f"{square} from side {side}", f"{name}: {square} square from side {side}")
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
