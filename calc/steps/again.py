"""Work done again where a blank was spoiled: which steps were done on a copy, and those that another in its place needs.

What was done on the spoiled copy stays as it was done, under its own key. What has to be done again has a key that names the
copy that was spoiled ("mark:A.1:again"), so that it stays the same step wherever the one in its place is laid out.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc.blank import Blank, patterns
from calc.folding import fold_order
from calc.laid import Layout, Placed
from calc.layout.job import in_place_of, spoiled_now

BORE = "bore"
PLAIN_WORK = ("mark", "cut", "drill", BORE, "hand-cut", "dress")  # that is one step for a pattern, in the order done


@dataclass(frozen=True, slots=True)
class Lost:
    """A spoiled copy, its blank, and the pattern that this is marked out by."""

    placed: Placed
    blank: Blank
    pattern: Blank

    @property
    def of(self) -> str:
        """What keys of the work done again name: "A.1:again"."""
        return again(self.placed.name)

    @property
    def another(self) -> str:
        """What is made again, in words that don't change with where it lies."""
        return f"{self.another_in_few_words}, which is spoiled"

    @property
    def another_in_few_words(self) -> str:
        """The same as a heading has it: "another B (as A) in place of B.1"."""
        as_it = f" (as {self.pattern.name}{' turned over' if self.blank.mirrored else ''})"
        as_pattern = "" if self.blank.name == self.pattern.name else as_it
        return f"another {self.blank.name}{as_pattern} in place of {self.placed.name}"


def again(copy: str) -> str:
    """How keys name what is in place of a spoiled copy.

    >>> again("A.1")
    'A.1:again'
    """
    return f"{copy}:again"


def key_of(work: str, of: str) -> str:
    """The key of a step: the work, and the pattern ("A") or the spoiled copy ("A.1:again") that it is done to or for.

    >>> key_of("mark", "A"), key_of("fold:F1", "A"), key_of("fold:F1", "A.1:again"), key_of("bore", "E.1:again")
    ('mark:A', 'fold:A:F1', 'fold:A.1:again:F1', 'outlet:bore:E.1:again')
    """
    if work == BORE:
        return f"outlet:bore:{of}" if ":" in of else "outlet:bore"
    kind, colon, bend = work.partition(":")
    return f"{kind}:{of}{colon}{bend}"


def lost_of(blanks: Sequence[Blank], layout: Layout, alike: Sequence[Blank], work: str) -> Iterator[Lost]:
    """The spoiled copies of these blanks, the pattern first, in whose place this work is done again; by name and number."""
    by_name = {blank.name: blank for blank in alike}
    lost = [placed for placed in spoiled_now(blanks, layout) if placed.blank in by_name]
    for placed in sorted(lost, key=lambda one: (list(by_name).index(one.blank), one.copy)):
        if placed.spoiled is not None and work in placed.spoiled.again:
            yield Lost(placed, by_name[placed.blank], alike[0])


def keys_on(blanks: Sequence[Blank], layout: Layout, copy: str) -> dict[str, tuple[str, ...]]:
    """By the work, the keys that the step may have by which it is done on this copy ("A.1"): one in place of a spoiled copy
    has steps of its own for what is done again, and of the others those of its pattern."""
    name = copy.rpartition(".")[0]
    of = [pattern for pattern, same in patterns(blanks) if name in {pattern.name, *(blank.name for blank in same)}]
    before = in_place_of(blanks, layout).get(copy)
    return {
        work: tuple(key_of(work, thing) for thing in ([again(before)] if before else []) + [pattern.name])
        for pattern in of
        for work in (*PLAIN_WORK, *(f"fold:{bend.name}" for bend in fold_order(pattern)))
    }
