"""Sheets whose best layout is known, since they were made by cutting a whole sheet up with straight cuts.

With no kerf the parts of one sheet fill it exactly; no layout can be better than that.
"""

import random

import pytest
from shapely import LineString
from shapely.geometry import box
from shapely.ops import split

from calc.layout import Item, Stock, lay_out
from tests.calc.comes_apart import comes_apart
from tests.calc.replay import check_layout


def cut_up(length, width, pieces, seed):
    """A sheet cut edge to edge by lines through two sides of its largest piece until there are so many pieces."""
    chance = random.Random(seed)  # noqa: S311
    parts = [box(0, 0, length, width)]
    while len(parts) < pieces:
        parts.sort(key=lambda p: p.area)
        largest = parts.pop()
        corners = list(largest.exterior.coords)[:-1]
        i, j = sorted(chance.sample(range(len(corners)), 2))
        ends = []
        for k in (i, j):
            (x0, y0), (x1, y1) = corners[k], corners[(k + 1) % len(corners)]
            t = chance.uniform(0.3, 0.7)
            ends.append((x0 + t * (x1 - x0), y0 + t * (y1 - y0)))
        (ax, ay), (bx, by) = ends
        line = LineString([(2 * ax - bx, 2 * ay - by), (2 * bx - ax, 2 * by - ay)])
        parts += split(largest, line).geoms
    return [tuple(p.exterior.coords)[:-1][:: 1 if p.exterior.is_ccw else -1] for p in parts]


@pytest.mark.parametrize("seed", range(4))
def test_pieces_of_one_sheet_fill_it_again(seed):
    outlines = cut_up(1000, 1000, 3, seed)
    items = [Item(f"P{i}", outline) for i, outline in enumerate(outlines)]
    stock = [Stock("S", 1000, 1000)]
    options = {"kerf": 0, "edge_trim": 0, "may_turn_over": False, "grain": False}
    layout = lay_out(items, stock, **options, effort="normal")
    check_layout(layout, items, stock, **options)
    assert len(layout.sheets) == 1
    assert layout.share_used == pytest.approx(1, abs=1e-6)


@pytest.mark.parametrize(("pieces", "share"), [(8, 0.99), (15, 0.75)])
def test_larger_jigsaws_are_mostly_placed(pieces, share):
    # not all: the search is not exhaustive; the bound is the honest lower bar of what it should reach
    outlines = cut_up(1000, 1000, pieces, pieces)
    items = [Item(f"P{i}", outline) for i, outline in enumerate(outlines)]
    stock = [Stock("S", 1000, 1000, 1)]
    options = {"kerf": 0, "edge_trim": 0, "may_turn_over": False, "grain": False}
    layout = lay_out(items, stock, **options, effort="normal")
    check_layout(layout, items, stock, **options)
    assert layout.share_used >= share


@pytest.mark.parametrize("seed", range(6))
def test_the_check_finds_the_cuts_the_sheet_was_made_with(seed):
    outlines = cut_up(1000, 700, 12, 100 + seed)
    assert comes_apart(outlines, kerf=0) is not None
