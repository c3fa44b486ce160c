"""Metal and bought-in things as they were used, a line each."""

from django.db import models
from django.db.models import Q

from fabjobs.models.logged import LONGEST_NOTE, MetalLine


class SheetUsed(MetalLine):
    """Sheets that were cut into: so many of a size, at a price each. Metal and mass are the plan's at the time."""

    label = models.CharField(max_length=40)
    alloy = models.CharField(max_length=40)
    thickness = models.FloatField("thickness, mm")
    length = models.FloatField("length, mm")
    width = models.FloatField("width, mm")
    mass = models.FloatField("mass of one, kg")
    price = models.DecimalField("price each", max_digits=10, decimal_places=2)

    class Meta:
        ordering = ["fabrication", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(count__gte=1, length__gt=0, width__gt=0, thickness__gt=0, mass__gt=0, price__gte=0)
                & ~Q(alloy=""),
                name="sheet_used_has_a_size",
                violation_error_message="Sheets used have a metal, a count, a length and a width above 0, and a price.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} x {self.label}"


class OffcutReturned(MetalLine):
    """Pieces kept: so many of a size; the area of one [mm2] is what it measures, or the outline's where that is known.

    Metal and mass are the plan's at the time.
    """

    alloy = models.CharField(max_length=40)
    thickness = models.FloatField("thickness, mm")
    length = models.FloatField("length, mm")
    width = models.FloatField("width, mm")
    area = models.FloatField("area of one, mm2")
    mass = models.FloatField("mass of one, kg")

    class Meta:
        ordering = ["fabrication", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(count__gte=1, length__gt=0, width__gt=0, thickness__gt=0, area__gt=0, mass__gt=0)
                & ~Q(alloy=""),
                name="offcut_returned_has_a_size",
                violation_error_message="An offcut has a metal, a count, a length and a width above 0.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} x {self.length:g} x {self.width:g}"


class Spoiled(MetalLine):
    """Blanks spoiled: which, how many, why. Area [mm2] and mass [kg] of one are the part's, at the time."""

    blank = models.CharField("blank", max_length=80)
    why = models.CharField(max_length=LONGEST_NOTE)
    area = models.FloatField("area of one, mm2")
    mass = models.FloatField("mass of one, kg")

    class Meta:
        ordering = ["fabrication", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(count__gte=1, area__gt=0, mass__gt=0) & ~Q(why=""),
                name="spoiled_says_why",
                violation_error_message="A spoiled blank needs a count and a reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} x {self.blank}: {self.why}"


class BoughtIn(MetalLine):
    """A thing bought for the job: spigot, hose, sealant, screws."""

    what = models.CharField(max_length=120)
    price = models.DecimalField("price each", max_digits=10, decimal_places=2)

    class Meta:
        ordering = ["fabrication", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(count__gte=1, price__gte=0) & ~Q(what=""),
                name="bought_in_has_a_name",
                violation_error_message="A bought-in thing has a name, a count and a price.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.count} x {self.what}"
