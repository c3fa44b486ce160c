"""A stamp of a row: what a form carries of what its sender had before them, so that a change made meanwhile is noticed."""

import hashlib
from decimal import Decimal

from django.db.models import Model


def stamp_of(row: Model) -> str:
    """Some signs that differ when anything kept in the row does; 99.5 and 99.50 are the same."""
    values = [(field.attname, field.get_prep_value(getattr(row, field.attname))) for field in row._meta.concrete_fields]
    plain = [(name, value.normalize() if isinstance(value, Decimal) else value) for name, value in values]
    return hashlib.sha256(repr(plain).encode()).hexdigest()[:16]
