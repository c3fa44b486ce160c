"""What stands on the rack is cut up before anything is bought, where it is worth cutting."""

from typing import Any

from calc.layout import Item, Layout, Stock, lay_out

SHEET = Stock("S", 2000, 1000, None, "100.00")
SQUARE = ((0, 0), (200, 0), (200, 200), (0, 200))


def laid(count: int, *pieces: Stock, bought: Any = (SHEET,)) -> Layout:
    return lay_out(
        [Item("A", SQUARE, count)], [*bought, *pieces], kerf=2, edge_trim=0, may_turn_over=True, grain=False, effort="quick"
    )  # fmt: skip


def on(layout: Layout) -> dict[str, int]:
    return {sheet.stock: len(sheet.placed) for sheet in layout.sheets}


def piece(number: int, length: float, width: float, price: str = "10.00") -> Stock:
    return Stock(f"R{number}", length, width, 1, price, None, number)


def test_the_smallest_piece_that_holds_all_is_taken() -> None:
    # 4 squares of 200 and 3 kerfs: 806 x 200; the largest piece holds them too, the smallest only three
    assert on(laid(4, piece(1, 1500, 900), piece(2, 810, 210), piece(3, 610, 210))) == {"R2": 4}


def test_a_piece_of_the_rack_comes_first_whatever_it_cost() -> None:
    assert on(laid(4, piece(1, 810, 210, "500.00"))) == {"R1": 4}


def test_a_piece_that_would_be_mostly_waste_stays_where_it_does_not_hold_all() -> None:
    # one square of 0.04 m2 goes on 0.35 x 0.35 m, a third of it; the other eleven would want a sheet all the same
    assert on(laid(12, piece(1, 350, 350))) == {"S": 12}


def test_a_piece_well_filled_is_used_and_the_rest_bought() -> None:
    assert on(laid(30, piece(1, 808, 606))) == {"R1": 12, "S": 18}


def test_where_nothing_can_be_bought_any_piece_serves() -> None:
    assert on(laid(2, piece(1, 350, 350), piece(2, 300, 300), bought=())) == {"R1": 1, "R2": 1}


def test_two_of_a_lot_are_taken_one_after_the_other() -> None:
    lot = Stock("R5", 404, 202, 3, "9.00", None, 5)
    layout = laid(4, lot)
    assert [(sheet.stock, len(sheet.placed)) for sheet in layout.sheets] == [("R5", 2), ("R5", 2)]


def test_a_long_blank_goes_on_the_smallest_piece_that_is_long_enough() -> None:
    """Its area alone, 0.1 m2, would go on any of the four; 1600 long, it goes on R3 and R4 only, of which it fills 0.05."""
    strip = Item("A", ((0, 0), (1600, 0), (1600, 62.5), (0, 62.5)), 1)
    pieces = [piece(1, 900, 900), piece(2, 1100, 1100), piece(3, 1650, 1210), piece(4, 2000, 1220)]
    layout = lay_out([strip], [SHEET, *pieces], kerf=2, edge_trim=0, may_turn_over=True, grain=False, effort="quick")
    assert on(layout) == {"R3": 1}


def test_so_do_more_of_them_than_each_piece_is_tried_for() -> None:
    """Eight strips of 1600 x 62.5 want 1600 x 514 with their kerfs; only the largest pieces are long enough."""
    strips = Item("A", ((0, 0), (1600, 0), (1600, 62.5), (0, 62.5)), 8)
    pieces = [piece(number, 1000 + number, 1000) for number in range(1, 6)] + [piece(6, 1650, 1210)]
    layout = lay_out([strips], [SHEET, *pieces], kerf=2, edge_trim=0, may_turn_over=True, grain=False, effort="quick")
    assert on(layout) == {"R6": 8}
