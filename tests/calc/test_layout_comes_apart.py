"""The check that parts come apart by straight cuts, against sets whose answer can be seen."""

import math
import random

import pytest
from shapely import affinity
from shapely.geometry import LineString, Polygon

from calc.layout import Item, Stock, lay_out
from tests.calc.comes_apart import comes_apart


def rectangle(x, y, width, height):
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


PINWHEEL = [  # four slats round a square: no straight cut gets through
    rectangle(0, 0, 198, 98),
    rectangle(200, 0, 98, 198),
    rectangle(102, 200, 198, 98),
    rectangle(0, 100, 98, 198),
    rectangle(102, 102, 94, 94),
]


def test_a_pinwheel_does_not_come_apart():
    assert comes_apart(PINWHEEL, kerf=2) is None
    assert comes_apart(PINWHEEL, kerf=0) is None


@pytest.mark.parametrize("gone", range(4))
def test_a_pinwheel_without_one_slat_does(gone):
    rest = [part for i, part in enumerate(PINWHEEL) if i != gone]
    assert comes_apart(rest, kerf=2) is not None


def test_one_part_or_none_needs_no_strip():
    assert comes_apart([], kerf=2) == ()
    assert comes_apart([rectangle(0, 0, 1, 1)], kerf=2) == ()


@pytest.mark.parametrize(("kerf", "apart"), [(0.9, True), (1.0, True), (1.1, False)])
def test_the_strip_must_be_as_wide_as_the_kerf(kerf, apart):
    parts = [rectangle(0, 0, 10, 10), rectangle(11, 0, 10, 10)]
    assert (comes_apart(parts, kerf) is not None) is apart


def test_a_strip_along_no_edge_is_found():
    # two triangles point at each other past a third; the only gap runs askew, held by two corners
    parts = [((0, 0), (100, 40), (0, 45)), ((100, 100), (0, 60), (100, 54))]
    assert comes_apart(parts, kerf=0) is not None
    gap = Polygon(parts[0]).distance(Polygon(parts[1]))
    assert comes_apart(parts, kerf=gap * 0.999) is not None
    assert comes_apart(parts, kerf=gap * 1.001) is None  # two convex sets: the widest strip is their distance


@pytest.mark.parametrize("seed", range(5))
def test_strips_touch_no_part(seed):
    chance = random.Random(seed)  # noqa: S311
    parts = [Polygon([(0, 0), (60, 0), (chance.uniform(0, 60), 50)])]
    for k in range(1, 6):
        spun = affinity.rotate(parts[0], chance.uniform(0, 360))
        parts.append(affinity.translate(spun, 120 * (k % 3), 120 * (k // 3)))
    outlines = [tuple(p.exterior.coords)[:-1] for p in parts]
    strips = comes_apart(outlines, kerf=2)
    assert strips is not None
    for strip in strips:
        nx, ny, c = strip.line
        middle, along = ((c + 1) * nx, (c + 1) * ny), (-ny, nx)
        line = LineString([tuple(m + t * a for m, a in zip(middle, along, strict=True)) for t in (-1e4, 1e4)])
        assert all(line.distance(parts[i]) >= 1 - 1e-6 for i in (*strip.near, *strip.far))


def test_layouts_come_apart():
    wedge = Item("wedge", ((0, 0), (500, 0), (420, 260), (90, 180)), 8)
    layout = lay_out([wedge], [Stock("S", 1500, 1000)], kerf=3, edge_trim=5, may_turn_over=True, grain=False)
    for sheet in layout.sheets:
        assert comes_apart([p.outline for p in sheet.placed], kerf=3) is not None
        assert math.isclose(layout.share_used, len(sheet.placed) * Polygon(wedge.outline).area / 1.5e6)
