"""Sheets that were cut into: what is cut or still good stays, and a change lays out the rest, first on what is left of them."""

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from calc.balance import size_of
from calc.blank import Blank
from calc.laid import Layout, SheetLayout
from calc.layout.job import in_place_of
from calc.records import as_json, from_json
from calc.steps import cut_keys
from calc.steps.again import again, key_of
from fabjobs.models import Fabrication, MoveKind, Revision, Step, StockMove, TimeEntry

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


def with_spoiled(
    sheets: Sequence[Mapping[str, Any]], copy: str, spoiled: Mapping[str, Any] | None
) -> list[dict[str, Any]]:
    """The sheets that were cut into with a copy ("A.1") on them spoiled, as a job sheet says it; None for a copy that is not
    spoiled after all."""
    return [{**sheet, "placed": [_flagged(one, copy, spoiled) for one in sheet["placed"]]} for sheet in sheets]


def lay_before(revision: Revision, copy: str) -> list[dict[str, Any]]:
    """The sheets that a revision left as they lay, with the cuts made since, and a copy on them not spoiled after all."""
    worked_on = _by_key(_worked_on(revision.fabrication).filter(retired=False))
    made_since = []
    for sheet, keys in zip(revision.sheet["frozen"], keys_as_they_lay(revision), strict=True):
        made = (cut["made"] or key in worked_on for cut, key in zip(sheet["cuts"], keys, strict=True))
        cuts = [{**cut, "made": is_made} for cut, is_made in zip(sheet["cuts"], made, strict=True)]
        made_since.append({**sheet, "cuts": cuts})
    return with_spoiled(made_since, copy, None)


def keys_as_they_lay(revision: Revision) -> Sequence[Sequence[str]]:
    """The keys of the cuts of each sheet that a revision left as it lay, as they were laid out before it."""
    left = tuple(from_json(SheetLayout, sheet) for sheet in revision.sheet["frozen"])
    return cut_keys(Layout(left, (), 0.0))


def _flagged(placed: Mapping[str, Any], copy: str, spoiled: Mapping[str, Any] | None) -> dict[str, Any]:
    is_it = f"{placed['blank']}.{placed['copy']}" == copy
    return {**placed, "spoiled": spoiled} if is_it else dict(placed)


def cut_into(fabrication: Fabrication, *, metal: Metal | None = None) -> list[FrozenSheet]:
    """The sheets on which a cut is ticked or has time logged, with those cuts.

    On a sheet that was left as it lies before, a cut counts though its step is retired: what is cut stays cut, whatever
    later plans make of it. A new sheet has none of those, though a step of an earlier one may be named as one of its.
    """
    revision = fabrication.revisions.last()
    if revision is None or (metal is not None and metal != metal_of(revision.sheet)):
        return []
    live = _by_key(_worked_on(fabrication).filter(retired=False))
    left_as_they_lay = len(revision.sheet["frozen"])
    ever = _by_key(retired_cuts(revision)) | live if left_as_they_lay else live
    found = []
    for number, (used, keys) in enumerate(_keys_by_sheet(revision), start=1):
        worked_on = ever if number <= left_as_they_lay else live
        cuts = tuple(worked_on[key] for key in dict.fromkeys(keys) if key in worked_on)
        if cuts:
            found.append(FrozenSheet(number, _as_it_lies(used, keys, worked_on), cuts))
    return _without_returned(found, fabrication)


def _without_returned(found: Sequence[FrozenSheet], fabrication: Fabrication) -> list[FrozenSheet]:
    """The sheets, their offcuts that came to the rack marked as away: each line stands for the piece nearest to it in size."""
    lines = StockMove.objects.standing(MoveKind.RETURNED).filter(fabrication=fabrication)
    sizes = [
        (length, width)
        for length, width, count in lines.values_list("item__length", "item__width", "on_hand")
        for _ in range(count)
    ]
    here = [piece for sheet in found for piece in sheet.layout["offcuts"]]
    for piece in here:
        piece["away"] = False
    for length, width in sizes:
        left = [(piece, size_of(tuple(map(tuple, piece["outline"])))) for piece in here if not piece["away"]]
        if left:
            nearest, _ = min(left, key=lambda pair: abs(pair[1][0] - length) + abs(pair[1][1] - width))
            nearest["away"] = True
    return list(found)


def retired_cuts(revision: Revision) -> QuerySet[Step]:
    """The cuts made under earlier revisions of the same metal, without a break, whose steps are retired; oldest first."""
    metal = metal_of(revision.sheet)
    earlier = revision.fabrication.revisions.filter(number__lt=revision.number).order_by("-number")
    same = takewhile(lambda line: metal_of(line[1]) == metal, earlier.values_list("pk", "sheet"))
    return _worked_on(revision.fabrication).filter(retired=True, revision__in=[pk for pk, _ in same]).order_by("pk")


def has_cuts(fabrication: Fabrication) -> bool:
    """Whether any cut of it was ever worked on, of earlier revisions too: without one no sheet is cut into."""
    return _worked_on(fabrication).exists()


def _worked_on(fabrication: Fabrication) -> QuerySet[Step]:
    """The cuts that are ticked, or on which time was spent (one corrected to nothing is none)."""
    timed = TimeEntry.objects.filter(Q(seconds__isnull=True) | Q(seconds__gt=0), step=OuterRef("pk"))
    steps = Step.objects.filter(fabrication=fabrication, kind=CUT).select_related("done_by")
    return steps.filter(Q(done_at__isnull=False) | Exists(timed))


def _by_key(steps: QuerySet[Step]) -> dict[str, Step]:
    return {step.key: step for step in steps}


def _keys_by_sheet(revision: Revision) -> Iterator[tuple[SheetLayout, Sequence[str]]]:
    """Each sheet of the stored layout with the keys of all its cuts, of those too that are no step any more."""
    stored = from_json(Layout, revision.plan["layout"])
    for used, keys in zip(stored.sheets, cut_keys(stored), strict=True):
        yield used, keys or _contour_keys(revision, used)


def _contour_keys(revision: Revision, used: SheetLayout) -> list[str]:
    """Cut to outlines, the steps are one for each blank to mark out, and one for each that is in place of a spoiled one; of a
    blank that is gone, by its own name."""
    patterns = {blank["name"]: blank["same_as"] or blank["name"] for blank in revision.plan["blanks"]}
    lost = _in_place_of(revision)
    return [
        key_of(CUT, again(lost[placed.name]) if placed.name in lost else patterns.get(placed.blank, placed.blank))
        for placed in used.placed
    ]


def _in_place_of(revision: Revision) -> dict[str, str]:
    layout = from_json(Layout, revision.plan["layout"])
    if not any(used.spoiled for used in layout.sheets):
        return {}
    return in_place_of(tuple(from_json(Blank, blank) for blank in revision.plan["blanks"]), layout)


def _as_it_lies(used: SheetLayout, keys: Sequence[str], worked_on: Container[str]) -> dict[str, Any]:
    """The sheet for the next plan to judge: which of its copies fit was for the last one to say.

    A cut that was ticked, or begun, is made: no new blank may be laid out across it.
    """
    placed = tuple(replace(one, fits=True) for one in used.placed)
    made = (key in worked_on for key in keys)
    cuts = tuple(replace(cut, made=is_made) for cut, is_made in zip(used.cuts, made, strict=False))
    lying: dict[str, Any] = as_json(replace(used, placed=placed, cuts=cuts))
    return lying
