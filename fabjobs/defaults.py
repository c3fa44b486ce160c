"""What a new job begins with: the shop's saw, its rates, the sheets that it buys."""

from typing import Any

from calc.reading import Field
from calc.sheet import read_thickness
from fabjobs.models import SheetPrice, ShopSettings
from fabjobs.models.rates import rates_in_force

SAME = 0.05 + 1e-6  # [mm] sides no further apart are one size, as far as floats tell
SAME_THICKNESS = 0.005  # [mm] sheets are listed to the hundredth: 1.29 for a gauge of 1.2908, 1.59 for 1/16 in


def rates_for(shop: ShopSettings, labour: str) -> dict[str, Any]:
    """The rates in force, an hour of labour as typed."""
    return rates_in_force(shop.currency) | {"labour": labour}


def stock_for(alloy: str, thickness: str, typed: dict[str, Any]) -> list[dict[str, Any]]:
    """All sizes that the shop buys of a metal and thickness (as typed: with its unit, or a gauge); else the size typed."""
    return bought_sizes(alloy, thickness) or [typed]


def bought_sizes(alloy: str, thickness: str) -> list[dict[str, Any]]:
    """The sizes that the shop buys of a metal and thickness, as a job sheet holds them."""
    mm = read_thickness(Field(thickness), alloy)
    if mm is None:
        return []
    rows = SheetPrice.objects.filter(alloy=alloy, thickness__range=(mm - SAME_THICKNESS, mm + SAME_THICKNESS)).values(
        "label", "length", "width", "price"
    )
    return [{**row, "price": str(row["price"])} for row in rows]
