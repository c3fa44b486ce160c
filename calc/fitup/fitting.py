"""The outline that best fits what was measured, how far it is from the plan, and whether it passes."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely

from calc import Plan
from calc.distances import fit_corners, laid_on, lengths_between, looseness
from calc.families.rims import TAPE_AT_FAULT
from calc.fitup.faults import FitFault
from calc.fitup.measurements import Wanted, wanted
from calc.fitup.suspect import Suspect, named, reads_the_same, suspect_of
from calc.records import Outline, Point
from calc.tables.lookup import NotListedError
from calc.tables.tolerances import angular_iso13920, linear_iso13920

ROUNDING = 1e-9
MOST_OUT = 0.5  # of its planned size: nothing that was made is further out, so it was misread or typed in another unit
LEAST_OUT = 20.0  # [mm] that a small size may be out before that is said of it


@dataclass(frozen=True, slots=True)
class Measured:
    """A size as measured [mm]: deviation from the plan, tolerance either way (None below the table: it must agree,
    as far as a tape tells).

    residual: what it lacks of the best-fit outline, None of a size that is no side or diagonal.
    """

    key: str
    what: str
    nominal: float
    measured: float
    deviation: float
    tolerance: float | None
    within: bool
    residual: float | None


@dataclass(frozen=True, slots=True)
class Angle:
    """A corner (from 1): its angle inside as planned and as built, and what it may be out by either way [degrees]."""

    corner: int
    nominal: float
    built: float
    tolerance: float
    within: bool


@dataclass(frozen=True, slots=True)
class AsBuilt:
    """What was made. outline: the best fit, laid on the plan's corners; moved: how far each lies from its planned place [mm].

    passes: whether every size that was measured, and every angle, is within ISO 13920 class `grade`; worst: the key of the size
    that uses most of its tolerance; unmeasured: what was left out, of which nothing is said.
    """

    lines: tuple[Measured, ...]
    outline: Outline
    moved: tuple[float, ...]
    angles: tuple[Angle, ...]
    suspect: Suspect | None
    passes: bool
    grade: str
    worst: str
    unmeasured: tuple[str, ...] = ()


def fit(plan: Plan, measured: Mapping[str, float], confirmed: Collection[str] = ()) -> AsBuilt:
    """The outline that best fits sizes measured on the thing as built, and what they say of it.

    measured: [mm] by the keys of `wanted`; a diagonal, a depth or a width may be missing; confirmed: keys of those that looked
    wrong and came out the same when they were taken again. Raises FitFault where there is no such outline: one is missing, is
    no length, is too far out to be true, closes no triangle, or the outline crosses itself.
    """
    lines = _measured_lines(plan, measured)
    around = [line for line in lines if line.between]
    pairs = [line.between for line in around if line.between]
    rim = plan.sheet.shape.corners
    _closes(plan, around, measured)
    outline = laid_on(fit_corners(rim, pairs, [measured[line.key] for line in around]), rim)
    if not shapely.Polygon(outline).is_valid or not shapely.Polygon(outline).exterior.is_ccw:
        worst = max(around, key=lambda line: abs(measured[line.key] - line.nominal))
        raise FitFault(worst.key, f"the outline would cross itself: measure it all again, {named(worst)} first")
    fitted = dict(zip(pairs, lengths_between(outline, pairs), strict=True))
    grade = plan.sheet.making.tolerance_class
    told = tuple(_told(plan, line, measured[line.key], fitted) for line in lines)
    angles = _angles(rim, outline, grade)
    return AsBuilt(
        lines=told,
        outline=outline,
        moved=tuple(math.dist(there, planned) for there, planned in zip(outline, rim, strict=True)),
        angles=angles,
        suspect=suspect_of(plan, lines, measured, confirmed),
        passes=all(line.within for line in told) and all(angle.within for angle in angles),
        grade=grade,
        worst=max(told, key=_share).key,
        unmeasured=tuple(named(line) for line in wanted(plan) if line.key not in measured),
    )


def _measured_lines(plan: Plan, measured: Mapping[str, float]) -> list[Wanted]:
    """The lengths that were measured, in order, each a length that can be and enough of them."""
    asked = wanted(plan)
    if not asked:
        raise FitFault("", "parts that nothing joins have no outline to measure")
    stray = next((key for key in measured if key not in {line.key for line in asked}), None)
    if stray is not None:
        raise FitFault(
            stray,
            f"{stray} is none of the sizes to measure: {', '.join(line.key for line in asked)}",
        )
    lines = [line for line in asked if line.key in measured]
    for line in lines:
        _can_be(plan, line, measured[line.key])
    missing = [line for line in asked if line.needed and line not in lines]
    side = next((line for line in missing if line.kind == "side"), None)
    if side:
        raise FitFault(side.key, f"{side.what} is missing: every side is needed")
    pairs = [line.between for line in lines if line.between]
    if missing and math.isinf(looseness(plan.sheet.shape.corners, pairs)):
        raise FitFault(missing[0].key, f"{missing[0].what} is missing: without it the sides can still swing")
    return lines


def _can_be(plan: Plan, line: Wanted, size: float) -> None:
    show = plan.sheet.making.display.length
    if not math.isfinite(size) or size <= 0:
        got = show(size) if math.isfinite(size) else f"{size:g}"
        raise FitFault(line.key, f"{line.what} must be a length above 0 (got {got})")
    if abs(size - line.nominal) > max(MOST_OUT * line.nominal, LEAST_OUT):
        raise FitFault(
            line.key,
            f"{line.what} can't be {show(size)} where {show(line.nominal)} was planned: is it in another unit?",
        )


def _closes(plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float]) -> None:
    """Whether every three lengths between three corners make a triangle, or lack no more of it than a tape can err."""
    between = {frozenset(line.between): line for line in lines if line.between}
    for corners in combinations(range(len(plan.sheet.shape.corners)), 3):
        found = [line for pair in combinations(corners, 2) if (line := between.get(frozenset(pair)))]
        longest = max(found, key=lambda line: measured[line.key], default=None)
        if longest is None or len(found) < 3:
            continue
        others = [line for line in found if line is not longest]
        if measured[longest.key] - math.fsum(measured[line.key] for line in others) > TAPE_AT_FAULT:
            raise _no_triangle(plan, lines, measured, longest, others)


def _no_triangle(
    plan: Plan, lines: Sequence[Wanted], measured: Mapping[str, float], longest: Wanted, others: Sequence[Wanted]
) -> FitFault:
    """Which lengths make no triangle, and which of all looks wrong; where none does, the one farthest from its plan."""
    show = plan.sheet.making.display.length
    suspect = suspect_of(plan, lines, measured)
    worst = max((longest, *others), key=lambda line: abs(measured[line.key] - line.nominal))
    cure = suspect.words if suspect else f"Measure {named(worst)} again."
    return FitFault(
        suspect.key if suspect else worst.key,
        f"{longest.what} makes no triangle with {' and '.join(named(line) for line in others)}, which come to "
        f"{show(math.fsum(measured[line.key] for line in others))} together (got {show(measured[longest.key])}). {cure}",
    )


def _told(plan: Plan, line: Wanted, size: float, fitted: Mapping[tuple[int, int], float]) -> Measured:
    out = size - line.nominal
    try:
        tolerance: float | None = float(linear_iso13920(line.nominal, plan.sheet.making.tolerance_class))
    except NotListedError:
        tolerance = None
    within = reads_the_same(plan, size, line.nominal) if tolerance is None else abs(out) <= tolerance + ROUNDING
    residual = size - fitted[line.between] if line.between else None
    return Measured(line.key, line.what, line.nominal, size, out, tolerance, within, residual)


def _share(line: Measured) -> float:
    """How much of its tolerance a size uses."""
    return abs(line.deviation) / (line.tolerance or 1.0)


def _angles(rim: Outline, outline: Outline, grade: str) -> tuple[Angle, ...]:
    found = []
    for index, here in enumerate(rim):
        after = (index + 1) % len(rim)
        leg = min(math.dist(rim[index - 1], here), math.dist(here, rim[after]))
        tolerance = angular_iso13920(leg, grade)
        planned, built = (angle_inside(points[index - 1], points[index], points[after]) for points in (rim, outline))
        found.append(Angle(index + 1, planned, built, tolerance, abs(built - planned) <= tolerance + ROUNDING))
    return tuple(found)


def angle_inside(before: Point, here: Point, after: Point) -> float:
    """The angle inside an anticlockwise outline at a corner [degrees], 0 to 360.

    >>> angle_inside((0, 5), (0, 0), (5, 0)), angle_inside((5, 0), (0, 0), (0, 5))
    (90.0, 270.0)
    """
    back = math.atan2(before[1] - here[1], before[0] - here[0])
    on = math.atan2(after[1] - here[1], after[0] - here[0])
    return math.degrees(back - on) % 360.0
