"""Which stock is cut into next: what is left over first, then what makes the whole job's metal cheapest."""

import math
from collections.abc import Sequence
from copy import copy
from decimal import Decimal
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from calc.layout.sheets import Shop

MOST_LOOKED_AT = 6  # kinds of stock, those that could be cheapest, that are tried before one is chosen
MOST_RACKED = 3  # pieces of the rack, the largest, tried for holding the most
FEW = 4  # blanks at most for which every piece of the rack that could hold them is tried
ROOM = (1.0, 1.25, 1.6)  # times the area wanted: the smallest pieces of so much are tried for holding all
WORTH_CUTTING = 0.4  # of a piece of the rack that blanks fill at the least, where it does not hold all of them
MOST_LOOKS = 80  # sheets filled on trial to find what to begin with


def cheapest_kind(shop: "Shop") -> int | None:
    """The kind of stock to take next, by its place; None where nothing wanted fits any.

    Pieces left over come before sheets, the smaller first, so that the larger stay whole. Then comes what is on the rack: the
    smallest piece that holds all that is wanted, else the one that is filled best, if that is worth cutting it. Else it is
    the kind to begin with if all of the job's metal is to cost least, so far as quick looks tell; where the job is too large
    to look through, or at one price, the kind whose metal costs least for the area of parts that go on it.
    """
    racked = _from_the_rack(shop)
    if racked is not None:
        return racked
    kinds = _kinds(shop)
    left_over = [kind for kind in kinds if shop.stock[kind].left_over]
    if left_over:
        return min(left_over, key=lambda kind: (shop.stock[kind].area, kind))
    if len(kinds) < 2:
        return kinds[0] if kinds else None
    wanted = _wanted_area(shop)
    ranked = sorted(kinds, key=lambda kind: _least_price(shop, kind, wanted))[:MOST_LOOKED_AT]
    ranked.sort(key=lambda kind: _price_of_use(shop, kind))
    sheets = wanted / max(shop.stock[kind].area for kind in kinds)
    if max(1.0, sheets) * len(ranked) ** 2 > MOST_LOOKS:
        return ranked[0]
    return min(ranked, key=lambda kind: _price_from(shop, kind))


def _kinds(shop: "Shop") -> list[int]:
    """What is left over, and what is to be bought, as far as anything wanted fits it."""
    there = range(len(shop.stock))
    return [kind for kind in there if shop.left[kind] != 0 and not shop.stock[kind].racked and shop.any_fits(kind)]


def _from_the_rack(shop: "Shop") -> int | None:
    """The piece of the rack to take next; None where none is worth it, or metal is left over in hand."""
    racked = [kind for kind, metal in enumerate(shop.stock) if metal.racked and shop.left[kind] != 0]
    if not racked or any(metal.left_over and shop.left[kind] != 0 for kind, metal in enumerate(shop.stock)):
        return None
    racked.sort(key=lambda kind: (shop.stock[kind].area, kind))
    wanted = _wanted_area(shop)
    rooms = (0.0,) if sum(shop.counts) <= FEW else ROOM
    most = len(racked) if sum(shop.counts) <= FEW else 1
    roomy = [kind for room in rooms for kind in [k for k in racked if shop.stock[k].area > room * wanted][:most]]
    tried = [kind for kind in dict.fromkeys([*roomy, *racked[-MOST_RACKED:]]) if shop.any_fits(kind)]
    for kind in tried:  # the smaller first: a long blank goes on none that is only large enough by its area
        if list(shop.filled_on_trial(kind).counts) == list(shop.counts):
            return kind
    shares = {kind: shop.filled_on_trial(kind).placed_area / shop.stock[kind].area for kind in tried}
    best = max(tried, key=lambda kind: shares[kind], default=None)
    nothing_else = all(metal.racked or shop.left[kind] == 0 for kind, metal in enumerate(shop.stock))
    return best if best is not None and (shares[best] >= WORTH_CUTTING or nothing_else) else None


def _wanted_area(shop: "Shop") -> float:
    return sum(part.area * count for part, count in zip(shop.parts[False], shop.counts, strict=True))


def _least_price(shop: "Shop", kind: int, wanted: float) -> tuple[Decimal, int]:
    """The price of an area of parts if they filled the metal to the last corner, or all went on it."""
    stock = shop.stock[kind]
    return stock.price / Decimal(min(stock.area, wanted)), kind


def _price_of_use(shop: "Shop", kind: int) -> tuple[Decimal, bool, float, int]:
    stock = shop.stock[kind]
    placed = shop.filled_on_trial(kind).placed_area
    if not placed:
        return Decimal("Infinity"), stock.count is None, math.inf, kind
    return stock.price / Decimal(placed), stock.count is None, stock.area / placed, kind


def _price_from(shop: "Shop", first: int) -> tuple[float, Decimal]:
    """The area that is not placed in the end, and what all metal costs, if this kind is taken first and then always the one
    whose metal costs least for the area of parts on it."""
    trial = copy(shop)
    trial.left = list(shop.left)
    price = Decimal(0)
    kinds: Sequence[int] = [first]
    while kinds:
        kind = min(kinds, key=lambda one: _price_of_use(trial, one)) if len(kinds) > 1 else kinds[0]
        filled = trial.filled_on_trial(kind)
        if any(filled.counts):
            price += shop.stock[kind].price
            trial.take(kind, filled)
        else:
            trial.left[kind] = 0
        kinds = _kinds(trial)
    return round(_wanted_area(trial), 3), price
