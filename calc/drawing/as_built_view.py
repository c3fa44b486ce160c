"""The thing as built on its plan: the planned outline thin, what was measured thick, its deviations drawn much larger."""

import math

import shapely

from calc import Plan
from calc.drawing.labels import SIZE, Labels
from calc.drawing.parts import thing
from calc.drawing.places import anywhere, beside, between, ring
from calc.drawing.rim import CROWDED, HIGHEST, MARGIN, WIDTH, number_corners
from calc.drawing.svg import Drawing
from calc.drawing.view import View, fit
from calc.fitup import AsBuilt, Measured, wanted
from calc.records import Outline, Point
from calc.units import Display

SEEN = 0.06  # of the outline's size: how far the corner that moved most is drawn from its place
TIMES = (1, 2, 5, 10, 20, 50, 100, 200)  # so many times as large deviations are drawn
FAINT: dict[str, str | float] = {"stroke-opacity": 0.7}


def as_built_view(plan: Plan, built: AsBuilt, display: Display, *, width: float = WIDTH) -> str:
    """The outline as planned and as built, each size with its deviation, and which measurement looks wrong. Returns inline SVG.

    width: of the drawing [units; 1 unit is 1 px at its natural size].
    """
    rim = plan.sheet.shape.corners
    times = times_as_large(rim, built)
    shown = _moved(rim, built, times)
    view = fit((*rim, *shown), width, width * HIGHEST, min(MARGIN, width * 0.16))
    labels = Labels(Drawing(), view.width, view.height)
    labels.drawing.outline(view.all(rim), "thin planned")
    labels.avoid(view.all(rim), "thin", closed=True)
    labels.drawing.outline(view.all(shown), "outline built")
    labels.avoid(view.all(shown), "outline", closed=True)
    _lengths(labels, view, plan, built, shown, display)
    number_corners(labels, view.all(shown), [f"moved {display.fine(round(moved, 1))}" for moved in built.moved])
    labels.keyed += _keyed(built, times, display)
    passes = f"passes{' as far as it was measured' if built.unmeasured else ''}" if built.passes else "does not pass"
    title = f"The {thing(plan)} as built on its plan, deviations drawn {times} times as large: {passes}"
    return labels.finish(title, "as-built-view")


def times_as_large(rim: Outline, built: AsBuilt) -> int:
    """How many times as large the deviations are drawn: so that the largest is seen, and the outline stays one."""
    size = math.dist((min(x for x, _ in rim), min(y for _, y in rim)), (max(x for x, _ in rim), max(y for _, y in rim)))
    most = SEEN * size / max(*built.moved, 1e-9)
    fitting = [times for times in TIMES if times <= most and shapely.Polygon(_moved(rim, built, times)).is_valid]
    return max(fitting, default=1)


def _moved(rim: Outline, built: AsBuilt, times: float) -> Outline:
    """The outline as built with its deviations so many times as large."""
    return tuple(
        (x + times * (there - x), y + times * (over - y))
        for (x, y), (there, over) in zip(rim, built.outline, strict=True)
    )


def _lengths(labels: Labels, view: View, plan: Plan, built: AsBuilt, shown: Outline, display: Display) -> None:
    """Sides and diagonals, each with what was measured and by how much it is off its plan."""
    between_corners = {line.key: line.between for line in wanted(plan)}
    many = len(shown) >= CROWDED
    for line in built.lines:
        ends = between_corners[line.key]
        if ends is None:
            continue
        start, end = view.at(shown[ends[0]]), view.at(shown[ends[1]])
        is_suspect = built.suspect is not None and built.suspect.key == line.key
        if line.key.startswith("diagonal") and (is_suspect or not many):
            labels.drawing.line(start, end, "hidden diagonal" if is_suspect else "centre diagonal")
            labels.avoid((start, end), "centre")
        if is_suspect:
            _mark(labels, start, end)
    for line in sorted(built.lines, key=lambda line: line.within):
        ends = between_corners[line.key]
        if ends is None or (many and line.key.startswith("diagonal") and line.within):
            continue
        start, end = view.at(shown[ends[0]]), view.at(shown[ends[1]])
        words = f"{display.figure(line.measured)} ({deviation(line, display)})"
        places = [
            beside(start, end, shares=(0.5, 0.35, 0.65, 0.25, 0.75)),
            ring(between(start, end, 0.35), (10.0, 22.0, 36.0), leader=True),
            anywhere(labels.width, labels.height, between(start, end, 0.35)),
        ]
        wrong = not line.within
        labels.put(((words, SIZE, wrong),), places, key=f"{line.what}: {words}", style="warn" if wrong else "figure")


def deviation(line: Measured, display: Display) -> str:
    """How far a size is off its plan, with its sign.

    >>> deviation(Measured("depth", "Depth", 50.0, 49.0, -1.0, 2.0, True, None), Display())
    '−1'
    """
    size = abs(line.deviation)
    written = f"{size / 25.4:.3f}" if display.unit == "in" else f"{size:.1f}".removesuffix(".0")
    return "0" if not float(written) else f"{'+' if line.deviation > 0 else '−'}{written}"


def _mark(labels: Labels, start: Point, end: Point) -> None:
    """A question mark in a ring on the line whose measurement looks wrong."""
    x, y = between(start, end, 0.62)
    labels.drawing.circle((x, y), SIZE * 0.85, "ring suspect")
    labels.drawing.letter((("?", SIZE * 1.1, True),), (x, y), style="warn")
    turns = [math.pi * step / 4 for step in range(9)]
    labels.avoid([(x + SIZE * math.cos(turn), y + SIZE * math.sin(turn)) for turn in turns], "outline")


def _keyed(built: AsBuilt, times: int, display: Display) -> list[tuple[str, str | None]]:
    """What stands under the drawing: how it is drawn, what is out, what looks wrong."""
    drawn = "at true size" if times == 1 else f"{times} times as large"
    found = [f"Thin: as planned. Thick: as built, deviations drawn {drawn}."]
    for line in built.lines:
        if line.residual is None:
            found.append(f"{line.what}: {display.figure(line.measured)} ({deviation(line, display)})")
    for line in built.lines:
        if not line.within:
            allowed = "it must agree" if line.tolerance is None else f"± {display.fine(line.tolerance)} allowed"
            found.append(f"{line.what} is out of tolerance: {deviation(line, display)}, {allowed}")
    for angle in built.angles:
        if not angle.within:
            off = angle.built - angle.nominal
            sign = "+" if off > 0 else "−"
            found.append(
                f"Corner {angle.corner}: {angle.built:.2f}°, {sign}{abs(off):.2f}° off, ± {angle.tolerance:.2f}° allowed"
            )
    if built.suspect:
        found.append(f"? {built.suspect.words}")
    return [(text, None) for text in found]
