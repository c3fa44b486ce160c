"""What a shape has to know of the sheet it is made of."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Metal:
    """The sheet: thickness, and the inside radius that folds have where nothing else is said [mm]."""

    thickness: float
    usual_radius: float
