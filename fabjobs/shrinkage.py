"""The shop's own shrinkage: what its trays as they were measured say of the published figures, and whether a job's blanks
allow for it.

A new job takes what they say into its sheet, so that the stored sheet alone gives its plan again; from then on it keeps it,
until it is put on the blanks or taken off them, or is made of another metal.
"""

import hashlib
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.core.cache import cache

from calc import Plan, SheetFaults
from calc.fitup import AsBuilt as Fitted
from calc.fitup import wanted
from calc.learning import WANTED, TooFew, own_shrinkage
from calc.learning import Tray as Learnt
from calc.making import Making, OwnShrinkage
from calc.records import as_json
from calc.shrinkage import Spread, told
from calc.tables.alloys import alloy
from calc.tables.lookup import NotListedError
from fabjobs import planning
from fabjobs.as_built import Made, fit_standing
from fabjobs.frozen import has_cuts
from fabjobs.made_by import is_welded, seams_ticked, with_made_by
from fabjobs.models import AsBuilt, Revision
from fabjobs.models.as_built import standing
from fabjobs.rack import sheet_now

MOST_TRAYS = 40  # that are learnt from, the newest
MOST_READ = 400  # trays that are looked through for them
KEPT_FOR = 24 * 3600  # [s]


class CannotAllow(Exception):
    """With the allowance, or without it, it can't be planned; the text says why."""


@dataclass(frozen=True)
class Told:
    """How many times the published figures so many trays say that seams shrink, each with the range in which the next tray lies
    19 times in 20; along is None where they tell nothing of it."""

    trays: int
    across: Spread
    along: Spread | None

    @classmethod
    def of(cls, own: OwnShrinkage | None) -> "Told | None":
        if own is None:
            return None
        along = None if own.along is None else told(own.along, own.along_spread)
        return cls(own.trays, told(own.across, own.across_spread), along)


@dataclass(frozen=True)
class Own:
    """How many of the shop's trays of a metal and process are welded and measured, and what they say; None while they are
    too few."""

    trays: int
    times: OwnShrinkage | None

    @property
    def wanted(self) -> int:
        """How many it takes."""
        return WANTED

    @property
    def told(self) -> Told | None:
        """What they say, with its range."""
        return Told.of(self.times)


def own_of(metal: str, process: str) -> Own:
    """What the newest trays of a metal's family, welded by a process, say of shrinkage. Worked out anew when one is added.

    A tray with a size that looks wrong is left out until it is measured again, one whose seams are not ticked until they are.
    """
    family = family_of(metal)
    lines = _lines_alike(family, process)
    welded = seams_ticked(line.fabrication_id for line, _ in lines)
    seams = [f"{made}:{' '.join(sorted(keys))}" for made, keys in sorted(welded.items())]
    told = [*(f"{line.form_key}/{made_by}" for line, made_by in lines), *seams]
    of_what = hashlib.sha256("\n".join(told).encode()).hexdigest()
    key = f"own-shrinkage:{of_what}"
    found: Own | None = cache.get(key)
    if found is None:
        found = _learnt(lines, welded, family, process)
        cache.set(key, found, KEPT_FOR)
    return found


def _learnt(
    lines: Sequence[tuple[AsBuilt, int]], welded: Mapping[int, Collection[str]], family: str, process: str
) -> Own:
    """What trays say, each held against the plan that its blanks were cut by: what that allowed is in them.

    One that was cut of another metal, or for another process, than it was measured as says nothing; nor does one that is
    not welded, by the keys of the seams that are, by fabrication.
    """
    revisions = Revision.objects.in_bulk({made_by for _, made_by in lines})
    made = {key: Made(revision, planning.restore(revision)) for key, revision in revisions.items()}
    alike = [(line, made[made_by]) for line, made_by in lines if _kind_of(made[made_by].plan) == (family, process)]
    whole = [(line, by) for line, by in alike if is_welded(by.plan, welded.get(line.fabrication_id, ()))]
    fits = [(by.plan, fit_standing(line, by)) for line, by in whole]
    said = own_shrinkage([_as_learnt(plan, fit) for plan, fit in fits if fit is not None])
    return Own(said.count, None) if isinstance(said, TooFew) else Own(said.trays, said)


def _kind_of(plan: Plan) -> tuple[str, str]:
    return family_of(plan.sheet.material.alloy), plan.sheet.making.process


def _as_learnt(plan: Plan, fit: Fitted) -> Learnt:
    """What a tray says: how far each side came out from its plan, by the number of the corner that it begins at."""
    sides = {one.key: one.between[0] + 1 for one in wanted(plan) if one.between and one.kind == "side"}
    deviations = {sides[line.key]: line.deviation for line in fit.lines if line.key in sides}
    return Learnt(plan, deviations, fit.suspect is not None)


def _lines_alike(family: str, process: str) -> list[tuple[AsBuilt, int]]:
    """The standing line of the newest trays of a family of metal and a process, each with what its tray was made by."""
    lines = standing(AsBuilt.objects.all()).order_by("-pk")
    told_as = lines.values_list("pk", "revision__sheet__material__alloy", "revision__sheet__making__process")
    keys = [
        pk
        for pk, metal, way in told_as[:MOST_READ]
        if family_of(metal) == family and (way or Making().process) == process
    ]
    return list(with_made_by(AsBuilt.objects.filter(pk__in=keys[:MOST_TRAYS]).order_by("-pk")))


def family_of(metal: str) -> str:
    """The family of a metal; its own name where the tables no longer list it."""
    try:
        return alloy(metal).family
    except NotListedError:
        return metal


def learnt_for(material: Mapping[str, Any], making: Mapping[str, Any]) -> dict[str, Any]:
    """What a new sheet's making takes from the shop's own trays: nothing while they are too few."""
    own = own_of(str(material["alloy"]), str(making.get("process", Making().process)))
    return {"own_shrinkage": None if own.times is None else as_json(own.times)}


def kept_for(material: Mapping[str, Any], making: Mapping[str, Any], stored: Mapping[str, Any]) -> dict[str, Any]:
    """The same for a change of a stored sheet: it keeps what it has, unless it is made of another metal or otherwise."""
    was = stored["making"].get("process", Making().process)
    now = making.get("process", was)
    if family_of(material["alloy"]) == family_of(stored["material"]["alloy"]) and now == was:
        return {}
    return learnt_for(material, {"process": now})


@dataclass(frozen=True)
class Allowance:
    """A job's shrinkage as its page shows it: what it was planned by, what the shop's trays say today."""

    revision: Revision
    plan: Plan

    @property
    def is_on(self) -> bool:
        """Whether it is put on the blanks."""
        return self.plan.sheet.making.allow_shrinkage

    @property
    def planned(self) -> OwnShrinkage | None:
        return self.plan.sheet.making.own_shrinkage

    @property
    def told(self) -> Told | None:
        """What it was planned by, with its range; None where that are the published figures."""
        return Told.of(self.planned)

    @cached_property
    def own(self) -> Own:
        return own_of(self.plan.sheet.material.alloy, self.plan.sheet.making.process)

    @property
    def is_renewed(self) -> bool:
        """Whether the shop's trays say otherwise today than when it was planned."""
        return self.own.times != self.planned

    def says(self, *, allow: bool) -> bool:
        """Whether the blanks are so already, by what the trays say today."""
        return self.is_on is allow and not (allow and self.is_renewed)

    @property
    def is_cut_into(self) -> bool:
        """Whether work on its blanks has begun."""
        return has_cuts(self.revision.fabrication)


def plan_allowed(revision: Revision, *, allow: bool) -> Plan:
    """The plan of a job's latest revision with today's shrinkage put on its blanks, or taken off. Raises `CannotAllow`."""
    making = revision.sheet["making"]
    learnt = learnt_for(revision.sheet["material"], making)
    effort = planning.in_a_request(making["effort"])
    try:
        return planning.compute(sheet_now(revision, effort=effort, allow_shrinkage=allow, **learnt))
    except SheetFaults as error:
        raise CannotAllow(" ".join(fault.text for fault in error.faults)) from None
