"""What the form asks of every tray on a measured rim: rim, outlet, how the rim ends, what the outlet keeps clear of."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.http import QueryDict

from calc.units import Display
from fabjobs import planning
from fabjobs.forms.falls import FallField
from fabjobs.forms.families.family import Family, Given, read
from fabjobs.forms.families.keep_clear import KeepClearFields
from fabjobs.forms.families.rim import RimFields
from fabjobs.forms.families.rim_finish import RimFinish


class Tray(Family):
    """A tray whose rim was measured."""

    has_facets = True

    def __init__(self, form: forms.Form, display: Display) -> None:
        super().__init__(form, display)
        self.rim, self.finish, self.clear = self._rim(), RimFinish(self), KeepClearFields(self)

    def _rim(self) -> RimFields:
        return RimFields(self)

    def common_fields(self) -> dict[str, forms.Field]:
        """What stands behind the measurements of the family's own."""
        fields: dict[str, forms.Field] = {"bore": self.length("Outlet bore", required=False)}
        fields |= self.finish.fields()
        fields["wanted_fall"] = FallField(
            required=False, max_length=40, label="Wanted fall, 1 in", widget=forms.TextInput({"size": "5"})
        )
        return fields | self.clear.fields()

    def common_shape(self, given: Given) -> dict[str, Any]:
        """What the sheet's shape holds of any tray."""
        (bore,) = read(given, "bore")
        shape = {"family": self.name, "rim": self.rim.rim(given), "rim_finish": self.finish.finish(given)}
        shape |= {"outlet": {"bore": bore}} if bore else {}
        return shape | ({"keep_clear": rectangles} if (rectangles := self.clear.keep_clear(given)) else {})

    @staticmethod
    def common_lengths(shape: Mapping[str, Any], usual_radius: float) -> dict[str, float | None]:
        """The lengths of a stored shape that any tray has."""
        bore = (shape.get("outlet") or {}).get("bore")
        lengths = RimFields.lengths(shape["rim"]) | RimFinish.lengths(shape, usual_radius)
        return lengths | {"bore": bore} | KeepClearFields.lengths(shape)

    @classmethod
    def choices(cls, shape: Mapping[str, Any]) -> dict[str, str]:
        return RimFields.choices(shape["rim"]) | RimFinish.choices(shape) | KeepClearFields.choices(shape)

    def field_of(self, path: str) -> str | None:
        if path == "outlet.bore":
            return "bore"
        return RimFields.field_of(path) or RimFinish.field_of(path) or self.clear.field_of(path)

    def ask_otherwise(self, typed: QueryDict) -> None:
        self.rim.rows.ask_otherwise(typed)
        self.clear.rows.ask_otherwise(typed)

    def answer(self, given: Given) -> str:
        """What depths give the wanted fall, as soon as all that it depends on is there."""
        one_in = given.get("wanted_fall")
        if not one_in:
            return ""
        try:
            depths = planning.depths_for(self.falling(given), one_in, self.display)
        except ValueError as error:
            return f"{str(error)[0].upper()}{str(error)[1:]}."
        if depths is None:
            return ""
        figures = " and ".join(self.display.length(depth) for depth in depths)
        return f"1 in {one_in:g} at the least takes {self.depth_words} {figures}."

    depth_words = "a depth of"

    def falling(self, given: Given) -> dict[str, Any]:
        """The shape, as far as its falls depend on it: a rim's finish or outlet not yet given must not keep them back."""
        shape = self.shape(given)
        return {key: value for key, value in shape.items() if key not in ("rim_finish", "outlet", "keep_clear")}
