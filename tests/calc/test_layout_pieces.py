"""Pieces left of a sheet that was cut into, as stock: used first, within their outline, and cut from edge to edge."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from calc.layout import Item, Piece, Stock, lay_out
from tests.calc.replay import check_offcuts, check_places, replay

SHEET = Stock("new", 2440, 1220, None, "118.00")
# what a slanted cut leaves of a sheet's end: three of the sheet's own edges, one sawn
REST = Piece("rest", 2440, 1220, ((1400, 0), (2440, 0), (2440, 1220), (1700, 1220)), (0, 1, 2))
SQUARE = ((0, 0), (400, 0), (400, 400), (0, 400))


def checked(items, stock, kerf=2.0, edge_trim=0.0, **options):
    """Lay out, and replay every sheet in the outline that it was laid out in."""
    options = {"may_turn_over": True, "grain": False, "effort": "quick", **options}
    layout = lay_out(items, stock, kerf=kerf, edge_trim=edge_trim, **options)
    outlines = {item.name: item.outline for item in items}
    metal = {piece.label: Polygon(piece.outline) for piece in stock if isinstance(piece, Piece)}
    for sheet in layout.sheets:
        check_places(sheet, outlines, kerf, edge_trim, may_turn_over=options["may_turn_over"], grain=options["grain"])
        pieces = replay(sheet, outlines, kerf, metal=metal.get(sheet.stock))
        check_offcuts(sheet, pieces, kerf, 150.0, metal=metal.get(sheet.stock))
    return layout


@pytest.mark.parametrize("edge_trim", [0, 5])
def test_a_piece_is_used_before_a_sheet(edge_trim):
    layout = checked([Item("A", SQUARE, 6)], [SHEET, REST], edge_trim=edge_trim)
    assert not layout.unplaced
    assert [sheet.stock for sheet in layout.sheets] == ["rest", "new"]
    first = layout.sheets[0]
    assert (first.length, first.width) == (2440, 1220)
    # a square of 400 under the slanted edge: at least four go on by hand, two rows of two from the right
    assert len(first.placed) >= 4


def test_only_the_sheet_s_own_edges_keep_the_trim():
    # the triangle is as large as the piece but for the trim along its two trimmed edges
    piece = Piece("corner", 1000, 1000, ((0, 0), (500, 0), (0, 500)), (0, 2))
    fits = Item("A", ((0, 0), (489, 0), (0, 489)))  # 500 less 5 along both legs is 490 along each
    too_large = Item("B", ((0, 0), (491, 0), (0, 491)))
    assert not checked([fits], [piece], edge_trim=5, kerf=0).unplaced
    assert checked([too_large], [piece], edge_trim=5, kerf=0).unplaced == ("B.1",)


def test_a_blank_that_fits_no_piece_goes_on_a_sheet():
    layout = checked([Item("long", ((0, 0), (2000, 0), (2000, 300), (0, 300)))], [REST, SHEET])
    assert [sheet.stock for sheet in layout.sheets] == ["new"]


def test_grain_runs_along_the_sheet_that_the_piece_is_of():
    slat = Item("slat", ((0, 0), (600, 0), (600, 80), (0, 80)), 4)
    layout = checked([slat], [REST], grain=True)
    assert {placed.angle for sheet in layout.sheets for placed in sheet.placed} <= {0.0, 180.0}


def test_the_share_used_is_of_the_piece():
    piece = Piece("half", 1000, 1000, ((0, 0), (1000, 0), (0, 1000)))
    layout = checked([Item("A", ((0, 0), (500, 0), (500, 500), (0, 500)))], [piece], kerf=0)
    assert layout.share_used == pytest.approx(0.5)


@pytest.mark.parametrize(
    "outline", [((0, 0), (0, 500), (500, 0)), ((0, 0), (500, 0), (100, 100), (0, 500)), ((0, 0), (1, 0), (2, 0))]
)
def test_a_piece_must_be_convex_and_anticlockwise(outline):
    with pytest.raises(ValueError, match="piece odd must be convex and run anticlockwise"):
        checked([Item("A", SQUARE)], [Piece("odd", 1000, 1000, outline)])


@settings(max_examples=20, deadline=None)
@given(
    corners=st.lists(st.floats(0, 2 * math.pi), min_size=3, max_size=6, unique_by=lambda a: round(a, 1)),
    kerf=st.sampled_from([0, 2, 3.2]),
    edge_trim=st.sampled_from([0, 5]),
)
def test_any_convex_piece(corners, kerf, edge_trim):
    outline = tuple((600 + 550 * math.cos(a), 600 + 550 * math.sin(a)) for a in sorted(corners))
    if Polygon(outline).area < 1e4:
        return
    items = [Item("A", ((0, 0), (300, 0), (120, 160)), 5), Item("B", ((0, 0), (150, 0), (150, 90), (0, 90)), 3)]
    layout = checked(items, [Piece("disc", 1200, 1200, outline, (0,)), Stock("S", 1000, 800)], kerf, edge_trim)
    assert not layout.unplaced
