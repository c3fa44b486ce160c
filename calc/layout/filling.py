"""One sheet filled: many searches begin, the better half of them goes on, and so on until one is left."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from random import Random

from shapely import Polygon

from calc.layout.blocks import Block
from calc.layout.checking import are_apart
from calc.layout.contour import Nest
from calc.layout.cutting import Cutter, Piece, offcuts_of
from calc.layout.frames import Frame
from calc.layout.offcuts import value_left, worth_keeping
from calc.layout.parts import Part
from calc.layout.polygons import FLUSH, clip
from calc.layout.regions import Seat
from calc.layout.search import Search, closed
from calc.layout.tree import Node
from calc.records import Outline

SEED = 20_000
FEWEST_EACH = 600  # tries that a search is given before it is judged: no more searches begin than can have them
MOST_SEARCHES = 16
# so many blocks are tried before single parts, one of these in each try; the searches take turns at how much they lean on
# blocks: what helps with trays holds up a sheet of odd plates
LEANINGS = ((0, 0, 4, 16), (0,))
LEANINGS_ON_MANY = ((0,),)  # where there are more blanks than one sheet holds


@dataclass(frozen=True, slots=True)
class Filled:
    """A sheet with parts on it, cut up. Lines and points are in the strip's frame."""

    frame: Frame
    spots: tuple[Seat, ...]
    pieces: Piece
    offcuts: tuple[Outline, ...]
    counts: tuple[int, ...]  # copies of each part on it
    root: Node  # the tree that it was cut up along, in a strip as long as `goal`; without cuts where it is not for the saw
    goal: float

    @property
    def placed_area(self) -> float:
        """Of the hulls [mm2]."""
        return sum(spot.part.area for spot in self.spots)

    @property
    def goodness(self) -> tuple[float, float]:
        """First as much of the parts as can be, then what is left worth most."""
        return round(self.placed_area, 3), value_left(self.offcuts, self.frame.stock.area)


@dataclass(frozen=True, slots=True)
class Way:
    """A strip, and the parts and blocks as they may lie on it."""

    frame: Frame
    parts: Sequence[Part]
    blocks: Sequence[Block]


@dataclass(slots=True)
class Trial:
    """A search, and what it has come to."""

    frame: Frame
    search: Search
    filled: Filled | None = None


def fill(ways: Sequence[Way], counts: Sequence[int], tries: int, seed: int, least_offcut: float) -> tuple[Filled, int]:
    """Fill a sheet in the way, along or across, that leaves most of worth, in so many tries; and the tries it took."""
    trials = _trials(ways, counts, tries, seed)
    searches = [trial.search for trial in trials]
    rounds = len(trials).bit_length()
    for _ in range(rounds):
        for trial in trials:
            search = trial.search
            search.run(max(1, tries // rounds // len(trials)))
            trial.filled = _filled(trial, counts, least_offcut)
            if search.is_full() and search.found.missing_area > FLUSH:
                return trial.filled, sum(one.tried for one in searches)
        trials.sort(key=_goodness, reverse=True)
        del trials[(len(trials) + 1) // 2 :]
    assert trials[0].filled  # noqa: S101
    return trials[0].filled, sum(one.tried for one in searches)


def _trials(ways: Sequence[Way], counts: Sequence[int], tries: int, seed: int) -> list[Trial]:
    trials = []
    number = max(1, min(MOST_SEARCHES, tries // FEWEST_EACH) // len(ways))
    wanted = max(sum(part.area * counts[part.index] for part in way.parts) for way in ways)
    leanings = LEANINGS if wanted < ways[0].frame.stock.area else LEANINGS_ON_MANY
    for k in range(number):
        for way in ways:
            chance = Random(SEED + 1000 * seed + k)  # noqa: S311
            leaning = leanings[k % len(leanings)]
            search = Search([way.frame.strip], way.parts, counts, chance, way.blocks, leaning)
            trials.append(Trial(way.frame, search))
    return trials


def nested(ways: Sequence[Way], wanted: Sequence[int], orders: int, seed: int, least_offcut: float) -> Iterator[Filled]:
    """A sheet filled by outlines, not for the saw, in so many orders of the blanks; without cuts."""
    for way in ways:
        frame = way.frame
        for seats in Nest(frame, way.parts, wanted, seed).orders(orders):
            shapes = [(seat.pose, seat.part.item) for seat in seats]
            blanks = [Polygon(p.points(item.outline), [p.points(hole) for hole in item.holes]) for p, item in shapes]
            if not are_apart(blanks, frame.strip.kerf):
                continue  # an overlay of outlines went wrong, as they do where edges all but touch
            counts = [0] * len(wanted)
            for seat in seats:
                counts[seat.part.index] += 1
            used = max((seat.far for seat in seats), default=0.0)
            rest = clip(frame.sheet, (-1.0, 0.0, -used - frame.strip.kerf))
            offcuts = (rest,) if worth_keeping(rest, least_offcut) else ()
            sheet = Piece(frame.sheet, list(range(len(seats))))
            root = Node(frame.strip.region(frame.strip.length))
            spots = tuple(sorted(seats, key=_by_part))
            yield Filled(frame, spots, sheet, offcuts, tuple(counts), root, frame.strip.length)


def _by_part(seat: Seat) -> tuple[int, float, Outline]:
    return seat.part.index, round(seat.far, 6), seat.points


def _goodness(trial: Trial) -> tuple[float, float]:
    return trial.filled.goodness if trial.filled else (0.0, 0.0)


def _filled(trial: Trial, wanted: Sequence[int], least_offcut: float) -> Filled:
    found = trial.search.found
    return cut_up(trial.frame, found.roots[0], found.goal, wanted, least_offcut)


def cut_up(frame: Frame, root: Node, goal: float, wanted: Sequence[int], least_offcut: float) -> Filled:
    """A sheet cut up along a tree that was grown in its strip, as short as it will go."""
    tree, end = closed(root, goal, frame.strip)
    spots = sorted(tree.spots(), key=_by_part)
    counts = [0] * len(wanted)
    for spot in spots:
        counts[spot.part.index] += 1
    cutter = Cutter(spots, frame.strip.kerf, least_offcut)
    pieces = cutter.cut_up(frame.sheet, frame.on_whole_sheet(tree, end, spots))
    return Filled(frame, tuple(spots), pieces, tuple(offcuts_of(pieces, least_offcut)), tuple(counts), root, goal)
