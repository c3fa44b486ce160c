"""Sheets that were cut into: a change of the plan leaves them as they lie, and lays out only what is not on them."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, OuterRef, Q

from fabjobs.models import Fabrication, Revision, Step, TimeEntry

CUT = "cut"


@dataclass(frozen=True)
class FrozenSheet:
    """A sheet of the last layout, counted from 1, in the plan's own JSON, and the cuts of it that were worked on."""

    number: int
    layout: dict[str, Any]
    cuts: tuple[Step, ...]


Metal = tuple[str, float]  # alloy, thickness [mm]


def metal_key(alloy: str, thickness: float) -> Metal:
    """The metal, so that a thickness typed in another unit is still the same one."""
    return alloy, round(thickness, 6)


def metal_of(sheet: dict[str, Any]) -> Metal:
    """The metal of a stored sheet."""
    return metal_key(sheet["material"]["alloy"], sheet["material"]["thickness"])


def frozen_sheets(fabrication: Fabrication, *, metal: Metal | None = None) -> list[dict[str, Any]]:
    """The sheets of the last revision's layout that were cut into, in the plan's own JSON, for the sheet of the next.

    metal: what the next revision is of (see `metal_key`); of another metal nothing that was cut serves.
    """
    return [sheet.layout for sheet in cut_into(fabrication, metal=metal)]


def cut_into(fabrication: Fabrication, *, metal: Metal | None = None) -> list[FrozenSheet]:
    """The sheets on which a cut is ticked or has time logged, with those cuts."""
    revision = fabrication.revisions.last()
    if revision is None or (metal is not None and metal != metal_of(revision.sheet)):
        return []
    worked_on = {step.key: step for step in cuts_worked_on(fabrication)}
    found = []
    for number, (layout, keys) in enumerate(_keys_by_sheet(revision), start=1):
        cuts = tuple(worked_on[key] for key in keys if key in worked_on)
        if cuts:
            found.append(FrozenSheet(number, layout, cuts))
    return found


def cuts_worked_on(fabrication: Fabrication) -> Iterator[Step]:
    """The cuts of the last revision that are ticked, or on which time was spent (one corrected to nothing is none)."""
    timed = TimeEntry.objects.filter(Q(seconds__isnull=True) | Q(seconds__gt=0), step=OuterRef("pk"))
    steps = fabrication.steps.filter(retired=False, kind=CUT).select_related("done_by")
    yield from steps.filter(Q(done_at__isnull=False) | Exists(timed))


def _keys_by_sheet(revision: Revision) -> Iterator[tuple[dict[str, Any], list[str]]]:
    """Each sheet of the stored layout with the keys of its cuts; they were made into steps in the order of the layout."""
    sheets = revision.plan["layout"]["sheets"]
    if revision.sheet["making"]["cutting"] == "contour":
        yield from ((sheet, _contour_keys(revision, sheet)) for sheet in sheets)
        return
    keys = iter([step["key"] for step in revision.plan["steps"] if step["kind"] == CUT])
    for sheet in sheets:
        yield sheet, [next(keys) for _ in sheet["cuts"]]


def _contour_keys(revision: Revision, sheet: dict[str, Any]) -> list[str]:
    """Cut to outlines, the steps are one for each blank to mark out."""
    patterns = {blank["name"]: blank["same_as"] or blank["name"] for blank in revision.plan["blanks"]}
    return [f"cut:{patterns[placed['blank']]}" for placed in sheet["placed"] if placed["blank"] in patterns]
