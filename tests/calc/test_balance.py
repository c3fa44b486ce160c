"""Where the metal went: sums by hand, and what does not add up is told."""

from decimal import Decimal

import pytest

from calc.balance import Balance, Metal, size_of, strike_balance, sum_up

# Two sheets 2000 x 1000 of a metal of 4 kg/m2 at 30.00: 4 m2, 16 kg, 60.00, so 3.75 a kg.
SHEETS = Metal(mass=16.0, area=4e6, money=Decimal("60.00"))


def struck(blanks: float = 6.0, returned: float = 5.0, spoiled: float = 0.7) -> Balance:
    kept = Metal(mass=returned, area=returned / 4 * 1e6)
    return strike_balance(issued=SHEETS, blank_mass=blanks, returned=kept, spoiled_mass=spoiled, areal_mass=4.0)


def test_each_part_has_its_mass_area_and_share_of_the_money() -> None:
    balance = struck()
    assert balance.in_blanks == Metal(6.0, 1.5e6, Decimal("22.50"))  # 6 / 4 m2; 6 x 3.75
    assert balance.returned == Metal(5.0, 1.25e6, Decimal("18.75"))  # 5 x 3.75
    # 0.7 x 3.75 = 2.625: half up
    assert balance.spoiled.money == Decimal("2.63")
    assert balance.scrap.mass == pytest.approx(16 - 6 - 5 - 0.7)
    assert balance.scrap.area == pytest.approx(4e6 - 1.5e6 - 1.25e6 - 0.175e6)
    assert balance.scrap.money == Decimal("60.00") - Decimal("22.50") - Decimal("18.75") - Decimal("2.63")


def test_the_money_of_the_parts_is_what_was_paid() -> None:
    balance = struck(blanks=1 / 3, returned=1 / 7, spoiled=1 / 9)
    parts = (balance.in_blanks, balance.returned, balance.spoiled, balance.scrap)
    assert sum(part.money for part in parts) == Decimal("60.00")


def test_what_is_left_of_a_sheet_that_is_not_cut_up_is_no_scrap() -> None:
    # 16 kg less 6 in the blanks and 5 returned, none spoiled: 5 are left
    kept = Metal(mass=5.0, area=1.25e6)
    given = {"issued": SHEETS, "blank_mass": 6.0, "returned": kept, "spoiled_mass": 0.0, "areal_mass": 4.0}
    some = strike_balance(**given, in_hand_mass=2.0)
    assert some.in_hand == Metal(2.0, 0.5e6, Decimal("7.50"))  # 2 / 4 m2; 2 x 3.75
    assert (some.scrap.mass, some.scrap.money) == (pytest.approx(3.0), Decimal("11.25"))
    for mass in (5.0, 9.0):  # all that is left, or all that there is
        whole = strike_balance(**given, in_hand_mass=mass)
        assert whole.in_hand == Metal(5.0, 1.25e6, Decimal("18.75"))
        assert whole.scrap == Metal(0.0, 0.0, Decimal(0))
    assert strike_balance(**given).in_hand == Metal()
    assert sum_up([some, some]).in_hand == Metal(4.0, 1e6, Decimal("15.00"))


@pytest.mark.parametrize("in_hand", [0.0, 1 / 7, 3.0, 50.0])
def test_with_metal_in_hand_it_still_balances_to_the_gram(in_hand: float) -> None:
    balance = strike_balance(
        issued=SHEETS,
        blank_mass=19 / 3,
        returned=Metal(17 / 7, 17 / 28 * 1e6),
        spoiled_mass=1 / 9,
        areal_mass=4.0,
        in_hand_mass=in_hand,
    )
    parts = (balance.in_blanks, balance.returned, balance.spoiled, balance.in_hand, balance.scrap)
    assert sum(part.mass for part in parts) == pytest.approx(16.0, abs=1e-9)
    assert sum(part.money for part in parts) == Decimal("60.00")
    assert balance.scrap.mass >= 0
    assert balance.discrepancy == ""


def test_of_too_little_metal_none_is_in_hand() -> None:
    short = strike_balance(
        issued=SHEETS, blank_mass=17.0, returned=Metal(), spoiled_mass=0.0, areal_mass=4.0, in_hand_mass=2.0
    )
    assert short.in_hand == Metal()
    assert "1.00 kg too much" in short.discrepancy


def test_what_adds_up_says_nothing() -> None:
    assert struck().discrepancy == ""
    # used up to the last gram, as far as rounding can tell
    assert struck(blanks=16 - 5 - 0.7).discrepancy == ""


def test_more_metal_than_was_bought_is_told_with_its_figures() -> None:
    said = struck(blanks=12.0).discrepancy
    # 12 + 5 + 0.7 - 16 = 1.7
    assert "16.00 kg of sheet is logged" in said
    assert "the blanks hold 12.00 kg, 5.00 kg came back as offcuts and 0.70 kg was spoiled, 1.70 kg too much" in said
    assert struck(blanks=17.0, returned=0.0, spoiled=0.0).discrepancy.count(" and ") == 0
    assert struck(blanks=12.0).scrap.mass == pytest.approx(-1.7)


def test_nothing_bought_shares_nothing_out() -> None:
    balance = strike_balance(issued=Metal(), blank_mass=2.0, returned=Metal(), spoiled_mass=0.0, areal_mass=4.0)
    assert balance.in_blanks == Metal(2.0, 0.5e6, Decimal(0))
    assert balance.discrepancy


def test_a_metal_of_unknown_mass_has_no_areas() -> None:
    balance = strike_balance(issued=Metal(), blank_mass=2.0, returned=Metal(), spoiled_mass=1.0, areal_mass=0.0)
    assert (balance.in_blanks.area, balance.spoiled.area) == (0.0, 0.0)


def test_balances_add_up_part_by_part() -> None:
    both = sum_up([struck(), struck(spoiled=0.0)])
    assert both.issued == Metal(32.0, 8e6, Decimal("120.00"))
    assert both.spoiled == struck().spoiled
    assert both.scrap.mass == pytest.approx((16 - 11.7) + (16 - 11))
    assert sum_up([]) == Balance()


def test_the_size_of_an_offcut_that_is_no_rectangle() -> None:
    # A right triangle of 300 and 400: half of 300 x 400. The rectangle on its longest side, 500 = 3-4-5, is 240 high
    # (twice the area over the side) and as large as that on its legs, 120 000 mm2 either way.
    length, width, area = size_of(((0, 0), (400, 0), (0, 300)))
    assert area == 60_000
    assert length * width == pytest.approx(120_000)
    # turned by 3-4-5, a rectangle 100 x 50 is still 100 x 50
    assert size_of(((0, 0), (80, 60), (50, 100), (-30, 40))) == pytest.approx((100, 50, 5000))
