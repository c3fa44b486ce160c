"""How a published table is read: by name, or by the first row whose upper limit reaches the value."""

import math
from collections.abc import Iterable, Sequence
from typing import NoReturn, Protocol, TypeVar

SAME_SIZE = 1e-6  # mm; a size computed to 30.0000001 belongs to "up to 30"


class NotListedError(LookupError):
    """A table has no row for what was asked; its text is one sentence that says what the table does have."""


class Row(Protocol):
    """A row that holds for sizes over the row before it and up to `up_to` [mm]."""

    @property
    def up_to(self) -> float: ...


AnyRow = TypeVar("AnyRow", bound=Row)


def row_up_to(rows: Sequence[AnyRow], size: float, *, table: str, least: float = 0.0) -> AnyRow:
    """The row for a size [mm]: "over the last limit, up to and including this one".

    rows: by rising `up_to` [mm]. table: its name, for the error. least: where the first row begins [mm].
    Raises NotListedError for a size that is no positive number, or under or past the table.
    """
    if not (math.isfinite(size) and size > 0 and size >= least - SAME_SIZE):
        raise NotListedError(f"{table} begins at {least:g} mm: nothing is listed for {size:g} mm")
    for row in rows:
        if size <= row.up_to + SAME_SIZE:
            return row
    raise NotListedError(f"{table} ends at {rows[-1].up_to:g} mm: nothing is listed for {size:g} mm")


def refuse_name(what: str, given: object, known: Iterable[str]) -> NoReturn:
    """Raise NotListedError for a name that a table doesn't have, with those it has."""
    raise NotListedError(f"no {what} is listed under this name: use one of {', '.join(known)} (got {given})")
