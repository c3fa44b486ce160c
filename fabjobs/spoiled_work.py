"""Which work was done on a copy that is spoiled, by the steps it was logged on: what comes back, and what it cost."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from calc import Plan
from calc.blank import patterns
from calc.laid import NAMED_IN_KEY, Spoiled
from calc.layout.job import BY_SAW
from calc.layout.numbering import highest
from calc.records import as_json
from calc.steps import cut_keys
from calc.steps.again import keys_on
from fabjobs.frozen import CUT, cut_into, frozen_sheets, keys_as_they_lay, metal_of, retired_cuts, with_spoiled
from fabjobs.models import Revision, Step
from fabjobs.planning import restore
from fabjobs.rows import steps_worked_on


@dataclass(frozen=True)
class DoneOn:
    """The work on one copy ("A.1") of a fabrication's latest revision."""

    revision: Revision
    plan: Plan
    copy: str

    @classmethod
    def of(cls, revision: Revision, copy: str) -> "DoneOn":
        return cls(revision, restore(revision), copy)

    @property
    def blank(self) -> str:
        return self.copy.rpartition(".")[0]

    @property
    def comes_back(self) -> list[str]:
        """The work that is done on it and so is to do again, by the names that a job sheet has for it. What is not ticked is
        still to do once, for the copy in its place; one cut along its outline is cut anew in any case."""
        by_saw = self.plan.sheet.making.cutting == BY_SAW
        done = [work for work, step in self._steps() if step.done_at is not None and work != CUT]
        return done if by_saw else [CUT, *done]

    def lies(self) -> list[dict[str, Any]]:
        """The sheets that were cut into, this copy on them spoiled: for the sheet of the next plan."""
        fabrication, metal = self.revision.fabrication, metal_of(self.revision.sheet)
        sheets = frozen_sheets(fabrication, metal=metal)
        return with_spoiled(sheets, self.copy, as_json(Spoiled(tuple(self.comes_back), self.next_number)))

    @property
    def next_number(self) -> int:
        """That of the copy in its place: higher than any of its blank ever had in this plan or in a cut's name."""
        layout, sheet = self.plan.layout, self.plan.sheet
        names = {placed.name for used in layout.sheets for placed in used.placed} | set(layout.unplaced)
        names |= {name for entry in sheet.elsewhere for name in entry.names}
        names |= {name for used in layout.sheets for cut in used.cuts for name in NAMED_IN_KEY.findall(cut.key or "")}
        names |= {
            f"{placed.blank}.{placed.spoiled.by}" for used in layout.sheets for placed in used.placed if placed.spoiled
        }
        return 1 + highest(names)[self.blank]

    def shares(self) -> dict[int, float]:
        """By the steps that were worked on, the share of their time that went into it: of a step for several copies one part
        in so many; of a cut its edges among those that the cut finishes."""
        steps = {step.pk: share for step, share in (*self._of_its_own(), *self._of_cuts())}
        worked_on = steps_worked_on(self.revision.fabrication)
        return {pk: share for pk, share in steps.items() if pk in worked_on and share > 0}

    def _steps(self) -> Iterator[tuple[str, Step]]:
        """By the work, the step that it is done on this copy by."""
        keys = keys_on(self.plan.blanks, self.plan.layout, self.copy)
        wanted = {key for of_work in keys.values() for key in of_work}
        live = {step.key: step for step in self._live.filter(key__in=wanted)}
        for work, of_work in keys.items():
            step = next((live[key] for key in of_work if key in live), None)
            if step is not None:
                yield work, step

    def _of_its_own(self) -> Iterator[tuple[Step, float]]:
        off = self.plan.sheet.quantity * sum(
            blank.count
            for pattern, same in patterns(self.plan.blanks)
            if self.blank in {pattern.name, *(other.name for other in same)}
            for blank in (pattern, *same)
        )
        for _, step in self._steps():
            yield step, 1.0 if ":again" in step.key else 1 / off

    def _of_cuts(self) -> Iterator[tuple[Step, float]]:
        made = {step.key: step for step in (*retired_cuts(self.revision), *self._live.filter(kind=CUT))}
        for used, keys in zip(self.plan.layout.sheets, cut_keys(self.plan.layout), strict=True):
            for cut, key in zip(used.cuts, keys, strict=True):
                if key in made and self.copy in cut.edged:
                    yield made[key], cut.edged.count(self.copy) / len(cut.edged)

    @property
    def _live(self) -> QuerySet[Step]:
        return self.revision.fabrication.steps.filter(retired=False)


def cut_since(revision: Revision) -> list[Step]:
    """The cuts worked on since a revision, the latest, that are none of those on the sheets it left as they lay."""
    frozen = len(revision.sheet["frozen"])
    kept = {key for keys in keys_as_they_lay(revision) for key in keys}
    found = []
    for sheet in cut_into(revision.fabrication):
        found += [cut for cut in sheet.cuts if sheet.number > frozen or cut.key not in kept]
    return found
