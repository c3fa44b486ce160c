"""How metals carry heat away, conductivity and heat capacity at about 20 °C; how warm they may be between runs.

Sources: EN 1999-1-2 for aluminium (5xxx and the rest apart), EN 1993-1-2 for steel, EN 10088-1 for stainless; all from memory.
"""

from typing import NamedTuple

from calc.tables.alloys import Alloy, Family

MUCH_MAGNESIUM = 2.0  # % over which aluminium is one of the 5xxx, which carry heat less well


class Conduction(NamedTuple):
    """Conductivity [W/(m K)] and heat capacity [J/(kg K)] of a metal, and where they are from."""

    conductivity: float
    capacity: float
    source: str

    def diffusivity(self, density: float) -> float:
        """How fast heat spreads [m2/s] in the metal of this density [kg/m3]: conductivity over density times capacity."""
        return self.conductivity / (density * self.capacity)


_OF_ALUMINIUM = "EN 1999-1-2 at 20 °C, from memory"

CONDUCTION = {
    "aluminium with magnesium": Conduction(142.0, 911.0, _OF_ALUMINIUM),  # 0.1 T + 140, 0.41 T + 903
    "aluminium": Conduction(191.0, 911.0, _OF_ALUMINIUM),  # 0.07 T + 190
    "steel": Conduction(53.3, 440.0, "EN 1993-1-2 at 20 °C, from memory"),  # 54 - 0.0333 T, 425 + 0.773 T - ...
    "stainless": Conduction(15.0, 500.0, "EN 10088-1, from memory"),
}

# [°C] how warm metal may be where the next run begins: aluminium 65 to 90 (common practice, from memory), stainless 150
# (EN 1011-3, from memory), steel 250 (common practice)
INTERPASS: dict[Family, float] = {"aluminium": 90.0, "stainless": 150.0, "steel": 250.0}
SHOP = 20.0  # [°C] the shop, and so metal that nothing was welded on


def conduction_of(metal: Alloy) -> Conduction:
    """How a metal carries heat.

    >>> from calc.tables.alloys import alloy
    >>> conduction_of(alloy("304")).conductivity, conduction_of(alloy("5052-H32")).conductivity
    (15.0, 142.0)
    """
    much = metal.family == "aluminium" and metal.magnesium > MUCH_MAGNESIUM
    return CONDUCTION["aluminium with magnesium" if much else metal.family]
