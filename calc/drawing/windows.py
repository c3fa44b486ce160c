"""Which parts of a sheet are drawn how large: the whole sheet, and details where its blanks would be too small to letter."""

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from calc.drawing.places import between
from calc.drawing.view import View, fit
from calc.laid import SheetLayout
from calc.records import Outline, Point

HIGHEST, HIGHEST_STRIPS = 0.8, 1.2  # of the width: a sheet with one detail at most, and with several
MARGIN, INNER = 40.0, 32.0
LEGIBLE = 100.0  # a blank of this size [units, root of its area] has room for its name and the numbers of its cuts
WORTH = 1.35  # a detail is drawn where it is this much larger
BETWEEN = 14.0  # room between the whole sheet and its detail
ASIDE, ABOVE = 0.36, 0.55  # share of the width for a whole sheet beside its detail, and over it
MOST_STRIPS = 4


@dataclass(frozen=True, slots=True)
class Window:
    """A rectangle of the sheet [mm]: what a view shows."""

    low: Point
    high: Point

    @property
    def corners(self) -> Outline:
        """Anticlockwise from the lower left."""
        (x1, y1), (x2, y2) = self.low, self.high
        return ((x1, y1), (x2, y1), (x2, y2), (x1, y2))

    @property
    def edges(self) -> tuple[tuple[Point, Point], ...]:
        """The four edges."""
        return tuple(zip(self.corners, self.corners[1:] + self.corners[:1], strict=True))

    def holds(self, point: Point) -> bool:
        """Whether a point is within the rectangle."""
        return all(self.low[axis] <= point[axis] <= self.high[axis] for axis in (0, 1))

    def clip(self, start: Point, end: Point) -> tuple[Point, Point] | None:
        """The part of a line within the rectangle, None where there is none (Liang and Barsky).

        >>> Window((0, 0), (10, 10)).clip((-5, 5), (5, 5))
        ((0.0, 5.0), (5.0, 5.0))
        """
        first, last = 0.0, 1.0
        for axis in (0, 1):
            step, low, high = end[axis] - start[axis], self.low[axis] - start[axis], self.high[axis] - start[axis]
            if step == 0:
                if low > 0 or high < 0:
                    return None
                continue
            enter, leave = sorted((low / step, high / step))
            first, last = max(first, enter), min(last, leave)
        return (between(start, end, first), between(start, end, last)) if last - first > 1e-9 else None

    def clip_outline(self, outline: Outline) -> Outline:
        """The part of a convex outline within the rectangle (Sutherland and Hodgman); empty where there is none."""
        kept = list(outline)
        limits = ((0, self.low[0], 1), (0, self.high[0], -1), (1, self.low[1], 1), (1, self.high[1], -1))
        for axis, limit, way in limits:
            before, kept = kept, []
            for start, end in zip(before, before[1:] + before[:1], strict=True):
                one, other = way * (start[axis] - limit), way * (end[axis] - limit)
                if one >= 0:
                    kept.append(start)
                if one * other < 0:
                    kept.append(between(start, end, one / (one - other)))
        return tuple(kept) if len(kept) > 2 else ()


@dataclass(frozen=True, slots=True)
class Detail:
    """A part of the sheet and the view that shows it."""

    window: Window
    view: View


@dataclass(frozen=True, slots=True)
class Arrangement:
    """The whole sheet's view, the details beside it or below it (none where it is large enough), and the height of all."""

    whole: View
    details: tuple[Detail, ...]
    height: float


def arrange(used: SheetLayout, width: float, *, abreast: bool = False) -> Arrangement:
    """How to draw a sheet on this width: the simplest way in which its blanks are legible, else the largest.

    abreast: a tall part may be cut across, blanks and all, and drawn side by side: where numbers have to keep well apart.
    """
    sheet = Window((0.0, 0.0), (used.length, used.width))
    whole = fit(sheet.corners, width, width * HIGHEST, MARGIN)
    alone = Arrangement(whole, (), whole.height)
    part = taken(used)
    if part is None:
        return alone
    size = _piece_size(used)
    least = WORTH * whole.scale
    ways = [
        way
        for way in (*_one(sheet, part, width), *_strips(sheet, part, width, abreast=abreast))
        if way.details[0].view.scale > least
    ]
    if size * whole.scale >= LEGIBLE or not ways:
        return alone
    for way in ways:
        if size * way.details[0].view.scale >= LEGIBLE:
            return way
    return max(ways, key=lambda way: way.details[0].view.scale)


def _piece_size(used: SheetLayout) -> float:
    """The size of a usual blank [mm]: the root of the mean area."""
    areas = [_area(placed.outline) for placed in used.placed]
    return math.sqrt(sum(areas) / len(areas))


def _area(outline: Outline) -> float:
    ends = outline[1:] + outline[:1]
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(outline, ends, strict=True))) / 2


def taken(used: SheetLayout) -> Window | None:
    """The part of the sheet that the blanks take, with a little round it, to the sheet's edge where that is near."""
    corners = [corner for placed in used.placed for corner in placed.outline]
    if not corners:
        return None
    lows = [min(corner[axis] for corner in corners) for axis in (0, 1)]
    highs = [max(corner[axis] for corner in corners) for axis in (0, 1)]
    room = 0.04 * max(high - low for high, low in zip(highs, lows, strict=True))
    low = [0.0 if value < 3 * room else value - room for value in lows]
    sizes = (used.length, used.width)
    high = [size if size - value < 3 * room else value + room for value, size in zip(highs, sizes, strict=True)]
    return Window((low[0], low[1]), (high[0], high[1]))


def _one(sheet: Window, part: Window, width: float) -> tuple[Arrangement, Arrangement]:
    """One detail: at the left of the whole sheet, or below it; the larger first."""
    aside = fit(sheet.corners, width * ASIDE, width * HIGHEST, INNER)
    beside = fit(part.corners, width * (1 - ASIDE) - BETWEEN, width * HIGHEST, INNER)
    left = Arrangement(
        replace(aside, left=aside.left + beside.width + BETWEEN),
        (Detail(part, beside),),
        max(aside.height, beside.height),
    )
    (below,) = _stack(sheet, (part,), width, HIGHEST)
    return (left, below) if beside.scale >= below.details[0].view.scale else (below, left)


def _strips(sheet: Window, part: Window, width: float, *, abreast: bool) -> list[Arrangement]:
    """Details, the part cut across its length, the fewest first: one below the other, or of a tall part side by side."""
    is_tall = abreast and part.high[1] - part.low[1] > part.high[0] - part.low[0]
    found = []
    for count in range(2, MOST_STRIPS + 1):
        if is_tall:
            found.append(_abreast(sheet, _cut_across(part, count, 1)[::-1], width))
        else:
            found += _stack(sheet, _cut_across(part, count, 0), width, HIGHEST_STRIPS)
    return found


def _cut_across(part: Window, count: int, axis: int) -> tuple[Window, ...]:
    """The part in so many equal windows along an axis (0 for x), from its low end."""
    step = (part.high[axis] - part.low[axis]) / count
    ends = [part.low[axis] + step * index for index in range(count + 1)]
    if axis == 0:
        return tuple(Window((low, part.low[1]), (high, part.high[1])) for low, high in pairwise(ends))
    return tuple(Window((part.low[0], low), (part.high[0], high)) for low, high in pairwise(ends))


def _above(sheet: Window, width: float, highest: float) -> View:
    """The whole sheet over its details, in the middle of the width."""
    whole = fit(sheet.corners, width * ABOVE, width * highest * 0.4, INNER)
    return replace(whole, left=whole.left + width * (1 - ABOVE) / 2)


def _abreast(sheet: Window, windows: tuple[Window, ...], width: float) -> Arrangement:
    """The whole sheet and details below it side by side, the first at the left."""
    whole, room = _above(sheet, width, HIGHEST_STRIPS), width / len(windows)
    details = []
    for place, window in enumerate(windows):
        view = fit(window.corners, room, width * HIGHEST_STRIPS - whole.height, INNER)
        moved = replace(view, left=view.left + room * place, top=view.top + whole.height)
        details.append(Detail(window, moved))
    return Arrangement(whole, tuple(details), whole.height + max(detail.view.height for detail in details))


def _stack(sheet: Window, windows: tuple[Window, ...], width: float, highest: float) -> list[Arrangement]:
    """The whole sheet and details below it, all as large as the height allows."""
    whole = _above(sheet, width, highest)
    top, details = whole.height, []
    for window in windows:
        view = fit(window.corners, width, (width * highest - whole.height) / len(windows), INNER)
        details.append(Detail(window, replace(view, top=view.top + top)))
        top += view.height
    return [Arrangement(whole, tuple(details), top)]
