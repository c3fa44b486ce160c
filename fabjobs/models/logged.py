"""What a person logs: ticks, notes, time, metal. Lines are added and struck out, never changed or deleted."""

import uuid
from datetime import datetime
from typing import TYPE_CHECKING, Self

from django.conf import settings
from django.db import models
from django.db.models import Q

from fabjobs.models.job import Fabrication
from fabjobs.models.planned import Step

if TYPE_CHECKING:
    from fabjobs.models.people import Person

LONGEST_NOTE = 500
DAY_SECONDS = 24 * 3600


class LoggedLine(models.Model):
    """Who wrote it and when. form_key comes from the form, so that a form sent twice makes one line."""

    form_key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True


class Tick(LoggedLine):
    """A step ticked (done) or unticked; the newest line is what the step says."""

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="ticks")
    done = models.BooleanField()
    tapped_at = models.DateTimeField("when it was tapped, where it was sent later", null=True, blank=True)

    class Meta:
        ordering = ["step", "pk"]

    def __str__(self) -> str:
        return f"{'ticked' if self.done else 'unticked'} by {self.by}"

    @property
    def when(self) -> datetime:
        """When it was tapped, which is when it was written unless a device kept it for a while."""
        return self.tapped_at or self.at


class StepNote(LoggedLine):
    """A note on a step."""

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="notes")
    text = models.CharField(max_length=LONGEST_NOTE)

    class Meta:
        ordering = ["step", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(text=""), name="note_says_something", violation_error_message="A note needs words."
            ),
        ]

    def __str__(self) -> str:
        return self.text


class Times(models.QuerySet["TimeEntry"]):
    def seen_by(self, person: "Person") -> Self:
        """An owner sees everyone's time, a hand their own."""
        return self if person.is_owner else self.filter(person=person)


class TimeEntry(LoggedLine):
    """Time that a person spent on a step: by the timer (seconds is empty while it runs) or entered by hand.

    `rate` is what an hour of the step cost when the work was logged: rates that change later do not price it again.
    """

    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="times")
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="times")
    started_at = models.DateTimeField()
    seconds = models.PositiveIntegerField(null=True, blank=True)
    by_hand = models.BooleanField(default=False)
    rate = models.DecimalField("an hour", max_digits=8, decimal_places=2)

    objects = Times.as_manager()

    class Meta:
        ordering = ["-started_at", "-pk"]
        indexes = [
            models.Index(fields=["step", "seconds", "rate"], name="time_summed"),
            models.Index(fields=["started_at", "person", "seconds"], name="time_by_day"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["person"],
                condition=Q(seconds__isnull=True),
                name="one_running_timer_a_person",
                violation_error_message="A timer of yours is running already.",
            ),
            models.CheckConstraint(
                condition=Q(by_hand=False) | Q(seconds__gte=0, seconds__lte=DAY_SECONDS),
                name="time_by_hand_is_within_a_day",
                violation_error_message="Time entered by hand is at most 24 hours.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.seconds} s" if self.seconds is not None else f"{self.person}: running"


class TimeCorrection(LoggedLine):
    """A changed time: what it was, what it is now, and why."""

    entry = models.ForeignKey(TimeEntry, on_delete=models.PROTECT, related_name="corrections")
    was = models.PositiveIntegerField("seconds before")
    now = models.PositiveIntegerField("seconds after")
    reason = models.CharField(max_length=LONGEST_NOTE)

    class Meta:
        ordering = ["entry", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~Q(reason="") & Q(now__lte=7 * DAY_SECONDS),
                name="time_corrected_for_a_reason",
                violation_error_message="A correction needs a reason, and a time of at most a week.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.was} s to {self.now} s: {self.reason}"


class StrikeableLine(LoggedLine):
    """A line that, where it is wrong, is struck out with a reason, not deleted."""

    struck_at = models.DateTimeField(null=True, blank=True)
    struck_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    struck_why = models.CharField(max_length=LONGEST_NOTE, blank=True, default="")

    class Meta:
        abstract = True


class MetalLine(StrikeableLine):
    """A line about metal or things bought for a fabrication."""

    fabrication = models.ForeignKey(Fabrication, on_delete=models.PROTECT, related_name="%(class)s_lines")
    count = models.PositiveIntegerField(default=1)

    class Meta:
        abstract = True
