"""The trays of a job as they were measured, each fitted to its plan: the door to calc's fit.

Of a tray measured again the newest line stands. It is fitted to the plan that is made now, as long as that asks for the same
sizes; else to the plan by which it was measured, and told so.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import groupby, pairwise

from django.core.cache import cache
from django.utils.safestring import SafeString, mark_safe

from calc import Plan, drawing, fitup
from calc.papers.inspection import inspection_lines
from calc.units import Display
from fabjobs.drawings import HALF
from fabjobs.made_by import is_welded, seams_ticked
from fabjobs.models import AsBuilt, Fabrication, Revision
from fabjobs.planning import restore

KEPT_FOR = 24 * 3600  # [s] a line is never changed, so its fit is worked out once
MOST_DRAWN = 6  # trays on the page of a job; the others are drawn on pages of their own


@dataclass(frozen=True)
class Asked:
    """A size that is measured: its key, its kind, what it is, its nominal [mm], its tolerance in words."""

    key: str
    kind: str
    what: str
    nominal: float
    tolerance: str


def asked_of(plan: Plan, display: Display) -> list[Asked]:
    """What is measured of a tray of this plan, as its traveller lists it; nothing of what is not joined."""
    wanted = fitup.wanted(plan)
    lines = inspection_lines(plan, display) if wanted else []
    return [
        Asked(one.key, one.kind, one.what, one.nominal, line.tolerance) for one, line in zip(wanted, lines, strict=True)
    ]


def fitted(plan: Plan, measured: Mapping[str, float], confirmed: Collection[str] = ()) -> fitup.AsBuilt:
    """The tray that these lengths [mm] give; confirmed: keys of those that were read the same twice. Raises
    `calc.fitup.FitFault` where they give none."""
    return fitup.fit(plan, measured, confirmed)


@dataclass(frozen=True)
class Made:
    """A plan that was measured by, and its revision."""

    revision: Revision
    plan: Plan


def fit_of(line: AsBuilt, by: Made, confirmed: Collection[str] = ()) -> fitup.AsBuilt | None:
    """What a line gives by a plan; None where that is no tray. Worked out once, as neither is ever changed."""
    key = f"fit:{line.form_key}:{by.revision.check_code}:{','.join(sorted(confirmed))}"
    found: fitup.AsBuilt | None = cache.get(key)
    if found is None:
        try:
            found = fitted(by.plan, line.measured, confirmed)
        except fitup.FitFault:
            return None
        cache.set(key, found, KEPT_FOR)
    return found


def fit_of_newest(lines: Sequence[AsBuilt], by: Made) -> fitup.AsBuilt | None:
    """What the newest of a tray's lines gives, the newest first: what looked wrong in the one before and was read the same
    again is no longer suspect. None where it gives no tray."""
    return fit_of(lines[0], by, confirmed_in(lines, by))


def fit_standing(line: AsBuilt, by: Made) -> fitup.AsBuilt | None:
    """The same of a tray's standing line, whose earlier ones are not at hand."""
    same = AsBuilt.objects.filter(fabrication=line.fabrication_id, copy=line.copy, pk__lte=line.pk)
    return fit_of_newest(list(same.order_by("-pk")), by)


def confirmed_in(lines: Sequence[AsBuilt], by: Made) -> frozenset[str]:
    """Keys of the readings that looked wrong once and were the same when taken again, up to the newest line, the first.

    Only what was asked for again is confirmed: the rest of a form stands as it was typed before.
    """
    found: frozenset[str] = frozenset()
    for before, line in pairwise(reversed(lines)):
        fit = fit_of(before, by, found)
        asked = fit.suspect.keys if fit and fit.suspect else ()
        found = frozenset(key for key in {*found, *asked} if _is_repeated(key, before, line, by.plan))
    return found


def _is_repeated(key: str, before: AsBuilt, line: AsBuilt, plan: Plan) -> bool:
    one, other = before.measured.get(key), line.measured.get(key)
    return one is not None and other is not None and fitup.reads_the_same(plan, one, other)


@dataclass(frozen=True)
class Tray:
    """One tray of a job, counted from 1, and its lines, the newest first.

    now: what is made now; by: what the standing line was measured by, the same where nothing that is measured changed since.
    is_welded: whether the seams of what it was measured by are ticked; before that it says nothing of what welding pulls.
    """

    number: int
    now: Made
    by: Made
    lines: Sequence[AsBuilt] = ()
    is_welded: bool = True

    @property
    def line(self) -> AsBuilt | None:
        """The line that stands."""
        return self.lines[0] if self.lines else None

    @property
    def earlier(self) -> Sequence[AsBuilt]:
        return self.lines[1:]

    @property
    def is_outdated(self) -> bool:
        """Whether it was measured by a plan whose sizes are no longer those that are made."""
        return self.by is not self.now

    @cached_property
    def fit(self) -> fitup.AsBuilt | None:
        """What the standing line gives; None where nothing was measured, or what was gives no tray."""
        return fit_of_newest(self.lines, self.by) if self.lines else None

    @property
    def measure_again(self) -> str:
        """Why it is to be measured again before anything is cut from it; nothing where it is not."""
        if self.is_outdated:
            by, now = self.by.revision.number, self.now.revision.number
            return f"It was measured by revision {by}, and revision {now} asks for other sizes. Measure it again."
        return self.fit.suspect.words if self.fit and self.fit.suspect else ""

    @property
    def worst(self) -> fitup.Measured | None:
        """The size that is furthest off."""
        return next((line for line in self.fit.lines if line.key == self.fit.worst), None) if self.fit else None

    @property
    def drawing(self) -> SafeString:
        """Planned and as built, one over the other."""
        if self.fit is None:
            return mark_safe("")
        return mark_safe(drawing.as_built_view(self.by.plan, self.fit, self.by.plan.sheet.making.display, width=HALF))

    @property
    def listed(self) -> list[tuple[AsBuilt, list[tuple[str, float]]]]:
        """The earlier lines, each with what was measured by name; what the plan no longer asks for goes by its key."""
        names = {one.key: one.what for one in fitup.wanted(self.by.plan)}
        return [(line, [(names.get(key, key), mm) for key, mm in line.measured.items()]) for line in self.earlier]


@dataclass(frozen=True)
class Trays:
    """All trays of a job's latest revision, as they stand."""

    revision: Revision
    plan: Plan
    each: Sequence[Tray] = field(default_factory=list)

    @classmethod
    def of(cls, revision: Revision, plan: Plan | None = None) -> "Trays":
        """plan: the revision's, where it is at hand."""
        now = Made(revision, plan or restore(revision))
        if not fitup.wanted(now.plan):
            return cls(revision, now.plan)
        lines = _lines_of(revision.fabrication)
        plans = _plans_of(lines, now)
        ticked = seams_ticked([revision.fabrication_id]).get(revision.fabrication_id, ())
        each = []
        for number in range(1, now.plan.sheet.quantity + 1):
            own = lines.get(number, [])
            by = plans[own[0].revision_id] if own else now
            each.append(Tray(number, now, by, own, is_welded(by.plan, ticked)))
        return cls(revision, now.plan, each)

    @property
    def are_measured(self) -> bool:
        """Whether there is anything to measure: loose parts are not joined."""
        return bool(self.each)

    @property
    def are_let_in(self) -> bool:
        """Whether they are set into a bench, through an opening."""
        return self.plan.sheet.shape.seat != "free"

    def tray(self, number: int) -> Tray | None:
        return self.each[number - 1] if 1 <= number <= len(self.each) else None

    @property
    def next(self) -> Tray:
        """The first that was not measured yet; else the first."""
        return next((tray for tray in self.each if tray.line is None), self.each[0])

    @property
    def measured(self) -> list[Tray]:
        return [tray for tray in self.each if tray.line is not None]

    @property
    def drawn(self) -> list[Tray]:
        return self.measured[:MOST_DRAWN]

    @cached_property
    def asked(self) -> list[Asked]:
        return asked_of(self.plan, self.plan.sheet.making.display)


def _lines_of(fabrication: Fabrication) -> dict[int, list[AsBuilt]]:
    """Every line of a fabrication by its tray, the newest first."""
    lines = AsBuilt.objects.filter(fabrication=fabrication).select_related("by").order_by("copy", "-pk")
    return {number: list(own) for number, own in groupby(lines, key=lambda line: line.copy)}


def _plans_of(lines: Mapping[int, Sequence[AsBuilt]], now: Made) -> dict[int, Made]:
    """What each standing line was measured by, by its revision's key; what is made now where that asks for the same sizes."""
    keys = {own[0].revision_id for own in lines.values()}
    found = {now.revision.pk: now}
    wanted = fitup.wanted(now.plan)
    for key, revision in Revision.objects.in_bulk(keys - {now.revision.pk}).items():
        plan = restore(revision)
        found[key] = now if fitup.wanted(plan) == wanted else Made(revision, plan)
    return found
