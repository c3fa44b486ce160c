"""Which sheets are opened, and what goes on each."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import pi
from random import Random

from calc.layout.blocks import Joiner
from calc.layout.cutting import ON_CUT, Cutter, Piece, offcuts_of
from calc.layout.offcuts import value_left
from calc.layout.parts import Part, part_from_item
from calc.layout.polygons import FLUSH, Line, rectangle, turned, turned_over
from calc.layout.regions import Region, Seat
from calc.layout.result import Item, Stock
from calc.layout.search import Filling, Search, Strip
from calc.layout.tree import SMALLEST_WASTE, Node, carvings
from calc.records import Outline, Point

TRIES = {"quick": 90, "normal": 2400, "long": 30_000}
SCOUTS = 6  # one part in so many of the tries goes to finding out which strip direction is better
USUAL_LOAD = 24  # blanks on one sheet that the tries are meant for; more of them get fewer tries
SHEETS_AT_FULL_TRIES = 3
FEWEST_TRIES = 8
ANGLES_TRIED = 720  # of a part that stands on no edge of an empty sheet
ANGLES_KEPT = 8
SEED = 20_000
JOINTS=10
MOST_BLOCKS=200


@dataclass(frozen=True, slots=True)
class Making:
    """How the parts are cut; lengths in mm."""

    kerf: float
    edge_trim: float
    may_turn_over: bool
    grain: bool
    least_offcut: float
    effort: str
    seed: int

    @property
    def margin(self) -> float:
        """What is kept clear at the sheet's edge: the trim, and if there is one then at least the kerf to cut it."""
        return max(self.edge_trim, self.kerf, SMALLEST_WASTE) if self.edge_trim > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Frame:
    """A sheet seen as a strip: along its length, or (`across`) turned a quarter so that the strip fills it sideways."""

    stock: Stock
    across: bool
    margin: float
    strip: Strip

    @property
    def sheet(self) -> Outline:
        """The real sheet, in the strip's frame."""
        m = self.margin
        return rectangle(-m, -m, self.strip.length + m, self.strip.width + m)

    def sheet_from_strip(self, point: Point) -> Point:
        x, y = point
        if self.across:
            return self.margin + self.strip.width - y, self.margin + x
        return self.margin + x, self.margin + y

    @property
    def turn(self) -> float:
        """The strip's frame seen from the sheet [radians]."""
        return 0.5 * pi if self.across else 0.0


@dataclass(frozen=True, slots=True)
class Filled:
    """A sheet with parts on it, cut up. Lines and points are in the strip's frame."""

    frame: Frame
    spots: tuple[Seat, ...]
    pieces: Piece
    offcuts: tuple[Outline, ...]
    counts: tuple[int, ...]  # copies of each part on it

    @property
    def placed_area(self) -> float:
        return sum(spot.part.area for spot in self.spots)

    @property
    def goodness(self) -> tuple[float, float]:
        """First as much of the parts as can be, then what is left worth most."""
        stock = self.frame.stock
        return round(self.placed_area, 3), value_left(self.offcuts, stock.length * stock.width)


def frame_of(stock: Stock, across: bool, making: Making) -> Frame:
    """The strip inside the margin of a sheet; it may have no room at all."""
    margin = making.margin
    length, width = stock.length - 2 * margin, stock.width - 2 * margin
    if across:
        length, width = width, length
    return Frame(stock, across, margin, Strip(length, width, margin, making.kerf))


class Shop:
    """The parts still wanted and the sheets still to be had."""

    def __init__(self, items: Sequence[Item], stock: Sequence[Stock], making: Making) -> None:
        self.making = making
        self.stock = list(stock)
        self.left = [s.count for s in stock]
        self.counts = [item.count for item in items]
        self.tries = float(SHEETS_AT_FULL_TRIES * TRIES[making.effort])
        self.parts = {across: [self._part(i, item, across) for i, item in enumerate(items)] for across in (False, True)}
        self._fitting: dict[tuple[int, bool], list[Part | None]] = {}

    def _part(self, index: int, item: Item, across: bool) -> Part:
        return part_from_item(
            index,
            item,
            may_turn_over=self.making.may_turn_over,
            grain=self.making.grain,
            along=-0.5 * pi if across else 0.0,
        )

    # -- what fits -----------------------------------------------------------------------------------------------

    def fitting(self, kind: int, across: bool) -> list[Part | None]:
        """The parts as they may lie on an empty sheet of this kind, None for one that fits in no way."""
        key = (kind, across)
        if key not in self._fitting:
            frame = frame_of(self.stock[kind], across, self.making)
            self._fitting[key] = [self._fitted(part, frame.strip) for part in self.parts[across]]
        return self._fitting[key]

    def _fitted(self, part: Part, strip: Strip) -> Part | None:
        if min(strip.length, strip.width) <= FLUSH:
            return None
        chance = Random(SEED)  # noqa: S311
        for candidate in _ways_to_lie(part, strip):
            region = strip.region(strip.length)
            spots = region.spots_for(candidate)
            if any(carvings(region, spot, strip.kerf, 0.0, chance) for spot in spots):
                return candidate
        return None

    # -- filling -------------------------------------------------------------------------------------------------

    def fill(self) -> Iterator[Filled]:
        """Open sheets until every part that fits one is placed, or there are no more."""
        while any(self.counts):
            kind = self._cheapest_kind()
            if kind is None:
                return
            filled = self._fill_one(kind, self._tries_for(kind))
            while True:
                yield filled
                self._take(kind, filled)
                # many alike: the same sheet again for as long as it can be used to the full
                if not any(self.counts) or self.left[kind] == 0 or not self._covers(filled):
                    break

    def _take(self, kind: int, filled: Filled) -> None:
        self.counts = [have - used for have, used in zip(self.counts, filled.counts, strict=True)]
        left = self.left[kind]
        if left is not None:
            self.left[kind] = left - 1

    def _covers(self, filled: Filled) -> bool:
        return all(have >= used for have, used in zip(self.counts, filled.counts, strict=True))

    def _cheapest_kind(self) -> int | None:
        """The kind whose metal costs least for the area of parts that go on it; at one price what is on the rack first."""
        kinds = [k for k in range(len(self.stock)) if self.left[k] != 0 and self._any_fits(k)]
        if len(kinds) < 2:
            return kinds[0] if kinds else None
        return min(kinds, key=self._price_of_use)

    def _any_fits(self, kind: int) -> bool:
        return any(
            p and n for across in (False, True) for p, n in zip(self.fitting(kind, across), self.counts, strict=True)
        )

    def _price_of_use(self, kind: int) -> tuple[Decimal, bool, float, int]:
        stock = self.stock[kind]
        filled = self._fill_one(kind, FEWEST_TRIES)
        placed = filled.placed_area
        price = Decimal(stock.price) / Decimal(placed)
        return price, stock.count is None, stock.length * stock.width / placed, kind

    def _tries_for(self, kind: int) -> int:
        """The tries for one sheet: fewer where it holds many parts, and fewer once several have been filled."""
        stock = self.stock[kind]
        wanted = [(p, n) for p, n in zip(self.fitting(kind, False), self.counts, strict=True) if p and n]
        number = sum(n for _, n in wanted)
        mean = sum(p.area * n for p, n in wanted) / max(1, number)
        load = min(float(number), stock.length * stock.width / mean if mean else 1.0)
        full = TRIES[self.making.effort] * min(1.0, USUAL_LOAD / max(1.0, load))
        tries = min(full, self.tries / SHEETS_AT_FULL_TRIES)
        self.tries -= tries * max(1.0, load / USUAL_LOAD)
        self.tries = max(0.0, self.tries)
        return max(FEWEST_TRIES, int(tries))

    def _fill_one(self, kind: int, tries: int) -> Filled:
        """Both strip directions are tried, and the one that leaves more of worth gets the rest of the tries."""
        searches = [found for across in (False, True) if (found := self._search(kind, across))]
        first = [(frame, search, self._filled(frame, search.run(tries // SCOUTS))) for frame, search in searches]
        frame, search, _ = max(first, key=lambda trial: trial[2].goodness)
        return self._filled(frame, search.run(tries - tries // SCOUTS * len(first)))

    def _search(self, kind: int, across: bool) -> tuple[Frame, Search] | None:
        wanted = [p for p, n in zip(self.fitting(kind, across), self.counts, strict=True) if p and n]
        if not wanted:
            return None
        frame = frame_of(self.stock[kind], across, self.making)
        joiner = Joiner(wanted, self.counts, frame.strip.region(frame.strip.length), kerf=frame.strip.kerf, grain=self.making.grain)
        tries = TRIES[self.making.effort]
        blocks = joiner.blocks(tries * JOINTS, min(MOST_BLOCKS, tries))
        return frame, Search(frame.strip, wanted, self.counts, Random(SEED + self.making.seed), blocks)  # noqa: S311

    def _filled(self, frame: Frame, filling: Filling) -> Filled:
        tree, goal = filling.closed(frame.strip)
        spots = sorted(tree.spots(), key=lambda s: (s.part.index, round(s.far, 6), s.points))
        counts = [0] * len(self.counts)
        for spot in spots:
            counts[spot.part.index] += 1
        cutter = Cutter(spots, self.making.kerf, self.making.least_offcut)
        pieces = cutter.cut_up(frame.sheet, _on_whole_sheet(tree, goal, frame, spots))
        offcuts = offcuts_of(pieces, self.making.least_offcut)
        return Filled(frame, tuple(spots), pieces, tuple(offcuts), tuple(counts))


def _on_whole_sheet(tree: Node, goal: float, frame: Frame, spots: Sequence[Seat]) -> Node:
    """The tree with the cut across at the used length before it, then those margins cut off that an edge lies on."""
    strip = frame.strip
    whole = Node(Region(frame.sheet))
    ends: list[Line] = [(1.0, 0.0, goal)]
    sides: list[Line] = [(0.0, -1.0, 0.0), (0.0, 1.0, strip.width), (-1.0, 0.0, 0.0)]
    if goal >= strip.length:
        sides, ends = sides + ends, []
    if frame.margin:
        ends += [line for line in sides if any(_lies_on(spot.points, line) for spot in spots)]
    whole.cuts = tuple(ends)
    whole.wastes = (None,) * len(ends)
    whole.core = tree
    return whole


def _lies_on(points: Outline, line: Line) -> bool:
    """Whether an edge of the outline lies on the line."""
    nx, ny, c = line
    on = [abs(nx * x + ny * y - c) < ON_CUT for x, y in points]
    return any(a and b for a, b in zip(on, on[1:] + on[:1], strict=True))


def _ways_to_lie(part: Part, strip: Strip) -> Iterator[Part]:
    """The part as it is; failing that without its dullest corners, or at angles at which no edge lies on the sheet's."""
    yield part
    yield from part.blunter(strip.kerf)
    if part.turns:
        return
    ways = []
    for over in part.faces:
        hull = turned_over(part.hull) if over else part.hull
        for k in range(ANGLES_TRIED):
            angle = 2 * pi * k / ANGLES_TRIED
            xs, ys = zip(*turned(hull, angle), strict=True)
            if max(xs) - min(xs) <= strip.length and max(ys) - min(ys) <= strip.width:
                ways.append((over, angle))
    if ways:
        step = -(-len(ways) // ANGLES_KEPT)
        yield part.held_to(ways[step // 2 :: step])
