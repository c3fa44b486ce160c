"""Two plans of one fabrication side by side: what moved, which blanks change, what it comes to. Computes, stores nothing."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from difflib import SequenceMatcher
from itertools import starmap, zip_longest
from typing import Any, Literal

from calc import Plan
from calc.blank import Blank
from calc.comparing.words import FLOW, LENGTHS, TOLD, WORDS, difference_shown
from calc.drainage import Drainage
from calc.drainage.words import pumped
from calc.layout.became import Became, what_became
from calc.records import Point, as_json
from calc.seams import filler_of
from calc.sheet import JobSheet
from calc.tables.lookup import NotListedError
from calc.units import Display

STILL = 1e-3  # [mm] a thing that moved less than this did not move: under what any tape shows
DIGITS = 6  # of a mm, that corners of two rims and thicknesses of two sheets are matched by

OF_FOLDS = {"making.fold_radius"}  # follows the metal, and says nothing where no facet is folded to another
NOT_OF_THE_MAKING = {"format", "title", "customer", "machine", "shape", "frozen", "guests", "elsewhere"}
# How long a layout was looked for says nothing of the tray: a preview takes less. What spreads the shop's own shrinkage has
# follows its trays.
NOT_COMPARED = {"making.effort", "making.own_shrinkage.across_spread", "making.own_shrinkage.along_spread"}


@dataclass(frozen=True, slots=True)
class MovedPoint:
    """A point on the rim plane [mm] before and after; None where it was not there or is no more."""

    what: str
    was: Point | None
    now: Point | None

    @property
    def by(self) -> float | None:
        """How far it moved [mm]."""
        return None if self.was is None or self.now is None else math.dist(self.was, self.now)


@dataclass(frozen=True, slots=True)
class MovedLength:
    """A length [mm] before and after; None where there was none or is none any more."""

    what: str
    was: float | None
    now: float | None

    @property
    def by(self) -> float | None:
        """How much longer it is [mm]; negative: shorter."""
        return None if self.was is None or self.now is None else self.now - self.was


@dataclass(frozen=True, slots=True)
class Reset:
    """A thing the sheet says of the making, before and after, in plain text; empty where it was not said."""

    what: str
    was: str
    now: str

    @property
    def by(self) -> str:
        """The difference; empty of what is no figure."""
        return difference_shown(self.was, self.now)


@dataclass(frozen=True, slots=True)
class BlankChange:
    """A blank of this name before and after: how many for the whole job, and the mass of one [kg].

    like: an earlier blank of another name that this one is now cut like; names follow the rim's sides, so they move on
    where a corner comes in.
    """

    name: str
    verdict: Literal["same", "changed", "new", "gone"]
    was_count: int
    now_count: int
    was_mass: float | None
    now_mass: float | None
    like: str | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A figure before and after."""

    was: float
    now: float

    @property
    def by(self) -> float:
        return self.now - self.was


@dataclass(frozen=True, slots=True)
class Known:
    """A figure before and after; None where that plan has none, or was stored without it."""

    was: float | None
    now: float | None

    @property
    def is_told(self) -> bool:
        """Whether either plan has it."""
        return self.was is not None or self.now is not None

    @property
    def by(self) -> float | None:
        return None if self.was is None or self.now is None else self.now - self.was


@dataclass(frozen=True, slots=True)
class MoneyChange:
    """The cost before and after, each in its currency; `by` is None where the two are in different ones."""

    was: Decimal
    now: Decimal
    was_currency: str
    now_currency: str

    @property
    def by(self) -> Decimal | None:
        return self.now - self.was if self.was_currency == self.now_currency else None


@dataclass(frozen=True, slots=True)
class Comparison:
    """What differs between two plans. Litres [l] and mass [kg] are of one tray; the rest of the whole job. Litres and least
    fall are None where either plan is of loose parts.

    points, lengths, resets: only those that changed. blanks: all of both plans, by name. weld [mm]; minutes [min].
    passes [l/min]: what the outlet does with coolant at the brim; freeboard [mm]: left at the pump's flow, 0 where it runs
    over. borne: the share of what is borne in the facet that comes nearest to it; nearest: which that is, empty of none.
    anew: how many copies of a blank, on sheets that were cut into, serve no more. became: what became of each of those
    sheets.
    """

    points: tuple[MovedPoint, ...]
    lengths: tuple[MovedLength, ...]
    resets: tuple[Reset, ...]
    blanks: tuple[BlankChange, ...]
    litres: Change | None
    least_fall: Change | None
    passes: Known
    freeboard: Known
    borne: Known
    nearest: tuple[str, str]
    mass: Change
    weld: Change
    folds: Change
    sheets: Change
    minutes: Change
    cost: MoneyChange
    anew: tuple[tuple[str, int], ...]
    became: tuple[Became, ...]

    @property
    def is_any(self) -> bool:
        """Whether the sheets differ in anything but words."""
        return bool(self.points or self.lengths or self.resets)


def compare(before: Plan, after: Plan) -> Comparison:
    """What changed from one plan to the other.

    >>> from calc import plan
    >>> def tray(depth):
    ...     shape = {"family": "fall-tray", "rim": [[0, 0], [600, 0], [640, 380]], "low_point": [410, 150], "depth": depth}
    ...     return plan({"shape": shape, "material": {"alloy": "5052-H32", "thickness": 1.5}})
    >>> [(moved.what, moved.was, moved.now, moved.by) for moved in compare(tray(40), tray(46)).lengths]
    [('Depth', 40.0, 46.0, 6.0)]
    """
    was, now = before.drainage, after.drainage
    became = tuple(_became(after))
    nearest = [made.stiffness.nearest if made.stiffness else None for made in (before, after)]
    pairs = _paired(before.sheet.shape.measured_corners, after.sheet.shape.measured_corners)
    return Comparison(
        points=tuple(_points(before, after, pairs)),
        lengths=tuple(_lengths(before, after, pairs)),
        resets=(*_resets(before.sheet, after.sheet), *_counts(before, after)),
        blanks=tuple(_blanks(before, after)),
        litres=Change(was.litres, now.litres) if was and now else None,
        least_fall=Change(was.least_fall, now.least_fall) if was and now else None,
        passes=Known(*(made.outlet.passes if made and made.outlet else None for made in (was, now))),
        freeboard=Known(*(_freeboard(made) for made in (was, now))),
        borne=Known(*(facet.share if facet else None for facet in nearest)),
        nearest=(nearest[0].face if nearest[0] else "", nearest[1].face if nearest[1] else ""),
        mass=Change(*(made.takeoff.net_mass / made.sheet.quantity for made in (before, after))),
        weld=Change(before.takeoff.weld_length, after.takeoff.weld_length),
        folds=Change(before.takeoff.fold_count, after.takeoff.fold_count),
        sheets=Change(len(before.layout.sheets), len(after.layout.sheets)),
        minutes=Change(*(math.fsum(step.minutes for step in made.steps) for made in (before, after))),
        cost=MoneyChange(
            Decimal(before.cost.total), Decimal(after.cost.total), before.cost.currency, after.cost.currency
        ),
        anew=tuple(_anew(became)),
        became=became,
    )


def _freeboard(drainage: Drainage | None) -> float | None:
    """[mm] left at the pump's flow, 0 where it runs over; None where nobody gave a flow."""
    running = drainage.outlet.running if drainage and drainage.outlet else None
    return None if running is None else max(0.0, running.freeboard)


@dataclass(frozen=True, slots=True)
class _Pair:
    """A corner's place in the rim before and after; None where it is in one of them only."""

    old: int | None
    new: int | None

    def called(self, kind: str) -> str:
        """Corner 2; where its number changed, both; the drawings count from 1."""
        if self.old is None or self.new is None or self.old == self.new:
            place = self.old if self.new is None else self.new
            return f"{kind} {(place or 0) + 1}"
        return f"{kind} {self.old + 1}, now {self.new + 1}"


def _paired(before: Sequence[Point], after: Sequence[Point]) -> list[_Pair]:
    """Which corner became which. A rim of as many corners keeps its numbers; else corners that stand still are matched
    first, those between them in turn, and what is left over is gone or new."""
    if len(before) == len(after):
        return [_Pair(index, index) for index in range(len(before))]
    here, there = ([(round(x, DIGITS), round(y, DIGITS)) for x, y in rim] for rim in (before, after))
    pairs: list[_Pair] = []
    for _, start, end, other_start, other_end in SequenceMatcher(None, here, there, autojunk=False).get_opcodes():
        pairs += starmap(_Pair, zip_longest(range(start, end), range(other_start, other_end)))
    return pairs


def _points(before: Plan, after: Plan, pairs: Sequence[_Pair]) -> Iterator[MovedPoint]:
    was, now = before.sheet.shape, after.sheet.shape
    for pair in pairs:
        old = None if pair.old is None else was.measured_corners[pair.old]
        new = None if pair.new is None else now.measured_corners[pair.new]
        if old is None or new is None or math.dist(old, new) > STILL:
            yield MovedPoint(pair.called("Corner"), old, new)
    for name in dict.fromkeys((*was.spots, *now.spots)):
        old, new = was.spots.get(name), now.spots.get(name)
        if old is None or new is None or math.dist(old, new) > STILL:
            yield MovedPoint(name, old, new)


def _lengths(before: Plan, after: Plan, pairs: Sequence[_Pair]) -> Iterator[MovedLength]:
    """Sides between corners that both rims have, and every size that either shape has."""
    was, now = before.sheet.shape, after.sheet.shape
    for pair, following in zip(pairs, [*pairs[1:], *pairs[:1]], strict=True):
        old = _side(was.measured_corners, pair.old, following.old)
        new = _side(now.measured_corners, pair.new, following.new)
        if old is not None and new is not None:
            yield from _if_changed(pair.called("Side"), old, new)
    for name in dict.fromkeys((*was.sizes, *now.sizes)):
        yield from _if_changed(name, was.sizes.get(name), now.sizes.get(name))


def _side(corners: Sequence[Point], start: int | None, end: int | None) -> float | None:
    return None if start is None or end is None else math.dist(corners[start], corners[end])


def _if_changed(what: str, was: float | None, now: float | None) -> Iterator[MovedLength]:
    changed = was != now if was is None or now is None else abs(now - was) > STILL
    if changed:
        yield MovedLength(what, was, now)


def _resets(before: JobSheet, after: JobSheet) -> Iterator[Reset]:
    """What is said of the making, lengths as the later sheet shows them."""
    display = after.making.display
    was, now = (dict(_leaves("", sheet.as_json(), display)) for sheet in (before, after))
    welded = before.making.joins == after.making.joins == "weld-all"
    for key in dict.fromkeys((*was, *now)):
        if welded and key in OF_FOLDS:
            continue
        if was.get(key, "") != now.get(key, ""):
            yield Reset(WORDS.get(key, key.replace("_", " ").replace(".", ", ")), was.get(key, ""), now.get(key, ""))
    rods = [_rod(sheet) for sheet in (before, after)]
    if rods[0] != rods[1]:
        yield Reset("Filler", *rods)
    if before.together_with != after.together_with:
        yield Reset("Laid out together with", *(_jobs(sheet.together_with) for sheet in (before, after)))


def _rod(sheet: JobSheet) -> str:
    """The rod for the sheet's metal; none where flat parts are of a metal that is not welded."""
    try:
        return filler_of(sheet).name
    except NotListedError:
        return "none listed"


def _jobs(numbers: Sequence[str]) -> str:
    return ", ".join(f"job {number}" for number in numbers) or "no other job"


def _counts(before: Plan, after: Plan) -> Iterator[Reset]:
    """Blanks of both plans that one of it wants more or fewer of."""
    was, now = ({blank.name: blank.count for blank in made.blanks} for made in (before, after))
    for name, count in now.items():
        if was.get(name, count) != count:
            yield Reset(f"{name}, how many in a set", str(was[name]), str(count))


def _leaves(path: str, value: Any, display: Display) -> Iterator[tuple[str, str]]:
    """What a sheet's JSON says of the making, each at its path; a stock size under its label."""
    if isinstance(value, dict):
        for key, inner in value.items():
            inside = f"{path}.{key}" if path else key
            if inside not in NOT_OF_THE_MAKING | NOT_COMPARED:
                yield from _leaves(inside, inner, display)
    elif path == "stock":
        for inner in value:
            if inner.get("rack") is not None:
                continue  # what stands on the rack changes by itself
            size = f"{display.exact(inner['length'])} x {display.exact(inner['width'])} {display.unit}"
            count = "as many as needed" if inner["count"] is None else f"{inner['count']} to be had"
            yield f"Sheet {inner['label']}", f"{size}, {count}, {inner['price']} each"
    elif value is None:
        yield path, ""
    elif isinstance(value, bool):
        yield path, "yes" if value else "no"
    elif isinstance(value, list):
        yield path, ", ".join(str(inner) for inner in value)
    elif path == FLOW:
        yield path, pumped(value, display)
    elif path in LENGTHS:
        yield path, f"{display.exact(value)} {display.unit}"
    else:
        yield path, f"{value:g}" if isinstance(value, float) else TOLD.get(value, str(value))


def _blanks(before: Plan, after: Plan) -> Iterator[BlankChange]:
    was, now = ({blank.name: blank for blank in made.blanks} for made in (before, after))
    same_metal = _metal(before) == _metal(after)
    for name in dict.fromkeys((*now, *was)):
        old, new = was.get(name), now.get(name)
        verdict: Literal["same", "changed", "new", "gone"]
        if old is None or new is None:
            verdict = "new" if old is None else "gone"
        else:
            verdict = "same" if same_metal and _same_cut(old, new) else "changed"
        others = was.values() if verdict in ("new", "changed") and same_metal else ()
        like = next((other.name for other in others if new and _same_cut(other, new)), None)
        yield BlankChange(
            name,
            verdict,
            old.count * before.sheet.quantity if old else 0,
            new.count * after.sheet.quantity if new else 0,
            old.mass if old else None,
            new.mass if new else None,
            like,
        )


def _metal(made: Plan) -> tuple[str, float]:
    return made.sheet.material.alloy, round(made.sheet.material.thickness, DIGITS)


def _same_cut(old: Blank, new: Blank) -> bool:
    """Whether the two are cut, holed and bent alike, in their own frames, which both begin at the base edge."""
    if len(old.cut_outline) != len(new.cut_outline):
        return False
    moved = max(math.dist(a, b) for a, b in zip(old.cut_outline, new.cut_outline, strict=True))
    return moved <= STILL and as_json((old.holes, old.folds), 3) == as_json((new.holes, new.folds), 3)


def _anew(became: Sequence[Became]) -> Iterator[tuple[str, int]]:
    """Copies that lay on frozen sheets, no copy of what this plan wants under their name or more than it wants."""
    names = (name for sheet in became for name in (*sheet.idle, *sheet.gone))
    yield from sorted(Counter(name.rpartition(".")[0] for name in names).items())


def _became(after: Plan) -> Iterator[Became]:
    """What became of each of the frozen sheets."""
    for before, now in zip(after.sheet.frozen, after.layout.sheets, strict=False):
        yield what_became(before, now, after.sheet.making.kerf)
