"""Which number a copy gets: those on sheets that were cut into keep theirs, and what is in place of a spoiled one has the
number told with that, so that it is the same copy wherever later plans lay it out."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import count

from calc.laid import NAMED_IN_KEY, Cut, SheetLayout
from calc.sheet import JobSheet


@dataclass(slots=True)
class Numbers:
    """The numbers still to be given to new copies, by blank, in the order in which they are laid out.

    after: the highest that was given before; first: those of copies in place of spoiled ones that are still to be laid out;
    kept: all that were told with spoiled ones, which no other copy gets.
    """

    after: Mapping[str, int]
    first: Mapping[str, Sequence[int]]
    kept: Mapping[str, set[int]]
    given: Counter[str] = field(default_factory=Counter)
    _numbers: dict[str, list[int]] = field(default_factory=dict)
    _more: dict[str, Iterator[int]] = field(default_factory=dict)

    @classmethod
    def of(cls, sheet: JobSheet, spoiled_now: Mapping[str, Sequence[int]]) -> "Numbers":
        """spoiled_now: by blank, the numbers told with spoiled copies in whose place there is one now."""
        there = {placed.name for used in sheet.frozen for placed in used.placed}
        first = {
            blank: sorted(number for number in numbers if f"{blank}.{number}" not in there)
            for blank, numbers in spoiled_now.items()
        }
        kept: dict[str, set[int]] = {}
        for placed in (placed for used in sheet.frozen for placed in used.placed):
            if placed.spoiled is not None:
                kept.setdefault(placed.blank, set()).add(placed.spoiled.by)
        return cls(_highest(sheet), first, kept)

    def number(self, blank: str, place: int) -> int:
        """The number of the copy at this place, from 1, among those not given yet."""
        if blank not in self._numbers:
            kept = self.kept.get(blank, set())
            self._numbers[blank] = list(self.first.get(blank, ()))
            self._more[blank] = (each for each in count(self.after.get(blank, 0) + 1) if each not in kept)
        numbers, wanted = self._numbers[blank], self.given[blank] + place
        while len(numbers) < wanted:
            numbers.append(next(self._more[blank]))
        return numbers[wanted - 1]

    def renumbered(self, used: SheetLayout) -> SheetLayout:
        """A sheet whose copies are numbered from 1 with those that they get, wherever they are named."""
        placed = tuple(replace(one, copy=self.number(one.blank, one.copy)) for one in used.placed)
        return replace(used, placed=placed, cuts=tuple(self._renumbered_cut(cut) for cut in used.cuts))

    def renamed(self, names: Sequence[str]) -> tuple[str, ...]:
        """The same of copies ("A.1") or their edges ("A.1:2")."""
        moved = []
        for name in names:
            blank, _, rest = name.rpartition(".")
            copy, colon, edge = rest.partition(":")
            moved.append(f"{blank}.{self.number(blank, int(copy))}{colon}{edge}")
        return tuple(moved)

    def _renumbered_cut(self, cut: Cut) -> Cut:
        left, right = cut.parts
        return replace(
            cut,
            frees=self.renamed(cut.frees),
            finishes=self.renamed(cut.finishes),
            parts=(self.renamed(left), self.renamed(right)),
        )


def _highest(sheet: JobSheet) -> dict[str, int]:
    """The highest copy of each blank on frozen sheets or elsewhere, or that a cut of theirs still goes by; one told with a
    spoiled copy counts once it is there."""
    names = {placed.name for used in sheet.frozen for placed in used.placed}
    names |= {name for entry in sheet.elsewhere for name in entry.names}
    names |= {name for used in sheet.frozen for cut in used.cuts for name in NAMED_IN_KEY.findall(cut.key or "")}
    return highest(names)


def highest(names: set[str]) -> dict[str, int]:
    """By blank, the highest number among copies ("A.1").

    >>> highest({"A.1", "A.12", "B.2"}) == {"A": 12, "B": 2}
    True
    """
    found: dict[str, int] = {}
    for name in names:
        blank, _, copy = name.rpartition(".")
        found[blank] = max(found.get(blank, 0), int(copy))
    return found
