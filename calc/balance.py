"""Where the metal issued to a job went: into blanks, back as offcuts, spoiled, still in hand; the rest is scrap."""

import math
from collections.abc import Iterable
from decimal import Decimal
from typing import NamedTuple

import shapely
import shapely.affinity
import shapely.geometry

from calc.costing import CENT
from calc.records import Outline

SQUARE_METRE = 1e6  # [mm2]
NOTHING = Decimal(0)
RECTANGLE = 1.0  # [mm2] an offcut that differs from its rectangle by less is one
DUST = 1e-6  # [kg] what rounding may leave over


class Metal(NamedTuple):
    """So much sheet metal: mass [kg], area [mm2], and what it cost. A tuple: a review of years makes ten thousand."""

    mass: float = 0.0
    area: float = 0.0
    money: Decimal = Decimal(0)

    def __sub__(self, other: "Metal") -> "Metal":
        return Metal(self.mass - other.mass, self.area - other.area, self.money - other.money)


class Balance(NamedTuple):
    """What was issued and where it is; `scrap` is what nothing else accounts for, saw dust included.

    bought: what of it was bought for the job, the rest being from the rack; None where that is not known. in_hand: left of
    sheets that are not cut up yet.
    """

    issued: Metal = Metal()
    in_blanks: Metal = Metal()
    returned: Metal = Metal()
    spoiled: Metal = Metal()
    bought: Metal | None = None
    in_hand: Metal = Metal()

    @property
    def scrap(self) -> Metal:
        """The rest. Below 0 where the lines can't all be true: see `discrepancy`."""
        return self.issued - self.in_blanks - self.returned - self.spoiled - self.in_hand

    @property
    def discrepancy(self) -> str:
        """What does not add up, in words; nothing where all does."""
        if self.scrap.mass >= -DUST:
            return ""
        said = [f"the blanks hold {self.in_blanks.mass:.2f} kg"]
        said += [f"{self.returned.mass:.2f} kg came back as offcuts"] if self.returned.mass else []
        said += [f"{self.spoiled.mass:.2f} kg was spoiled"] if self.spoiled.mass else []
        words = said[0] if len(said) == 1 else f"{', '.join(said[:-1])} and {said[-1]}"
        return (
            f"This does not add up: {self.issued.mass:.2f} kg of sheet is logged, but {words}, "
            f"{-self.scrap.mass:.2f} kg too much. A sheet is not logged, an offcut is too large, or a blank is counted twice."
        )


def strike_balance(
    *,
    issued: Metal,
    blank_mass: float,
    returned: Metal,
    spoiled_mass: float,
    areal_mass: float,
    bought: Metal | None = None,
    in_hand_mass: float = 0.0,
) -> Balance:
    """The balance of one fabrication's metal.

    blank_mass, spoiled_mass [kg]; in_hand_mass [kg]: left of sheets that are not cut up, of which no more is told than
    nothing else accounts for; areal_mass [kg/m2], by which their areas follow from their masses. What was paid for the
    metal is shared out by mass, each share rounded half up to the hundredth; scrap takes what that leaves. What came back
    counts at the money in `returned`, what the rack took it at; where there is none, at its share too.

    >>> sheet = Metal(mass=10.0, area=2.5e6, money=Decimal("80.00"))
    >>> kept = Metal(mass=4.0, area=1e6)
    >>> struck = strike_balance(issued=sheet, blank_mass=5.0, returned=kept, spoiled_mass=0.5, areal_mass=4.0)
    >>> struck.scrap.mass, struck.scrap.area, str(struck.in_blanks.money), str(struck.scrap.money)
    (0.5, 125000.0, '40.00', '4.00')
    """

    # A share of a mass is as inexact as the mass: floats do, and only what comes of it is decimal.
    hundredths_a_kg = float(issued.money) * 100 / issued.mass if issued.mass else 0.0

    def share(mass: float, area: float) -> Metal:
        hundredths = math.floor(hundredths_a_kg * mass + 0.5)
        return Metal(mass, area, CENT * hundredths if hundredths else NOTHING)

    def of_mass(mass: float) -> Metal:
        return share(mass, mass / areal_mass * SQUARE_METRE if areal_mass else 0.0)

    back = returned if returned.money else share(returned.mass, returned.area)
    struck = Balance(issued, of_mass(blank_mass), back, of_mass(spoiled_mass), bought)
    if in_hand_mass <= 0:
        return struck
    rest = struck.scrap
    if rest.mass <= 0:
        return struck
    return struck._replace(in_hand=rest if in_hand_mass >= rest.mass - DUST else of_mass(in_hand_mass))


def sum_up(balances: Iterable[Balance]) -> Balance:
    """One balance for several."""
    kept = list(balances)
    return Balance(
        _total(of.issued for of in kept),
        _total(of.in_blanks for of in kept),
        _total(of.returned for of in kept),
        _total(of.spoiled for of in kept),
        _total(bought) if (bought := [of.bought for of in kept if of.bought is not None]) else None,
        _total(of.in_hand for of in kept),
    )


def _total(parts: Iterable[Metal]) -> Metal:
    kept = list(parts)
    money = sum((part.money for part in kept), Decimal(0))
    return Metal(math.fsum(part.mass for part in kept), math.fsum(part.area for part in kept), money)


def size_of(outline: Outline) -> tuple[float, float, float]:
    """Length, width [mm] of the least rectangle round an offcut, and its own area [mm2].

    >>> size_of(((0, 0), (300, 0), (300, 200), (0, 200)))
    (300.0, 200.0, 60000.0)
    """
    piece = shapely.Polygon(outline)
    around = shapely.get_coordinates(piece.minimum_rotated_rectangle)
    width, length = sorted(math.dist(around[i], around[i + 1]) for i in range(2))
    return round(length, 7), round(width, 7), round(float(piece.area), 3)


def laid_square(outline: Outline) -> Outline | None:
    """An offcut's outline [mm] turned until the least rectangle round it lies along x, from (0, 0); None for a rectangle.

    >>> laid_square(((10, 5), (310, 5), (310, 205), (10, 205))) is None
    True
    >>> laid_square(((10, 5), (310, 5), (310, 205), (110, 205)))
    ((0.0, 0.0), (300.0, 0.0), (300.0, 200.0), (100.0, 200.0))
    """
    length, width, area = size_of(outline)
    return None if abs(length * width - area) < RECTANGLE else laid_along(outline)


def laid_along(outline: Outline) -> Outline:
    """An outline [mm] turned until the least rectangle round it lies along x, from (0, 0), its corners in their own order; one
    that runs clockwise is turned round, its first corner still the first."""
    piece = shapely.Polygon(outline)
    around = shapely.get_coordinates(piece.minimum_rotated_rectangle)
    one, other = (around[i + 1] - around[i] for i in range(2))
    along = one if math.hypot(*one) >= math.hypot(*other) else other
    turned = shapely.affinity.rotate(piece, -math.degrees(math.atan2(along[1], along[0])), origin=(0.0, 0.0))
    corners = shapely.get_coordinates(shapely.geometry.polygon.orient(turned).exterior)[:-1]
    corners = corners - corners.min(axis=0)
    return tuple((round(float(x), 4) + 0.0, round(float(y), 4) + 0.0) for x, y in corners)
