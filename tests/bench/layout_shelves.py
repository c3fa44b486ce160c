"""Random jobs of twelve blanks: metal and metres of saw cut, against rows of bounding rectangles.

The rows are what a person does without a layout: each blank in its least bounding rectangle, long side along the row, the
rectangles in rows across the sheet by falling height, then every blank cut out of its rectangle edge by edge.
"""

import math
import random
from statistics import mean

from shapely import MultiPoint

from calc.layout import Item, Layout, SheetLayout, Stock, lay_out

KERF = 2.0
SHEET = (2440.0, 1220.0)


def random_job(seed: int) -> list[Item]:
    """Three to six patterns, convex, 3 to 6 corners, 100 to 700 mm across; twelve blanks in all."""
    chance = random.Random(seed)  # noqa: S311
    kinds = chance.choice((3, 4, 6))
    items = []
    while len(items) < kinds:
        across, up = chance.uniform(200, 700), chance.uniform(100, 450)
        count = chance.randint(3, 6)
        hull = MultiPoint([(chance.uniform(0, across), chance.uniform(0, up)) for _ in range(count)]).convex_hull
        corners = [(round(x, 1), round(y, 1)) for x, y in hull.exterior.coords[:-1]]
        if hull.area > 0.25 * across * up:
            items.append(Item(f"P{len(items)}", tuple(corners if hull.exterior.is_ccw else corners[::-1]), 12 // kinds))
    return items


def shelves(items: list[Item]) -> tuple[float, float]:
    """Metal [m2], up to a cut across the sheet, and saw cut [m] of the rows."""
    boxes = []
    for item in items:
        sides = sorted(_sides(MultiPoint(item.outline).minimum_rotated_rectangle.exterior.coords))
        trims = sum(math.dist(a, b) for a, b in zip(item.outline, item.outline[1:] + item.outline[:1], strict=True))
        boxes += [(*sides, trims)] * item.count
    boxes.sort(reverse=True)
    length = along = sawn = 0.0
    height = 0.0
    for short, long, trims in boxes:
        if not height or along + long > SHEET[1]:
            length += height + (KERF if height else 0.0)
            sawn += SHEET[1]
            height, along = short, 0.0
        along += long + KERF
        sawn += height + trims
    return (length + height) * SHEET[1] / 1e6, sawn / 1000


def _sides(corners: list[tuple[float, float]]) -> list[float]:
    return [math.dist(corners[0], corners[1]), math.dist(corners[1], corners[2])]


def metal_of(sheet: SheetLayout) -> float:
    """Metal [mm2] up to a cut straight across, along or across the sheet, from whichever end leaves most.

    A sheet that was seen in a mirror has its blanks at the far side.
    """
    xs, ys = zip(*(point for placed in sheet.placed for point in placed.outline), strict=True)
    along = min(max(xs), sheet.length - min(xs))
    across = min(max(ys), sheet.width - min(ys))
    return min(along * sheet.width, across * sheet.length)


def of_layout(layout: Layout) -> tuple[float, float]:
    """Metal [m2], each sheet up to a cut across whichever way leaves more, and saw cut [m]."""
    metal = sawn = 0.0
    for sheet in layout.sheets:
        metal += metal_of(sheet) / 1e6
        sawn += sum(cut.length for cut in sheet.cuts) / 1000
    return metal, sawn


def compare_with_shelves(jobs: int, effort: str) -> None:
    metal, sawn, worse = [], [], 0
    for seed in range(jobs):
        items = random_job(seed)
        layout = lay_out(
            items, [Stock("S", *SHEET)], kerf=KERF, edge_trim=0.0, may_turn_over=True, grain=False, effort=effort
        )
        ours, theirs = of_layout(layout), shelves(items)
        metal.append(ours[0] / theirs[0])
        sawn.append(ours[1] / theirs[1])
        worse += ours[0] > theirs[0]
    print(f"\n{jobs} random jobs of 12 blanks at {effort}, as a share of rows of bounding rectangles:")
    print(f"metal {100 * mean(metal):.1f} % (more in {worse} jobs), metres of saw cut {100 * mean(sawn):.1f} %")
