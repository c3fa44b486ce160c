"""What the new-job page shows of a form that is still being filled in."""

from dataclasses import dataclass
from typing import Self

from django.utils.safestring import SafeString, mark_safe

from calc import Plan, drawing
from fabjobs import planning
from fabjobs.drawings import Drawings
from fabjobs.forms import NewJobForm

WIDTH = 400.0  # narrow, so that its figures can be read on a phone


@dataclass(frozen=True)
class Preview:
    """The rim as measured so far; the plan if there is one already, else what is still missing or at fault."""

    rim: SafeString
    plan: Plan | None = None
    missing: tuple[str, ...] = ()
    at_fault: bool = False
    wanted: str = ""

    @classmethod
    def as_opened(cls, form: NewJobForm) -> Self:
        """Only the rim: nothing was typed yet that would be worth planning."""
        return cls(rim=_rim(form))

    @classmethod
    def of(cls, form: NewJobForm) -> Self:
        if not form.is_bound:
            return cls.as_opened(form)
        plan = form.plan(planning.preview, heading=False)
        missing = tuple(form.missing)
        return cls(
            rim=_rim(form),
            plan=plan,
            missing=missing,
            at_fault=plan is None and not missing,
            wanted=_wanted(form),
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


def _rim(form: NewJobForm) -> SafeString:
    """The rim as far as it is measured; an example to begin with."""
    given = form.measured
    corners = planning.rim_corners(given["rim"]) if form.by_sides else [planning.point(at) for at in given["rim"]]
    picture = drawing.rim_picture(
        corners or (),
        planning.point(given["low_point"]),
        form.shop.display,
        entry="sides" if form.by_sides else "corners",
        depth=planning.length(given["depth"]),
        bore=planning.length(given["bore"]),
        width=WIDTH,
    )
    return mark_safe(picture)


def _wanted(form: NewJobForm) -> str:
    """The answer to "what depth gives 1 in n", as soon as rim and low point are there."""
    one_in = form.cleaned_data.get("wanted_fall")
    if not one_in:
        return ""
    measured = form.measured
    depth = planning.depth_for(measured["rim"], measured["low_point"], one_in)
    if depth is None:
        return ""
    return f"1 in {one_in:g} at the least takes a depth of {form.shop.display.at_least(depth)}."
