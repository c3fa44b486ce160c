"""Pages of templates read back from the PDF and joined again, as a person joins them: crosses on crosses."""

import itertools
import math
import re
from typing import Any

import shapely

from calc.records import Outline, Point

MM = 25.4 / 72  # a point
TRUE = 0.05  # [mm] what a line in the file may be out
# As wide as each is drawn [mm]: the only thing in a PDF that tells lines apart
OUTLINE, BEND, CROSS, TICK, BAR, HOLE = 0.35, 0.15, 0.14, 0.12, 0.2, 0.25


def strokes(page: Any, width: float) -> list[list[Point]]:
    """The lines of this width [mm], each as its points, x to the right and y down [mm]."""
    return [
        [(x * MM, y * MM) for x, y in item["pts"]]
        for item in (*page.lines, *page.curves, *page.rects)
        if item["stroke"] and abs(item["linewidth"] * MM - width) < 0.004
    ]


def lengths(page: Any, width: float, level: bool) -> list[float]:
    """How long the longest level or upright stretch of each such line is [mm]."""
    found = []
    for points in strokes(page, width):
        spans = [
            math.dist(one, other)
            for one, other in itertools.pairwise(points)
            if abs(one[1] - other[1] if level else one[0] - other[0]) < 1e-3
        ]
        found.append(max(spans, default=0.0))
    return found


def crosses(page: Any) -> list[Point]:
    """The middles of the crosses, from their level and upright arms."""
    arms = [shapely.LineString(points) for points in strokes(page, CROSS)]
    level = [arm for arm in arms if arm.bounds[3] - arm.bounds[1] < 0.01]
    middles = [(arm.centroid.x, arm.centroid.y) for arm in level]
    upright = [(arm.centroid.x, arm.centroid.y) for arm in arms if arm not in level]
    assert sorted(map(rounded, middles)) == sorted(map(rounded, upright))
    return middles


def rounded(point: Point) -> Point:
    return round(point[0], 2), round(point[1], 2)


def joins(page: Any) -> dict[str, int]:
    found = re.search(r"joins ((?:(?:left|right|above|below) \d+(?:, )?)+)", page.extract_text())
    return {side: int(number) for side, number in re.findall(r"(\w+) (\d+)", found[1])} if found else {}


def number_of(page: Any) -> int:
    found = re.search(r"Page (\d+) of (\d+)", page.extract_text())
    assert found
    return int(found[1])


def joined(pages: list[Any]) -> dict[int, Point]:
    """How far each page is moved to lie on the first, crosses on crosses; every pair of neighbours must agree."""
    by_number = {number_of(page): page for page in pages}
    width, height = pages[0].width * MM, pages[0].height * MM
    first = min(by_number)
    moved, waiting = {first: (0.0, 0.0)}, [first]
    while waiting:
        here = waiting.pop()
        for side, other in joins(by_number[here]).items():
            step = step_to(by_number[here], by_number[other], side, (width, height))
            at = (moved[here][0] + step[0], moved[here][1] + step[1])
            if other in moved:
                assert math.dist(moved[other], at) < TRUE
            else:
                moved[other] = at
                waiting.append(other)
    return moved


def step_to(page: Any, other: Any, side: str, size: Point) -> Point:
    """How far the other page moves for its crosses on the near side to lie on this one's."""
    along = 0 if side in ("left", "right") else 1
    far = side in ("right", "below")
    middle = size[along] / 2

    def near(points: list[Point], at_end: bool) -> list[Point]:
        edge = max(points, key=lambda p: p[along]) if at_end else min(points, key=lambda p: p[along])
        assert (edge[along] > middle) == at_end
        return sorted(point for point in points if abs(point[along] - edge[along]) < 0.5)

    own, its = near(crosses(page), far), near(crosses(other), not far)
    assert len(own) == len(its) == 2
    steps = [(one[0] - two[0], one[1] - two[1]) for one, two in zip(own, its, strict=True)]
    assert math.dist(*steps) < 0.01
    return steps[0]


def assembled(pages: list[Any]) -> list[Point]:
    """The corners of the outline on the joined pages: where its lines turn."""
    moved = joined(pages)
    corners: list[Point] = []
    for page in pages:
        dx, dy = moved[number_of(page)]
        for points in strokes(page, OUTLINE):
            line = [(x + dx, y + dy) for x, y in points]
            if math.dist(line[0], line[-1]) < 1e-3:
                line.append(line[1])  # a closed one turns where it begins as well
            for before, at, after in zip(line, line[1:], line[2:], strict=False):
                turn = math.atan2(at[1] - before[1], at[0] - before[0]) - math.atan2(after[1] - at[1], after[0] - at[0])
                if abs(math.sin(turn)) > 1e-3 and all(math.dist(at, known) > 0.5 for known in corners):
                    corners.append(at)
    return corners


def of_pattern(pages: list[Any], name: str) -> list[Any]:
    return [page for page in pages if re.search(rf"^Blank ?{name} ?·", page.extract_text(), re.MULTILINE)]


def spans(corners: Outline | list[Point]) -> list[float]:
    return sorted(math.dist(one, other) for one, other in itertools.combinations(corners, 2))


def window_of(page: Any) -> tuple[float, float, float, float]:
    """The window, from its corner ticks: the outermost."""
    ticks = strokes(page, TICK)
    across = [points[0][0] for points in ticks if abs(points[0][0] - points[1][0]) < 1e-3]
    down = [points[0][1] for points in ticks if abs(points[0][1] - points[1][1]) < 1e-3]
    return min(across), min(down), max(across), max(down)


def window_words(page: Any) -> list[str]:
    x0, y0, x1, y1 = (edge / MM for edge in window_of(page))
    return [str(word["text"]) for word in page.crop((x0, y0, x1, y1)).extract_words()]
