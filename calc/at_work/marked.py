"""Which blank a step is done to, one in place of a spoiled copy among them, and where its copies lie on their sheets."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from calc import Plan
from calc.at_work.records import Table
from calc.blank import Blank, patterns
from calc.folding import fold_order
from calc.layout.job import in_place_of
from calc.papers.lines import lying_otherwise
from calc.papers.place_lines import bases_on, from_words
from calc.steps.again import BORE, Lost, key_of, lost_of
from calc.units import Display

DONE = {
    "mark": "Mark out",
    "cut": "Cut to its outline:",
    "hand-cut": "Cut by hand:",
    "drill": "Drill",
    "dress": "Dress every edge of",
    BORE: "Bore the outlet of",
}


@dataclass(frozen=True, slots=True)
class OnBlank:
    """A kind of work ("mark", "fold:F1") on a pattern and those alike; lost: the spoiled copy in whose place it is done."""

    work: str
    pattern: Blank
    alike: tuple[Blank, ...]
    lost: Lost | None = None

    @property
    def bend(self) -> str:
        """The bend in hand; empty where none is folded."""
        kind, _, bend = self.work.partition(":")
        return bend if kind == "fold" else ""

    @property
    def drawn(self) -> tuple[Blank, tuple[Blank, ...]]:
        """The pattern and those alike with how many of each are made; in place of a spoiled copy, one."""
        if self.lost is None:
            return self.pattern, self.alike
        if self.lost.blank == self.pattern:
            return replace(self.pattern, count=1), ()
        return replace(self.pattern, count=0), (replace(self.lost.blank, count=1),)

    def quantity(self, plan: Plan) -> int:
        """How many trays it is done for."""
        return plan.sheet.quantity if self.lost is None else 1

    def words(self, done: str, plan: Plan, more: str = "") -> str:
        """What is done, to what, and to how many of them."""
        if self.lost is not None:
            return f"{done} {self.lost.another_in_few_words}{more}"
        others = (f"{other.name} turned over" if other.mirrored else other.name for other in self.alike)
        off = self.quantity(plan) * sum(each.count for each in (self.pattern, *self.alike))
        return f"{done} {', '.join((self.pattern.name, *others))}{more}, {off} off"


def blank_of(plan: Plan, key: str) -> OnBlank | None:
    """What a step of this key is done to, where that is one pattern or one in place of a spoiled copy of it; else None."""
    for pattern, same in patterns(plan.blanks):
        alike = tuple(same)
        for work in (*DONE, *(f"fold:{bend.name}" for bend in fold_order(pattern))):
            if work != BORE and key == key_of(work, pattern.name):
                return OnBlank(work, pattern, alike)
            for lost in lost_of(plan.blanks, plan.layout, (pattern, *alike), work):
                if key == key_of(work, lost.of):
                    return OnBlank(work, pattern, alike, lost)
    return None


def lying_words(plan: Plan, on: OnBlank) -> Iterator[str]:
    """Which of the copies that are marked out lie turned over or mirrored on their sheets, and on which."""
    copies = _Copies(plan, on)
    for some in lying_otherwise(plan, on.pattern, on.alike):
        names = tuple(name for name in some.copies if name in copies)
        if names:
            yield replace(some, copies=names).words(plan.sheet.shape.face_side)


def place_tables(plan: Plan, on: OnBlank, display: Display) -> Iterator[Table]:
    """For each sheet that copies to mark out lie on: where both ends of their base go, which places all of a copy."""
    copies, drawn = _Copies(plan, on), {on.pattern.name, *(each.name for each in on.alike)}
    for number, used in enumerate(plan.layout.sheets, 1):
        rows = tuple(
            (f"{placed.name}: {corner}", *map(display.figure, end))
            for placed, ends in bases_on(used, plan.blanks)
            if placed.blank in drawn and placed.name in copies
            for corner, end in enumerate(ends, 1)
        )
        if rows:
            caption = f"On sheet {number}, in {display.called} from {from_words(used)}"
            yield Table(caption, ("Corner", "Along", "Square"), rows)


class _Copies:
    """The copies that a step is done on: the one in a spoiled one's place, else all that have no such step of their own."""

    def __init__(self, plan: Plan, on: OnBlank) -> None:
        alike = (on.pattern, *on.alike)
        self._in_place_of = in_place_of(plan.blanks, plan.layout)
        self._again = {lost.placed.name for lost in lost_of(plan.blanks, plan.layout, alike, on.work)}
        self._of = on.lost.placed.name if on.lost else None

    def __contains__(self, copy: str) -> bool:
        before = self._in_place_of.get(copy)
        return before == self._of if self._of else before not in self._again
