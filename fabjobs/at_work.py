"""What is shown at the work: one step, filling the screen, between the one before and the next to do."""

from dataclasses import dataclass
from functools import cached_property

from django.db.models import QuerySet
from django.utils.safestring import SafeString

from calc.at_work import AtWork, at_work
from calc.cut_words import of_sheet
from fabjobs.aperture import Opening, openings_of
from fabjobs.as_built import Tray, Trays
from fabjobs.drawings import Drawings
from fabjobs.frozen import CUT
from fabjobs.making import steps_of
from fabjobs.models import Job, Person, Step
from fabjobs.planning import restore


def to_do(job: Job) -> QuerySet[Step]:
    """The steps in force of a job, in the order of its plan."""
    return Step.objects.filter(fabrication__job=job, retired=False).order_by("fabrication__position", "position")


def next_after(job: Job, step: int | None = None) -> int | None:
    """The first step that is not ticked after this one, else the first of all; None where every one is ticked."""
    rows = list(to_do(job).values_list("pk", "done_at"))
    keys = [pk for pk, _ in rows]
    place = keys.index(step) + 1 if step in keys else 0
    undone = [pk for pk, done_at in rows[place:] + rows[:place] if done_at is None and pk != step]
    return next(iter(undone), None)


def left_out(step: Step) -> list[str]:
    """The cuts of the same sheet that come before this one and are not ticked, as their steps begin; none of other work."""
    sheet = of_sheet(step.text) if step.kind == CUT else ""
    if not sheet:
        return []
    same = Step.objects.filter(fabrication=step.fabrication_id, retired=False, kind=CUT, text__startswith=sheet)
    before = same.filter(position__lt=step.position, done_at=None).order_by("position")
    return [
        text.removeprefix(sheet).partition(",")[0].partition(":")[0] for text in before.values_list("text", flat=True)
    ]


def left_out_words(step: Step) -> str:
    """What to say where a cut is ticked before others of its sheet; nothing where it is not."""
    numbers = left_out(step) if step.done_at else []
    if not numbers:
        return ""
    cuts = f"cut {numbers[0]} is" if len(numbers) == 1 else f"cuts {', '.join(numbers[:-1])} and {numbers[-1]} are"
    return f"Ticked out of turn: {cuts} not ticked yet."


def on_its_page(step: Step) -> dict[str, object]:
    """What the step's own page shows of its plan: what it is in few words, and the drawing of a cut."""
    drawings = Drawings(restore(step.revision))
    words = step.text if step.retired else at_work(drawings.plan, step.key).words
    return {"words": words, "picture": drawings.cut(step.key) if step.kind == CUT else None}


@dataclass(frozen=True)
class Shown:
    """A step as it is shown at the work. number of count: where it stands in the plan; back, ahead: keys of steps."""

    job: Job
    step: Step
    number: int
    count: int
    back: int | None
    ahead: int | None

    @classmethod
    def of(cls, job: Job, step: int, seen_by: Person) -> "Shown | None":
        """The step of this key, if it is in force; `ahead` is the next not ticked, `back` the one before in the plan."""
        keys = list(to_do(job).values_list("pk", flat=True))
        found = steps_of(job, seen_by).filter(pk=step).first()
        if found is None or step not in keys:
            return None
        place = keys.index(step)
        return cls(job, found, place + 1, len(keys), keys[place - 1] if place else None, next_after(job, step))

    @cached_property
    def _drawings(self) -> Drawings:
        return Drawings(restore(self.step.revision))

    @cached_property
    def says(self) -> AtWork:
        """What to do, and its figures."""
        return at_work(self._drawings.plan, self.step.key)

    @cached_property
    def openings(self) -> list[tuple[Tray, Opening | None]]:
        """Each tray with its opening, where the step is to cut those: they are drawn in place of the tray, which says nothing
        of them as it was drawn. Nothing at any other step."""
        if self.step.key != "aperture:rim":
            return []
        return list(openings_of(Trays.of(self.step.revision, self._drawings.plan)))

    @property
    def picture(self) -> SafeString:
        return self._drawings.at_work(self.step.key)
