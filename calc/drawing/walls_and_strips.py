"""What a plan says of walls and of strips on the rim: their names, widths and heights."""

import math
from collections.abc import Iterator

from calc import Plan
from calc.drawing.dimensions import TIP, Measure, draw_dimension
from calc.drawing.labels import SIZE, Labels
from calc.drawing.parts import has_walls, rim_loop, strip_reach, strip_word, wall_heights
from calc.drawing.places import anywhere, beside, between, inner_side, ring
from calc.drawing.rim import strips_around
from calc.drawing.view import View
from calc.records import Point
from calc.shell import Face, Shell
from calc.units import Display

SHARES = (0.22, 0.3, 0.14, 0.78, 0.7, 0.86, 0.6, 0.4)  # of a side, where the width of its strip may be told


def strip_size(labels: Labels, view: View, plan: Plan, display: Display) -> None:
    """The width of strips outside the rim, dimensioned once, across the longest side where its arrows meet no figure."""
    if not strips_around(plan):
        return
    across = list(_across(plan, view))
    ends = next((ends for ends in across if labels.is_free(*_with_arrows(*ends), clear=1.0)), across[0])
    reach = strip_reach(plan)
    figure = f"{strip_word(plan)} {display.figure(reach)}"
    measure = Measure(*ends, figure, f"{figure.capitalize()} wide all round")
    draw_dimension(labels, measure, (0.0, 0.0), 0.0)
    places = [
        ring(between(*ends, 0.5), (10.0, 20.0, 32.0), leader=True),
        anywhere(labels.width, labels.height, ends[0]),
    ]
    labels.put(((figure, SIZE, False),), places, key=measure.key)


def _across(plan: Plan, view: View) -> Iterator[tuple[Point, Point]]:
    """Lines square across the strips in the drawing, those on the longest side first."""
    rim, loop, reach = plan.shell.vertices, rim_loop(plan.shell), strip_reach(plan)
    sides = [(rim[start][:2], rim[loop[(i + 1) % len(loop)]][:2]) for i, start in enumerate(loop)]
    for start, end in sorted(sides[1:] + sides[:1], key=lambda side: -round(math.dist(*side))):
        length = math.dist(start, end)
        square = ((end[1] - start[1]) / length * reach, (start[0] - end[0]) / length * reach)
        for share in SHARES:
            x, y = between(start, end, share)
            yield view.at((x, y)), view.at((x + square[0], y + square[1]))


def _with_arrows(start: Point, end: Point) -> tuple[Point, Point]:
    """The ends of a short dimension line with the arrows that come to it from outside."""
    past = 1.8 * TIP / (math.dist(start, end) or 1.0)
    return between(start, end, -past), between(start, end, 1.0 + past)


def name_walls(labels: Labels, view: View, shell: Shell) -> None:
    """Each wall of a pan, seen end on, named inside it."""
    for face in shell.faces:
        fold = next((edge for edge in face.edges if any(edge[::-1] in other.edges for other in _floors(shell))), None)
        if face.role == "wall" and fold:
            end, start = (view.at(shell.vertices[index][:2]) for index in fold)
            places = [
                beside(start, end, 4.0, side=inner_side(start, end)),
                ring(between(start, end, 0.5), (12.0, 22.0, 34.0), leader=True),
            ]
            labels.put(
                ((face.name, SIZE + 2, True),), places, key=f"{face.name}: no room to name it", style="figure facet"
            )


def _floors(shell: Shell) -> list[Face]:
    return [face for face in shell.faces if face.role == "floor"]


def size_notes(plan: Plan, display: Display) -> list[str]:
    """What a view from above can't show: how high walls and upstands stand, and that sizes are outside."""
    reach = display.length(strip_reach(plan))
    notes = [f"Upstand {reach} high all round, folded up at the rim"] if strip_word(plan) == "upstand" else []
    if has_walls(plan.shell):
        near, far = wall_heights(plan)
        ends = "" if near == far else f" at side 4–1, {display.length(far)} at side 2–3"
        notes.append(f"Sizes are outside; walls {display.length(near)} high{ends}")
    return notes
