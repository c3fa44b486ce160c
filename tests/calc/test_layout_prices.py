"""Which stock a job takes: the cheapest metal for all of it. Prices and counts are added up by hand."""

import pytest
import shapely

from calc.layout import Item, Layout, Piece, Stock, lay_out

SQUARE = ((0.0, 0.0), (400.0, 0.0), (400.0, 400.0), (0.0, 400.0))
# four in a row (4 x 400 + 3 x 2 = 1606), as a fifth would want 2008; two rows: eight squares
SHEET = Stock("sheet", 2000, 1000, None, "100")
OFFCUT = Stock("offcut", 410, 410, 1, "20")  # holds one square
SMALL = Stock("small", 1250, 850, None, "60")  # three in a row, two rows: six squares


def taken(count: int, stock: list[Stock | Piece], outline: tuple[tuple[float, float], ...] = SQUARE) -> Layout:
    layout = lay_out(
        [Item("A", outline, count)], stock, kerf=2, edge_trim=0, may_turn_over=True, grain=False, effort="quick"
    )
    assert not layout.unplaced
    return layout


def labels(layout: Layout) -> list[str]:
    return sorted(used.stock for used in layout.sheets)


@pytest.mark.parametrize("sheets_first", [True, False])
def test_a_cheap_offcut_is_taken_before_a_new_sheet_where_all_fits_it(sheets_first: bool) -> None:
    stock: list[Stock | Piece] = [SHEET, OFFCUT] if sheets_first else [OFFCUT, SHEET]
    assert labels(taken(1, stock)) == ["offcut"]


def test_an_offcut_that_saves_a_sheet_is_taken() -> None:
    assert labels(taken(9, [OFFCUT, SHEET])) == ["offcut", "sheet"]  # 120, not 200


def test_an_offcut_that_saves_no_sheet_is_left_on_the_rack() -> None:
    """A square on the offcut costs 12, on the sheet 12.50; yet the sheet is needed, and takes all eight."""
    cheap = Stock("offcut", 410, 410, 1, "12")
    assert labels(taken(8, [cheap, SHEET])) == ["sheet"]  # 100, not 112
    assert labels(taken(9, [cheap, SHEET])) == ["offcut", "sheet"]


def test_an_offcut_that_costs_nothing_is_taken_first() -> None:
    assert labels(taken(8, [Stock("offcut", 410, 410, 1, "0"), SHEET])) == ["offcut", "sheet"]


def test_a_dear_offcut_stays_where_a_small_sheet_is_cheaper() -> None:
    assert labels(taken(1, [Stock("offcut", 410, 410, 1, "70"), SMALL, SHEET])) == ["small"]


@pytest.mark.parametrize(
    ("count", "sizes"),
    [
        (6, ["small"]),  # 60, not 100
        (7, ["sheet"]),  # 100, not 60 + 60, though the first six cost less on the small one
        (14, ["sheet", "small"]),  # 8 + 6: 160, not 180 or 200
    ],
)
def test_sizes_are_taken_so_that_all_of_the_job_costs_least(count: int, sizes: list[str]) -> None:
    assert labels(taken(count, [SHEET, SMALL])) == sizes


def test_an_offcut_of_any_outline_is_taken_where_it_fits() -> None:
    """A right-angled triangle of 820 holds a square of 400: 400 + 400 is within its slanted side."""
    corner = ((0.0, 0.0), (820.0, 0.0), (0.0, 820.0))
    offcut = Stock("corner", 820, 820, 1, "15", corner)
    layout = taken(1, [SHEET, offcut])
    assert labels(layout) == ["corner"]
    (placed,) = layout.sheets[0].placed
    assert shapely.Polygon(corner).buffer(1e-6).covers(shapely.Polygon(placed.outline))


def test_of_pieces_left_over_the_smaller_is_used_and_the_larger_stays_whole() -> None:
    pieces = [
        Piece("large", 2000, 1000, ((1000, 0), (2000, 0), (2000, 1000), (1000, 1000))),
        Piece("small", 2000, 1000, ((0, 0), (450, 0), (450, 450), (0, 450))),
    ]
    assert labels(taken(1, [*pieces, SHEET])) == ["small"]
    assert labels(taken(2, [*pieces, SHEET])) == ["large", "small"]


def test_a_job_too_large_to_look_through_takes_what_costs_least_for_its_metal() -> None:
    """A square costs 12.50 on the sheet, 10 on the small one, 20 on the offcut."""
    layout = taken(400, [OFFCUT, SHEET, SMALL])
    assert labels(layout).count("small") >= 66  # 66 x 6 = 396
    assert "sheet" not in labels(layout)
