"""What the new-job page shows of a form that is still being filled in."""

from dataclasses import dataclass
from typing import Self

from django.utils.safestring import SafeString, mark_safe

from calc import Plan
from fabjobs import planning
from fabjobs.drawings import Drawings
from fabjobs.forms import NewJobForm

WIDTH = 400.0  # narrow, so that its figures can be read on a phone


@dataclass(frozen=True)
class Preview:
    """What is measured so far; the plan if there is one already, else what is still missing or at fault."""

    picture: SafeString
    plan: Plan | None = None
    missing: tuple[str, ...] = ()
    at_fault: bool = False
    wanted: str = ""

    @classmethod
    def as_opened(cls, form: NewJobForm) -> Self:
        """Only what is measured: nothing was typed yet that would be worth planning."""
        return cls(picture=_picture(form))

    @classmethod
    def of(cls, form: NewJobForm) -> Self:
        if not form.is_bound:
            return cls.as_opened(form)
        plan = form.plan(planning.preview, heading=False)
        missing = tuple(form.missing)
        return cls(
            picture=_picture(form),
            plan=plan,
            missing=missing,
            at_fault=plan is None and not missing,
            wanted=form.asked.answer(form.given),
        )

    @property
    def drawings(self) -> Drawings | None:
        return Drawings(self.plan) if self.plan else None

    @property
    def blank_count(self) -> int:
        """Blanks to cut for the whole job."""
        return sum(blank.count for blank in self.plan.blanks) * self.plan.sheet.quantity if self.plan else 0

    @property
    def pattern_count(self) -> int:
        """Blanks to mark out, each so many times."""
        return sum(blank.same_as is None for blank in self.plan.blanks) if self.plan else 0


def _picture(form: NewJobForm) -> SafeString:
    return mark_safe(form.asked.picture(form.given, WIDTH))
