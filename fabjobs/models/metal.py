"""Blanks spoiled and things bought in, a line each; sheets and offcuts are the rack's (`fabjobs.models.rack`)."""

from django.db import models
from django.db.models import Q

from fabjobs.models.logged import LONGEST_NOTE, MetalLine
from fabjobs.models.planned import Revision, Step


class Spoiled(MetalLine):
    """Blanks spoiled: which, how many, why. Area [mm2] and mass [kg] of one are the part's, at the time.

    copy: which of them ("A.1"), where another was laid out in its place; revision: the one that did.
    """

    blank = models.CharField("blank", max_length=80)
    copy = models.CharField("which copy", max_length=100, blank=True, default="")
    revision = models.OneToOneField(Revision, on_delete=models.PROTECT, related_name="spoiled", null=True, blank=True)
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
            models.CheckConstraint(
                condition=Q(copy="", revision__isnull=True) | (~Q(copy="") & Q(revision__isnull=False, count=1)),
                name="a_spoiled_copy_is_replaced_once",
                violation_error_message="A copy in whose place there is another is one, and has the revision that says so.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.copy or f'{self.count} x {self.blank}'}: {self.why}"


class SpoiledWork(models.Model):
    """Work that was spoiled with a blank: which share of the time on a step, up to when the blank was spoiled."""

    spoiled = models.ForeignKey(Spoiled, on_delete=models.PROTECT, related_name="work")
    step = models.ForeignKey(Step, on_delete=models.PROTECT, related_name="spoiled_work")
    share = models.FloatField()

    class Meta:
        ordering = ["spoiled", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["spoiled", "step"],
                name="one_share_a_step",
                violation_error_message="That work is counted already.",
            ),
            models.CheckConstraint(
                condition=Q(share__gt=0, share__lte=1),
                name="share_of_the_work",
                violation_error_message="A share of the work is more than none of it, and at most all.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.share:g} of {self.step}"


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
