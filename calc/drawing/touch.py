"""What can be touched in a drawing: a link over a number or a line that ticks its step, with room round it for a thumb.

A screen draws a unit at 1.15 px or more, so that `ROOM` is 48 px. Where numbers stand closer than that each has the room that
is nearer to it than to any other: rooms never overlap, and a tap between two numbers is the nearer one's.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from calc.drawing.places import between
from calc.drawing.svg import INK, PAPER, Attributes, Drawing
from calc.layout.polygons import clip, rectangle
from calc.records import Outline, Point

ROOM = 42.0  # [units] of a square round a number
LINE = 12.0  # how wide a line is to be touched
HATCH, SLANT = 7.0, 3.6  # between strokes across a line that is done, and how far each reaches along and to either side
TICK = ((-6.0, 0.5), (-1.5, 5.5), (7.0, -6.0))  # round its middle
RING, ON_RING = 10.7, 0.68  # radius of the ring round a number, and how large the tick of one that is done, as a share
APART = (
    30.0  # [units] numbers that are touched keep so far apart: each ring, with the tick on it, is clear of all others
)
AT_RING = (9.8, -9.6)  # the middle of the tick: on its own ring, off the number within

Line = tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class Touch:
    """What a touch does: the step that it ticks, where its link leads, what it is called, whether it is done."""

    step: str
    href: str
    label: str
    done: bool


Touches = Mapping[str, Touch]  # by the keys of the steps


@dataclass(frozen=True, slots=True)
class Touched:
    """Where a touch lies: the middles of its numbers, and the lines that it is of."""

    touch: Touch
    middles: tuple[Point, ...]
    lines: tuple[Line, ...]


def lay_touches(drawing: Drawing, touched: Sequence[Touched], radius: float = RING, *, boxed: bool = False) -> None:
    """Lay links over what is drawn: over the lines first, so that a number's room is never another one's line.

    radius: of the ring that shows where to touch [units]; boxed: it is a box to tick, with nothing within it.
    """
    clear = [(middle, radius + SLANT) for one in touched for middle in one.middles]
    for one in touched:
        unsaid = {"data-ticks": one.touch.step, "aria-hidden": "true", "tabindex": "-1"}
        with drawing.link(one.touch.href, _style("touch-line", one), unsaid):
            with drawing.part("done-mark", _shown(one)):
                _hatch(drawing, one.lines, clear)
            for line in one.lines:
                look: Attributes = {"stroke": "transparent", "stroke-width": LINE, "pointer-events": "stroke"}
                drawing.line(*line, "thin hit", look)
    for one in touched:
        others = [middle for other in touched if other is not one for middle in other.middles]
        with drawing.link(one.touch.href, _style("touch", one), _named(one.touch)):
            ring: Attributes = {"stroke-width": 1.4, "fill": PAPER if boxed else "none"}
            for middle in one.middles:
                drawing.circle(middle, radius, f"thin touch-ring{' box' if boxed else ''}", ring)
            with drawing.part("done-mark", _shown(one)):
                _tick(drawing, one, boxed=boxed)
            for middle in one.middles:
                room: Attributes = {"fill": "transparent", "stroke": "none", "pointer-events": "all"}
                drawing.outline(_room(middle, others), "thin hit", room)


def _style(name: str, one: Touched) -> str:
    return f"{name} done" if one.touch.done else name


def _shown(one: Touched) -> Attributes:
    """Whether what says that it is done is to be seen; a stylesheet decides it anew when that changes."""
    return {} if one.touch.done else {"display": "none"}


def _named(touch: Touch) -> Attributes:
    """Its name, and that it is done; a script that makes a button of the link says the second in another way."""
    label = f"{touch.label}, done" if touch.done else touch.label
    return {"data-ticks": touch.step, "data-name": touch.label, "aria-label": label}


def _room(middle: Point, others: Sequence[Point]) -> Outline:
    """The square round a number, less what is nearer to another one."""
    x, y = middle
    room: Outline = rectangle(x - ROOM / 2, y - ROOM / 2, x + ROOM / 2, y + ROOM / 2)
    for other in others:
        apart = math.dist(middle, other)
        if apart > 1e-9 and max(abs(other[0] - x), abs(other[1] - y)) < ROOM:  # else the two squares do not meet
            nx, ny = (other[0] - x) / apart, (other[1] - y) / apart
            room = clip(room, (nx, ny, nx * (x + other[0]) / 2 + ny * (y + other[1]) / 2))
    return room


def _hatch(drawing: Drawing, lines: Sequence[Line], clear: Sequence[tuple[Point, float]]) -> None:
    """Hatching across lines, which keeps so far clear of numbers."""
    strokes = [
        stroke
        for line in lines
        for stroke in _hatched(line)
        if all(math.dist(between(*stroke, 0.5), middle) > reach for middle, reach in clear)
    ]
    drawing.lines(strokes, "thin hatched", {"stroke-width": 0.9})


def _tick(drawing: Drawing, one: Touched, *, boxed: bool) -> None:
    """A tick in each of its boxes, or on the ring of each of its numbers."""
    size, (off_x, off_y) = (1.0, (0.0, 0.0)) if boxed else (ON_RING, AT_RING)
    for x, y in one.middles:
        tick = [(x + off_x + size * dx, y + off_y + size * dy) for dx, dy in TICK]
        drawing.lines([tick], "outline slot", {"stroke": PAPER, "stroke-width": 6.0 * size})
        drawing.lines([tick], "outline ticked", {"stroke": INK, "stroke-width": 2.6, "stroke-linecap": "round"})


def _hatched(line: Line) -> Iterator[Line]:
    """Short strokes across a line, aslant."""
    (x1, y1), (x2, y2) = line
    length = math.dist(*line)
    if length < HATCH:
        return
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    dx, dy = (ux + uy) * SLANT, (uy - ux) * SLANT
    for step in range(1, int(length / HATCH) + 1):
        at = (step - 0.5) * length / int(length / HATCH)
        x, y = x1 + ux * at, y1 + uy * at
        yield (x - dx, y - dy), (x + dx, y + dy)
