"""Whole layouts: what each promises, replayed cut by cut with shapely (tests/calc/replay.py)."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPoint, Point, Polygon

import calc
from calc.layout import Item, Stock, lay_out
from tests.calc.replay import check_layout, replay, used_length
from tests.shapes import ring, sheet_of

SHEET = Stock("S1", 2440, 1220)


def tray_facets(length, width, low, depth):
    """The four facets of a tray, each on its rim side: true heights by Pythagoras."""
    (x, y), away = low, [low[1], length - low[0], width - low[1], low[0]]
    along = [x, y, length - x, width - y]
    sides = [length, width, length, width]
    return [((0.0, 0.0), (s, 0.0), (a, math.hypot(d, depth))) for s, a, d in zip(sides, along, away, strict=True)]


def tray_items(sets):
    return [Item(name, f, sets) for name, f in zip("ABCD", tray_facets(900, 450, (620, 225), 45), strict=True)]


def checked(items, stock, *, kerf=2.0, edge_trim=0.0, effort="quick", cutting="straight-saw", **allowed):
    """Lay out and check every promise."""
    allowed = {"may_turn_over": True, "grain": False, **allowed}
    layout = lay_out(items, stock, kerf=kerf, edge_trim=edge_trim, effort=effort, cutting=cutting, **allowed)
    check_layout(layout, items, stock, kerf=kerf, edge_trim=edge_trim, **allowed)
    return layout


@pytest.mark.parametrize("edge_trim", [0, 1, 5, 12])
@pytest.mark.parametrize("kerf", [0, 2, 3.2])
def test_a_tray_comes_free_cut_by_cut(kerf, edge_trim):
    layout = checked(tray_items(1), [SHEET], kerf=kerf, edge_trim=edge_trim)
    assert not layout.unplaced
    assert len(layout.sheets) == 1


@pytest.mark.parametrize("sets", [3, 6])
def test_several_trays(sets):
    assert not checked(tray_items(sets), [SHEET]).unplaced


def test_length_used_at_normal_effort():
    # 431.7 mm is the median of an earlier search for these four blanks, 336.2 their area over the width
    layout = checked(tray_items(1), [SHEET], effort="normal")
    assert 336.2 < used_length(layout.sheets[0]) < 431.7


def test_finished_face_is_never_turned_over():
    layout = checked(tray_items(2), [SHEET], may_turn_over=False)
    assert not any(p.turned_over for sheet in layout.sheets for p in sheet.placed)


@pytest.mark.parametrize("may_turn_over", [False, True])
def test_grain_leaves_two_ways_to_lie(may_turn_over):
    checked(tray_items(2), [SHEET], grain=True, may_turn_over=may_turn_over)


def test_the_strip_with_grain_may_run_across_the_sheet():
    # 2400 long blanks, grain along: only strips across the width leave a useful rectangle
    slat = Item("slat", ((0, 0), (2400, 0), (2400, 100), (0, 100)), 4)
    layout = checked([slat], [SHEET], grain=True)
    assert max(max(x for x, _ in o.outline) - min(x for x, _ in o.outline) for o in layout.sheets[0].offcuts) == 2440


def test_same_input_same_layout():
    first, second = (checked(tray_items(2), [SHEET], edge_trim=5) for _ in range(2))
    assert repr(first) == repr(second)


def test_contour_is_the_same_layout_without_cuts():
    saw = checked(tray_items(1), [SHEET])
    contour = checked(tray_items(1), [SHEET], cutting="contour")
    assert all(not sheet.cuts for sheet in contour.sheets)
    assert [s.placed for s in contour.sheets] == [s.placed for s in saw.sheets]


def test_a_concave_blank_is_freed_as_its_hull():
    bracket = Item("bracket", ((0, 0), (400, 0), (400, 60), (60, 60), (60, 300), (0, 300)), 3)
    layout = checked([bracket], [SHEET])
    edges = {edge.partition(":")[2] for sheet in layout.sheets for cut in sheet.cuts for edge in cut.finishes}
    assert edges <= {"0", "1", "4", "5"}  # 2 and 3 run into the inner corner, out of the saw's reach


def test_hull_edges_with_corners_along_them():
    # a corner in the middle of a straight edge: both halves are finished by the same cut
    plate = Item("plate", ((0, 0), (250, 0), (500, 0), (500, 300), (0, 300)), 2)
    layout = checked([plate], [SHEET], edge_trim=5)
    finishing = [cut.finishes for sheet in layout.sheets for cut in sheet.cuts]
    assert any({"plate.1:0", "plate.1:1"} <= set(edges) for edges in finishing)


# -- stock -----------------------------------------------------------------------------------------------------------

SQUARE = ((0, 0), (400, 0), (400, 400), (0, 400))


def labels(layout):
    return [sheet.stock for sheet in layout.sheets]


def test_rack_offcuts_before_new_sheets():
    stock = [Stock("new", 2440, 1220, None, "118.00"), Stock("rack", 500, 900, 1, "0")]
    layout = checked([Item("A", SQUARE, 4)], stock)
    assert labels(layout) == ["rack", "new"]


def test_the_sheet_that_costs_least_for_what_goes_on_it():
    stock = [Stock("large", 2440, 1220, None, "118.00"), Stock("small", 1000, 500, None, "25.00")]
    assert labels(checked([Item("A", SQUARE, 2)], stock)) == ["small"]


def test_no_more_sheets_than_there_are():
    layout = checked([Item("A", SQUARE, 7)], [Stock("rack", 500, 900, 2)])
    assert labels(layout) == ["rack", "rack"]
    assert layout.unplaced == ("A.5", "A.6", "A.7")


def test_no_stock_at_all():
    assert checked([Item("A", SQUARE, 2)], []).unplaced == ("A.1", "A.2")


def test_a_blank_larger_than_any_sheet():
    items = [Item("A", SQUARE), Item("huge", ((0, 0), (2500, 0), (2500, 1300), (0, 1300)), 2)]
    layout = checked(items, [SHEET])
    assert layout.unplaced == ("huge.1", "huge.2")


def test_many_blanks_repeat_a_good_sheet():
    layout = checked([Item("A", ((0, 0), (600, 0), (600, 400), (0, 400)), 100)], [SHEET])
    assert not layout.unplaced
    assert len(layout.sheets) <= 9  # twelve to a sheet


def test_two_thousand_blanks_of_many_kinds():
    items = [
        Item(f"P{i}", ((0, 0), (200 + i, 0), (150 + i % 7 * 20, 180 + i % 11 * 15), (20, 160 + i % 5 * 12)), 40)
        for i in range(50)
    ]
    layout = lay_out(items, [SHEET], kerf=2, edge_trim=5, may_turn_over=True, grain=False, effort="quick")
    assert not layout.unplaced
    assert sum(len(sheet.placed) for sheet in layout.sheets) == 2000
    assert layout.share_used > 0.6


# -- the edges of what can be asked ---------------------------------------------------------------------------------------


def test_nothing_to_lay_out():
    layout = checked([], [SHEET])
    assert (layout.sheets, layout.unplaced, layout.share_used) == ((), (), 0.0)
    assert checked([Item("A", SQUARE, 0)], [SHEET]).sheets == ()


def test_a_blank_as_large_as_the_sheet_needs_no_cut():
    layout = checked([Item("A", ((0, 0), (1220, 0), (1220, 2440), (0, 2440)))], [SHEET])
    assert layout.sheets[0].cuts == ()
    assert layout.share_used == pytest.approx(1)


def test_a_blank_that_leaves_less_than_the_kerf_cannot_be_cut():
    assert checked([Item("A", ((0, 0), (2439, 0), (2439, 1220), (0, 1220)))], [SHEET]).unplaced == ("A.1",)
    assert not checked([Item("A", ((0, 0), (2438, 0), (2438, 1220), (0, 1220)))], [SHEET]).unplaced


def test_a_blank_that_fits_only_cornerwise():
    # the diagonal of 2440 x 1220 is 2728 mm by Pythagoras
    layout = checked([Item("strip", ((0, 0), (2600, 0), (2600, 20), (0, 20)))], [SHEET])
    assert not layout.unplaced


def test_needles():
    needle = Item("needle", ((0, 0), (2000, 0), (1990, 0.8)), 3)
    assert not checked([needle, Item("A", SQUARE)], [SHEET]).unplaced


def test_corners_that_are_none():
    # rounding may leave two corners where one was meant, or a corner in the middle of a straight edge
    rough = Item("A", ((0, 0), (1e-7, 0), (200, 2e-7), (400, 0), (400, 300), (399.9999999, 300), (0, 300)), 2)
    assert not checked([rough], [Stock("S", 802, 300)]).unplaced


@pytest.mark.parametrize("grain", [False, True])
def test_a_corner_too_dull_to_be_sawn_is_left_for_the_file(grain):
    # at (200, 300.04) the outline turns by 0.023 degrees: the second of its edges leaves waste of at most
    # 1000 mm x sin(0.023 degrees) = 0.4 mm on this sheet, less than the kerf
    dull = Item("dull", ((0, 0), (400, 0), (400, 300), (200, 300.04), (0, 300)))
    layout = lay_out([dull], [Stock("S", 1000, 700)], kerf=2, edge_trim=0, may_turn_over=True, grain=grain)
    assert not layout.unplaced
    (sheet,) = layout.sheets
    blank = Polygon(sheet.placed[0].outline)
    pieces = replay(sheet, {"dull": dull.outline}, 2, dressed=0.1)
    piece = next(p for p in pieces if p.buffer(1e-5).contains(blank))
    assert piece.hausdorff_distance(blank) < 0.1


def test_a_sheet_too_short_to_be_cut_across():
    chip = Item("chip", ((0, 0), (6, 0), (6, 20), (0, 20)), 2)
    assert not checked([chip], [Stock("S", 6, 50)]).unplaced


def test_trim_wider_than_the_sheet():
    assert checked([Item("A", SQUARE)], [Stock("strip", 600, 300)], edge_trim=200).unplaced == ("A.1",)


@pytest.mark.parametrize(
    ("items", "options", "words"),
    [
        ([Item("A", ((0, 0), (1, 0), (2, 0)))], {}, "blank A has no area"),
        ([Item("A", SQUARE), Item("A", SQUARE)], {}, "name of its own"),
        ([], {"effort": "endless"}, "effort must be one of quick, normal, long"),
        ([], {"cutting": "laser"}, "straight-saw or contour"),
    ],
)
def test_refusals(items, options, words):
    with pytest.raises(ValueError, match=words):
        lay_out(items, [SHEET], kerf=2, edge_trim=0, may_turn_over=True, grain=False, **options)


# -- any convex blanks at all ------------------------------------------------------------------------------------------

HUNDREDTHS = st.integers(0, 40_000).map(lambda n: n / 100)  # mm: as fine as a blank is ever given
KERFS = [0, 2, 3.2]  # mm
CORNER = st.tuples(HUNDREDTHS, HUNDREDTHS)


@st.composite
def convex_outlines(draw):
    hull = MultiPoint(draw(st.lists(CORNER, min_size=3, max_size=7))).convex_hull
    if hull.area < 500:
        return ((0.0, 0.0), (30.0, 0.0), (0.0, 40.0))
    corners = list(hull.exterior.coords)[:-1]
    corners = corners if hull.exterior.is_ccw else corners[::-1]
    # corners at which the waste is thinner than the kerf, and edges that are filed, not sawn, have tests of their own
    while odd := [i for i in range(len(corners)) if _is_dull(corners, i) or math.dist(corners[i - 1], corners[i]) < 1]:
        del corners[odd[0]]
    return tuple(corners) if len(corners) > 2 else ((0.0, 0.0), (30.0, 0.0), (0.0, 40.0))


def _is_dull(corners, i):
    """Turns by less than 4 degrees, or lies no further off the line of its neighbours than a saw cut is wide."""
    a, b, c = corners[i - 1], corners[i], corners[(i + 1) % len(corners)]
    turn = math.atan2(c[1] - b[1], c[0] - b[0]) - math.atan2(b[1] - a[1], b[0] - a[0])
    return math.degrees(turn) % 360 < 4 or LineString([a, c]).distance(Point(b)) <= max(KERFS)


@settings(max_examples=25, deadline=None)
@given(
    outlines=st.lists(convex_outlines(), min_size=1, max_size=4),
    count=st.integers(1, 3),
    kerf=st.sampled_from(KERFS),
    edge_trim=st.sampled_from([0, 1, 5]),
    grain=st.booleans(),
    may_turn_over=st.booleans(),
)
def test_any_convex_blanks(outlines, count, kerf, edge_trim, grain, may_turn_over):
    items = [Item(f"P{i}", outline, count) for i, outline in enumerate(outlines)]
    stock = [Stock("S", 1000, 700), Stock("R", 450, 380, 1)]
    layout = checked(items, stock, kerf=kerf, edge_trim=edge_trim, grain=grain, may_turn_over=may_turn_over)
    assert not layout.unplaced


def test_stubs_where_bends_end_keep_no_blank_off_its_sheet() -> None:
    """A ring of facets folded in one piece: its hull has edges of a tenth of a millimetre, at which a saw has no room."""
    plan = calc.plan(sheet_of(ring(12), making={"joins": "fewest-welds"}))
    assert plan.layout.unplaced == ()
    assert [placed.blank for used in plan.layout.sheets for placed in used.placed] == [
        blank.name for blank in plan.blanks
    ]
