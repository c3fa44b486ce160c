"""Weld or fold: a job with the joints between its facets made in each way, side by side."""

import hashlib
import json
from dataclasses import dataclass, field
from typing import Any

import shapely
from django.core.cache import cache

from calc import Plan, SheetFaults
from calc.comparing import compare
from calc.joins import is_between_facets
from calc.making import JOINS, Joins
from fabjobs import planning
from fabjobs.changes import names
from fabjobs.frozen import metal_of
from fabjobs.models import Revision
from fabjobs.rack import sheet_now
from fabjobs.rows import Substance, retiring, substances

WELD_ALL, FEWEST_WELDS = JOINS
JOINS_TOLD: dict[Joins, str] = {WELD_ALL: "weld every seam", FEWEST_WELDS: "fold what can be folded"}
KEPT_FOR = 24 * 3600  # [s]


class CannotJoin(Exception):
    """That way it can't be planned; the text says why."""


@dataclass(frozen=True)
class Figures:
    """What a job comes to, laid out quickly: counts, lengths [mm], time [min], money; `taken` [mm2] is sheet less offcuts.

    anew: the blanks lying on sheets that were cut into that it has no use for. folds_facets: whether any two are folded.
    """

    blanks: int
    patterns: int
    weld: float
    folds: int
    sheets: int
    taken: float
    minutes: float
    cost: str
    anew: str
    folds_facets: bool
    steps: dict[str, Substance] = field(repr=False)


@dataclass(frozen=True)
class Way:
    """One way of joining; `fault` says why it can't be planned, where it can't. retired: steps that would count no more."""

    joins: Joins
    figures: Figures | None
    fault: str
    is_present: bool
    retired: int

    @property
    def told(self) -> str:
        return JOINS_TOLD[self.joins]


@dataclass(frozen=True)
class Joining:
    """Both ways, the present one marked."""

    ways: tuple[Way, ...]
    on_cut_sheets: bool

    @property
    def is_one(self) -> bool:
        """Whether nothing can be folded, so that both ways are the same."""
        figures = [way.figures for way in self.ways]
        return all(each is not None and not each.folds_facets for each in figures)


def is_open(plan: Plan) -> bool:
    """Whether there is anything to choose: a joint between two facets."""
    return any(is_between_facets(joint, plan.shell) for joint in plan.shell.joints)


def sheet_joined(revision: Revision, joins: str) -> dict[str, Any]:
    """The sheet of a revision, the latest of its job, with its facets joined so; sheets that were cut into stay as they lie."""
    return sheet_now(revision, joins=joins, effort=planning.in_a_request(revision.sheet["making"]["effort"]))


def plan_joined(revision: Revision, joins: str) -> Plan:
    """The plan of a job's latest revision with its facets joined so, at the effort of a page. Raises `CannotJoin`."""
    try:
        return planning.compute(sheet_joined(revision, joins))
    except SheetFaults as error:
        raise CannotJoin(_told(error)) from None


def _told(error: SheetFaults) -> str:
    return " ".join(fault.text for fault in error.faults)


def side_by_side(revision: Revision) -> Joining:
    """Both ways of joining the facets of a job's latest revision. What they come to is kept, as a revision never changes."""
    sheets = {joins: sheet_joined(revision, joins) for joins in JOINS}
    frozen = next(iter(sheets.values()))["frozen"]
    metal = metal_of(revision.sheet)
    ways = []
    for joins, sheet in sheets.items():
        figures, fault = _kept(revision, joins, sheet)
        is_present = joins == revision.sheet["making"]["joins"]
        going = 0 if figures is None or is_present else len(retiring(revision.fabrication, figures.steps, metal))
        ways.append(Way(joins, figures, fault, is_present, going))
    return Joining(tuple(ways), bool(frozen))


def _kept(revision: Revision, joins: Joins, sheet: dict[str, Any]) -> tuple[Figures | None, str]:
    """The figures, or why there are none; worked out once for a revision and what lies cut."""
    lies = [sheet[key] for key in ("frozen", "guests", "elsewhere")]
    lying = hashlib.sha256(json.dumps(lies, sort_keys=True).encode()).hexdigest()[:16]
    key = f"joining:{revision.pk}:{revision.check_code}:{lying}:{joins}"
    found: tuple[Figures | None, str] | None = cache.get(key)
    if found is None:
        found = _worked_out(revision, sheet)
        cache.set(key, found, KEPT_FOR)
    return found


def _worked_out(revision: Revision, sheet: dict[str, Any]) -> tuple[Figures | None, str]:
    try:
        plan = planning.preview(sheet)
    except SheetFaults as error:
        return None, _told(error)
    return _figures(planning.restore(revision), plan), ""


def _figures(before: Plan, plan: Plan) -> Figures:
    shell, layout = plan.shell, plan.layout
    kept = sum(shapely.Polygon(piece.outline).area for used in layout.sheets for piece in used.offcuts)
    return Figures(
        blanks=plan.sheet.quantity * sum(blank.count for blank in plan.blanks),
        patterns=sum(blank.same_as is None for blank in plan.blanks),
        weld=plan.takeoff.weld_length,
        folds=plan.takeoff.fold_count,
        sheets=len(layout.sheets),
        taken=plan.takeoff.sheet_area - kept,
        minutes=sum(step.minutes for step in plan.steps),
        cost=plan.cost.total,
        anew=names(compare(before, plan).anew),
        folds_facets=any(is_between_facets(joint, shell) for joint in shell.folds),
        steps=substances(plan),
    )
