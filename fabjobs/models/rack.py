"""The rack: every sheet and offcut, and the ledger of what became of it. A balance is a sum of lines, never a number."""

from datetime import datetime

from django.db import models
from django.db.models import F, Q, Sum
from django.db.models.functions import Coalesce
from django.urls import reverse

from calc.records import Outline
from fabjobs.models.job import Fabrication
from fabjobs.models.logged import LONGEST_NOTE, LoggedLine
from fabjobs.models.people import Person


class Form(models.TextChoices):
    SHEET = "sheet", "sheet"
    OFFCUT = "offcut", "offcut"
    SHARE = "share", "share"


class StockItemQuerySet(models.QuerySet["StockItem"]):
    def with_balances(self) -> "StockItemQuerySet":
        """Each with `on_hand`, `reserved` and `free`, counted in pieces, all in one query."""
        return self.annotate(
            on_hand=Coalesce(Sum("moves__on_hand"), 0), reserved=Coalesce(Sum("moves__reserved"), 0)
        ).annotate(free=F("on_hand") - F("reserved"))


class StockItem(models.Model):
    """Pieces that came to the rack together and are the same: so many sheets of a size, or one offcut.

    number is what is written on the metal. length x width is the least rectangle round it; outline [mm] that of an offcut
    which is no rectangle, convex, anticlockwise, its least x and y 0. area, mass and price are of one piece; an offcut's price
    is its share of what was paid for the sheet it is of. What there is of it is told by its moves. A share is no piece of the
    rack but what one job takes of a sheet of another: its area, mass and price are the share's, its sides those of the sheet.
    """

    number = models.PositiveIntegerField(unique=True)
    form = models.CharField(max_length=6, choices=Form.choices)
    label = models.CharField(max_length=40)
    alloy = models.CharField(max_length=40)
    thickness = models.FloatField("thickness, mm")
    length = models.FloatField("length, mm")
    width = models.FloatField("width, mm")
    outline = models.JSONField("outline, mm", null=True, blank=True)
    area = models.FloatField("area of one, mm2")
    mass = models.FloatField("mass of one, kg")
    price = models.DecimalField("price of one", max_digits=10, decimal_places=2)
    place = models.CharField(max_length=80, blank=True, default="")
    from_job = models.ForeignKey(
        Fabrication, on_delete=models.PROTECT, null=True, blank=True, related_name="offcuts_kept"
    )

    objects = StockItemQuerySet.as_manager()

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["alloy", "thickness"], name="stock_by_metal")]
        constraints = [
            models.CheckConstraint(
                condition=Q(number__gte=1), name="stock_numbered_from_1", violation_error_message="Pieces count from 1."
            ),
            models.CheckConstraint(
                condition=Q(form__in=Form.values) & ~Q(label=""),
                name="stock_has_a_form",
                violation_error_message="It is a sheet, an offcut or a share of a sheet, and has a label.",
            ),
            models.CheckConstraint(
                condition=Q(length__gt=0, width__gt=0, thickness__gt=0, area__gt=0, mass__gt=0, price__gte=0)
                & ~Q(alloy=""),
                name="stock_has_a_size",
                violation_error_message="It has a metal, a length and a width above 0, and a price of 0 or more.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """What is written on the metal."""
        return f"R{self.number}"

    @property
    def labels(self) -> tuple[str, str]:
        """What a job's layout calls it: its name, or the second where a size that the shop buys has that name."""
        return self.name, f"Rack {self.number}"

    @property
    def edge(self) -> Outline:
        """The outline of one [mm], a rectangle's too."""
        if self.outline:
            return tuple((x, y) for x, y in self.outline)
        return ((0.0, 0.0), (self.length, 0.0), (self.length, self.width), (0.0, self.width))

    def get_absolute_url(self) -> str:
        return reverse("rack_item", args=[self.number])


class MoveKind(models.TextChoices):
    BOUGHT = "bought", "bought"
    RESERVED = "reserved", "reserved"
    RELEASED = "released", "released"
    ISSUED = "issued", "issued"
    RETURNED = "returned", "returned"
    SCRAPPED = "scrapped", "scrapped"
    COUNTED = "counted", "counted"


class StockMoveQuerySet(models.QuerySet["StockMove"]):
    def standing(self, kind: MoveKind) -> "StockMoveQuerySet":
        """The lines of a kind that no other corrects, the shares of a sheet that one job passes to another left out; the oldest
        first, each with what it moved."""
        lines = self.filter(kind=kind, corrects=None, corrected_by=None).exclude(item__form=Form.SHARE)
        return lines.select_related("item")


class StockMove(LoggedLine):
    """A line of the ledger: what it adds to the pieces on hand and to those reserved, below 0 for what it takes.

    A line is never changed. One that was wrong is undone by a line of the same kind that `corrects` it, with the opposite
    figures and the reason. The database refuses a line that would leave fewer than none, or more reserved than there are.
    """

    item = models.ForeignKey(StockItem, on_delete=models.PROTECT, related_name="moves")
    kind = models.CharField(max_length=8, choices=MoveKind.choices)
    on_hand = models.IntegerField(default=0)
    reserved = models.IntegerField(default=0)
    fabrication = models.ForeignKey(
        Fabrication, on_delete=models.PROTECT, null=True, blank=True, related_name="stock_moves"
    )
    of_stock = models.CharField("the label it has in the plan", max_length=40, blank=True, default="")
    by_itself = models.BooleanField("made by a tick or a plan, not by hand", default=False)
    reason = models.CharField(max_length=LONGEST_NOTE, blank=True, default="")
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )

    objects = StockMoveQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["fabrication", "kind"], name="moves_of_a_job")]
        constraints = [
            models.CheckConstraint(
                condition=Q(corrects__isnull=False)
                | Q(kind__in=("bought", "returned"), on_hand__gte=1, reserved=0)
                | Q(kind="reserved", on_hand=0, reserved__gte=1)
                | Q(kind="released", on_hand=0, reserved__lte=-1)
                | Q(kind="issued", on_hand__lte=-1, reserved__lte=0, reserved__gte=F("on_hand"))
                | Q(kind="scrapped", on_hand__lte=-1, reserved=0)
                | Q(kind="counted", reserved=0),
                name="move_goes_its_way",
                violation_error_message="Bought and returned add pieces, issued and scrapped take them.",
            ),
            models.CheckConstraint(
                condition=Q(fabrication__isnull=False) | Q(kind__in=("bought", "scrapped", "counted")),
                name="move_names_its_job",
                violation_error_message="What is reserved, issued or returned is so for a job.",
            ),
            models.CheckConstraint(
                condition=(Q(corrects__isnull=True) & ~Q(kind__in=("scrapped", "counted"))) | ~Q(reason=""),
                name="move_says_why",
                violation_error_message="What is scrapped, counted or corrected needs a reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"{abs(self.on_hand or self.reserved)} x {self.item.label}"

    @property
    def count(self) -> int:
        """How many pieces it is about."""
        return abs(self.on_hand or self.reserved)

    @property
    def was_to_be_bought(self) -> bool:
        """Whether it issued sheets for a size that the plan has to buy, not for a piece of the rack."""
        return self.item.form == Form.SHEET and self.of_stock not in ("", *self.item.labels)

    # As lines of a job's metal are told: a corrected one is struck out

    @property
    def struck_at(self) -> datetime | None:
        return self._correction.at if self._correction else None

    @property
    def struck_by(self) -> Person | None:
        return self._correction.by if self._correction else None

    @property
    def struck_why(self) -> str:
        return self._correction.reason if self._correction else ""

    @property
    def _correction(self) -> "StockMove | None":
        return getattr(self, "corrected_by", None)
