"""What work and metal cost from a day on. A book is never changed: new figures make a new one, old plans keep theirs."""

from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from calc.sheet import Rates
from calc.tables.minutes import STANDARD


def check_by_kind(value: object) -> None:
    """Labour by kind of work: a mapping of known kinds to decimal texts."""
    if not isinstance(value, dict) or not set(value) <= set(STANDARD):
        raise ValidationError(f"Kinds of work are {', '.join(STANDARD)}.")


class RateBook(models.Model):
    """Labour per hour (one rate, and others by kind of work), filler per kg, gas per litre, an outlet fitting."""

    labour = models.DecimalField("labour, an hour", max_digits=8, decimal_places=2)
    labour_by_kind = models.JSONField("labour by kind of work", default=dict, blank=True, validators=[check_by_kind])
    filler = models.DecimalField("filler, a kg", max_digits=8, decimal_places=2)
    gas = models.DecimalField("gas, a litre", max_digits=9, decimal_places=4)
    outlet_fitting = models.DecimalField("outlet fitting, each", max_digits=8, decimal_places=2)
    created_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(labour__gte=0, filler__gte=0, gas__gte=0, outlet_fitting__gte=0),
                name="rates_are_not_negative",
                violation_error_message="A rate is 0 or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"rates of {self.created_at:%Y-%m-%d}"

    @classmethod
    def current(cls) -> "RateBook | None":
        """The book in force: the newest; None while the shop has none."""
        return RateBook.objects.first()

    def as_sheet(self, currency: str) -> dict[str, Any]:
        """The rates of a job sheet."""
        plain = {name: str(getattr(self, name)) for name in ("labour", "filler", "gas", "outlet_fitting")}
        return {"currency": currency, "labour_by_kind": dict(self.labour_by_kind), **plain}


def rates_in_force(currency: str) -> dict[str, Any]:
    """What a new sheet is costed at: the shop's book, or the program's own figures where the shop has none."""
    book = RateBook.current()
    if book is None:
        usual = Rates()
        return {"currency": currency, "labour": usual.labour}
    return book.as_sheet(currency)


class SheetPrice(models.Model):
    """A size of sheet the shop buys, of a metal and thickness, and what one costs."""

    alloy = models.CharField(max_length=40)
    thickness = models.FloatField("thickness, mm")
    label = models.CharField(max_length=40)
    length = models.FloatField("length, mm")
    width = models.FloatField("width, mm")
    price = models.DecimalField("price of one", max_digits=10, decimal_places=2)

    class Meta:
        ordering = ["alloy", "thickness", "label"]
        constraints = [
            models.UniqueConstraint(
                fields=["alloy", "thickness", "label"],
                name="one_price_a_sheet_size",
                violation_error_message="That metal has a sheet of this label already.",
            ),
            models.CheckConstraint(
                condition=Q(thickness__gt=0, length__gt=0, width__gt=0, price__gte=0) & ~Q(label="") & ~Q(alloy=""),
                name="sheet_price_has_a_size",
                violation_error_message="A sheet has a label, sizes above 0 and a price of 0 or more.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.alloy} {self.thickness:g}: {self.label}"
