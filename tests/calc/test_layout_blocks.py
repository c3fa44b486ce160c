"""Parts joined beforehand: their hulls are as dense as geometry says, and they come apart by straight cuts."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, affinity, symmetric_difference
from shapely.ops import unary_union

from calc.layout import Item
from calc.layout.blocks import Joiner
from calc.layout.parts import part_from_item
from calc.layout.polygons import rectangle
from calc.layout.regions import Pose, Region
from calc.layout.tree import moved
from tests.calc.comes_apart import comes_apart
from tests.calc.test_layout_optimum import cut_up

TRIANGLE = ((0.0, 0.0), (900.0, 0.0), (620.0, 230.0))


def joined(items, kerf=0.0, joints=20_000, most=100, grain=False, may_turn_over=True):
    parts = [
        part_from_item(i, item, may_turn_over=may_turn_over, grain=grain, along=0.0) for i, item in enumerate(items)
    ]
    room = Region(rectangle(0.0, 0.0, 2440.0, 1220.0))
    return Joiner(parts, [item.count for item in items], room, kerf=kerf, grain=grain).blocks(joints, most)


def test_two_alike_triangles_fill_their_hull():
    # half a turn about the middle of a side makes a parallelogram, turning over a kite: both are filled
    blocks = joined([Item("A", TRIANGLE, 2)])
    assert [block.density for block in blocks[:2]] == pytest.approx([1, 1])
    assert all(block.needs == {0: 2} for block in blocks)


def test_a_kerf_between_them_is_all_the_waste():
    kerf = 2.0
    best = joined([Item("A", TRIANGLE, 2)], kerf)[0]
    waste = Polygon(best.part.hull).area - best.filled
    # the kerf is as long as the side that they share, give or take how it runs out at a slant
    shared = min(abs(waste / kerf - side) for side in (900.0, math.hypot(620, 230), math.hypot(280, 230)))
    assert shared < 20


def test_no_more_copies_than_there_are():
    blocks = joined([Item("A", TRIANGLE, 3), Item("B", ((0, 0), (300, 0), (300, 200), (0, 200)), 1)])
    assert all(block.needs.get(0, 0) <= 3 and block.needs.get(1, 0) <= 1 for block in blocks)


@pytest.mark.parametrize("seed", range(4))
def test_a_cut_up_sheet_is_joined_to_a_whole_again(seed):
    outlines = cut_up(1000, 1000, 6, seed)
    blocks = joined([Item(f"P{i}", outline) for i, outline in enumerate(outlines)], may_turn_over=False)
    whole = max(blocks, key=lambda block: block.filled)
    assert whole.filled == pytest.approx(1e6)
    assert whole.density == pytest.approx(1, abs=1e-6)


@pytest.mark.parametrize("kerf", [0.0, 2.0])
@pytest.mark.parametrize("grain", [False, True])
def test_blocks_come_apart_and_nothing_in_them_overlaps(kerf, grain):
    outlines = cut_up(1000, 700, 8, 3)
    for block in joined([Item(f"P{i}", outline, 2) for i, outline in enumerate(outlines)], kerf, grain=grain):
        seats = block.inner.spots()
        assert len(seats) == sum(block.needs.values())
        shapes = [Polygon(seat.points) for seat in seats]
        hull = Polygon(block.part.hull).buffer(1e-4, join_style="mitre")
        assert all(hull.covers(shape) for shape in shapes)
        assert comes_apart([seat.points for seat in seats], kerf, touch=1e-4) is not None
        assert not grain or all(math.isclose(math.sin(seat.pose.angle), 0, abs_tol=1e-9) for seat in seats)


ANGLES = st.floats(-7, 7)
SHIFTS = st.tuples(st.floats(-500, 500), st.floats(-500, 500))
POSES = st.builds(Pose, st.booleans(), ANGLES, SHIFTS)


def by_shapely(pose, shape):
    shape = affinity.scale(shape, 1, -1, origin=(0, 0)) if pose.over else shape
    return affinity.translate(affinity.rotate(shape, pose.angle, origin=(0, 0), use_radians=True), *pose.at)


@given(first=POSES, second=POSES)
def test_one_pose_after_another(first, second):
    once = Polygon(first.then(second).points(TRIANGLE))
    twice = by_shapely(second, by_shapely(first, Polygon(TRIANGLE)))
    assert symmetric_difference(once, twice, grid_size=1e-6).area < 0.01


@given(pose=POSES)
def test_a_moved_block_is_the_block_moved(pose):
    block = joined([Item("A", TRIANGLE, 2)], 2.0)[0]
    before = unary_union([Polygon(seat.points) for seat in block.inner.spots()])
    after = unary_union([Polygon(seat.points) for seat in moved(block.inner, pose).spots()])
    assert symmetric_difference(by_shapely(pose, before), after, grid_size=1e-6).area < 0.01
