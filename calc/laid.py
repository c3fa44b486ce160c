"""What a layout is: sheets, the blanks on them, the cuts in order, the pieces worth keeping.

Frame of a sheet: a corner at (0, 0), its length along x, its width along y; lengths [mm], angles [degrees].
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import dist

import shapely

from calc.records import Outline, Point

NAMED_IN_KEY = re.compile(r"[^\s:+|]+\.[0-9]+")  # the copies in the key of a cut
ON_EDGE = 1e-6  # [mm] nearer than this to the sheet's edge is on it


@dataclass(frozen=True, slots=True)
class Spoiled:
    """What is in place of a spoiled copy: the work that was done on that and is done again on this, by the names that
    `calc.frozen.WORK` reads, and the number of this as a copy of the same blank."""

    again: tuple[str, ...]
    by: int


@dataclass(frozen=True, slots=True)
class Placed:
    """One copy of a blank on its sheet.

    A point (x, y) of the blank's own outline lies on the sheet at ``at + R(angle) (x, y)``, or, where the blank is
    `turned_over` (about its own x axis, before it is turned), at ``at + R(angle) (x, -y)``; R turns anticlockwise,
    `angle` [degrees], 0 to 360.

    `outline` [mm] runs anticlockwise on the sheet and begins with the blank's own corner 0. Turned over, the order of
    the corners is the reverse: corner k of the blank is ``outline[-k]``.

    `fits` is False for a copy on a sheet that was cut into for an earlier plan, and that this plan has no use for.

    `spoiled` is there for such a copy that was cut and came to nothing; None for any other.
    """

    blank: str
    copy: int
    outline: Outline
    turned_over: bool
    at: Point
    angle: float
    fits: bool = True
    spoiled: Spoiled | None = None

    @property
    def name(self) -> str:
        """The copy, such as "A.1"."""
        return f"{self.blank}.{self.copy}"

    @property
    def edges(self) -> tuple[tuple[Point, Point], ...]:
        """Where each edge of the blank's own outline lies on the sheet, from its corner k to the next."""
        corners = (self.outline[0], *self.outline[:0:-1]) if self.turned_over else self.outline
        return tuple(zip(corners, corners[1:] + corners[:1], strict=True))


@dataclass(frozen=True, slots=True)
class Cut:
    """A straight cut from edge to edge of the piece it is made in; the line is the middle of the kerf.

    `frees` names the copies ("A.1") that this cut leaves with every edge done. `finishes` names edges done by this cut:
    "A.1:2" is the edge of copy 1 of blank A from corner 2 to corner 3 of the blank's own outline. `parts` are the copies
    still in the pieces to the left and to the right of the cut, looking from `start` to `end`. `length` [mm]. `made` is
    True for a cut that was made already when the layout was. `key` is the one it went by before new blanks were laid out
    beside it, which changed what it parts and finishes; None for a cut that goes by these.
    """

    start: Point = field(metadata={"key": "from"})
    end: Point = field(metadata={"key": "to"})
    frees: tuple[str, ...]
    finishes: tuple[str, ...]
    parts: tuple[tuple[str, ...], tuple[str, ...]]
    length: float
    made: bool = False
    key: str | None = None

    @property
    def edged(self) -> tuple[str, ...]:
        """The copy of each edge that it finishes."""
        return tuple(edge.rpartition(":")[0] for edge in self.finishes)


@dataclass(frozen=True, slots=True)
class Offcut:
    """A left piece worth keeping, convex, anticlockwise on the sheet [mm]; `away` once it is on the rack, no more with the
    sheet."""

    outline: Outline
    away: bool = False


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """One sheet: the blanks on it, the cuts in the order made, and the pieces worth keeping.

    `outline` [mm] is that of a piece which is no whole rectangle, convex and anticlockwise; length and width are then those
    of the rectangle round it, which begins at (0, 0).
    """

    stock: str
    length: float
    width: float
    placed: tuple[Placed, ...]
    cuts: tuple[Cut, ...]
    offcuts: tuple[Offcut, ...]
    outline: Outline | None = None

    @property
    def metal(self) -> Outline:
        """The sheet's own edge [mm], anticlockwise."""
        return self.outline or ((0.0, 0.0), (self.length, 0.0), (self.length, self.width), (0.0, self.width))

    @property
    def edges(self) -> tuple[tuple[Point, Point], ...]:
        """The sides of the sheet's own edge."""
        return tuple(zip(self.metal, self.metal[1:] + self.metal[:1], strict=True))

    def is_on_edge(self, start: Point, end: Point) -> bool:
        """Whether a line lies on the sheet's own edge."""
        return any(all(_is_between(point, *edge) for point in (start, end)) for edge in self.edges)

    @property
    def area(self) -> float:
        """[mm2]"""
        return float(shapely.Polygon(self.metal).area) if self.outline else self.length * self.width

    @property
    def fitting(self) -> tuple[Placed, ...]:
        """The copies that this plan has a use for."""
        return tuple(placed for placed in self.placed if placed.fits)

    @property
    def spoiled(self) -> tuple[Placed, ...]:
        """The copies that were spoiled."""
        return tuple(placed for placed in self.placed if placed.spoiled is not None)

    def is_cut(self, name: str) -> bool:
        """Whether a copy ("A.1") is cut out, or a cut was made along any edge of it; cut to outlines, all of them are."""
        made = [cut for cut in self.cuts if cut.made]
        return not self.cuts or any(name in cut.frees or name in cut.edged for cut in made)

    @property
    def no_use(self) -> frozenset[str]:
        """The copies ("A.1") that this plan has no use for."""
        return frozenset(placed.name for placed in self.placed if not placed.fits)

    def needs(self, cut: Cut) -> bool:
        """Whether a cut is still work: all are, but for one that only parts or finishes copies the plan has no use for."""
        return _is_work(cut, self.no_use)

    @property
    def cut_list(self) -> tuple[tuple[Cut, bool, tuple[str, ...]], ...]:
        """Each cut in the order made, whether it is still work, and the copies with a use that it frees."""
        no_use = self.no_use
        return tuple(
            (cut, _is_work(cut, no_use), tuple(copy for copy in cut.frees if copy not in no_use)) for cut in self.cuts
        )


def _is_between(point: Point, start: Point, end: Point) -> bool:
    """Whether a point lies on the line between two others."""
    (x, y), (ax, ay), (bx, by) = point, start, end
    length = dist(start, end)
    off = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length
    along = ((bx - ax) * (x - ax) + (by - ay) * (y - ay)) / length
    return abs(off) < ON_EDGE and -ON_EDGE < along < length + ON_EDGE


def _is_work(cut: Cut, no_use: frozenset[str]) -> bool:
    if not no_use:
        return True
    left, right = cut.parts
    return bool({*left, *right, *cut.frees, *cut.edged} - no_use)


def cut_key(cut: Cut) -> str:
    """The key of a cut: the edges it finishes; failing those, the blanks that it parts."""
    if cut.key is not None:
        return cut.key
    if cut.finishes:
        return "cut:" + "+".join(sorted(cut.finishes))
    sides = sorted(("+".join(sorted(side)) or "waste") for side in cut.parts)
    return "cut:" + "|".join(sides)


def numbered(keys: Sequence[str]) -> list[str]:
    """The keys, each that was there before with a number that makes it one of its own.

    >>> numbered(["a", "b", "a", "a"])
    ['a', 'b', 'a#2', 'a#3']
    """
    taken: dict[str, None] = {}  # in the order they were taken
    for key in keys:
        count, own = 1, key
        while own in taken:
            count += 1
            own = f"{key}#{count}"
        taken[own] = None
    return list(taken)


@dataclass(frozen=True, slots=True)
class Layout:
    """Sheets in the order they were opened, the copies that fit no stock, and the blanks' share of the sheets' area."""

    sheets: tuple[SheetLayout, ...]
    unplaced: tuple[str, ...]
    share_used: float
