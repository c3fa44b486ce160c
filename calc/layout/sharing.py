"""Several sheets taken together: their blanks laid out on one sheet less, else on the last as short as it will go."""

from collections.abc import Sequence
from random import Random

from calc.layout.filling import Filled, cut_up
from calc.layout.parts import Part
from calc.layout.polygons import FLUSH
from calc.layout.search import Filling, Search
from calc.layout.tree import Node, regrown

SEED = 40_000
TRIES_FOR_ONE_LESS = 0.6  # share of the tries; the rest shortens the last sheet


def share_out(
    sheets: Sequence[Filled],
    parts: Sequence[Part],
    unplaced: Sequence[int],
    tries: int,
    seed: int,
    least_offcut: float,
) -> list[Filled]:
    """The blanks of these sheets on as many or fewer of them, the emptiest last, in about so many tries.

    Every sheet must have been cut up along a tree, and hold parts from the list only. `unplaced` counts the copies of each
    part that no sheet had room for.
    """
    sheets = sorted(sheets, key=_load, reverse=True)
    wanted = [n + sum(sheet.counts[i] for sheet in sheets) for i, n in enumerate(unplaced)]
    sharing = _Sharing(parts, wanted, Random(SEED + seed), least_offcut)  # noqa: S311
    left = tries
    while len(sheets) > 1 and sharing.may_do_with_one_less(sheets):
        fewer, tried = sharing.on_one_less(sheets, int(tries * TRIES_FOR_ONE_LESS))
        left -= tried
        if fewer is None:
            break
        sheets = fewer
    return sharing.shortened(sheets, max(0, left))


class _Sharing:
    def __init__(self, parts: Sequence[Part], wanted: Sequence[int], chance: Random, least_offcut: float) -> None:
        self.parts = parts
        self.wanted = wanted
        self.chance = chance
        self.least_offcut = least_offcut

    def may_do_with_one_less(self, sheets: Sequence[Filled]) -> bool:
        """Whether the last of these sheets may be spared: all that is wanted is on them, and not too much for the rest."""
        room = sum(sheet.frame.strip.region(sheet.frame.strip.length).area for sheet in sheets[:-1])
        wanted = sum(part.area * self.wanted[part.index] for part in self.parts)
        placed = sum(sheet.placed_area for sheet in sheets)
        return wanted - placed <= FLUSH * wanted and wanted <= room

    def on_one_less(self, sheets: Sequence[Filled], tries: int) -> tuple[list[Filled] | None, int]:
        """The blanks on all of these sheets but the last, None where they were not all placed; and the tries it took."""
        kept = sheets[:-1]
        search = self._search(kept)
        found = search.run(tries, until_all_on=True)
        return (self._cut_up(kept, found) if found.missing_area <= FLUSH else None), search.tried

    def shortened(self, sheets: list[Filled], tries: int) -> list[Filled]:
        """The blanks on these sheets, the last of them used as short as it will go."""
        if len(sheets) < 2:
            return sheets
        fresh = self._cut_up(sheets, self._search(sheets).run(tries))
        return max([sheets, fresh], key=_goodness)

    def _search(self, sheets: Sequence[Filled]) -> Search:
        strips = [sheet.frame.strip for sheet in sheets]
        search = Search(strips, self.parts, self.wanted, self.chance)
        search.start_from([_whole(sheet) for sheet in sheets])
        return search

    def _cut_up(self, sheets: Sequence[Filled], found: Filling) -> list[Filled]:
        return [
            cut_up(sheet.frame, root, sheet.frame.strip.length, self.wanted, self.least_offcut)
            for sheet, root in zip(sheets[:-1], found.roots, strict=False)
        ] + [cut_up(sheets[-1].frame, found.roots[-1], found.goal, self.wanted, self.least_offcut)]


def _whole(sheet: Filled) -> Node:
    """The sheet's tree in all of its strip; where that is not to be had, only what can be grown again."""
    strip = sheet.frame.strip
    if sheet.goal >= strip.length:
        return sheet.root.copy()
    return regrown(sheet.root, strip.region(strip.length), strip.kerf, 0.0)


def _load(sheet: Filled) -> float:
    return sheet.placed_area / sheet.frame.stock.area


def _goodness(sheets: Sequence[Filled]) -> tuple[float, float]:
    return round(sum(sheet.placed_area for sheet in sheets), 3), sum(sheet.goodness[1] for sheet in sheets)
