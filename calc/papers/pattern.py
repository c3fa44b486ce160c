"""A pattern: a blank as it is handed on at true size, to a person with scissors, to a laser, to a drawing program."""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from calc import Plan
from calc.blank import Blank, patterns
from calc.drawing.blank_drawing import alike_as
from calc.drawing.lettering import clean
from calc.records import Outline, Point

NUMBER_ROOM = 3.6  # [mm] about a corner's number that is kept clear of the edges
FARTHEST = 40.0  # [mm] from its corner that a number may stand and still be read as that corner's
NAME_LENGTH = 40  # characters of a blank's name that go into the name of a file


@dataclass(frozen=True, slots=True)
class Pattern:
    """A blank to cut, how many of it the job takes, and which other blanks are the same."""

    blank: Blank
    off: int
    alike: str

    @property
    def words(self) -> str:
        """What must stand on it, beside its name."""
        return "; ".join(part for part in (f"{self.off} off", self.alike, "wet face up") if part)


def patterns_of(plan: Plan) -> list[Pattern]:
    """Every blank that has to be cut to a shape of its own."""
    quantity = plan.sheet.quantity
    return [
        Pattern(blank, quantity * sum(each.count for each in (blank, *alike)), alike_as(alike))
        for blank, alike in patterns(plan.blanks)
    ]


def file_names(names: Sequence[str]) -> Iterator[str]:
    """Blanks' names as parts of file names: letters, digits and hyphens only, each different from the others.

    >>> list(file_names(["A", "a", "../etc/passwd", "Öse 2", ""]))
    ['A', 'a-2', 'etc-passwd', 'se-2', 'blank']
    """
    taken: set[str] = set()
    for name in names:
        plain = re.sub("[^A-Za-z0-9]+", "-", clean(name)).strip("-")[:NAME_LENGTH] or "blank"
        number, found = 1, plain
        while found.lower() in taken:  # some systems hold a.svg and A.svg for one
            number += 1
            found = f"{plain}-{number}"
        taken.add(found.lower())
        yield found


def corner_spots(blank: Blank) -> dict[int, Point]:
    """Where the number of each marked corner (from 1) stands: inside, halving it, near it and clear of edges and bends [mm]."""
    outline = blank.cut_outline
    body = shapely.Polygon(outline)
    lines = shapely.MultiLineString([body.exterior, *(fold.line for fold in blank.folds)])
    return {index + 1: _spot(body, lines, outline, index) for index in blank.marked_corners}


def _spot(body: shapely.Polygon, lines: shapely.MultiLineString, outline: Outline, index: int) -> Point:
    (x, y), before, after = outline[index], outline[index - 1], outline[(index + 1) % len(outline)]
    into, onward = math.atan2(before[1] - y, before[0] - x), math.atan2(after[1] - y, after[0] - x)
    inner = (into - onward) % (
        2 * math.pi
    )  # anticlockwise from the edge that leaves the corner to the one that comes in
    way = onward + inner / 2
    deep = min(NUMBER_ROOM / max(math.sin(min(inner, math.pi) / 2), 1e-6), FARTHEST)
    spots = [(x + math.cos(way) * reach, y + math.sin(way) * reach) for reach in (deep, deep * 1.5, deep / 2, deep / 4)]
    inside = [spot for spot in spots if body.contains(shapely.Point(spot))] or spots
    rooms = [lines.distance(shapely.Point(spot)) for spot in inside]
    return next(
        (spot for spot, room in zip(inside, rooms, strict=True) if room >= NUMBER_ROOM - 0.01),
        inside[rooms.index(max(rooms))],
    )
