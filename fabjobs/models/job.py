"""A job, and the fabrications that it is made of."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.urls import reverse

from calc.reading import LONGEST_TEXT


class Job(models.Model):
    """What a customer is owed by a day. `version` counts its changes; `changed_by`, `changed_at`: the last of them."""

    number = models.PositiveIntegerField(unique=True)
    title = models.CharField(max_length=LONGEST_TEXT)
    customer = models.CharField(max_length=LONGEST_TEXT, blank=True, default="")
    machine = models.CharField(max_length=LONGEST_TEXT, blank=True, default="")
    due_day = models.DateField(null=True, blank=True)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)
    version = models.PositiveIntegerField(default=1)
    changed_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    changed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=Q(number__gte=1), name="job_number_from_1", violation_error_message="Jobs count from 1."
            ),
            models.CheckConstraint(
                condition=~Q(title=""), name="job_has_a_title", violation_error_message="A job needs a title."
            ),
        ]

    def __str__(self) -> str:
        return f"Job {self.number}: {self.title}"

    def get_absolute_url(self) -> str:
        return reverse("job", args=[self.number])


class Fabrication(models.Model):
    """One thing to make within a job: a tray, a pan, a guard."""

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="fabrications")
    name = models.CharField(max_length=80)
    position = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering = ["job", "position"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "position"],
                name="one_fabrication_a_position",
                violation_error_message="Another fabrication of this job stands at that position.",
            ),
            models.CheckConstraint(
                condition=Q(position__gte=1) & ~Q(name=""),
                name="fabrication_named_from_1",
                violation_error_message="A fabrication needs a name and a position from 1.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
