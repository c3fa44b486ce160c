"""Which copies of a job are cut, and so can be spoiled; of the others, in words, what to do instead."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from calc import drawing
from calc.laid import NAMED_IN_KEY, Placed, SheetLayout
from calc.records import Outline, from_json
from calc.shared import APART, Elsewhere, is_guests
from fabjobs import planning
from fabjobs.frozen import CUT, cut_into
from fabjobs.models import Revision, Step

UNCUT = (
    "{} is not cut yet, so no metal is spoiled. Marked out wrong, it is only marked out again: wipe the lines off, and take "
    "the tick of its marking back. If a cut of it was made and is not ticked, tick that first."
)
OF_TWO_JOBS = (
    "Where two jobs lie on one sheet, another in its place is laid out for neither by itself. Log the blank as spoiled on the "
    "metal page of its own job, and mark another out by its drawing there, on an offcut or a sheet of that job. Nothing was "
    "changed."
)


class CannotSpoil(Exception):
    """A copy that can't be said to be spoiled, or in whose place nothing can be laid out; the text says why."""


@dataclass(frozen=True)
class CutSheet:
    """A sheet that was cut into, counted from 1: the copies on it that are cut, those that are not, and those spoiled before.

    others: another job's, which lie on it.
    """

    number: int
    cut: tuple[Placed, ...]
    uncut: tuple[Placed, ...]
    spoiled: tuple[Placed, ...]
    others: tuple[Placed, ...]


def _to_corner(placed: Placed) -> Outline:
    """Its outline moved into the corner of its rectangle [mm]."""
    left, low = (min(point[axis] for point in placed.outline) for axis in (0, 1))
    return tuple((x - left, y - low) for x, y in placed.outline)


@dataclass(frozen=True)
class CutCopies:
    """The copies of a job's latest revision, by the sheets that were cut into.

    of: the copies, or the blanks, that a step is about; empty for all. elsewhere: by place ("job 12, sheet 1"), the copies
    that lie on other jobs' sheets.
    """

    revision: Revision
    sheets: tuple[CutSheet, ...]
    of: tuple[str, ...] = ()

    @classmethod
    def of_job(cls, revision: Revision, step: Step | None = None) -> "CutCopies":
        return cls(revision, tuple(_cut_sheets(revision)), _named_by(step))

    @property
    def shown(self) -> Iterator[tuple[CutSheet, list[tuple[Placed, SafeString]]]]:
        """Each sheet with the copies of it that are cut, if the step is about them, drawn as they lie, all to one scale."""
        for sheet in self.sheets:
            about = [placed for placed in sheet.cut if not self.of or {placed.name, placed.blank}.intersection(self.of)]
            longest = max((size for placed in about for point in _to_corner(placed) for size in point), default=1.0)
            drawn = (drawing.stock_outline(_to_corner(one), longest, f"{one.name} as it lies") for one in about)
            yield sheet, [(placed, mark_safe(picture)) for placed, picture in zip(about, drawn, strict=True)]

    @property
    def elsewhere(self) -> dict[str, list[str]]:
        return {entry.place: list(entry.names) for entry in self._elsewhere}

    @property
    def _elsewhere(self) -> list[Elsewhere]:
        return [from_json(Elsewhere, entry) for entry in self.revision.sheet.get("elsewhere", ())]

    def sheet_of(self, copy: str) -> int:
        """The number of the sheet on which a copy lies cut. Raises `CannotSpoil` with what to do instead where it does not."""
        for sheet in self.sheets:
            if copy in _names(sheet.cut):
                return sheet.number
            if copy in _names(sheet.spoiled):
                raise CannotSpoil(f"{copy} is spoiled already, and another has its place.")
            if copy in _names(sheet.others):
                told = f"{copy} is a blank of job {copy.partition(APART)[0]}, cut from this job's sheet {sheet.number}"
                raise CannotSpoil(f"{told}. {OF_TWO_JOBS}")
        for entry in self._elsewhere:
            if copy in entry.names:
                raise CannotSpoil(f"{copy} lies on {entry.place}. {OF_TWO_JOBS}")
        layout = self.revision.plan["layout"]["sheets"]
        if any(f"{one['blank']}.{one['copy']}" == copy for used in layout for one in used["placed"]):
            raise CannotSpoil(UNCUT.format(copy))
        raise CannotSpoil(f"There is no {copy} on the sheets of this job.")


def _names(placed: Iterable[Placed]) -> set[str]:
    return {one.name for one in placed}


def _named_by(step: Step | None) -> tuple[str, ...]:
    """The copies ("A.1") in the key of a cut; of other work on blanks the blank ("A") that its key begins with."""
    if step is None:
        return ()
    if step.kind == CUT and (copies := NAMED_IN_KEY.findall(step.key)):
        return tuple(copies)
    named = step.key.partition(":")[2].partition(":")[0]  # a blank, or what is in place of a spoiled copy of one
    return named, named.rpartition(".")[0] or named


def _cut_sheets(revision: Revision) -> list[CutSheet]:
    """The sheets of a job's latest revision that were cut into."""
    layout = planning.restore(revision).layout
    found = []
    for sheet in cut_into(revision.fabrication):
        lying = from_json(SheetLayout, sheet.layout)
        fitting = layout.sheets[sheet.number - 1].fitting
        own = [placed for placed in fitting if not is_guests(placed.blank)]
        found.append(
            CutSheet(
                sheet.number,
                cut=tuple(placed for placed in own if lying.is_cut(placed.name)),
                uncut=tuple(placed for placed in own if not lying.is_cut(placed.name)),
                spoiled=lying.spoiled,
                others=tuple(placed for placed in fitting if is_guests(placed.blank)),
            )
        )
    return found
