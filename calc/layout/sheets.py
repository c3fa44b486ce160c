"""Which sheets are opened, and what goes on each."""

from collections.abc import Iterator, Sequence
from math import pi

from calc.layout.blocks import Block, Joiner
from calc.layout.choosing import cheapest_kind
from calc.layout.filling import Filled, Way, fill, nested
from calc.layout.fitting import fitted
from calc.layout.frames import Frame, Making, frame_of, metal_of
from calc.layout.parts import Part, part_from_item
from calc.layout.result import Item, Piece, Stock

TRIES = {"quick": 60, "normal": 2400, "long": 30_000}
JOINTS = {"quick": 150, "normal": 24_000, "long": 400_000}  # looks at two edges laid together
MOST_BLOCKS = {"quick": 6, "normal": 250, "long": 2500}
USUAL_LOAD = 24  # blanks on one sheet that the tries are meant for; more of them get fewer tries
MORE_FOR_FEW = 1.5  # times the tries where there are few blanks
SHEETS_AT_FULL_TRIES = 3
FEWEST_TRIES = 8
ORDERS = {"quick": 1, "normal": 6, "long": 60}
MOST_NESTED = 60  # blanks; of more than these the straight-cut layout is as good as any that time allows


class Shop:
    """The parts still wanted and the sheets still to be had."""

    def __init__(self, items: Sequence[Item], stock: Sequence[Stock | Piece], making: Making) -> None:
        self.making = making
        self.stock = [metal_of(one) for one in stock]
        self.left = [one.count for one in self.stock]
        self.counts = [item.count for item in items]
        self.tries = float(SHEETS_AT_FULL_TRIES * TRIES[making.effort])
        self.parts = {across: [self._part(i, item, across) for i, item in enumerate(items)] for across in (False, True)}
        self._fitting: dict[tuple[int, bool], list[Part | None]] = {}
        self._frames: dict[tuple[int, bool], Frame | None] = {}
        self._blocks: dict[tuple[int, bool], list[Block]] = {}
        self._trials: dict[tuple[int, tuple[int, ...]], Filled] = {}

    def _part(self, index: int, item: Item, across: bool) -> Part:
        return part_from_item(
            index,
            item,
            may_turn_over=self.making.may_turn_over,
            grain=self.making.grain,
            along=-0.5 * pi if across else 0.0,
        )

    # -- what fits -----------------------------------------------------------------------------------------------

    def frame(self, kind: int, across: bool) -> Frame | None:
        key = (kind, across)
        if key not in self._frames:
            self._frames[key] = frame_of(self.stock[kind], across, self.making)
        return self._frames[key]

    def fitting(self, kind: int, across: bool) -> list[Part | None]:
        """The parts as they may lie on an empty sheet of this kind, None for one that fits in no way."""
        key = (kind, across)
        if key not in self._fitting:
            frame = self.frame(kind, across)
            self._fitting[key] = [fitted(part, frame.strip) if frame else None for part in self.parts[across]]
        return self._fitting[key]

    def blocks(self, kind: int, across: bool) -> list[Block]:
        """Parts joined that may lie on an empty sheet of this kind, and that the parts still wanted can make."""
        key = (kind, across and self.making.grain)  # but for the grain a block may lie any way round
        frame = self.frame(*key)
        if key not in self._blocks:
            parts = [p for p, n in zip(self.fitting(*key), self.counts, strict=True) if p and n]
            effort, strip = self.making.effort, frame.strip if frame else None
            self._blocks[key] = []
            if strip:
                joiner = Joiner(
                    parts, self.counts, strip.region(strip.length), kerf=strip.kerf, grain=self.making.grain
                )
                self._blocks[key] = joiner.blocks(JOINTS[effort], MOST_BLOCKS[effort])
        return [b for b in self._blocks[key] if all(self.counts[index] >= n for index, n in b.needs.items())]

    # -- filling -------------------------------------------------------------------------------------------------

    def fill(self) -> Iterator[Filled]:
        """Open sheets until every part that fits one is placed, or there are no more."""
        while any(self.counts):
            kind = cheapest_kind(self)
            if kind is None:
                return
            filled = self._fill_one(kind, self._tries_for(kind))
            if not any(filled.counts):  # parts fit it one by one, yet no cuts free any of them there
                self.left[kind] = 0
                continue
            while True:
                yield filled
                self.take(kind, filled)
                # many alike: the same sheet again for as long as it can be used to the full
                if not any(self.counts) or self.left[kind] == 0 or not self._covers(filled):
                    break

    def take(self, kind: int, filled: Filled) -> None:
        """A sheet of this kind and the parts on it are no longer to be had or wanted."""
        self.counts = [have - used for have, used in zip(self.counts, filled.counts, strict=True)]
        left = self.left[kind]
        if left is not None:
            self.left[kind] = left - 1

    def _covers(self, filled: Filled) -> bool:
        return all(have >= used for have, used in zip(self.counts, filled.counts, strict=True))

    def any_fits(self, kind: int) -> bool:
        """Whether any part still wanted fits an empty sheet of this kind."""
        return any(
            p and n for across in (False, True) for p, n in zip(self.fitting(kind, across), self.counts, strict=True)
        )

    def filled_on_trial(self, kind: int) -> Filled:
        """A sheet of this kind filled in as few tries as can be; nothing is taken."""
        key = (kind, tuple(self.counts))
        if key not in self._trials:
            self._trials[key] = self._fill_one(kind, FEWEST_TRIES)
        return self._trials[key]

    def _tries_for(self, kind: int) -> int:
        """The tries for one sheet: fewer where it holds many parts, and fewer once several have been filled."""
        wanted = [(p, n) for p, n in zip(self.fitting(kind, False), self.counts, strict=True) if p and n]
        number = sum(n for _, n in wanted)
        mean = sum(p.area * n for p, n in wanted) / max(1, number)
        load = min(float(number), self.stock[kind].area / mean if mean else 1.0)
        few = MORE_FOR_FEW if self.making.effort != "quick" else 1.0
        full = TRIES[self.making.effort] * min(few, USUAL_LOAD / max(1.0, load))
        tries = min(full, few * self.tries / SHEETS_AT_FULL_TRIES)
        self.tries -= tries * max(1.0, load / USUAL_LOAD)
        self.tries = max(0.0, self.tries)
        return max(FEWEST_TRIES, int(tries))

    def _fill_one(self, kind: int, tries: int) -> Filled:
        ways = []
        for across in (False, True):
            frame = self.frame(kind, across)
            parts = [p for p, n in zip(self.fitting(kind, across), self.counts, strict=True) if p and n]
            if frame and parts:
                ways.append(Way(frame, parts, self.blocks(kind, across)))
        seed, least = self.making.seed, self.making.least_offcut
        filled = fill(ways, self.counts, tries, seed, least)
        orders = 0 if self.making.by_saw or tries == FEWEST_TRIES else self._orders(ways[0].parts)
        return max([filled, *nested(ways, self.counts, orders, seed, least)], key=_goodness) if orders else filled

    def _orders(self, parts: Sequence[Part]) -> int:
        """How many orders of the blanks are tried by their outlines: none where that takes too long for what it gives."""
        number = sum(self.counts[part.index] for part in parts)
        hollow = any(part.item.holes or part.hollow for part in parts)
        if number > MOST_NESTED or (self.making.effort == "quick" and not hollow):
            return 0
        return max(1, int(ORDERS[self.making.effort] * min(1.0, USUAL_LOAD / number)))


def _goodness(filled: Filled) -> tuple[float, float]:
    return filled.goodness
