"""A year of a hundred random jobs in one metal: drawing on the rack's offcuts first, against a new sheet every time.

    python tests/bench/rack_year.py [--jobs 100] [--effort normal] [--seed 0]

A job is one to three random trays or a dozen random blanks. Each way buys sheets of one size as it needs them. Drawing on the
rack, every offcut of 150 mm and more is kept and offered to the jobs that follow, as the app does it: the largest first, so
many of them as a plan looks at. What stands on the rack at the end is told too: it is paid for, and of use or not.
"""

import argparse
import random
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc.balance import laid_square, size_of
from calc.layout import Item, Layout, Stock, lay_out
from calc.layout.polygons import area
from calc.stock import MOST_DRAWN
from tests.bench.layout_data import tray_items
from tests.bench.layout_shelves import random_job

SIZE, PRICE, KERF, TRIM = (2440.0, 1220.0), 118.0, 2.0, 5.0
SHEET = SIZE[0] * SIZE[1]


@dataclass
class Shop:
    """What one way of working bought and has: sheets, and offcuts by their number."""

    sheets: int = 0
    cut: float = 0.0  # [m]
    opened: int = 0  # pieces cut into
    rack: dict[int, Stock] = field(default_factory=dict)

    def make(self, items: list[Item], effort: str, *, draws: bool) -> None:
        pieces = sorted(self.rack.values(), key=lambda piece: -_area(piece))[:MOST_DRAWN] if draws else []
        layout = lay_out(
            items, [Stock("S", *SIZE, None, str(PRICE)), *pieces], kerf=KERF, edge_trim=TRIM, may_turn_over=True,
            grain=False, effort=effort,
        )  # fmt: skip
        assert not layout.unplaced
        self._keep(layout, draws=draws)

    def _keep(self, layout: Layout, *, draws: bool) -> None:
        for used in layout.sheets:
            self.opened += 1
            self.cut += sum(cut.length for cut in used.cuts) / 1000
            if used.stock == "S":
                self.sheets += 1
            else:
                del self.rack[int(used.stock)]
            for kept in used.offcuts if draws else ():
                number = max(self.rack, default=0) + self.opened * 100 + 1
                length, width, of = size_of(kept.outline)
                price = f"{PRICE * of / SHEET:.2f}"
                self.rack[number] = Stock(str(number), length, width, 1, price, laid_square(kept.outline), number)


def _area(piece: Stock) -> float:
    return area(piece.outline) if piece.outline else piece.length * piece.width


def year(jobs: int, seed: int) -> list[list[Item]]:
    """The blanks of each job: trays of our own bench, and random convex blanks."""
    chance = random.Random(seed)  # noqa: S311
    return [
        tray_items(chance.randint(1, 3)) if chance.random() < 0.4 else random_job(seed * 1000 + number)
        for number in range(jobs)
    ]


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--jobs", type=int, default=100)
    asked.add_argument("--effort", default="normal")
    asked.add_argument("--seed", type=int, default=0)
    given = asked.parse_args()
    work = year(given.jobs, given.seed)
    blanks = sum(area(item.outline) * item.count for items in work for item in items)
    shops = {}
    for name, draws in (("a new sheet every time", False), ("offcuts first", True)):
        shop, start = Shop(), time.process_time()
        for items in work:
            shop.make(items, given.effort, draws=draws)
        shops[name] = shop
        bought, left = shop.sheets * SHEET, sum(_area(piece) for piece in shop.rack.values())
        print(
            f"{name:24} {shop.sheets:4} sheets bought, {bought / 1e6:7.1f} m2, blanks {100 * blanks / bought:4.1f} %; "
            f"{shop.opened} pieces cut into, {shop.cut:.0f} m sawn; {len(shop.rack)} offcuts of {left / 1e6:.1f} m2 left; "
            f"{time.process_time() - start:.0f} s"
        )
    anew, drawn = shops.values()
    print(f"metal bought less by drawing on offcuts: {100 * (1 - drawn.sheets / anew.sheets):.1f} %")


if __name__ == "__main__":
    main()
