"""What was planned for a fabrication: its revisions, and the rows of the latest one."""

from collections.abc import Iterable
from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import OuterRef, Q, Subquery
from django.db.models.functions import Length
from django.db.models.lookups import Exact

from fabjobs.codes import CHECK_CODE_LENGTH
from fabjobs.models.job import Fabrication, Job

# What the review reads of a revision
SUMMED = (
    *("minutes", "net_mass", "sheet_mass", "offcut_mass", "areal_mass"),
    *("metal_cost", "labour_cost", "supplies_cost", "total_cost", "currency"),
)


class RevisionQuerySet(models.QuerySet["Revision"]):
    def latest_of(self, jobs: Iterable[Job]) -> Self:
        """The newest revision of each fabrication of these jobs, in the jobs' own order of fabrications."""
        newest = Revision.objects.filter(fabrication=OuterRef("fabrication")).order_by("-number").values("pk")[:1]
        return (
            self.filter(fabrication__job__in=jobs, pk=Subquery(newest))
            .select_related("fabrication")
            .order_by("fabrication__position")
        )


class Revision(models.Model):
    """A sheet and its plan as they were stored. Never changed: the database itself refuses an update."""

    fabrication = models.ForeignKey(Fabrication, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    sheet = models.JSONField()
    plan = models.JSONField()
    check_code = models.CharField(max_length=CHECK_CODE_LENGTH)
    # What lists and the review read, so that they never load whole plans; each is the plan's own figure.
    thumbnail = models.TextField("the tray drawn, SVG", default="")
    minutes = models.FloatField("expected, min", default=0)
    net_mass = models.FloatField("in blanks, kg", default=0)
    sheet_mass = models.FloatField("in sheets, kg", default=0)
    offcut_mass = models.FloatField("in offcuts kept, kg", default=0)
    areal_mass = models.FloatField("mass of the sheet, kg/m2", default=0)
    metal_cost = models.DecimalField(max_digits=15, decimal_places=2, default=0)
    labour_cost = models.DecimalField(max_digits=15, decimal_places=2, default=0)
    supplies_cost = models.DecimalField("filler and gas", max_digits=15, decimal_places=2, default=0)
    total_cost = models.DecimalField(max_digits=15, decimal_places=2, default=0)
    currency = models.CharField("of its money", max_length=3)
    form_key = models.UUIDField(null=True, unique=True, editable=False)  # a form sent twice makes one revision
    reason = models.CharField("why it was changed", max_length=200, blank=True, default="")
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering = ["fabrication", "number"]
        # The summary by itself: SQLite would have to read through sheet and plan to come to these columns.
        indexes = [models.Index(fields=["fabrication", "number", *SUMMED], name="revisions_summed")]
        constraints = [
            models.UniqueConstraint(
                fields=["fabrication", "number"],
                name="one_revision_a_number",
                violation_error_message="That revision exists already.",
            ),
            models.CheckConstraint(
                condition=Q(number__gte=1) & Q(Exact(Length("check_code"), CHECK_CODE_LENGTH)),
                name="revision_numbered_and_coded",
                violation_error_message="A revision counts from 1 and carries a six-sign check code.",
            ),
        ]

    def __str__(self) -> str:
        return f"revision {self.number}"


class Part(models.Model):
    """A blank of one revision, as a row that records can point at."""

    fabrication = models.ForeignKey(Fabrication, on_delete=models.PROTECT, related_name="parts")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="parts")
    blank = models.CharField("blank's name", max_length=80)
    count = models.PositiveIntegerField()
    same_as = models.CharField(max_length=80, blank=True, default="")
    mirrored = models.BooleanField(default=False)
    area = models.FloatField("net area, mm2")
    mass = models.FloatField("mass, kg")

    class Meta:
        ordering = ["revision", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "blank"],
                name="one_part_a_blank",
                violation_error_message="That blank has a row already.",
            ),
            models.CheckConstraint(
                condition=Q(count__gte=1, area__gt=0, mass__gt=0),
                name="part_has_a_size",
                violation_error_message="A part has a count, an area and a mass above 0.",
            ),
        ]

    def __str__(self) -> str:
        return self.blank


class Step(models.Model):
    """One thing to do. Its key names the thing, so it stays the same row from revision to revision.

    A step that went, or whose substance changed, after work was logged on it is `retired`: it keeps its row and shows as
    done under `revision`, the last that had it; a changed one has a new row beside it. `rate` is what an hour of it costs
    by that revision's sheet. `done_at` and `done_by` say what the newest tick says; `version` counts the ticks.
    """

    fabrication = models.ForeignKey(Fabrication, on_delete=models.PROTECT, related_name="steps")
    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="steps")
    key = models.TextField()  # a cut is named by all that it parts, which may be many
    position = models.PositiveIntegerField()
    kind = models.CharField(max_length=40)
    text = models.TextField()
    detail = models.TextField(blank=True, default="")  # how it is done: no part of what makes it the same step
    driver = models.FloatField()
    unit = models.CharField(max_length=20, blank=True)
    minutes = models.FloatField()
    rate = models.DecimalField("an hour", max_digits=8, decimal_places=2, default=0)
    retired = models.BooleanField(default=False)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    version = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["fabrication", "position"]
        indexes = [
            models.Index(fields=["fabrication", "position"], condition=Q(done_at=None), name="steps_to_do"),
            models.Index(fields=["done_at"], condition=Q(done_at__isnull=False), name="steps_done"),
            # All that the review sums, so that it never reads the words of a step.
            models.Index(fields=["fabrication", "kind", "rate", "minutes", "done_at", "retired"], name="steps_summed"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["fabrication", "key"],
                condition=Q(retired=False),
                name="one_step_a_key",
                violation_error_message="That step has a row already.",
            ),
            models.CheckConstraint(
                condition=Q(position__gte=1, driver__gte=0, minutes__gte=0) & ~Q(key="") & ~Q(kind="") & ~Q(text=""),
                name="step_says_what_to_do",
                violation_error_message="A step has a key, a kind, words, and figures of 0 or more.",
            ),
        ]

    def __str__(self) -> str:
        return self.text
