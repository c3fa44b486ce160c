"""A search runs without sweeps for rings of objects: it must make none, and sweeping must be back after it."""

import gc

import pytest

from calc.layout import Item, Stock, lay_out
from calc.layout.sweeping import unswept

BLANKS = [
    Item("A", ((0, 0), (900, 0), (620, 230)), 3),
    Item("B", ((0, 0), (450, 0), (225, 284)), 3),
    Item("C", ((0, 0), (400, 0), (400, 300), (0, 300)), 6),
]


def lay() -> None:
    sheet = Stock("S", 1200, 1000, None)
    assert lay_out(BLANKS, [sheet], kerf=2, edge_trim=5, may_turn_over=True, grain=False, effort="quick").sheets


def test_a_search_leaves_nothing_for_the_sweep() -> None:
    lay()  # what is made once and kept is made here
    gc.collect()
    with unswept():
        lay()
        assert gc.collect() == 0


def test_sweeping_is_back_after_a_search_that_failed() -> None:
    assert gc.isenabled()
    with pytest.raises(ZeroDivisionError), unswept():
        raise ZeroDivisionError
    assert gc.isenabled()


def test_who_had_stopped_sweeping_has_it_stopped_still() -> None:
    with unswept():
        lay()
        assert not gc.isenabled()
