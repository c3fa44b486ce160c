"""A pattern: a blank as it is handed on at true size, to a person with scissors, to a laser, to a drawing program."""

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import shapely

from calc import Plan
from calc.blank import Blank, patterns
from calc.drawing.blank_drawing import alike_as
from calc.drawing.lettering import clean
from calc.records import Outline, Point

NUMBER_ROOM = 3.6  # [mm] about a corner's number that is kept clear of the edges
NUMBERS_APART = 6.2  # [mm] from the middle of one to the middle of the next: two digits wide
FARTHEST = 40.0  # [mm] from its corner that a number may stand and still be read as that corner's
NAME_LENGTH = 40  # characters of a blank's name that go into the name of a file


@dataclass(frozen=True, slots=True)
class Pattern:
    """A blank to cut, how many of it the job takes, which other blanks are the same, and what its upper side is called.

    holes: what its holes are called, where that is not what they are for.
    """

    blank: Blank
    off: int
    alike: str
    face_side: str = "wet face"
    holes: str = ""

    @property
    def words(self) -> str:
        """What must stand on it, beside its name."""
        return "; ".join(part for part in (f"{self.off} off", self.alike, f"{self.face_side} up") if part)


def patterns_of(plan: Plan) -> list[Pattern]:
    """Every blank that has to be cut to a shape of its own."""
    quantity, side = plan.sheet.quantity, plan.sheet.shape.face_side
    return [
        Pattern(blank, quantity * sum(each.count for each in (blank, *alike)), alike_as(alike), side)
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
    """Where the number of each marked corner (from 1) stands [mm].

    Inside its corner, as near as it is clear of edges, bends, reliefs and the numbers before it; where there is no such
    place, where it is clearest.
    """
    outline, found = blank.cut_outline, dict[int, Point]()
    body = shapely.Polygon(outline)
    reliefs = [shapely.Point(hole.centre).buffer(hole.diameter / 2) for hole in blank.holes if hole.purpose == "relief"]
    ink = shapely.union_all([body.exterior, *(shapely.LineString(fold.line) for fold in blank.folds), *reliefs])
    for index in blank.marked_corners:
        spots = [spot for spot in _spots(outline, index) if body.contains(shapely.Point(spot))] or [outline[index]]
        rooms = [_room(spot, ink, found) for spot in spots]
        good = next((place for place, room in enumerate(rooms) if room > 0.999), rooms.index(max(rooms)))
        found[index + 1] = spots[good]
    return found


def _room(spot: Point, ink: shapely.Geometry, others: Mapping[int, Point]) -> float:
    """How clear a number would stand of lines and of other numbers, as a share of what it needs."""
    from_others = min((math.dist(spot, other) for other in others.values()), default=math.inf)
    return min(float(shapely.distance(ink, shapely.Point(spot))) / NUMBER_ROOM, from_others / NUMBERS_APART)


def _spots(outline: Outline, index: int) -> list[Point]:
    """Places about a corner's inside, the nearest first: on the line that halves it, and leaning to either side."""
    (x, y), before, after = outline[index], outline[index - 1], outline[(index + 1) % len(outline)]
    into, onward = math.atan2(before[1] - y, before[0] - x), math.atan2(after[1] - y, after[0] - x)
    half = (
        (into - onward) % (2 * math.pi) / 2
    )  # anticlockwise from the edge that leaves the corner to the line halving it
    found = []
    for lean in (0.0, 0.35, -0.35, 0.65, -0.65):
        deep = NUMBER_ROOM / max(math.sin(min(half * (1 - abs(lean)), math.pi / 2)), 1e-6)
        found += [
            (min(deep * share, FARTHEST), onward + half * (1 + lean)) for share in (1.0, 1.4, 1.9, 2.6, 0.5, 0.25)
        ]
    return [(x + math.cos(way) * reach, y + math.sin(way) * reach) for reach, way in sorted(found)]
