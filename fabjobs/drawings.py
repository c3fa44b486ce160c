"""The drawings of a plan, each made when a page asks for it. Only what calc.drawing made is marked safe to show."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from django.utils.safestring import SafeString, mark_safe

from calc import Plan, drawing
from calc.at_work.marked import blank_of
from calc.at_work.welds import weld_of
from calc.blank import Blank, patterns
from calc.cut_list import cuts_in_hand
from calc.drawing import Touch
from calc.drawing.cut_drawing import ACROSS
from calc.laid import SheetLayout
from calc.papers import cautions, drain_lines, run_lines, stiffness_lines, weld_lines
from calc.papers.cut_lines import CutLine, cut_lines
from calc.papers.lines import lying_lines
from calc.papers.marking_lines import arc_words, rounding_words
from calc.papers.place_lines import PlaceLine, from_words, place_lines
from calc.steps import cut_keys
from calc.stiffness import Stiffness
from calc.units import Display
from calc.welding import WeldPlan

# Drawn narrow and shown larger where there is room, so that a phone still has figures that can be read.
HALF, WHOLE, PHONE = 440.0, 640.0, 300.0

BY_PLAN = ("measure:", "check:", "outlet:", "aperture:")  # work that goes by the lengths of the rim


def thumbnail(stored: str) -> SafeString:
    """The tray as a revision keeps it for lists: `planning.store` put there what calc.drawing made."""
    return mark_safe(stored)


@dataclass(frozen=True)
class ToMarkOut:
    """A blank that is marked out so many times, those that are the same as it, its drawing, and how it is once folded.

    lying: what to mind where copies don't lie as the drawing shows them. folded: None where it has no folds.
    """

    blank: Blank
    alike: tuple[Blank, ...]
    count: int
    drawing: SafeString
    arcs: str
    lying: list[str]
    folded: SafeString | None = None


@dataclass(frozen=True)
class ShownSheet:
    """A sheet, its drawing, its cut list, and where its blanks are marked out. in_hand: whether the cut list tells the pieces
    in hand, not only places on the sheet."""

    used: SheetLayout
    drawing: SafeString
    cuts: list[CutLine]
    places: list[PlaceLine]

    @property
    def in_hand(self) -> bool:
        return any(cut.in_hand for cut in self.cuts)

    @property
    def places_from(self) -> str:
        return from_words(self.used)

    @property
    def size_told(self) -> bool:
        """Whether its size is to be told beside its label: not where the label is that size."""
        return self.used.stock.replace(" ", "") != f"{self.used.length:g}x{self.used.width:g}"


@dataclass(frozen=True)
class ShownWelding:
    """How it is welded: the maps, and the tables that stand on the traveller too. rim_runs: None where no rim is welded."""

    plan: Plan
    welds: WeldPlan
    display: Display
    touches: Mapping[str, Touch]

    @property
    def map(self) -> SafeString:
        return mark_safe(drawing.weld_map(self.plan, self.display, width=HALF, touches=self.touches))

    @property
    def runs(self) -> SafeString:
        return mark_safe(drawing.run_map(self.plan, self.welds, width=WHOLE))

    @cached_property
    def rim_runs(self) -> SafeString | None:
        drawn = drawing.rim_run_map(self.plan, self.welds, width=WHOLE)
        return mark_safe(drawn) if drawn else None

    @property
    def backing(self) -> tuple[str, ...]:
        return cautions.backing(self.plan)

    @property
    def rules(self) -> list[str]:
        return weld_lines.rules_of(self.welds)

    @property
    def settings(self) -> list[weld_lines.Shared]:
        return weld_lines.settings_of(self.welds, self.display)

    @property
    def sides(self) -> list[weld_lines.Shared]:
        return weld_lines.sides_of(self.welds)

    @property
    def lines(self) -> list[weld_lines.WeldLine]:
        return weld_lines.weld_lines(self.welds, self.display)

    @property
    def sums(self) -> list[tuple[str, str]]:
        return weld_lines.sums_of(self.plan, self.welds)

    @property
    def shrinkage(self) -> str:
        return weld_lines.shrinkage_words(self.welds, self.display)

    @property
    def warmth(self) -> str:
        return weld_lines.warmth_words(self.plan, self.welds)

    @property
    def errors(self) -> str:
        return weld_lines.budget_words(self.plan.budget, self.display) if self.plan.budget else ""

    @property
    def tacks(self) -> list[run_lines.TackLine]:
        return run_lines.tack_lines(self.plan, self.welds, self.display)

    @property
    def order(self) -> list[run_lines.RunLine]:
        return run_lines.run_lines(self.plan, self.welds, self.display)


@dataclass(frozen=True)
class ShownDrainage:
    """How it drains in use: the plot, and the lines that stand on the traveller too."""

    plan: Plan
    display: Display

    @property
    def plot(self) -> SafeString:
        return mark_safe(drawing.capacity(self.plan, self.display))

    @property
    def lines(self) -> list[drain_lines.DrainLine]:
        return drain_lines.drain_lines(self.plan, self.display)

    @property
    def tilts(self) -> list[drain_lines.TiltLine]:
        return drain_lines.tilt_lines(self.plan, self.display)

    @property
    def tilted(self) -> str:
        return drain_lines.tilt_words(self.plan, self.display)

    @property
    def drop(self) -> str:
        return self.display.length(self.plan.sheet.duty.out_of_level)

    @property
    def is_pumped(self) -> bool:
        return self.plan.sheet.duty.pump_flow is not None

    @property
    def falls(self) -> list[tuple[str, str, str]]:
        return drain_lines.fall_lines(self.plan)

    @property
    def rests_on(self) -> str:
        return drain_lines.rests_on(self.plan)


@dataclass(frozen=True)
class ShownStiffness:
    """How stiff it is: the verdict, the table that stands on the traveller too, what it is reckoned with."""

    plan: Plan
    stiffness: Stiffness
    display: Display

    @property
    def is_enough(self) -> bool:
        return self.stiffness.is_enough

    @property
    def verdict(self) -> str:
        return stiffness_lines.verdict_words(self.stiffness, self.display)

    @cached_property
    def worst(self) -> list[stiffness_lines.FacetLine]:
        return stiffness_lines.stiffness_lines(self.stiffness, self.display, stiffness_lines.MOST)

    @property
    def rest(self) -> list[stiffness_lines.FacetLine]:
        shown = {line.face for line in self.worst}
        every = stiffness_lines.stiffness_lines(self.stiffness, self.display)
        return [line for line in every if line.face not in shown]

    @property
    def basis(self) -> list[str]:
        return stiffness_lines.basis_words(self.plan, self.stiffness)


@dataclass(frozen=True)
class Drawings:
    """A plan's drawings, dimensioned as its sheet says, and the sums that stand beside them.

    touches: the cuts and seams that can be ticked in them, by their steps' keys.
    """

    plan: Plan
    touches: Mapping[str, Touch] = field(default_factory=dict)

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

    @cached_property
    def welding(self) -> ShownWelding | None:
        """How it is welded; None where nothing is."""
        welds = self.plan.weld_plan
        return ShownWelding(self.plan, welds, self.display, self.touches) if welds else None

    @cached_property
    def stiffness(self) -> ShownStiffness | None:
        """How stiff it is; None of flat parts, and of a plan that was stored without it."""
        stiffness = self.plan.stiffness
        return ShownStiffness(self.plan, stiffness, self.display) if stiffness else None

    @property
    def draining(self) -> ShownDrainage | None:
        """How it drains in use; None of loose parts."""
        return None if self.plan.drainage is None else ShownDrainage(self.plan, self.display)

    @property
    def outlet_made(self) -> str:
        """When its outlet is bored."""
        return drain_lines.outlet_made(self.plan)

    @property
    def blanks(self) -> Iterator[ToMarkOut]:
        """Each blank to mark out with its drawing."""
        quantity = self.plan.sheet.quantity
        for blank, alike in patterns(self.plan.blanks):
            drawn = drawing.blank_drawing(self.plan, blank, self.display, alike=alike, quantity=quantity, width=HALF)
            folded = mark_safe(drawing.folded_view(self.plan, blank, self.display)) if blank.folds else None
            count = quantity * sum(same.count for same in (blank, *alike))
            arcs, minded = arc_words(blank, self.display), lying_lines(self.plan, blank, alike)
            yield ToMarkOut(blank, alike, count, mark_safe(drawn), arcs, minded, folded)

    @property
    def rounding(self) -> str:
        """What reading off the shop's rule does to the fit."""
        return rounding_words(self.plan, self.display)

    @property
    def sheets(self) -> Iterator[ShownSheet]:
        """Each sheet with its cuts, and its drawing."""
        for index, used in enumerate(self.plan.layout.sheets):
            drawn = drawing.sheet_drawing(self.plan, index, self.display, width=WHOLE, touches=self.touches)
            cuts = cut_lines(self.plan, index, self.display)
            places = place_lines(self.plan, index, self.display)
            yield ShownSheet(used, mark_safe(drawn), cuts, places)

    def cut(self, key: str, *, width: float = ACROSS) -> SafeString | None:
        """The picture of the cut whose step has this key; None where there is none, or its piece can't be followed."""
        for used, keys in zip(self.plan.layout.sheets, cut_keys(self.plan.layout), strict=True):
            if key in keys and (in_hand := cuts_in_hand(used, self.plan.sheet.making)):
                drawn = drawing.cut_drawing(used, in_hand[keys.index(key)], self.display, width=width)
                return mark_safe(drawn)
        return None

    def at_work(self, key: str) -> SafeString:
        """The picture of what a step is done to, as wide as a phone: its cut, its blank, its weld; else the whole thing."""
        plan, display = self.plan, self.display
        if (on := blank_of(plan, key)) is not None:
            (blank, alike), off = on.drawn, on.quantity(plan)
            drawn = drawing.blank_drawing(
                plan, blank, display, alike=alike, quantity=off, bend=on.bend, table=False, width=PHONE
            )
            return mark_safe(drawn)
        if plan.weld_plan and (weld := weld_of(plan.weld_plan, key)):
            tacks = key.startswith("tack:")
            return mark_safe(drawing.weld_drawing(plan, weld, width=PHONE, tacks=tacks))
        cut = self.cut(key, width=PHONE)
        if cut is None and key.startswith(BY_PLAN):
            return mark_safe(drawing.plan_view(plan, display, width=PHONE))
        return cut or mark_safe(drawing.tray_view(plan, display, width=PHONE))
