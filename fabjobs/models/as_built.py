"""What was measured of a tray that is welded, and where its opening comes in the bench. Lines are added, never changed:
the newest of a tray stands."""

from typing import TypeVar

from django.db import models
from django.db.models import OuterRef, Q, QuerySet, Subquery

from fabjobs.models.job import Fabrication
from fabjobs.models.logged import LONGEST_NOTE, LoggedLine
from fabjobs.models.planned import Revision

Line = TypeVar("Line", bound="TrayLine")


class TrayLine(LoggedLine):
    """A line about one tray of a fabrication, counted from 1."""

    fabrication = models.ForeignKey(Fabrication, on_delete=models.PROTECT, related_name="%(class)s_lines")
    copy = models.PositiveIntegerField("tray number")

    class Meta:
        abstract = True


def standing(lines: QuerySet[Line]) -> QuerySet[Line]:
    """Those of these lines that are the newest of their tray."""
    same = lines.model._default_manager.filter(fabrication=OuterRef("fabrication"), copy=OuterRef("copy"))
    return lines.filter(pk=Subquery(same.order_by("-pk").values("pk")[:1]))


class AsBuilt(TrayLine):
    """A tray as it was measured after welding: `measured` holds lengths [mm] by the key that the plan of its revision gives
    each. Of a tray measured again the newest line stands; the older ones stay to be seen."""

    revision = models.ForeignKey(Revision, on_delete=models.PROTECT, related_name="as_builts")
    measured = models.JSONField("lengths measured, mm")
    note = models.CharField(max_length=LONGEST_NOTE, blank=True, default="")

    class Meta:
        ordering = ["fabrication", "copy", "pk"]
        indexes = [models.Index(fields=["fabrication", "copy"], name="as_built_of_a_tray")]
        constraints = [
            models.CheckConstraint(
                condition=Q(copy__gte=1) & ~Q(measured={}),
                name="as_built_measures_a_tray",
                violation_error_message="Trays count from 1, and something of one was measured.",
            ),
        ]

    def __str__(self) -> str:
        return f"tray {self.copy} measured by {self.by}"


class End(models.TextChoices):
    LEFT = "left", "left hand"
    RIGHT = "right", "right hand"


class Aperture(TrayLine):
    """The figures by which a tray's opening is set out in the bench [mm]; what is cut follows from the tray as it is measured.

    cutter_radius: the smallest inside corner that the cutter leaves. corner: the rim's side from it to the next lies along
    the bench's edge; from_end: how far along that edge it is from the bench's end, the one at the left hand or the right of
    who stands at the edge; from_edge, from_edge_next: how far that corner and the next are from the edge.
    """

    clearance = models.FloatField()
    cutter_radius = models.FloatField()
    bench_thickness = models.FloatField(null=True, blank=True)
    corner = models.PositiveSmallIntegerField("corner of the rim that is measured to")
    end = models.CharField("at which hand the bench's end is", max_length=5, choices=End.choices, default=End.LEFT)
    from_end = models.FloatField("from the bench's end")
    from_edge = models.FloatField("from the bench's edge")
    from_edge_next = models.FloatField("the next corner's, from the bench's edge")

    class Meta:
        ordering = ["fabrication", "copy", "pk"]
        indexes = [models.Index(fields=["fabrication", "copy"], name="aperture_of_a_tray")]
        constraints = [
            models.CheckConstraint(
                condition=Q(copy__gte=1, corner__gte=1, clearance__gte=0, cutter_radius__gte=0)
                & Q(end__in=End.values)
                & (Q(bench_thickness=None) | Q(bench_thickness__gt=0)),
                name="aperture_has_its_figures",
                violation_error_message="Trays and corners count from 1; clearance and cutter are 0 or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"aperture of tray {self.copy} by {self.by}"
