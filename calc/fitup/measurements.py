"""What is measured on the thing as built: the same list for the inspection table, the form and the fit."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from calc import Plan
from calc.distances import lengths_between, looseness
from calc.fitup.sizes import bottoms, has_walls, strip_reach, strip_word, wall_heights
from calc.records import Outline

MUCH_LOOSER = 1.5  # times as loose as from the best corner: to measure from corner 1 is worth less than that
Kind = Literal["side", "diagonal", "depth", "width"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A length to measure: its key, what the shop calls it, what it should be [mm].

    between: the corners that it runs between, by index, of a side or a diagonal. needed: whether the outline can't do
    without it; of the diagonals one may be left out, whichever.
    """

    key: str
    what: str
    kind: Kind
    nominal: float
    between: tuple[int, int] | None = None
    needed: bool = False


def wanted(plan: Plan) -> tuple[Wanted, ...]:
    """The lengths that prove a tray or a pan, in the order of the inspection table; none of loose parts.

    Of a rim its sides and diagonals, of a pan those over the tops outside; then depths or heights, a sump's sizes, and how far
    a lap, upstand or return reaches.
    """
    if plan.shell.is_loose:
        return ()
    return (
        *_outline(plan),
        *(_heights(plan) if has_walls(plan.shell) else _depths(plan)),
        *_sump(plan),
        *_strips(plan),
    )


def _outline(plan: Plan) -> Iterator[Wanted]:
    rim, outside = plan.sheet.shape.corners, " outside" if has_walls(plan.shell) else ""
    across = diagonals(rim)
    for kind, pairs in (("side", sides_of(len(rim))), ("diagonal", across)):
        for pair, length in zip(pairs, lengths_between(rim, pairs), strict=True):
            start, end = pair[0] + 1, pair[1] + 1
            what = f"{kind.capitalize()} {start}–{end}{outside}"
            needed = kind == "side" or pair != across[-1]
            yield Wanted(f"{kind}-{start}-{end}", what, "side" if kind == "side" else "diagonal", length, pair, needed)


def diagonals(rim: Outline) -> list[tuple[int, int]]:
    """The diagonals that fix a rim's corners: from one corner to each that is no neighbour, and last the one across it.

    They start at corner 1; where tape errors would grow much more from there, as on a rim of many corners they may, at the
    corner from where they grow least.

    >>> diagonals(((0, 0), (1, 0), (1, 1), (0, 1)))
    [(0, 2), (1, 3)]
    """
    count = len(rim)
    if count < 5:
        return _fan(count, 0)
    loose = [looseness(rim, sides_of(count) + _fan(count, corner)) for corner in range(count)]
    best = min(loose)
    return _fan(count, 0 if loose[0] <= MUCH_LOOSER * best else loose.index(best))


def sides_of(count: int) -> list[tuple[int, int]]:
    """The sides round so many corners."""
    return [(index, (index + 1) % count) for index in range(count)]


def _fan(count: int, corner: int) -> list[tuple[int, int]]:
    """The diagonals from one corner, and across it where there is any; each from its lower corner."""
    others = [(corner + ahead) % count for ahead in range(2, count - 1)]
    across = [((corner + 1) % count, (corner - 1) % count)] if count > 3 else []
    return [(min(pair), max(pair)) for pair in [*((corner, other) for other in others), *across]]


def _depths(plan: Plan) -> Iterator[Wanted]:
    """The depth below the rim, of a valley that of both its ends."""
    found = bottoms(plan)
    for number, (what, depth) in enumerate(depths(plan), 1):
        yield Wanted("depth" if len(found) == 1 else f"depth-{number}", what, "depth", depth)


def depths(plan: Plan) -> list[tuple[str, float]]:
    """The depth below the rim, of a valley that of both its ends [mm], with what each is called."""
    found = bottoms(plan)
    if len(found) == 1:
        return [("Depth below the rim", found[0].depth)]
    return [(f"Depth, {bottom.name[:1].lower()}{bottom.name[1:]}", bottom.depth) for bottom in found]


def _heights(plan: Plan) -> Iterator[Wanted]:
    """How high a pan's walls are outside, where the floor falls at both ends."""
    near, far = wall_heights(plan)
    if near == far:
        yield Wanted("height", "Height outside", "depth", near)
        return
    yield Wanted("height-4-1", "Height outside, side 4–1", "depth", near)
    yield Wanted("height-2-3", "Height outside, side 2–3", "depth", far)


def _sump(plan: Plan) -> Iterator[Wanted]:
    for name, size in plan.sheet.shape.sizes.items():
        if name.startswith("Sump"):
            yield Wanted(re.sub("[^a-z]+", "-", name.lower()), name, "width", size)


def _strips(plan: Plan) -> Iterator[Wanted]:
    word = strip_word(plan)
    if word:
        way = "high" if word == "upstand" else "wide"
        yield Wanted(word, f"{word.capitalize()} {way}", "width", strip_reach(plan))
