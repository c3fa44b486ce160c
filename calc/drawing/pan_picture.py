"""The dimensioned picture of a pan beside the form: from above and in section, each label tied to its field."""

import math
from dataclasses import astuple, dataclass

from calc.drawing.dimensions import Measure, dimension
from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.places import anywhere, between, ring
from calc.drawing.svg import Attributes, Drawing
from calc.drawing.view import View, outward
from calc.records import Point
from calc.units import Display

WIDTH = 480.0
HIGHEST = 1.1  # of the width
MARGIN = 62.0
APART = 62.0  # between the plan and the section
EXAMPLE_LENGTH = 600.0  # [mm]
SLENDER, LOW = 0.64, 0.13  # of the length: a width and a height to draw while there is none
PALE: Attributes = {"stroke-opacity": 0.6}


@dataclass(frozen=True, slots=True)
class PanSizes:
    """What is known of a pan's sizes outside [mm]; None: not yet."""

    length: float | None = None
    width: float | None = None
    height: float | None = None
    inside_radius: float | None = None
    fall: float | None = None
    return_width: float | None = None


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The sizes that are drawn [mm], given or not."""

    length: float
    width: float
    height: float
    fall: float
    flange: float

    @classmethod
    def of(cls, sizes: PanSizes) -> "_Drawn":
        """As given, what is missing in proportion."""
        length = sizes.length or (sizes.width / SLENDER if sizes.width else None)
        length = length or (sizes.height / LOW if sizes.height else EXAMPLE_LENGTH)
        width, height = sizes.width or SLENDER * length, sizes.height or LOW * length
        return cls(length, width, height, sizes.fall or 0.0, sizes.return_width or 0.0)


def pan_picture(sizes: PanSizes, display: Display, *, width: float = WIDTH) -> str:
    """The pan as typed so far, seen from above and, below that, cut along its length. Returns inline SVG.

    A size that is missing or can't be used is drawn in proportion and broken; while length, width or height is missing the
    whole is greyed as an example. Each label is in a group of class `field` with `data-field` length, width, height,
    inside-radius, fall or return-width.
    """
    given = PanSizes(*(_sound(value) for value in astuple(sizes)))
    is_example = None in (given.length, given.width, given.height)
    drawn = _Drawn.of(given)
    plan, section = _views(drawn, width)
    labels = Labels(Drawing(), plan.width, plan.height)
    _draw_plan(labels, plan, drawn, given, pale=is_example)
    _draw_section(labels, section, drawn, given, pale=is_example)
    _plan_sizes(labels, plan, drawn, given, display)
    _section_sizes(labels, section, drawn, given, display)
    labels.keyed.append(("Sizes are outside. Below: cut along its length", None))
    title = "An example of a pan, until its sizes are given" if is_example else "The pan as given"
    return labels.finish(title, "pan-picture example" if is_example else "pan-picture")


def _sound(value: float | None) -> float | None:
    """A size that can be drawn."""
    is_size = isinstance(value, int | float) and math.isfinite(value) and 0 < value < 1e9
    return float(value) if is_size and value is not None else None


def _views(drawn: _Drawn, width: float) -> tuple[View, View]:
    """The plan, its corner (0, 0) at the lower left, and the section below it, its tops at 0, both to one scale."""
    margin = min(MARGIN, width * 0.16)
    across, high = drawn.length + 2 * drawn.flange, drawn.width + 2 * drawn.flange
    deep = drawn.height + drawn.fall
    scale = min((width - 2 * margin) / across, (width * HIGHEST - 2 * margin - APART) / (high + deep))
    left = (width - drawn.length * scale) / 2
    base = margin + (drawn.width + drawn.flange) * scale
    top = base + drawn.flange * scale + APART
    height = top + deep * scale + margin
    return View(scale, left, base, width, height), View(scale, left, top, width, height)


def _draw_plan(labels: Labels, view: View, drawn: _Drawn, given: PanSizes, *, pale: bool) -> None:
    """The outside from above, returns round it, an arrow down the fall."""
    length, wide, flange = drawn.length, drawn.width, drawn.flange
    corners = view.all([(0.0, 0.0), (length, 0.0), (length, wide), (0.0, wide)])
    knowns = (given.length, given.width, given.length, given.width)
    for index, known in enumerate(knowns):
        _edge(labels, (corners[index], corners[(index + 1) % 4]), known=known is not None, pale=pale)
    if flange:
        outer = [
            (-flange, -flange),
            (length + flange, -flange),
            (length + flange, wide + flange),
            (-flange, wide + flange),
        ]
        labels.drawing.outline(view.all(outer), "thin", PALE if pale else None)
        labels.avoid(view.all(outer), "thin", closed=True)
    if drawn.fall:
        start, end = view.at((length * 0.44, wide / 2)), view.at((length * 0.56, wide / 2))
        labels.drawing.line(start, end, "thin fall")
        labels.drawing.tip(end, start, 8.0)
        labels.avoid((start, end), "dim")


def _draw_section(labels: Labels, view: View, drawn: _Drawn, given: PanSizes, *, pale: bool) -> None:
    """The walls, the floor and the returns where they are cut along the length."""
    tops, length = (0.0, 0.0), drawn.length
    near, far = (0.0, -drawn.height), (length, -drawn.height - drawn.fall)
    parts: list[tuple[Point, Point, bool]] = [
        (tops, near, given.height is not None),
        (near, far, given.length is not None),
        (far, (length, 0.0), given.height is not None),
    ]
    if drawn.flange:
        parts += [((-drawn.flange, 0.0), tops, True), ((length, 0.0), (length + drawn.flange, 0.0), True)]
    for start, end, known in parts:
        _edge(labels, (view.at(start), view.at(end)), known=known, pale=pale)


def _edge(labels: Labels, line: tuple[Point, Point], *, known: bool, pale: bool) -> None:
    """An edge: thick where its size is known, broken where not, thin and pale in an example."""
    if pale:
        labels.drawing.line(*line, "thin example", PALE)
    else:
        labels.drawing.line(*line, "outline rim" if known else "hidden rim")
    labels.avoid(line, "outline")


def _plan_sizes(labels: Labels, view: View, drawn: _Drawn, given: PanSizes, display: Display) -> None:
    """The length over the plan, the width to its right."""
    room = drawn.flange * view.scale
    offsets = (room + 18.0, room + 30.0)
    far_left, far_right = view.at((0.0, drawn.width)), view.at((drawn.length, drawn.width))
    words = _words("length", given.length, display)
    dimension(labels, Measure(far_right, far_left, words, words, "length"), (0.0, -1.0), offsets=offsets)
    words = _words("width", given.width, display)
    ends = (view.at((drawn.length, 0.0)), far_right)
    dimension(labels, Measure(*ends, words, words, "width"), outward(*ends), offsets=offsets)


def _section_sizes(labels: Labels, view: View, drawn: _Drawn, given: PanSizes, display: Display) -> None:
    """The height at the near end, the fall at the far end; the fold's inside radius and the return pointed at."""
    room = drawn.flange * view.scale
    words = _words("height", given.height, display)
    ends = (view.at((0.0, 0.0)), view.at((0.0, -drawn.height)))
    dimension(labels, Measure(*ends, words, words, "height"), (-1.0, 0.0), offsets=(room + 18.0, room + 30.0))
    level, low = view.at((drawn.length, -drawn.height)), view.at((drawn.length, -drawn.height - drawn.fall))
    if drawn.fall:
        labels.drawing.line(view.at((0.0, -drawn.height)), level, "hidden level")
        labels.avoid((view.at((0.0, -drawn.height)), level), "thin")
    fall = _words("fall", given.fall, display) if given.fall else "no fall"
    _point_at(labels, between(view.at((0.0, -drawn.height)), low, 0.6), fall, "fall", (0.0, 1.0))
    _point_at(labels, ends[1], _words("inside radius", given.inside_radius, display), "inside-radius", (1.0, 1.0))
    flange = _words("return", given.return_width, display) if given.return_width else "no return"
    _point_at(labels, view.at((drawn.length + drawn.flange / 2, 0.0)), flange, "return-width", (-0.6, -1.0))


def _point_at(labels: Labels, target: Point, words: str, field: str, way: Point) -> None:
    """Words with a leader to a point, the way they had better stand from it."""
    block: Block = ((words, SIZE, False),)
    towards = (target[0] + way[0], target[1] + way[1])
    places = [
        ring(target, (12.0, 20.0, 32.0), towards=towards, leader=True),
        anywhere(labels.width, labels.height, target),
    ]
    labels.put(block, places, key=words, fields=(field,))


def _words(name: str, value: float | None, display: Display) -> str:
    """A size by its name, or that it isn't there yet."""
    return f"{name} {display.figure(value)}" if value is not None else f"{name} ?"
