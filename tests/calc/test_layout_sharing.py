"""Sheets taken together: jobs whose fewest sheets are known, since whole sheets were cut up to make their blanks."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from calc.layout import Item, Stock, lay_out
from calc.layout.filling import Filled, Way, fill
from calc.layout.frames import Making, frame_of, metal_of
from calc.layout.parts import part_from_item
from calc.layout.polygons import parted, rectangle
from calc.layout.sharing import share_out
from tests.calc.replay import check_layout
from tests.calc.test_layout_contour import check_true_outlines
from tests.calc.test_layout_optimum import cut_up

PLAIN = {"kerf": 0, "edge_trim": 0, "may_turn_over": False, "grain": False}
SQUARE = rectangle(0.0, 0.0, 490.0, 490.0)


def pieces_of(sheets, pieces, seed):
    """The pieces of so many sheets of 1000 x 1000, in no order."""
    outlines = [outline for k in range(sheets) for outline in cut_up(1000, 1000, pieces, 100 * seed + k)]
    random.Random(seed).shuffle(outlines)  # noqa: S311
    return [Item(f"P{i}", outline) for i, outline in enumerate(outlines)]


def checked(items, stock, **options):
    options = {**PLAIN, **options}
    layout = lay_out(items, stock, **options)
    options.pop("effort", None)
    check_layout(layout, items, stock, **options)
    return layout


@pytest.mark.parametrize("seed", range(2))
def test_sheets_cut_in_three_are_put_together_again(seed):
    layout = checked(pieces_of(6, 3, seed), [Stock("S", 1000, 1000)])
    assert not layout.unplaced
    assert len(layout.sheets) == 6
    assert layout.share_used == pytest.approx(1, abs=1e-6)


def test_a_job_on_several_sheets_is_the_same_again():
    items = pieces_of(4, 5, 9)
    first, second = (lay_out(items, [Stock("S", 1100, 1050)], **{**PLAIN, "kerf": 2}, effort="quick") for _ in range(2))
    assert len(first.sheets) > 1
    assert repr(first) == repr(second)


@pytest.mark.parametrize("grain", [False, True])
def test_blanks_on_several_sheets_keep_every_promise(grain):
    layout = checked(pieces_of(3, 6, 5), [Stock("S", 1200, 1100)], kerf=2, edge_trim=5, grain=grain, effort="quick")
    assert not layout.unplaced


def test_by_contour_no_more_sheets_than_for_the_saw():
    items, stock, options = pieces_of(3, 4, 5), [Stock("S", 1000, 1000)], {**PLAIN, "effort": "quick"}
    sawn = lay_out(items, stock, **options)
    contour = lay_out(items, stock, **options, cutting="contour")
    check_true_outlines(contour, items, 0, 0)
    assert not contour.unplaced
    assert len(contour.sheets) <= len(sawn.sheets)


def test_the_last_sheet_is_the_emptiest():
    items = [Item("A", SQUARE, 9)]
    layout = checked(items, [Stock("S", 1000, 1000)], kerf=2)
    assert [len(sheet.placed) for sheet in layout.sheets] == [4, 4, 1]


def test_sheets_with_very_many_blanks():
    items = [Item("chip", rectangle(0.0, 0.0, 50.0, 50.0), 410)]
    layout = lay_out(items, [Stock("S", 1000, 500)], **PLAIN, effort="quick")
    assert [len(sheet.placed) for sheet in layout.sheets] == [200, 200, 10]


# -- sheets filled by hand, then shared out ---------------------------------------------------------------------------


def half_full(number: int, across: bool = False) -> Filled:
    """A sheet of 1000 x 1000 with so many of the four squares on it that it has room for."""
    making = Making(2.0, 0.0, True, False, 150.0, "quick", 0, True)
    frame = frame_of(metal_of(Stock("S", 1000, 1000)), across, making)
    assert frame
    return fill([Way(frame, [PART], [])], [number], 40, 0, 150.0)[0]


PART = part_from_item(0, Item("A", SQUARE, 12), may_turn_over=True, grain=False, along=0.0)


@pytest.mark.parametrize("across", [False, True])
def test_two_sheets_half_full_make_one(across):
    (sheet,) = share_out([half_full(2), half_full(2, across)], [PART], [0], 200, 0, 150.0)
    assert sheet.counts == (4,)


def test_one_sheet_less_until_no_more_can_be_spared():
    sheets = share_out([half_full(n) for n in (1, 2, 3, 1, 2)], [PART], [0], 200, 0, 150.0)
    assert [sheet.counts for sheet in sheets] == [(4,), (4,), (1,)]


def test_what_found_no_sheet_is_placed_where_others_leave_room():
    sheets = share_out([half_full(3), half_full(2)], [PART], [3], 200, 0, 150.0)
    assert sum(sheet.counts[0] for sheet in sheets) == 8


def test_the_sheets_given_are_left_as_they_were():
    given_sheets = [half_full(2), half_full(3)]
    before = [sorted(spot.points for spot in sheet.root.spots()) for sheet in given_sheets]
    share_out(given_sheets, [PART], [0], 100, 0, 150.0)
    assert [sorted(spot.points for spot in sheet.root.spots()) for sheet in given_sheets] == before


def test_a_full_sheet_ends_the_search():
    making = Making(0.0, 0.0, True, False, 150.0, "normal", 0, True)
    frame = frame_of(metal_of(Stock("S", 980, 980)), False, making)
    assert frame
    filled, tried = fill([Way(frame, [PART], [])], [6], 5000, 0, 150.0)
    assert filled.counts == (4,)
    assert tried < 1000


@given(
    corners=st.lists(st.tuples(st.integers(0, 500), st.integers(0, 500)), min_size=3, max_size=7),
    angle=st.sampled_from([(1.0, 0.0), (0.0, -1.0), (0.6, 0.8), (-0.8, 0.6)]),
    c=st.floats(-300, 300),
    kerf=st.sampled_from([0.0, 2.0, 30.0]),
)
def test_a_polygon_parted_is_clipped_on_both_sides(corners, angle, c, kerf):
    hull = Polygon(corners + corners[:1]).convex_hull if len(set(corners)) > 2 else None
    if hull is None or hull.area < 100:
        return
    points = tuple(hull.exterior.coords)[:-1]
    points = points if hull.exterior.is_ccw else points[::-1]
    room, near, far = parted(points, (*angle, c), kerf)
    (nx, ny), far_off = angle, 2000.0
    assert room == pytest.approx(max(nx * x + ny * y for x, y in points) - c)
    for piece, low, high in ((near, -far_off, c), (far, c + kerf, far_off)):
        ends = [(low, -far_off), (high, -far_off), (high, far_off), (low, far_off)]
        half = Polygon([(nx * u - ny * v, ny * u + nx * v) for u, v in ends])
        wanted = hull.intersection(half).area if low < high else 0.0
        assert (Polygon(piece).area if piece else 0.0) == pytest.approx(wanted, abs=0.01)
