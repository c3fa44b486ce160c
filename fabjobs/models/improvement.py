"""A better layout, asked for, looked for outside any request, and taken or left."""

from typing import Any

from django.db import models
from django.db.models import Q

from fabjobs.models.job import Fabrication
from fabjobs.models.logged import LoggedLine
from fabjobs.models.planned import Revision


class Improvement(LoggedLine):
    """One look for a better layout: who asked for it and when, and what came of it.

    It waits until a worker has `started_at`, and looks until `ended_at`; then it has the plan that was found, or the error in
    words. revision: whose sheet is laid out anew, the latest when it was asked for and again when it was started; taken_as:
    the revision that the plan became.
    """

    fabrication = models.ForeignKey(Fabrication, on_delete=models.PROTECT, related_name="improvements")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="improvements")
    started_at = models.DateTimeField(null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    plan = models.JSONField(null=True, blank=True)
    error = models.TextField(blank=True, default="")
    taken_as = models.OneToOneField(
        Revision, on_delete=models.PROTECT, related_name="improvement", null=True, blank=True
    )

    class Meta:
        ordering = ["fabrication", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["fabrication"],
                condition=Q(ended_at__isnull=True),
                name="one_look_at_a_time",
                violation_error_message="A better layout of it is being looked for already.",
            ),
            models.CheckConstraint(
                condition=Q(ended_at__isnull=True, plan__isnull=True, error="")
                | Q(ended_at__isnull=False, started_at__isnull=False, plan__isnull=False, error="")
                | (Q(ended_at__isnull=False, plan__isnull=True) & ~Q(error="")),
                name="a_look_ends_in_a_plan_or_an_error",
                violation_error_message="A look that ended has a plan, or says why it has none.",
            ),
            models.CheckConstraint(
                condition=Q(taken_as__isnull=True) | Q(plan__isnull=False),
                name="only_a_plan_is_taken",
                violation_error_message="Only a layout that was found can be taken.",
            ),
        ]

    def __str__(self) -> str:
        return f"a better layout of {self.fabrication}, asked for by {self.by}"

    @property
    def is_open(self) -> bool:
        """Whether it is still waited for."""
        return self.ended_at is None

    @property
    def is_offered(self) -> bool:
        """Whether a plan was found that was not taken."""
        return self.plan is not None and self.taken_as_id is None

    @property
    def sheet(self) -> dict[str, Any]:
        """The sheet that was laid out. Raises ValueError while no plan is there."""
        if self.plan is None:
            raise ValueError(f"{self} has no plan")
        sheet: dict[str, Any] = self.plan["sheet"]
        return sheet

    @property
    def seconds(self) -> float | None:
        """How long it took [s]; None while it has not ended, or was never begun."""
        if self.started_at is None or self.ended_at is None:
            return None
        return (self.ended_at - self.started_at).total_seconds()
