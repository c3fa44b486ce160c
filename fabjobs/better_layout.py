"""A layout that was found, beside the present one: metal, cuts, time and money compared, the sheets drawn."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.safestring import SafeString, mark_safe

from calc import Plan, drawing
from calc.laid import SheetLayout
from fabjobs.changes import Line, line_of
from fabjobs.models import Revision
from fabjobs.planning import restore
from fabjobs.wording import hours, kilograms, percent, run

NARROW = 440.0
CENT, GRAM, MINUTE = 0.005, 0.0005, 0.5  # less than half of each is no difference that counts


@dataclass(frozen=True)
class Figure:
    """A figure of both layouts, and how it is told."""

    what: str
    present: float
    found: float
    told: Callable[[float], str]

    @property
    def more(self) -> float:
        return self.found - self.present

    @property
    def line(self) -> Line:
        return line_of(self.what, self.present, self.found, self.told)


@dataclass(frozen=True)
class BesideIt:
    """The layout that was found beside that of the revision it would follow; both of the same blanks."""

    present: Plan
    found: Plan

    @classmethod
    def of(cls, revision: Revision, plan: Mapping[str, Any]) -> "BesideIt":
        """plan: what was found, as it was stored."""
        return cls(restore(revision), Plan.from_json(plan))

    @property
    def lines(self) -> Iterator[Line]:
        """What each comes to, and the difference; what neither has is left out."""
        return (figure.line for figure in (*self._that_count, *self._others) if figure.present or figure.found)

    @property
    def is_same(self) -> bool:
        return self.present.layout == self.found.layout

    @property
    def is_better(self) -> bool:
        """Whether it takes less of anything that counts: money, metal or time."""
        return not self.is_same and bool(self._less)

    @property
    def verdict(self) -> str:
        """The differences that count, in words: "4.20 EUR and 0.35 kg of metal less; 3 min of work more"."""
        told = [f"{_listed(names)} {word}" for names, word in ((self._less, "less"), (self._more, "more")) if names]
        return "; ".join(told) or "the same money, metal and time"

    @property
    def _that_count(self) -> tuple[Figure, Figure, Figure]:
        currency = self.present.cost.currency
        return (
            self._figure("Cost", lambda plan: float(plan.cost.total), lambda money: f"{money:.2f} {currency}"),
            self._figure("Metal taken: sheet less offcuts", taken_by, kilograms),
            self._figure("Standard time", lambda plan: sum(step.minutes for step in plan.steps), hours),
        )

    @property
    def _others(self) -> tuple[Figure, ...]:
        show = self.present.sheet.making.display
        return (
            self._figure("Sheets", lambda plan: len(plan.layout.sheets), "{:g}".format),
            self._figure("Their area", lambda plan: plan.takeoff.sheet_area, show.area),
            self._figure("Share of it in blanks", lambda plan: plan.layout.share_used, percent),
            self._figure("Cuts", cuts_of, "{:g}".format),
            self._figure("Sawing", lambda plan: plan.takeoff.cut_length, lambda mm: run(mm, show)),
            self._figure("Offcuts kept", offcuts_of, "{:g}".format),
            self._figure("They weigh", lambda plan: plan.takeoff.offcut_mass, kilograms),
        )

    def _figure(self, what: str, of: Callable[[Plan], float], told: Callable[[float], str]) -> Figure:
        return Figure(what, of(self.present), of(self.found), told)

    @property
    def _less(self) -> list[str]:
        return [told for told, more in self._told if more < 0]

    @property
    def _more(self) -> list[str]:
        return [told for told, more in self._told if more > 0]

    @property
    def _told(self) -> Iterator[tuple[str, float]]:
        """Each figure that counts and differs, in words without a sign, and by how much."""
        for figure, least, of in zip(
            self._that_count, (CENT, GRAM, MINUTE), ("", " of metal", " of work"), strict=True
        ):
            if abs(figure.more) >= least:
                yield f"{figure.told(abs(figure.more))}{of}", figure.more

    @property
    def stayed(self) -> int:
        """How many sheets, the first ones of both, were cut into and stay as they lie."""
        return len(self.found.sheet.frozen)

    @property
    def present_sheets(self) -> Iterator[tuple[int, SheetLayout, SafeString]]:
        return drawn(self.present, self.stayed)

    @property
    def found_sheets(self) -> Iterator[tuple[int, SheetLayout, SafeString]]:
        return drawn(self.found, self.stayed)


def taken_by(plan: Plan) -> float:
    """[kg]"""
    return plan.takeoff.sheet_mass - plan.takeoff.offcut_mass


def cuts_of(plan: Plan) -> int:
    return sum(used.needs(cut) for used in plan.layout.sheets for cut in used.cuts)


def offcuts_of(plan: Plan) -> int:
    return sum(len(used.offcuts) for used in plan.layout.sheets)


def _listed(names: list[str]) -> str:
    return " and ".join((", ".join(names[:-1]), names[-1]) if len(names) > 1 else names)


def drawn(plan: Plan, first: int) -> Iterator[tuple[int, SheetLayout, SafeString]]:
    """The sheets from `first` on: number, layout, drawing."""
    display = plan.sheet.making.display
    for index, used in enumerate(plan.layout.sheets[first:], start=first):
        yield index + 1, used, mark_safe(drawing.sheet_drawing(plan, index, display, width=NARROW))
