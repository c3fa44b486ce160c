"""The drawings of a plan, each made when a page asks for it. Only what calc.drawing made is marked safe to show."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from django.utils.safestring import SafeString, mark_safe

from calc import Plan, drawing
from calc.blank import Blank, patterns
from calc.laid import SheetLayout
from calc.papers.marking_lines import arc_words, rounding_words
from calc.units import Display

# Drawn narrow and shown larger where there is room, so that a phone still has figures that can be read.
HALF, WHOLE = 440.0, 640.0


def thumbnail(stored: str) -> SafeString:
    """The tray as a revision keeps it for lists: `planning.store` put there what calc.drawing made."""
    return mark_safe(stored)


@dataclass(frozen=True)
class ToMarkOut:
    """A blank that is marked out so many times, those that are the same as it, its drawing, and how it is once folded.

    folded: None where it has no folds.
    """

    blank: Blank
    alike: tuple[Blank, ...]
    count: int
    drawing: SafeString
    arcs: str
    folded: SafeString | None = None


@dataclass(frozen=True)
class Drawings:
    """A plan's drawings, dimensioned as its sheet says, and the sums that stand beside them."""

    plan: Plan

    @cached_property
    def display(self) -> Display:
        return self.plan.sheet.making.display

    @property
    def mass_each(self) -> float:
        """What one tray weighs [kg]."""
        return self.plan.takeoff.net_mass / self.plan.sheet.quantity

    @property
    def in_a_set(self) -> int:
        """How many flat parts a set holds."""
        return sum(blank.count for blank in self.plan.blanks)

    @property
    def minutes(self) -> float:
        """The standard time of the whole job [min]."""
        return sum(step.minutes for step in self.plan.steps)

    @property
    def tray(self) -> SafeString:
        return mark_safe(drawing.tray_view(self.plan, self.display, width=HALF))

    @property
    def seen_from_above(self) -> SafeString:
        return mark_safe(drawing.plan_view(self.plan, self.display, width=HALF))

    @property
    def welds(self) -> SafeString:
        return mark_safe(drawing.weld_map(self.plan, self.display, width=HALF))

    @property
    def blanks(self) -> Iterator[ToMarkOut]:
        """Each blank to mark out with its drawing."""
        quantity = self.plan.sheet.quantity
        for blank, alike in patterns(self.plan.blanks):
            drawn = drawing.blank_drawing(self.plan, blank, self.display, alike=alike, quantity=quantity, width=HALF)
            folded = mark_safe(drawing.folded_view(self.plan, blank, self.display)) if blank.folds else None
            count = quantity * sum(same.count for same in (blank, *alike))
            yield ToMarkOut(blank, alike, count, mark_safe(drawn), arc_words(blank, self.display), folded)

    @property
    def rounding(self) -> str:
        """What reading off the shop's rule does to the fit."""
        return rounding_words(self.plan, self.display)

    @property
    def sheets(self) -> Iterator[tuple[SheetLayout, SafeString]]:
        """Each sheet with its cuts, and its drawing."""
        for index, used in enumerate(self.plan.layout.sheets):
            yield used, mark_safe(drawing.sheet_drawing(self.plan, index, self.display, width=WHOLE))
