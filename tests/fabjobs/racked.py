"""Pieces for tests to put on the rack."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

from fabjobs.models import Fabrication, Person, StockItem
from fabjobs.services import piece_find, stock_buy

METAL: dict[str, Any] = {"alloy": "5052-H32", "thickness": 1.5}
AREAL = 1.5e-3 * 2680  # [kg/m2] thickness x density of 5052, handbooks
TRIANGLE = ((0.0, 0.0), (600.0, 0.0), (200.0, 300.0))


def sheets(by: Person, count: int = 3, *, for_job: Fabrication | None = None, **change: Any) -> StockItem:
    """Sheets bought: 2500 x 1250 mm at 96.00, on the back wall."""
    given: dict[str, Any] = {**METAL, "label": "S1", "length": 2500.0, "width": 1250.0, "place": "Back wall"}
    given |= {"price": Decimal("96.00"), **change}
    mass = given["length"] * given["width"] * 1e-6 * AREAL
    return stock_buy(**given, mass=mass, count=count, by=by, form_key=uuid4(), fabrication=for_job)


def offcut(by: Person, length: float = 800.0, width: float = 500.0, count: int = 1, **change: Any) -> StockItem:
    """An offcut that stood on the second shelf."""
    given: dict[str, Any] = {**METAL, "length": length, "width": width, "area": length * width, "place": "Shelf 2"}
    given |= {"price": Decimal("12.00"), "reason": "Stood there", **change}
    return piece_find(**given, mass=given["area"] * 1e-6 * AREAL, count=count, by=by, form_key=uuid4())
