"""The opening to cut in the bench: set out from the bench's edge and end, its corners and reliefs, the rim within it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.aperture import Aperture, Corner, SetOut
from calc.drawing.dimensions import OFFSETS, Measure, dimension
from calc.drawing.labels import SIZE, Labels
from calc.drawing.places import beside, between
from calc.drawing.rim import CROWDED, HIGHEST, MARGIN, WIDTH, number_corners
from calc.drawing.svg import Drawing
from calc.drawing.view import View, fit, outward
from calc.families.rims import signed_area
from calc.fitup.measurements import diagonals
from calc.records import Outline, Point
from calc.units import Display

BEYOND = 0.08  # of the drawing's reach that the bench's edge and end run past the opening
HATCH = 7.0  # [units] of the strokes that tell which side of a line the bench is


def aperture_view(aperture: Aperture, points: Sequence[SetOut], display: Display, *, width: float = WIDTH) -> str:
    """The opening seen from above with the lengths of its sides and diagonals. Returns inline SVG.

    points: its corners from the bench's end and edge (`calc.aperture.set_out`), which are then drawn, the edge below it and the
    end at the hand where it is; none where it has no place yet. width: of the drawing [units; 1 unit is 1 px at its natural
    size].
    """
    place = _Placed.of(aperture, points) if points else None
    opening, rim = aperture.outline, aperture.rim
    reliefs: Outline = tuple(corner.relief.centre for corner in aperture.corners if corner.relief)
    if place:
        opening, rim, reliefs = (place.seen(each) for each in (opening, rim, reliefs))
    ground = _ground(opening, place)
    view = fit((*opening, *ground), width, width * HIGHEST, min(MARGIN, width * 0.16))
    labels = Labels(Drawing(), view.width, view.height)
    if place:
        _bench(labels, view, ground, place)
    _opening(labels, view, aperture, opening, rim, reliefs)
    if place:
        _from_bench(labels, view, opening, place, display)
    _sides(labels, view, opening, display, place)
    number_corners(labels, view.all(opening), [_taken(corner, display) for corner in aperture.corners])
    _diagonals(labels, view, aperture, opening, display)
    labels.keyed += _keyed(aperture, display)
    return labels.finish(f"The opening in the bench, {len(opening)} corners", "aperture-view")


@dataclass(frozen=True, slots=True)
class _Placed:
    """Where an opening lies in the bench as it is seen: turned and moved so, the end at this hand, by which of its sides it
    lies along the edge."""

    turn: complex
    shift: complex
    is_left: bool
    side: int

    @classmethod
    def of(cls, aperture: Aperture, points: Sequence[SetOut]) -> "_Placed":
        spots = [(point.along, point.square) for point in points]
        is_left = signed_area(tuple(spots)) > 0  # measured from the right, along runs the other way
        seen = [complex(along if is_left else -along, square) for along, square in spots]
        first, second = (complex(*corner) for corner in aperture.outline[:2])
        turn = (seen[1] - seen[0]) / (second - first)
        count = len(seen)
        side = min(range(count), key=lambda index: seen[index].imag + seen[(index + 1) % count].imag)
        return cls(turn, seen[0] - turn * first, is_left, side)

    def seen(self, points: Outline) -> Outline:
        """Points of the aperture's frame on the bench: its edge along x, its end at x = 0."""
        found = [self.turn * complex(*point) + self.shift for point in points]
        return tuple((point.real, point.imag) for point in found)


def _ground(opening: Outline, place: _Placed | None) -> Outline:
    """The bench's corner and how far its edge and end are drawn: (end of the end line, corner, end of the edge line)."""
    if place is None:
        return ()
    reach = max(abs(x) for x, _ in opening), max(y for _, y in opening)
    past = BEYOND * max(reach)
    far = reach[0] + past if place.is_left else -reach[0] - past
    return ((0.0, reach[1] + past), (0.0, 0.0), (far, 0.0))


def _bench(labels: Labels, view: View, ground: Outline, place: _Placed) -> None:
    """The bench's edge and end, with strokes on the side where it is not."""
    top, corner, far = view.all(ground)
    out = -1.0 if place.is_left else 1.0
    for start, end, (dx, dy) in ((top, corner, (out, 0.6)), (corner, far, (-out, 1.0))):
        labels.drawing.line(start, end, "outline bench")
        labels.avoid((start, end), "outline")
        count = max(2, int(math.dist(start, end) // (2.2 * HATCH)))
        feet = [between(start, end, (step + 0.5) / count) for step in range(count)]
        labels.drawing.lines([((x, y), (x + dx * HATCH, y + dy * HATCH)) for x, y in feet], "hatch")
    for text, line, side in (("edge of the bench", (corner, far), -1), ("end of the bench", (top, corner), 0)):
        labels.put(
            ((text, SIZE * 0.85, False),), [beside(*line, HATCH + 3.0, shares=(0.8, 0.6, 0.5), side=side)], key=text
        )


def _opening(
    labels: Labels, view: View, aperture: Aperture, opening: Outline, rim: Outline, reliefs: Sequence[Point]
) -> None:
    """The line to cut, the rim within it, and the holes drilled at corners."""
    labels.drawing.outline(view.all(rim), "hidden rim")
    labels.drawing.outline(view.all(opening), "outline cut-line")
    labels.avoid(view.all(opening), "outline", closed=True)
    holes = [corner.relief.diameter for corner in aperture.corners if corner.relief]
    for centre, diameter in zip(reliefs, holes, strict=True):
        labels.drawing.circle(view.at(centre), max(diameter / 2 * view.scale, 2.0), "thin relief")


def _sides(labels: Labels, view: View, opening: Outline, display: Display, place: _Placed | None) -> None:
    """The length of each side, outside it; of the side by the bench's edge inside, for what is measured from the edge."""
    size = SIZE if len(opening) < CROWDED else SIZE * 0.88
    for index, start in enumerate(opening):
        after = (index + 1) % len(opening)
        ends = view.at(start), view.at(opening[after])
        figure = display.figure(math.dist(start, opening[after]))
        key = f"Side {index + 1}–{after + 1}: {figure}"
        is_by_edge = place is not None and index == place.side
        normal = outward(*ends[::-1]) if is_by_edge else outward(*ends)
        dimension(
            labels, Measure(*ends, figure, key, size=size), normal, offsets=(16.0, 30.0) if is_by_edge else OFFSETS
        )


def _taken(corner: Corner, display: Display) -> str:
    """What a corner of the opening takes, in a word or two."""
    if corner.relief:
        return f"hole ø{display.fine(corner.relief.diameter)}"
    return f"radius {display.fine(corner.radius)}" if corner.radius else "sharp"


def _diagonals(labels: Labels, view: View, aperture: Aperture, opening: Outline, display: Display) -> None:
    """The diagonals that prove the corners: drawn where there are few, else in the key."""
    for (one, other), length in zip(diagonals(aperture.rim), aperture.diagonals, strict=True):
        figure, key = display.figure(length), f"Diagonal {one + 1}–{other + 1}: {display.figure(length)}"
        if len(opening) > 6:
            labels.keyed.append((key, None))
            continue
        ends = view.at(opening[one]), view.at(opening[other])
        labels.drawing.line(*ends, "centre diagonal")
        labels.avoid(ends, "centre")
        labels.put(((figure, SIZE, False),), [beside(*ends, shares=(0.3, 0.7, 0.25, 0.75, 0.4, 0.6))], key=key)


def _from_bench(labels: Labels, view: View, opening: Outline, place: _Placed, display: Display) -> None:
    """From edge and end to the two corners by the edge that the side of the place begins and ends with."""
    count = len(opening)
    first, second = place.side, (place.side + 1) % count
    near = min((first, second), key=lambda index: abs(opening[index][0]))
    for index in (first, second):
        x, y = opening[index]
        foot, spot = view.at((x, 0.0)), view.at((x, y))
        sideways = (1.0, 0.0) if (index == near) is place.is_left else (-1.0, 0.0)  # under the opening
        figure = display.figure(y)
        measure = Measure(foot, spot, figure, f"Corner {index + 1}: {figure} from the edge")
        dimension(labels, measure, sideways, offsets=(16.0, 34.0))
    x, y = opening[near]
    figure = display.figure(abs(x))
    measure = Measure(view.at((0.0, y)), view.at((x, y)), figure, f"Corner {near + 1}: {figure} from the end")
    dimension(labels, measure, (0.0, 1.0), offsets=(12.0, 26.0))


def _keyed(aperture: Aperture, display: Display) -> list[tuple[str, str | None]]:
    found = ["Thick: cut here. Dashed: the rim as measured."]
    if any(corner.relieved for corner in aperture.corners):
        found.append("Circles: holes drilled first")
    if aperture.cover is not None:
        found.append(f"The lap lies on the bench by {display.fine(round(aperture.cover, 1))} at least")
    return [(text, None) for text in found]
