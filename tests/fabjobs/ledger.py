"""What tests ask of the rack's ledger."""

from django.db.models import QuerySet

from fabjobs.models import MoveKind, StockMove


def issued() -> QuerySet[StockMove]:
    """The lines that took metal for a job, struck out ones too."""
    return StockMove.objects.filter(kind=MoveKind.ISSUED, corrects=None).select_related("item")


def returned() -> QuerySet[StockMove]:
    """The lines that brought offcuts, struck out ones too."""
    return StockMove.objects.filter(kind=MoveKind.RETURNED, corrects=None).select_related("item")
