"""Two plans of one fabrication side by side, in the words and figures of the shop."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from operator import itemgetter

from django.db.models import Prefetch, QuerySet
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.safestring import SafeString, mark_safe

from calc import Plan, drawing
from calc.balance import size_of
from calc.comparing import Comparison, compare
from calc.comparing.words import difference_shown
from calc.drainage.words import flow, litres
from calc.layout.became import Became
from calc.records import Point
from calc.units import Display
from fabjobs.drawings import Drawings
from fabjobs.frozen import FrozenSheet
from fabjobs.models import Fabrication, Person, Revision, Step, TimeEntry
from fabjobs.planning import restore
from fabjobs.rows import steps_retiring
from fabjobs.wording import hours, kilograms, one_in, percent

NOTHING = "–"
SAME = 1e-6  # mm, litres, kg, minutes, slopes: a difference below it is rounding
BESIDE = 330.0
BORED = "Outlet"  # a size that is no rule's: a drill's or a hole saw's


@dataclass(frozen=True)
class Line:
    """A figure as it was, as it is now, and the difference."""

    what: str
    was: str
    now: str
    by: str


@dataclass(frozen=True)
class Logged:
    """Work on a step: who, when, and what was logged."""

    who: str
    when: datetime
    what: str
    day_only: bool = False  # time by hand has a day and no hour


@dataclass(frozen=True)
class Difference:
    """What changed between two plans, and the work that the later one has no more use for.

    frozen: sheets that stay as they lie; steps: those that are done or have work on them and went or changed. money: whether
    it is told what it costs.
    """

    before: Plan
    after: Plan
    display: Display
    steps: Sequence[Step]
    frozen: Sequence[FrozenSheet] = ()
    other_metal: bool = False
    money: bool = True

    @cached_property
    def comparison(self) -> Comparison:
        return compare(self.before, self.after)

    @property
    def was(self) -> Drawings:
        return Drawings(self.before)

    @property
    def now(self) -> Drawings:
        return Drawings(self.after)

    @property
    def was_from_above(self) -> SafeString:
        return _from_above(self.before)

    @property
    def now_from_above(self) -> SafeString:
        return _from_above(self.after)

    @property
    def stayed(self) -> int:
        """How many sheets, the first ones, the later plan leaves as they were cut."""
        return len(self.after.sheet.frozen)

    @property
    def figures(self) -> Iterator[Line]:
        """What it comes to: cost first, as that is what is asked first."""
        change, show = self.comparison, self.display
        if self.money:
            yield self._cost
        for what, figure, told in (
            ("Standard time", change.minutes, hours),
            ("Sheets", change.sheets, "{:g}".format),
            ("Weld", change.weld, show.run),
            ("Folds", change.folds, "{:g}".format),
            ("Weighs empty" if change.litres else "A set weighs", change.mass, kilograms),
            ("Holds", change.litres, litres),
        ):
            if figure is not None and (what != "Weld" or figure.was or figure.now):
                yield line_of(what, figure.was, figure.now, told)
        if (fall := change.least_fall) is not None:
            yield Line("Least fall", slope(fall.was), slope(fall.now), signed(f"{abs(fall.by) * 100:.1f} %", fall.by))
        yield from self._in_use

    @property
    def _in_use(self) -> Iterator[Line]:
        """What the outlet passes, the freeboard left, and how near the metal comes to what is borne."""
        change, show = self.comparison, self.display
        for what, figure, told in (
            ("Passes at the brim", change.passes, lambda size: flow(size, show)),
            ("Freeboard left", change.freeboard, lambda size: show.length(size) if size else "none"),
            ("Nearest to what is borne", change.borne, percent),
        ):
            if figure.is_told:
                line = line_of(what, figure.was, figure.now, told)
                yield replace(line, **self._named(line)) if figure is change.borne else line

    def _named(self, line: Line) -> dict[str, str]:
        """How near the facets come, with their names: others come nearest as a shape or a sheet changes."""
        was, now = self.comparison.nearest
        return {
            "was": f"{was}, at {line.was}" if was else NOTHING,
            "now": f"{now}, at {line.now}" if now else NOTHING,
        }

    @property
    def _cost(self) -> Line:
        cost = self.comparison.cost
        by = NOTHING if cost.by is None else signed(f"{abs(cost.by)} {cost.now_currency}", float(cost.by))
        return Line("Cost", f"{cost.was} {cost.was_currency}", f"{cost.now} {cost.now_currency}", by)

    @property
    def moved(self) -> Iterator[Line]:
        """Corners and other points, sides and sizes that moved."""
        show = self.display
        for point in self.comparison.points:
            by = come_or_gone(point.was, point.now) if point.by is None else moved_by(point.by, show)
            yield Line(point.what, place(point.was, show), place(point.now, show), by)
        for length in self.comparison.lengths:
            told = show.fine if length.what == BORED else show.length
            was, now = (NOTHING if mm is None else told(mm) for mm in (length.was, length.now))
            by = come_or_gone(length.was, length.now) if length.by is None else signed(told(abs(length.by)), length.by)
            yield Line(length.what, was, now, by)

    @property
    def idle(self) -> str:
        """The blanks still on sheets that were cut into that no longer serve."""
        idle = Counter(name.rpartition(".")[0] for sheet in self.comparison.became for name in sheet.idle)
        return names(sorted(idle.items()))

    @property
    def became(self) -> list[list[str]]:
        """What became of each sheet that was cut into, in sentences."""
        return [list(became_told(sheet, self.display)) for sheet in self.comparison.became]

    @property
    def work(self) -> Iterator[tuple[Step, list[Logged]]]:
        """The steps whose work is retired, each with all that was logged on it."""
        for step in self.steps:
            yield step, list(logged_on(step))


def of_change(revision: Revision, plan: Plan, *, frozen: Sequence[FrozenSheet], other_metal: bool) -> Difference:
    """A plan that is not stored yet, beside the revision that it would follow."""
    retiring = steps_retiring(revision.fabrication, plan)
    steps = with_work(revision.fabrication.steps.filter(pk__in=retiring))
    before = restore(revision)
    return Difference(before, plan, plan.sheet.making.display, list(steps), frozen, other_metal)


def of_revisions(before: Revision, after: Revision, *, seen_by: Person) -> Difference:
    """Two stored revisions of a fabrication, and the work retired from the one to the other, as far as a person sees it."""
    plan = restore(after)
    steps = list(retired_between(before, after, seen_by))
    return Difference(restore(before), plan, plan.sheet.making.display, steps, money=seen_by.is_owner)


def retired_between(before: Revision, after: Revision, seen_by: Person) -> QuerySet[Step]:
    """Steps done under a revision from `before` on that `after` has no more as they were."""
    fabrication: Fabrication = after.fabrication
    numbers = {"revision__number__gte": before.number, "revision__number__lt": after.number}
    return with_work(fabrication.steps.filter(retired=True, **numbers), TimeEntry.objects.seen_by(seen_by))


def with_work(steps: QuerySet[Step], times: QuerySet[TimeEntry] | None = None) -> QuerySet[Step]:
    """With all that is shown of the work on them, in a constant number of queries. times: those that may be seen; else all."""
    seen = TimeEntry.objects.all() if times is None else times
    return (
        steps.select_related("done_by", "revision")
        .defer("revision__plan", "revision__sheet", "revision__thumbnail")
        .prefetch_related(Prefetch("times", seen.select_related("person")), "notes__by")
    )


def logged_on(step: Step) -> Iterator[Logged]:
    """The tick, the time and the notes of a step, in that order."""
    if step.done_at is not None:
        yield Logged(str(step.done_by), step.done_at, "ticked")
    for entry in step.times.all():
        spent = "timer running" if entry.seconds is None else hours(entry.seconds / 60)
        yield Logged(str(entry.person), entry.started_at, spent, day_only=entry.by_hand)
    for note in step.notes.all():
        yield Logged(str(note.by), note.at, f"“{note.text}”")


def cuts_told(sheet: FrozenSheet) -> str:
    """How far a sheet that was cut into is cut: "12 of 19 cuts, last by mara, 20 Nov"."""
    worked_on = {cut.pk: cut for cut in sheet.cuts}.values()
    ticked = sorted(((cut.done_at, cut) for cut in worked_on if cut.done_at is not None), key=itemgetter(0))
    timed = len(worked_on) - len(ticked)
    told = []
    if ticked:
        at, last = ticked[-1]
        all_cuts = len(sheet.layout["cuts"])  # none of its own where blanks are cut to their outlines
        of = f"{len(ticked)} of {all_cuts} cuts" if all_cuts else f"{len(ticked)} cut out"
        told.append(f"{of}, last by {last.done_by}, {_day(at)}")
    if timed:
        more = " more" if ticked else ""
        told.append(f"time was logged on {timed}{more} {'cut' if timed == 1 else 'cuts'}")
    return "; ".join(told)


def became_told(sheet: Became, display: Display) -> Iterator[str]:
    """What stays on a sheet that was cut into, what is struck out, and what is laid out anew on which piece of it."""
    if sheet.stays:
        yield f"Stays where it lies: {', '.join(sheet.stays)}."
    if sheet.idle:
        yield f"No use for it now: {', '.join(sheet.idle)}."
    if sheet.spoiled:
        yield f"Spoiled: {', '.join(sheet.spoiled)}."
    if sheet.gone:
        yield f"Marked out, not cut, its metal used again: {', '.join(sheet.gone)}. Strike its lines out."
    for new in sheet.new:
        length, width, _ = size_of(new.piece)
        size = f"{display.figure(length)} by {display.length(width)}"
        yield f"Laid out anew on a piece left of it, {size} over all: {', '.join(new.copies)}."


def _day(at: datetime) -> str:
    here = timezone.localtime(at)
    return date_format(here, "j M" if here.year == timezone.localdate().year else "j M Y")


def line_of(what: str, was: float | None, now: float | None, told: Callable[[float], str]) -> Line:
    """A figure as it was and is now, each as it is told or not there, and the difference of what is shown."""
    shown_was, shown_now = (NOTHING if size is None else told(size) for size in (was, now))
    if was is None or now is None:
        return Line(what, shown_was, shown_now, NOTHING)
    by = now - was
    if shown_was == shown_now:
        return Line(what, shown_was, shown_now, "none" if abs(by) < SAME else "hardly any")
    return Line(what, shown_was, shown_now, difference_shown(shown_was, shown_now) or signed(told(abs(by)), by))


def signed(size: str, by: float) -> str:
    """A difference with its sign; one too small for its figures is told as small, not as none.

    >>> signed("3 mm", 3.0), signed("3 mm", -3.0), signed("0.00 kg", 0.001), signed("0 mm", 0.0)
    ('+3 mm', '−3 mm', 'hardly any', 'none')
    """
    if abs(by) < SAME:
        return "none"
    if not any(digit in size for digit in "123456789"):
        return "hardly any"
    return f"{'−' if by < 0 else '+'}{size}"


def moved_by(distance: float, display: Display) -> str:
    """How far a point moved, in whatever direction.

    >>> moved_by(3.0, Display()), moved_by(0.1, Display())
    ('3 mm', 'hardly any')
    """
    return signed(display.length(distance), distance).removeprefix("+")


def _from_above(plan: Plan) -> SafeString:
    """Drawn narrow, so that two of them stand beside each other with figures that can be read."""
    return mark_safe(drawing.plan_view(plan, plan.sheet.making.display, width=BESIDE))


def slope(fall: float) -> str:
    """
    >>> slope(0.0957)
    '1 in 10.4 (9.6 %)'
    """
    return f"{one_in(fall)} ({fall * 100:.1f} %)"


def place(point: Point | None, display: Display) -> str:
    """A point on the rim plane, its unit once."""
    if point is None:
        return NOTHING
    return f"{display.figure(point[0])}, {display.figure(point[1])} {display.unit}"


def come_or_gone(was: object, now: object) -> str:
    return "new" if was is None and now is not None else "gone"


def names(found: Iterable[tuple[str, int]]) -> str:
    """
    >>> names([("A", 1), ("B", 2)])
    'A, B (2)'
    """
    return ", ".join(name if count == 1 else f"{name} ({count})" for name, count in found)
