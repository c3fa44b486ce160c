"""Where each blank lies on its sheet: both ends of the base that it is marked out from place all of it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc import Plan
from calc.alike import corner_matches
from calc.blank import Blank, patterns
from calc.laid import Placed, SheetLayout
from calc.records import Point
from calc.units import Display


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """A copy and where corners 1 and 2 of the blank that it is marked out by go: along and square."""

    copy: str
    first: tuple[str, str]
    second: tuple[str, str]


def bases_on(used: SheetLayout, blanks: Sequence[Blank]) -> Iterator[tuple[Placed, tuple[Point, Point]]]:
    """Each copy of these blanks on a sheet, and where both ends of its base lie there [mm]."""
    matches = {
        each.name: corner_matches(pattern, each) for pattern, alike in patterns(blanks) for each in (pattern, *alike)
    }
    for placed in used.fitting:
        if placed.blank in matches:
            one, other = (placed.edges[matches[placed.blank][corner]][0] for corner in (0, 1))
            yield placed, (one, other)


def from_words(used: SheetLayout) -> str:
    """Where places on a sheet are taken from."""
    return "its lower left corner" if used.outline is None else "the lower left corner of the rectangle round it"


def place_lines(plan: Plan, index: int, display: Display) -> list[PlaceLine]:
    """The copies on sheet `index`, but for those that were marked out for an earlier plan and have no use."""
    return [
        PlaceLine(placed.name, *((display.figure(along), display.figure(square)) for along, square in ends))
        for placed, ends in bases_on(plan.layout.sheets[index], plan.blanks)
    ]
