"""Rows of fields that a person may have more of or fewer: the corners of a rim, what an outlet keeps clear of."""

from collections.abc import Iterator
from dataclasses import dataclass

from django import forms
from django.http import QueryDict

from fabjobs.forms.families.family import Family


@dataclass(frozen=True)
class Rows:
    """How many rows there are, and what their buttons ask for.

    counter: the hidden field that holds the count; columns: the names of a row's fields, with {} for its place, from 0;
    add, take_out: the buttons' names, the latter sent with the place of the row that goes.
    """

    family: Family
    counter: str
    columns: tuple[str, ...]
    least: int
    most: int
    usual: int
    add: str
    take_out: str

    @property
    def count(self) -> int:
        typed = self.family.typed(self.counter)
        is_number = typed.isascii() and typed.isdigit() and len(typed) < 9
        return min(max(int(typed), self.least), self.most) if is_number else self.usual

    @property
    def can_grow(self) -> bool:
        return self.count < self.most

    @property
    def can_shrink(self) -> bool:
        return self.count > self.least

    def field(self) -> forms.IntegerField:
        """The hidden field of the count."""
        return forms.IntegerField(
            min_value=self.least,
            max_value=self.most,
            initial=self.usual,
            required=self.least > 0,
            widget=forms.HiddenInput,
        )

    def names(self, row: int) -> list[str]:
        """The names of a row's fields."""
        return [column.format(row) for column in self.columns]

    def filled(self) -> Iterator[int]:
        """The places of the rows in which anything is typed."""
        for row in range(self.count):
            if any(self.family.typed(name).strip() for name in self.names(row)):
                yield row

    def ask_otherwise(self, typed: QueryDict) -> None:
        """Put a row more or fewer into what was typed, as the button that sent it asked for."""
        if self.add in typed and self.can_grow:
            typed[self.counter] = str(self.count + 1)
        elif self.take_out in typed and self.can_shrink:
            self._close_up(typed, str(typed[self.take_out]))

    def _close_up(self, typed: QueryDict, gone: str) -> None:
        count = self.count
        if not gone.isascii() or not gone.isdigit() or len(gone) > 3 or int(gone) >= count:
            return
        for row in range(int(gone), count):
            for here, below in zip(self.names(row), self.names(row + 1), strict=True):
                typed[here] = typed.get(below, "") if row + 1 < count else ""
        typed[self.counter] = str(count - 1)
