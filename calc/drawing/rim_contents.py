"""What lies within the rim in the picture beside the form: low point, sump or valley, and what an outlet keeps clear of."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from calc.drawing.kept_clear import hatch_kept_clear, letter_kept_clear, name_free_place, ring_free_place
from calc.drawing.labels import SIZE, WEIGHTS, Block, Labels, Places
from calc.drawing.offcuts import clear_paper
from calc.drawing.places import anywhere, ring
from calc.drawing.view import View
from calc.families.keep_clear import KeepClear
from calc.families.rims import signed_area, sine_of_turn
from calc.families.sump import Sump
from calc.records import Outline, Point
from calc.units import Display

EXAMPLE_LOW: Point = (610.0, 180.0)
EXAMPLE_ENDS: tuple[Point, Point] = ((170.0, 215.0), (680.0, 215.0))
LEAST_TURN = 1e-3  # the sine of a corner that a sump has its lines parallel to

MaybePoint = tuple[float | None, float | None] | None
MaybeEnd = tuple[float | None, float | None, float | None] | None


@dataclass(frozen=True, slots=True)
class Clear:
    """A rectangle to keep clear of as typed so far: its lower left corner, length along x, width along y [mm], its name."""

    x: float | None = None
    y: float | None = None
    length: float | None = None
    width: float | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class End:
    """An end of a valley that can be drawn: which (1 or 2), where [mm], its depth where it is known; of the example or not."""

    number: int
    at: Point
    depth: float | None
    is_example: bool = False


Drawn = tuple[
    int, Outline, str, bool
]  # a rectangle's place from 1, as it is seen, its name, whether the outlet is in it


def finite(value: float | None) -> bool:
    """Whether a figure is there and can be drawn."""
    return isinstance(value, int | float) and math.isfinite(value) and abs(value) < 1e9


def sound(point: MaybePoint) -> Point | None:
    """A point whose two figures are there and finite."""
    if point is None or len(point) != 2:
        return None
    x, y = point
    return (float(x), float(y)) if x is not None and y is not None and finite(x) and finite(y) else None


def sound_ends(valley: Sequence[MaybeEnd], is_example: bool) -> list[End]:
    """The ends that have their places; both of the example where that is drawn."""
    if is_example:
        return [End(number, at, None, True) for number, at in enumerate(EXAMPLE_ENDS, 1)]
    ends = []
    for number, end in enumerate(valley[:2], 1):
        if end is not None and len(end) == 3 and (at := sound(end[:2])):
            ends.append(End(number, at, end[2] if finite(end[2]) else None))
    return ends


def lowest_end(ends: Sequence[End]) -> Point | None:
    """Where the outlet comes: at the deeper end, of equals and of unknown ones at the second."""
    return max(ends, key=lambda end: (end.depth or 0.0, end.number)).at if ends else None


def draw_valley(labels: Labels, view: View, ends: Sequence[End]) -> None:
    """The line between the valley's ends, and a dot at each."""
    spots = [view.at(end.at) for end in ends]
    if len(spots) == 2:
        labels.drawing.line(spots[0], spots[1], "thin valley")
        labels.avoid(spots, "thin")
    for spot in spots:
        labels.drawing.circle(spot, 2.2, "tip valley")


def draw_sump(labels: Labels, view: View, rim: Sequence[Point], low: Point | None, sump: MaybePoint) -> None:
    """The floor of a sump as it would lie, where both its sizes and the low point are there."""
    sizes = sound(sump)
    if low is None or sizes is None or min(sizes) <= 0 or not rim:
        return
    corners = tuple(rim) if signed_area(tuple(rim)) > 0 else tuple(rim)[::-1]
    turns = [sine_of_turn(corners[i - 1], at, corners[(i + 1) % len(corners)]) for i, at in enumerate(corners)]
    if len(corners) == 4 and min(turns) < LEAST_TURN:
        return
    outline = view.all(Sump(*sizes).corners(corners, low))
    if not shapely.box(0, 0, view.width, view.height).contains(shapely.Polygon(outline)):
        return
    labels.drawing.outline(outline, "thin sump")
    labels.avoid(outline, "thin", closed=True)


def name_low(
    labels: Labels,
    view: View,
    low: Point,
    display: Display,
    figures: Point | None,
    depth: float | None,
    bore: float | None,
    sump: MaybePoint,
) -> None:
    """The low point's figures, the depth, the bore and the sump's sizes, beside the outlet."""
    x, y = (display.figure(figures[0]), display.figure(figures[1])) if figures else ("?", "?")
    words = [
        (f"low point x {x}", "low-x"),
        (f"y {y}", "low-y"),
        (f"depth {_figure(depth, display)}", "depth"),
        (f"outlet ø {_figure(bore, display)}", "bore"),
    ]
    if sump is not None and len(sump) == 2:
        words.append((f"sump length {_figure(sump[0], display)}", "sump-length"))
        words.append((f"sump width {_figure(sump[1], display)}", "sump-width"))
    key = [text if text != f"y {y}" else f"low point {text}" for text, _ in words]
    _write(labels, view.at(low), words, key, _radius(view, bore))


def name_valley(labels: Labels, view: View, ends: Sequence[End], display: Display, bore: float | None) -> None:
    """Each end's figures beside it; the outlet's bore with those of the deep end."""
    lowest = lowest_end(ends)
    for end in ends:
        x, y = ("?", "?") if end.is_example else (display.figure(end.at[0]), display.figure(end.at[1]))
        field = f"valley-{end.number}"
        words = [
            (f"end {end.number}  x {x}", f"{field}-x"),
            (f"y {y}", f"{field}-y"),
            (f"depth {_figure(end.depth, display)}", f"{field}-depth"),
        ]
        key = [words[0][0], *(f"end {end.number}  {text}" for text, _ in words[1:])]
        is_lowest = end.at == lowest and (len(ends) < 2 or ends[0].at != ends[1].at or end is ends[-1])
        if is_lowest:
            words.append((f"outlet ø {_figure(bore, display)}", "bore"))
            key.append(words[-1][0])
        _write(labels, view.at(end.at), words, key, _radius(view, bore) if is_lowest else 4.0)


def _write(labels: Labels, target: Point, words: Sequence[tuple[str, str]], key: Sequence[str], radius: float) -> None:
    places: list[Places] = [
        ring(target, (radius + 12.0, radius + 20.0, radius + 34.0), leader=True),
        anywhere(labels.width, labels.height, target),
    ]
    block: Block = tuple((text, SIZE, False) for text, _ in words)
    fields = [field for _, field in words]
    found = labels.find(block, places, WEIGHTS["diagonal"])
    if found is None and (found := labels.find(block, places, WEIGHTS["outline"])):  # a diagonal is broken for it
        clear_paper(labels, found[0], (found[1].x, found[1].y), found[1].angle)
    if found:
        labels.write(*found, fields=fields)
    else:
        labels.keyed += zip(key, fields, strict=True)


def _figure(value: float | None, display: Display) -> str:
    return display.figure(value) if value is not None and finite(value) else "?"


def _radius(view: View, bore: float | None) -> float:
    return bore * view.scale / 2 if bore is not None and finite(bore) else 0.0


def draw_clear(
    labels: Labels, view: View, clear: Sequence[Clear], low: Point | None, bore: float | None, free_place: MaybePoint
) -> list[Drawn]:
    """The rectangles that are given whole, hatched, and the free place where the outlet comes into one."""
    drawn, radius = [], bore / 2 if bore is not None and finite(bore) else 0.0
    for number, given in enumerate(clear, 1):
        at, sizes = sound((given.x, given.y)), sound((given.length, given.width))
        if at is None or sizes is None or min(sizes) <= 0:
            continue
        rectangle = KeepClear(at, *sizes)
        is_met = low is not None and rectangle.is_met(low, radius)
        drawn.append((number, hatch_kept_clear(labels, view, rectangle, is_met), given.name, is_met))
    spot = sound(free_place)
    if spot is not None and any(is_met for *_, is_met in drawn):
        ring_free_place(labels, view, spot)
    return drawn


def name_clear(labels: Labels, view: View, drawn: Sequence[Drawn], free_place: MaybePoint, display: Display) -> None:
    """Letter the rectangles and the free place."""
    for number, outline, name, is_met in drawn:
        letter_kept_clear(labels, outline, name or f"rectangle {number}", is_met, f"keep-clear-{number}")
    spot = sound(free_place)
    if spot is not None and any(is_met for *_, is_met in drawn):
        name_free_place(labels, view, spot, display)
