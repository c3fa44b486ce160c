"""Which sheets are opened, and what goes on each."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from decimal import Decimal
from math import pi

from calc.layout.blocks import Block, Joiner
from calc.layout.choosing import cheapest_kind
from calc.layout.effort import FEWEST_TRIES, JOINTS, MOST_BLOCKS, ORDERS, USUAL_LOAD, Budget
from calc.layout.filling import Filled, Way, fill, nested
from calc.layout.fitting import fitted
from calc.layout.frames import Frame, Making, frame_of, metal_of
from calc.layout.parts import Part, part_from_item
from calc.layout.result import Item, Piece, Stock
from calc.layout.sharing import share_out

MOST_NESTED = 60  # blanks; of more than these the straight-cut layout is as good as any that time allows
MOST_SHARED = 120  # blanks on the sheets that are taken together


class Shop:
    """The parts still wanted and the sheets still to be had."""

    def __init__(self, items: Sequence[Item], stock: Sequence[Stock | Piece], making: Making) -> None:
        self.given = items, stock
        self.making = making
        self.stock = [metal_of(one) for one in stock]
        self.left = [one.count for one in self.stock]
        self.counts = [item.count for item in items]
        self.budget = Budget(making.effort)
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

    def fill(self) -> list[Filled]:
        """Sheets with every part on them that fits one, or as many as there are sheets for."""
        sheets = list(self._one_by_one())
        if len(sheets) < 2:
            return sheets
        if self.making.by_saw:
            return self._shared_out(sheets)
        sawn = Shop(*self.given, replace(self.making, by_saw=True)).fill()
        return max(sheets, sawn, key=_thrift)

    def _one_by_one(self) -> Iterator[Filled]:
        while any(self.counts):
            kind = cheapest_kind(self)
            if kind is None:
                return
            load, sheets = self._load(kind)
            filled, tried = self._fill_one(kind, self.budget.tries_for(load, sheets))
            self.budget.spend(tried, load)
            if not any(filled.counts):  # parts fit it one by one, yet no cuts free any of them there
                self.left[kind] = 0
                continue
            while True:
                yield filled
                self.take(kind, filled)
                # many alike: the same sheet again for as long as it can be used to the full
                if not any(self.counts) or self.left[kind] == 0 or not self._covers(filled):
                    break

    def _shared_out(self, sheets: list[Filled]) -> list[Filled]:
        """The emptiest sheets of the kind that was opened last taken together; the rest stay, before them."""
        frame = sheets[-1].frame
        kind = self.stock.index(frame.stock)
        parts = [part for part in self.fitting(kind, frame.across) if part]
        together: dict[int, Filled] = {}
        for k, sheet in sorted(enumerate(sheets), key=_load_of):
            number = sum(len(one.spots) for one in [*together.values(), sheet])
            if number <= MOST_SHARED and _lies_alike(sheet, frame, parts):
                together[k] = sheet
        unplaced = [n if any(p.index == i for p in parts) else 0 for i, n in enumerate(self.counts)]
        tries = self.budget.tries_to_share()
        seed, least = self.making.seed, self.making.least_offcut
        shared = share_out(list(together.values()), parts, unplaced, tries, seed, least)
        for i in range(len(self.counts)):
            self.counts[i] += sum(s.counts[i] for s in together.values()) - sum(s.counts[i] for s in shared)
        return [*(sheet for k, sheet in enumerate(sheets) if k not in together), *shared]

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
            self._trials[key] = self._fill_one(kind, FEWEST_TRIES)[0]
        return self._trials[key]

    def _load(self, kind: int) -> tuple[float, float]:
        """How many parts one sheet of this kind may hold, and how many sheets the parts still wanted would fill."""
        wanted = [(p, n) for p, n in zip(self.fitting(kind, False), self.counts, strict=True) if p and n]
        number, total = sum(n for _, n in wanted), sum(p.area * n for p, n in wanted)
        sheets = total / self.stock[kind].area
        return number / max(1.0, sheets), sheets

    def _fill_one(self, kind: int, tries: int) -> tuple[Filled, int]:
        """A sheet filled in so many tries, and how many it took."""
        ways = []
        for across in (False, True):
            frame = self.frame(kind, across)
            parts = [p for p, n in zip(self.fitting(kind, across), self.counts, strict=True) if p and n]
            if frame and parts:
                ways.append(Way(frame, parts, self.blocks(kind, across)))
        seed, least = self.making.seed, self.making.least_offcut
        filled, tried = fill(ways, self.counts, tries, seed, least)
        orders = 0 if self.making.by_saw or tries == FEWEST_TRIES else self._orders(ways[0].parts)
        by_outline = nested(ways, self.counts, orders, seed, least) if orders else ()
        return max([filled, *by_outline], key=_goodness), tried

    def _orders(self, parts: Sequence[Part]) -> int:
        """How many orders of the blanks are tried by their outlines: none where that takes too long for what it gives."""
        number = sum(self.counts[part.index] for part in parts)
        hollow = any(part.item.holes or part.hollow for part in parts)
        if number > MOST_NESTED or (self.making.effort == "quick" and not hollow):
            return 0
        return max(1, int(ORDERS[self.making.effort] * min(1.0, USUAL_LOAD / number)))


def _goodness(filled: Filled) -> tuple[float, float]:
    return filled.goodness


def _load_of(numbered: tuple[int, Filled]) -> float:
    sheet = numbered[1]
    return sheet.placed_area / sheet.frame.stock.area


def _lies_alike(sheet: Filled, frame: Frame, parts: Sequence[Part]) -> bool:
    """Whether what is on the sheet may lie on the frame's as well, in the same ways."""
    held = any(part.turns for part in parts)  # these lie differently on strips along the sheet and across it
    known = {part.index for part in parts}
    return (
        sheet.frame.stock == frame.stock
        and (sheet.frame.across == frame.across or not held)
        and all(index in known for index, number in enumerate(sheet.counts) if number)
    )


def _thrift(sheets: Sequence[Filled]) -> tuple[float, Decimal, float, float]:
    """All that is wanted placed, for the least money, on the least metal, and most of worth left."""
    return (
        round(sum(sheet.placed_area for sheet in sheets), 3),
        -sum((sheet.frame.stock.price for sheet in sheets), Decimal(0)),
        -sum(sheet.frame.stock.area for sheet in sheets),
        sum(sheet.goodness[1] for sheet in sheets),
    )
