"""Flat parts as they lie: of a plan, and beside the form as far as they are typed, each label tied to its field."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc import Plan
from calc.drawing.labels import OFF_LINES, SIZE, Block, Labels, Places
from calc.drawing.places import anywhere, beside, between, inner_side, ring, within
from calc.drawing.rim import away_from, pointed_at
from calc.drawing.rim_picture import filled
from calc.drawing.svg import Attributes, Drawing
from calc.drawing.view import View, fit, outward
from calc.families.flat_parts import in_rows
from calc.families.rims import signed_area
from calc.records import Outline, Point
from calc.units import Display

HIGHEST = 0.8  # of the width
MARGIN = 34.0
CROWDED = 60  # corners of all parts, from which they are not numbered and a figure stands beside its side or in the key
PALE: Attributes = {"stroke-opacity": 0.6}
EXAMPLE: Outline = ((0.0, 0.0), (150.0, 0.0), (0.0, 100.0))
FIGURE, NUMBER = SIZE - 1.0, SIZE - 2.0


@dataclass(frozen=True, slots=True)
class FlatPart:
    """A part as far as it is known.

    corners: in the order given [mm], None where there is none yet; open: they are where its sides lead so far, and don't go
    round yet. angles: those between its sides, from corner 2 [degrees], None where one is not known. field: what the fields
    of the form that ask for it begin with; by_sides: whether these are its sides and angles.
    """

    name: str
    corners: Sequence[Point | None]
    count: int | None = None
    open: bool = False
    angles: Sequence[float | None] = ()
    field: str = ""
    by_sides: bool = False

    def of(self, what: str) -> str | None:
        """The label of one of its fields."""
        return f"{self.field}-{what}" if self.field else None


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A part with its outline in the drawing, which may be an example's; known: which of its corners are."""

    part: FlatPart
    outline: Outline
    known: Sequence[bool]
    is_example: bool

    @property
    def round(self) -> Outline:
        """The outline, anticlockwise to the eye."""
        return self.outline if signed_area(self.outline) < 0 else self.outline[::-1]  # y runs down in a drawing

    def sides(self) -> Sequence[tuple[int, Point, Point]]:
        """Each side's number, from 1, and its ends; of one that is open without the last."""
        ends = zip(self.outline, self.outline[1:] + self.outline[:1], strict=True)
        sides = [(number, start, end) for number, (start, end) in enumerate(ends, 1)]
        return sides[:-1] if self.part.open else sides


def flat_view(plan: Plan, display: Display, *, width: float) -> str:
    """The parts of a plan with their names, how many there are of each, and their sides' lengths. Returns inline SVG."""
    parts = _parts_of(plan)
    labels, drawn, scale = _start(parts, width)
    crowded = sum(len(each.outline) for each in drawn) > CROWDED
    for each in drawn:
        _name(labels, each)
    for each in drawn:
        _side_lengths(labels, each, display, scale, crowded=crowded)
    for each in () if crowded else drawn:
        _number_corners(labels, each)
    return labels.finish(f"Flat parts, {len(parts)} of a kind each, with the lengths of their sides", "flat-view")


def flat_sketch(plan: Plan, *, width: float) -> str:
    """The same without lengths: what they look like, for lists. Returns inline SVG."""
    parts = _parts_of(plan)
    labels, drawn, _ = _start(parts, width)
    for each in drawn:
        _name(labels, each)
    return labels.finish("Flat parts", "flat-view")


def flat_picture(parts: Sequence[FlatPart], display: Display, *, width: float) -> str:
    """The parts as typed so far. Returns inline SVG.

    One of which fewer than three corners are known is an example, greyed; what is not known of another is broken. Each label
    is in a group of class `field` with `data-field` PART-name, PART-count, PART-corner-N, PART-side-N or PART-angle-N, PART
    being the part's `field`.
    """
    labels, drawn, scale = _start(parts, width)
    crowded = sum(len(each.outline) for each in drawn) > CROWDED
    for each in drawn:
        _name(labels, each)
    for each in drawn:
        if not each.is_example:
            _side_lengths(labels, each, display, scale, crowded=crowded)
    for each in () if crowded else drawn:
        if not each.is_example:
            _angles(labels, each)
            _number_corners(labels, each)
    are_examples = all(each.is_example for each in drawn)
    title = "An example of a flat part, until three corners are given" if are_examples else "The flat parts as given"
    return labels.finish(title, "flat-picture example" if are_examples else "flat-picture")


def _parts_of(plan: Plan) -> list[FlatPart]:
    """The faces of a plan's shell."""
    shell, quantity = plan.shell, plan.sheet.quantity
    return [
        FlatPart(face.name, [shell.vertices[index][:2] for index in face.loop], face.count * quantity)
        for face in shell.faces
    ]


def _start(parts: Sequence[FlatPart], width: float) -> tuple[Labels, list[_Drawn], float]:
    """A drawing with every part's outline in it, in rows; and its units to the millimetre."""
    whole = [_outline_of(part) for part in parts]
    shifts = in_rows([outline for outline, _, _ in whole])
    placed = [
        tuple((x + right, y + up) for x, y in outline)
        for (outline, _, _), (right, up) in zip(whole, shifts, strict=True)
    ]
    points = [corner for outline in placed for corner in outline]
    view: View = fit(points, width, width * HIGHEST, min(MARGIN, width * 0.12))
    labels = Labels(Drawing(), view.width, view.height)
    drawn = [
        _Drawn(part, view.all(outline), known, is_example)
        for part, outline, (_, known, is_example) in zip(parts, placed, whole, strict=True)
    ]
    for each in drawn:
        _draw(labels, each)
    return labels, drawn, view.scale


def _outline_of(part: FlatPart) -> tuple[Outline, Sequence[bool], bool]:
    """What is drawn of a part: its corners, those not known spread between their neighbours; which are known; or an example."""
    known = [corner is not None for corner in part.corners]
    outline = tuple(filled(part.corners)) if sum(known) > 2 else EXAMPLE
    is_example = sum(known) < 3 or _is_flat(outline)
    return (EXAMPLE, [False] * 3, True) if is_example else (outline, known, False)


def _is_flat(outline: Outline) -> bool:
    """Whether all corners lie in a line, or are too many millimetres apart to draw."""
    spans = [max(values) - min(values) for values in zip(*outline, strict=True)]
    return not all(math.isfinite(span) for span in spans) or max(spans) <= 0


def _draw(labels: Labels, drawn: _Drawn) -> None:
    """Its sides: those between known corners as outline, the rest broken; an example thin and pale."""
    sides = drawn.sides()
    closed = all(drawn.known) and not drawn.part.open
    if closed:
        labels.drawing.outline(drawn.outline, "outline part")
    for number, start, end in sides:
        if drawn.is_example:
            labels.drawing.line(start, end, "thin example", PALE)
        elif not closed:
            is_known = drawn.known[number - 1] and drawn.known[number % len(drawn.known)]
            labels.drawing.line(start, end, "outline part" if is_known else "hidden part")
        labels.avoid((start, end), "outline")


def _name(labels: Labels, drawn: _Drawn) -> None:
    """Its name and how many there are of it, inside where there is room."""
    part = drawn.part
    count = "? off" if part.count is None else f"{part.count} off"
    block: Block = ((part.name or "?", SIZE, True), (count, FIGURE, False))
    places = [within(drawn.round), *pointed_at(labels, drawn.round)]
    fields = [part.of("name"), part.of("count")]
    labels.put(
        block, places, key=(f"{part.name or '?'}", count) if part.field else f"{part.name}: {count}", fields=fields
    )


def _side_lengths(labels: Labels, drawn: _Drawn, display: Display, scale: float, *, crowded: bool) -> None:
    """The length of each side beside it, outside where there is room."""
    anticlockwise = signed_area(drawn.outline) < 0
    for number, start, end in drawn.sides():
        ends = (start, end) if anticlockwise else (end, start)
        count = len(drawn.known)
        is_known = drawn.known[number - 1] and drawn.known[number % count]
        figure = display.figure(math.dist(start, end) / scale) if is_known else "?"
        out, inner, middle = outward(*ends), inner_side(*ends), between(start, end, 0.5)
        beyond = (middle[0] + out[0], middle[1] + out[1])
        near: list[Places] = [
            beside(*ends, 2.5, side=-inner),
            beside(*ends, 2.5, side=inner),
            ring(middle, (3.0, 7.0), towards=beyond),
        ]
        led = [ring(middle, (14.0, 24.0), towards=beyond, leader=True), anywhere(labels.width, labels.height, middle)]
        part = drawn.part
        typed = part.by_sides and number < count
        field = part.of(f"side-{number}") if typed else None
        key = f"{part.name or '?'}, side {number}: {figure}"
        places = near if crowded else [*near, *led]
        labels.put(((figure, FIGURE, False),), places, key=key, fields=(field,) if field else (), style="figure side")


def _angles(labels: Labels, drawn: _Drawn) -> None:
    """The angles that are typed, inside their corners; one that has no room stands in its field all the same."""
    part, count = drawn.part, len(drawn.outline)
    for place, angle in enumerate(part.angles, 1):
        field = part.of(f"angle-{place}")
        if angle is None or place >= count or field is None:
            continue
        found = labels.find(((f"{angle:g}°", NUMBER, False),), [_inside(drawn, place)], OFF_LINES)
        if found:
            labels.write(*found, fields=(field,), style="figure angle")


def _inside(drawn: _Drawn, place: int) -> Places:
    corner, away = drawn.outline[place], _away(drawn, place)
    return ring(corner, (4.0, 9.0, 15.0), towards=(2 * corner[0] - away[0], 2 * corner[1] - away[1]))


def _away(drawn: _Drawn, place: int) -> Point:
    """A point outside the outline at one of its corners."""
    if signed_area(drawn.outline) < 0:
        return away_from(drawn.outline, place)
    return away_from(drawn.outline[::-1], len(drawn.outline) - 1 - place)


def _number_corners(labels: Labels, drawn: _Drawn) -> None:
    """The corners in the order given, numbered outside where there is room; a number without room is left out."""
    part = drawn.part
    for place, corner in enumerate(drawn.outline):
        places = [ring(corner, (2.0, 5.0), towards=_away(drawn, place))]
        found = labels.find(((str(place + 1), NUMBER, True),), places, OFF_LINES)
        if found:
            field = None if part.by_sides else part.of(f"corner-{place + 1}")
            labels.write(*found, fields=(field,) if field else (), style="figure corner")
