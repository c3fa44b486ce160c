"""Blanks spoiled and things bought in, a line each; sheets and offcuts are the rack's (`fabjobs.models.rack`)."""

from django.db import models
from django.db.models import Q

from fabjobs.models.logged import LONGEST_NOTE, MetalLine


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
