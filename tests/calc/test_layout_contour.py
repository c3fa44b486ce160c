"""Layouts for cutting along the outlines: true outlines a kerf apart, checked with shapely, never looser than for the saw."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity, box

from calc.laid import Placed, SheetLayout
from calc.layout import BadLayoutError, Item, Piece, Stock, lay_out
from calc.layout.checking import check_sheet
from tests.calc.replay import check_copies, used_length

SHEET = Stock("S1", 2440, 1220)
NARROW = [Stock("S2", 2000, 510)]  # a ring just fits across it
ANGLE = ((0, 0), (400, 0), (400, 60), (60, 60), (60, 300), (0, 300))
RING = Item("ring", ((0, 0), (500, 0), (500, 500), (0, 500)), 1, (((50, 50), (450, 50), (450, 450), (50, 450)),))


def laid(items, stock=(SHEET,), cutting="contour", **options):
    options = {"kerf": 2, "edge_trim": 5, "may_turn_over": True, "grain": False, "effort": "quick", **options}
    return lay_out(items, stock, cutting=cutting, **options)


def as_lies(item, placed):
    """The blank with its openings, moved by shapely as its record says."""
    blank = Polygon(item.outline, item.holes)
    if placed.turned_over:
        blank = affinity.scale(blank, 1, -1, origin=(0, 0))
    return affinity.translate(affinity.rotate(blank, placed.angle, origin=(0, 0)), *placed.at)


def check_true_outlines(layout, items, kerf, trim):
    named = {item.name: item for item in items}
    check_copies(layout, {item.name: item.count for item in items})
    for sheet in layout.sheets:
        assert not sheet.cuts
        room = box(trim, trim, sheet.length - trim, sheet.width - trim).buffer(1e-4, join_style="mitre")
        blanks = [as_lies(named[placed.blank], placed) for placed in sheet.placed]
        for i, one in enumerate(blanks):
            assert room.covers(one)
            assert one.hausdorff_distance(Polygon(sheet.placed[i].outline, [h.coords for h in one.interiors])) < 1e-5
            assert all(one.distance(other) >= kerf - 1e-3 for other in blanks[i + 1 :])
            assert all(one.intersection(other).area < 0.1 for other in blanks[i + 1 :])
        for offcut in sheet.offcuts:
            assert all(Polygon(offcut.outline).distance(one) >= kerf - 1e-3 for one in blanks)


def test_angles_lie_in_each_other():
    items = [Item("angle", ANGLE, 6), Item("plate", ((0, 0), (150, 0), (150, 100), (0, 100)), 6)]
    layout = laid(items)
    check_true_outlines(layout, items, 2, 5)
    assert used_length(layout.sheets[0]) < used_length(laid(items, cutting="straight-saw").sheets[0]) - 20


def test_a_plate_is_cut_from_an_opening():
    items = [RING, Item("plate", ((0, 0), (390, 0), (390, 390), (0, 390)))]
    layout = laid(items, NARROW)
    check_true_outlines(layout, items, 2, 5)
    ring, plate = (next(p for p in layout.sheets[0].placed if p.blank == name) for name in ("ring", "plate"))
    assert Polygon(ring.outline).contains(Polygon(plate.outline))


def test_a_plate_too_large_for_the_opening_by_less_than_two_kerfs_lies_beside_it():
    items = [RING, Item("plate", ((0, 0), (397, 0), (397, 397), (0, 397)))]
    layout = laid(items, NARROW)
    check_true_outlines(layout, items, 2, 5)
    assert used_length(layout.sheets[0]) > 5 + 500 + 2 + 397 - 1e-3


def test_openings_are_no_room_for_the_saw():
    items = [RING, Item("plate", ((0, 0), (390, 0), (390, 390), (0, 390)))]
    assert used_length(laid(items, NARROW, cutting="straight-saw").sheets[0]) > 5 + 500 + 2 + 390 - 1e-3


@pytest.mark.parametrize("grain", [False, True])
@pytest.mark.parametrize("may_turn_over", [False, True])
def test_grain_and_face_are_kept(grain, may_turn_over):
    items = [Item("angle", ANGLE, 4)]
    layout = laid(items, grain=grain, may_turn_over=may_turn_over)
    check_true_outlines(layout, items, 2, 5)
    placed = [placed for sheet in layout.sheets for placed in sheet.placed]
    assert not grain or all(one.angle in (0.0, 180.0) for one in placed)
    assert may_turn_over or not any(one.turned_over for one in placed)


def test_a_piece_with_a_slanted_edge():
    rest = Piece("rest", 2440, 1220, ((1400, 0), (2440, 0), (2440, 1220), (1700, 1220)), (0, 1, 2))
    items = [Item("angle", ANGLE, 4)]
    layout = laid(items, [rest])
    check_true_outlines(layout, items, 2, 5)
    assert not layout.unplaced
    metal = Polygon(rest.outline).buffer(1e-6, join_style="mitre")  # mm: blanks may lie on the slanted edge itself
    assert all(metal.covers(Polygon(one.outline)) for one in layout.sheets[0].placed)


def offcut_area(layout):
    return sum(Polygon(offcut.outline).area for sheet in layout.sheets for offcut in sheet.offcuts)


@settings(max_examples=10, deadline=None)
@given(
    legs=st.lists(st.tuples(st.integers(120, 600), st.integers(120, 500)), min_size=1, max_size=3),
    wide=st.integers(30, 90),
    count=st.integers(1, 3),
    kerf=st.sampled_from([0, 2, 3.2]),
    trim=st.sampled_from([0, 5]),
)
def test_never_looser_than_for_the_saw(legs, wide, count, kerf, trim):
    items = [
        Item(f"L{i}", ((0, 0), (a, 0), (a, wide), (wide, wide), (wide, b), (0, b)), count)
        for i, (a, b) in enumerate(legs)
    ]
    contour = laid(items, kerf=kerf, edge_trim=trim)
    saw = laid(items, cutting="straight-saw", kerf=kerf, edge_trim=trim)
    check_true_outlines(contour, items, kerf, trim)
    assert len(contour.sheets) <= len(saw.sheets)
    assert len(contour.unplaced) <= len(saw.unplaced)


# -- the last check --------------------------------------------------------------------------------------------------

SQUARE = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))


def moved(x, y):
    return tuple((px + x, py + y) for px, py in SQUARE)


@pytest.mark.parametrize(
    ("second", "words"),
    [
        (moved(101, 0), "less than the kerf apart"),
        (moved(50, 50), "less than the kerf apart"),
        (moved(950, 0), "over the metal's edge"),
    ],
)
def test_a_bad_layout_is_not_handed_on(second, words):
    placed = [Placed("A", k + 1, outline, False, outline[0], 0.0) for k, outline in enumerate((SQUARE, second))]
    sheet = SheetLayout("S", 1000.0, 500.0, tuple(placed), (), ())
    with pytest.raises(BadLayoutError, match=words):
        check_sheet(sheet, ((0, 0), (1000, 0), (1000, 500), (0, 500)), 2.0, [Item("A", SQUARE)], by_saw=False)


def test_blanks_that_no_cut_parts_are_not_handed_on():
    placed = [Placed("A", k + 1, outline, False, outline[0], 0.0) for k, outline in enumerate((SQUARE, moved(200, 0)))]
    sheet = SheetLayout("S", 1000.0, 500.0, tuple(placed), (), ())
    with pytest.raises(BadLayoutError, match="do not come apart"):
        check_sheet(sheet, ((0, 0), (1000, 0), (1000, 500), (0, 500)), 2.0, [Item("A", SQUARE)], by_saw=True)
