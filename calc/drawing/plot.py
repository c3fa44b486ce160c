"""Expected against actual, a pair of bars a row: plain for expected, hatched for actual, the figure at each bar's end."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc.drawing.lettering import ASCENT, DESCENT, LEADING, elide, text_width, wrapped
from calc.drawing.svg import INK, Attributes, Drawing
from calc.records import Point

SIZE = 12.0  # of the names
FIGURE_SIZE = 11.0
BAR, PITCH, ROW = 10.0, 14.0, 40.0  # height of a bar, from bar to bar, from row to row
LEAST_BAR = 1.5  # anything above nothing can be seen
LEAST_ROOM = 80.0  # for the longest bar
NAME_SHARE = 0.36  # of the width, at most, for the names
GAP, MARGIN, HATCH_STEP, KEY = 6.0, 4.0, 4.5, 26.0
PLAIN: Attributes = {"fill": "none", "stroke": INK, "stroke-width": 1.1}
HATCHED: Attributes = {"stroke-width": 0.9, "stroke-opacity": 0.9}


@dataclass(frozen=True, slots=True)
class Pair:
    """A row: its name, the two values (0 or more), and how each is written. None: there is no such value (no bar)."""

    name: str
    expected: float | None
    actual: float | None
    expected_text: str
    actual_text: str


def plot_pairs(pairs: Sequence[Pair], *, title: str, width: float = 340.0) -> str:
    """The bars of some rows, as SVG about `width` drawing units wide; it grows where figures need the room.

    Raises ValueError for no rows, and for a value that is below 0 or not finite.

    >>> plot_pairs([Pair("cut", 60, 75, "1 h", "1 h 15 min")], title="Hours").count("<text")
    5
    """
    if not pairs:
        raise ValueError("a plot needs a row")
    values = [value for pair in pairs for value in (pair.expected, pair.actual) if value is not None]
    if any(not math.isfinite(value) or value < 0 for value in values):
        raise ValueError("a bar is 0 or longer")
    names = [_name_lines(pair.name, width * NAME_SHARE) for pair in pairs]
    start = MARGIN + max(text_width(line, SIZE) for lines in names for line in lines) + GAP
    figures = max(text_width(text, FIGURE_SIZE) for pair in pairs for text in (pair.expected_text, pair.actual_text))
    room = max(width - start - GAP - figures - MARGIN, LEAST_ROOM)
    most = max(values, default=0.0)
    drawing = Drawing()
    _write_key(drawing)
    top = KEY
    for lines, pair in zip(names, pairs, strict=True):
        for line, lift in zip(lines, _lifts(len(lines)), strict=True):
            drawing.write(line, (MARGIN, _base_line(top + PITCH / 2 + lift, SIZE)), SIZE)
        _draw_bar(drawing, (start, top), room * _share(pair.expected, most), pair.expected_text)
        _draw_bar(drawing, (start, top + PITCH), room * _share(pair.actual, most), pair.actual_text, hatched=True)
        top += ROW
    bottom = top - ROW + PITCH + BAR
    drawing.line((start, KEY - GAP), (start, bottom + GAP), "thin")
    return drawing.svg(title, max(width, start + room + GAP + figures + MARGIN), bottom + GAP + MARGIN, "plot")


def _name_lines(name: str, room: float) -> list[str]:
    """A name in the two lines at most that a row has room for; what is longer still is cut short."""
    first, *rest = wrapped(name, SIZE, room)
    return [first, elide(" ".join(rest), SIZE, room)] if rest else [first]


def _lifts(count: int) -> list[float]:
    """How far below the middle of a row each of its lines stands."""
    return [(index - (count - 1) / 2) * LEADING * SIZE for index in range(count)]


def _write_key(drawing: Drawing) -> None:
    left = MARGIN
    for word, hatched in (("expected", False), ("actual", True)):
        _box(drawing, (left, MARGIN), 2 * BAR, hatched=hatched)
        drawing.write(word, (left + 2 * BAR + GAP, _base_line(MARGIN, FIGURE_SIZE)), FIGURE_SIZE)
        left += 2 * BAR + 2 * GAP + text_width(word, FIGURE_SIZE) + 2 * GAP


def _share(value: float | None, most: float) -> float:
    """How long a bar is, of the longest; first divided, so that the smallest of values overflows nothing."""
    return value / most if value else 0.0


def _draw_bar(drawing: Drawing, at: Point, length: float, text: str, *, hatched: bool = False) -> None:
    if length:
        length = max(length, LEAST_BAR)
        _box(drawing, at, length, hatched=hatched)
    drawing.write(text, (at[0] + length + GAP, _base_line(at[1], FIGURE_SIZE)), FIGURE_SIZE)


def _base_line(top: float, size: float) -> float:
    """Where lettering stands that is level with the middle of a bar."""
    return top + BAR / 2 + (ASCENT - DESCENT) * size / 2


def _box(drawing: Drawing, at: Point, length: float, *, hatched: bool) -> None:
    (x, y), (right, bottom) = at, (at[0] + length, at[1] + BAR)
    if hatched:
        drawing.lines(list(_hatch(x, y, length)), "hatch", HATCHED)
    drawing.outline(((x, y), (right, y), (right, bottom), (x, bottom)), "outline bar", PLAIN)


def _hatch(x: float, y: float, length: float) -> Iterator[tuple[Point, Point]]:
    """Lines at 45 degrees that fill a bar, none of them leaving it."""
    along = HATCH_STEP
    while along < length + BAR:
        low, high = max(along - BAR, 0.0), min(along, length)
        yield (x + low, y + along - low), (x + high, y + along - high)
        along += HATCH_STEP
