"""What each guest takes of the metal of the sheets that it shares: offcuts stay with the host, the rest goes by area."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

import shapely

from calc.laid import Layout, SheetLayout
from calc.records import Outline, as_json
from calc.shared import APART, Guest
from calc.sheet import JobSheet
from calc.stock import Stock

CENT = Decimal("0.01")
AREA_DIGITS = 3  # of a share's area, in mm2: less than a hundredth of a gram of any sheet


@dataclass(frozen=True, slots=True)
class Share:
    """What a guest takes of a sheet, counted from 1: area [mm2] and price, out of what the sheet holds and costs, offcuts
    aside. The host keeps what is left of both, so that the two are the whole sheet whatever was rounded."""

    job: str
    sheet: int
    area: float
    price: str


def shares_of(sheet: JobSheet, layout: Layout) -> tuple[Share, ...]:
    """Every guest's share of every sheet that its blanks lie on, sheet by sheet.

    A share of a sheet that was cut into is as it was settled; of the others it goes by the area of each job's blanks there.
    """
    sizes = {size.label: size for size in sheet.stock}
    return tuple(
        share
        for number, used in enumerate(layout.sheets, 1)
        for share in (
            _settled(sheet.guests, number)
            if number <= len(sheet.frozen)
            else _by_area(sheet.guests, number, used, sizes[used.stock])
        )
    )


def _settled(guests: tuple[Guest, ...], number: int) -> Iterator[Share]:
    for guest in guests:
        for charge in guest.charged:
            if charge.sheet == number:
                yield Share(guest.job, number, charge.area, charge.price)


def _by_area(guests: tuple[Guest, ...], number: int, used: SheetLayout, size: Stock) -> Iterator[Share]:
    areas = {placed.name: _area(placed.outline) for placed in used.fitting}
    whole = math.fsum(areas.values())
    kept = math.fsum(_area(piece.outline) for piece in used.offcuts)
    for guest in guests:
        own = math.fsum(area for name, area in areas.items() if name.startswith(f"{guest.job}{APART}"))
        if own:
            area = round(own / whole * (used.area - kept), AREA_DIGITS)
            part = Decimal(repr(round(area / used.area, 12)))
            price = (Decimal(size.price) * part).quantize(CENT, ROUND_HALF_UP)
            yield Share(guest.job, number, area, str(price))


def _area(outline: Outline) -> float:
    """[mm2], of the outline as it is stored: a plan and the same from its JSON share alike to the last figure."""
    return float(shapely.Polygon(as_json(outline)).area)
