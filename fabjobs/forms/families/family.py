"""What a shape family is to the form: the fields it asks for, the shape of a job sheet that they make, and back again."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from typing import Any, ClassVar

from django import forms
from django.http import QueryDict

from calc.units import LONGEST_TEXT, Display
from fabjobs.forms.lengths import LengthField

Given = Mapping[str, Any]  # what was typed, as far as it could be read, by the names of the fields


class Family(ABC):
    """A family's part of one form. Its fields share the form's names: what two families both ask for is typed once."""

    name: ClassVar[str]  # in the job sheet
    label: ClassVar[str]
    template: ClassVar[str]
    keys: ClassVar[frozenset[str]]  # of the sheet's shape, that the fields make
    has_facets: ClassVar[bool]  # whose joints may be welded or folded
    is_welded: ClassVar[bool] = True
    is_let_in: ClassVar[bool] = True  # into a bench
    holds: ClassVar[bool] = True  # coolant and chips
    drains: ClassVar[bool] = True  # by an outlet

    def __init__(self, form: forms.Form, display: Display) -> None:
        self.form, self.display = form, display

    @abstractmethod
    def fields(self) -> dict[str, forms.Field]:
        """The fields to ask for, in their order, by name."""

    @abstractmethod
    def shape(self, given: Given) -> dict[str, Any]:
        """The shape of a job sheet; None in it where a measurement is not there or can't be read."""

    @classmethod
    @abstractmethod
    def lengths(cls, shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:
        """The lengths [mm] of a stored shape (its JSON) by the fields that ask for them; None for one that stays empty.

        usual_radius [mm]: the metal's own, which a radius is left empty for.
        """

    @classmethod
    @abstractmethod
    def choices(cls, shape: Mapping[str, Any]) -> dict[str, str]:
        """What else of a stored shape stands in fields."""

    @abstractmethod
    def field_of(self, path: str) -> str | None:
        """The field for a path within the sheet's shape ("depth", "rim[2]"); None where no one field is to blame."""

    @abstractmethod
    def picture(self, given: Given, width: float) -> str:
        """Inline SVG of what is typed so far, each figure in the group of its field."""

    def answer(self, given: Given) -> str:  # noqa: ARG002  most have none
        """The answer to a question that the form asks back, in words; empty where none was asked."""
        return ""

    def ask_otherwise(self, typed: QueryDict) -> None:  # noqa: B027  most have no rows
        """Put into what was typed what its buttons asked for: a row more, or one taken out."""

    def length(self, label: str, *, required: bool = True, used: bool = True, hint: str = "") -> forms.CharField:
        """A field for a length. used: False for one that belongs to a way of measuring not in use: it is only kept."""
        if not used:
            return forms.CharField(label=label, max_length=LONGEST_TEXT, required=False, help_text=hint)
        return LengthField(unit=self.display.unit, label=label, required=required, help_text=hint)

    def typed(self, name: str) -> str:
        """A field as it stands in what was sent; empty while nothing was."""
        return str(self.form.data.get(name, "")) if self.form.is_bound else ""


def read(given: Given, *names: str) -> list[str | None]:
    """These lengths as they were typed; None for one that is not there or can't be read."""
    return [given.get(name) or None for name in names]


def unless_usual(radius: float | None, usual: float) -> float | None:
    """A radius [mm], None where it is the metal's own."""
    return None if radius is None or abs(radius - usual) < 1e-6 else radius
