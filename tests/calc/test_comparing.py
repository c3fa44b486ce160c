"""Two plans side by side, by figures that a person can check."""

import copy
import math
from decimal import Decimal
from typing import Any

import pytest

from calc import Plan, plan
from calc.comparing import Comparison, compare
from calc.sheet import JobSheet
from tests.shapes import FLAT, METAL, MIRROR, NAMED, SKEW, fall_tray, sheet_of


def changed(shape: dict[str, Any], **keys: Any) -> Comparison:
    """What comes of putting this shape in the place of SKEW."""
    return compare(plan(sheet_of(SKEW)), plan(sheet_of(shape, **keys)))


@pytest.mark.parametrize("name", [*NAMED, *FLAT])
def test_a_plan_differs_from_itself_in_nothing(name: str) -> None:
    made = plan(sheet_of((NAMED | FLAT)[name]))
    same = compare(made, Plan.from_json(made.as_json()))
    assert not same.is_any
    assert (same.points, same.lengths, same.resets, same.anew) == ((), (), (), ())
    assert {blank.verdict for blank in same.blanks} == {"same"}
    figures = (same.litres, same.least_fall, same.mass, same.weld, same.sheets, same.minutes)
    assert all(figure is None or abs(figure.by) < 1e-6 for figure in figures)
    assert same.cost.by == Decimal(0)


def test_words_are_no_change() -> None:
    assert not changed(SKEW, customer="Another yard", machine="Mill").is_any


def test_how_long_a_layout_is_looked_for_is_no_change_and_the_kerf_is_one() -> None:
    assert changed(SKEW, making={"effort": "quick"}).resets == ()
    assert [reset.what for reset in changed(SKEW, making={"effort": "quick", "kerf": 3.1}).resets] == ["Saw kerf"]


def test_a_corner_that_moved_moves_its_two_sides() -> None:
    shape = copy.deepcopy(SKEW)
    shape["rim"][2] = [734, 402]  # from (731, 398): 3 right, 4 up, so 5 in all
    result = changed(shape)
    (corner,) = result.points
    assert (corner.what, corner.was, corner.now) == ("Corner 3", (731.0, 398.0), (734.0, 402.0))
    assert corner.by == pytest.approx(5.0)
    assert [side.what for side in result.lengths] == ["Side 2", "Side 3"]
    second, third = result.lengths
    # by Pythagoras, over the corners as typed
    assert second.by == pytest.approx(math.hypot(734 - 742, 402 - 9) - math.hypot(731 - 742, 398 - 9))
    assert third.by == pytest.approx(math.hypot(734 + 12, 402 - 371) - math.hypot(731 + 12, 398 - 371))
    # facets B and C have that corner; A and D have not
    assert {blank.name: blank.verdict for blank in result.blanks} == {
        "A": "same", "B": "changed", "C": "changed", "D": "same",
    }  # fmt: skip


def test_depth_low_point_and_outlet() -> None:
    shape = {**SKEW, "low_point": [509, 152], "depth": 50, "outlet": {"bore": 32}}
    result = changed(shape)
    (low,) = result.points
    assert (low.what, low.was, low.now, low.by) == ("Low point", (512.0, 148.0), (509.0, 152.0), pytest.approx(5.0))
    assert [(one.what, one.was, one.now, one.by) for one in result.lengths] == [
        ("Depth", 46.0, 50.0, 4.0),
        ("Outlet", 40.0, 32.0, -8.0),
    ]


def test_an_outlet_that_comes_or_goes() -> None:
    bare = {key: value for key, value in SKEW.items() if key != "outlet"}
    (gone,) = changed(bare).lengths
    assert (gone.what, gone.was, gone.now, gone.by) == ("Outlet", 40.0, None, None)
    (come,) = compare(plan(sheet_of(bare)), plan(sheet_of(SKEW))).lengths
    assert (come.what, come.was, come.now, come.by) == ("Outlet", None, 40.0, None)


def test_litres_and_falls_of_a_deeper_tray_grow_with_its_depth() -> None:
    result = changed({**SKEW, "depth": 69})  # 46 x 1.5; a pyramid holds area x depth / 3
    assert result.litres.now == pytest.approx(1.5 * result.litres.was)
    assert result.litres.by == pytest.approx(0.5 * result.litres.was)
    assert result.least_fall.now == pytest.approx(1.5 * result.least_fall.was)
    assert result.mass.by > 0
    assert result.weld.by > 0


def test_a_corner_more_shifts_the_numbers_of_those_behind_it() -> None:
    rim = [[0, 0], [600, 0], [600, 400], [0, 400]]
    before = plan(sheet_of(fall_tray(rim, [210, 200], 40)))
    rim_after = [[0, 0], [300, -20], [600, 0], [600, 400], [0, 400]]
    after = plan(sheet_of(fall_tray(rim_after, [210, 200], 40)))
    result = compare(before, after)
    assert [(point.what, point.was, point.now, point.by) for point in result.points] == [
        ("Corner 2", None, (300.0, -20.0), None)
    ]
    assert result.lengths == ()
    blanks = {blank.name: (blank.verdict, blank.like) for blank in result.blanks}
    assert blanks["E"] == ("new", "D")
    assert (blanks["C"], blanks["D"][1]) == (("changed", "B"), "C")
    back = compare(after, before)
    assert [(point.what, point.now) for point in back.points] == [("Corner 2", None)]
    assert {blank.name for blank in back.blanks if blank.verdict == "gone"} == {"E"}


def test_a_rim_of_wholly_other_corners_is_still_told() -> None:
    before = plan(sheet_of(fall_tray([[0, 0], [480, 15], [170, 390]], [220, 120], 35)))
    after = plan(sheet_of(MIRROR))
    result = compare(before, after)
    assert [(point.what, point.was is None, point.now is None) for point in result.points] == [
        ("Corner 2", False, False), ("Corner 3", False, False), ("Corner 4", True, False), ("Low point", False, False),
    ]  # fmt: skip


def test_sides_and_diagonals_are_compared_as_the_corners_they_make() -> None:
    tape = {"sides": [800, 600, 800, 600], "diagonals": [1000, 1000]}  # a 3-4-5 rectangle
    before = plan(sheet_of(fall_tray([[0, 0], [800, 0], [800, 600], [0, 600]], [500, 200], 50)))
    assert not compare(before, plan(sheet_of(fall_tray(tape, [500, 200], 50)))).is_any


def test_metal_and_saw_are_named_with_what_was_and_is() -> None:
    result = changed(
        SKEW,
        quantity=2,
        material={**METAL, "thickness": 2, "finished_face": True},
        making={"kerf": 2.2, "tack_pitch": 50},
        stock=[{"length": 2500, "width": 1250, "price": "96.00"}],
        rates={"labour": "55.00", "labour_by_kind": {"weld": "60.00"}},
    )
    told = {reset.what: (reset.was, reset.now) for reset in result.resets}
    assert told == {
        "How many": ("1", "2"),
        "Thickness, mm": ("1.5", "2"),
        "One face is finished": ("no", "yes"),
        "Saw kerf": ("2 mm", "2.2 mm"),
        "Tacks apart": ("40 mm", "50 mm"),
        "Sheet S1": ("2440 x 1220 mm, as many as needed, 0 each", "2500 x 1250 mm, as many as needed, 96.00 each"),
        "Labour, an hour": ("42.00", "55.00"),
        "rates, labour by kind, weld": ("", "60.00"),
    }
    assert {blank.verdict for blank in result.blanks} == {"changed"}  # of another thickness
    assert {(blank.was_count, blank.now_count) for blank in result.blanks} == {(1, 2)}


def test_what_is_welded_otherwise_is_told_with_the_rod_that_follows() -> None:
    making = {
        "process": "MIG",
        "weld_side": "wet",
        "service_temperature": 90,
        "marking_error": 0.3,
        "allow_shrinkage": True,
    }
    result = changed(SKEW, making=making, bench={"alloy": "5052-H32", "thickness": 4})
    told = {reset.what: (reset.was, reset.now) for reset in result.resets}
    assert told == {
        "Welded by": ("TIG", "MIG"),
        "Seams welded from": ("the dry side", "the wet side"),
        "Hottest in service, °C": ("20", "90"),
        # over 65 °C no rod of more than 3 % magnesium: ER5554 in place of ER5356 (filler charts of welding handbooks)
        "Filler": ("ER5356", "ER5554"),
        "Marking error, either way": ("0.5 mm", "0.3 mm"),
        "Shrinkage put on the blanks": ("no", "yes"),
        "Metal of the bench": ("", "5052-H32"),
        "Thickness of the bench, mm": ("", "4"),
    }


def test_money_is_decimal_and_not_taken_across_currencies() -> None:
    cheap, dear = (plan(sheet_of(SKEW, rates={"labour": labour})) for labour in ("40.00", "41.00"))
    cost = compare(cheap, dear).cost
    assert cost.by == Decimal(dear.cost.total) - Decimal(cheap.cost.total) > 0
    assert compare(cheap, plan(sheet_of(SKEW, rates={"currency": "USD"}))).cost.by is None


def test_copies_already_cut_that_no_longer_serve() -> None:
    first = plan(sheet_of(SKEW, quantity=2))
    moved = copy.deepcopy(SKEW)
    moved["rim"][2] = [734, 402]  # changes B and C
    frozen = first.as_json()["layout"]["sheets"]
    for cut in (cut for used in frozen for cut in used["cuts"]):
        cut["made"] = True
    keys = {"quantity": 2, "frozen": frozen}
    assert compare(first, plan(sheet_of(SKEW, **keys))).anew == ()
    assert compare(first, plan(sheet_of(moved, **keys))).anew == (("B", 2), ("C", 2))
    fewer = plan(sheet_of(SKEW, **{**keys, "quantity": 1}))
    assert compare(first, fewer).anew == (("A", 1), ("B", 1), ("C", 1), ("D", 1))


def test_frozen_sheets_alone_are_no_change_of_the_sheet() -> None:
    first = plan(sheet_of(SKEW))
    frozen: JobSheet = plan(sheet_of(SKEW, frozen=first.as_json()["layout"]["sheets"])).sheet
    assert frozen.frozen
    assert not compare(first, plan(frozen)).is_any


def test_a_pan_is_compared_by_its_sizes_not_by_corners_nor_a_low_point() -> None:
    pan = {"family": "pan", "length": 400, "width": 250, "height": 60, "inside_radius": 2}
    other = {**pan, "length": 430, "height": 72, "inside_radius": 3, "fall": 8, "return_width": 20}
    result = compare(plan(sheet_of(pan)), plan(sheet_of(other)))
    assert result.points == ()
    assert [(size.what, size.was, size.now, size.by) for size in result.lengths] == [
        ("Length", 400, 430, 30),
        ("Height", 60, 72, 12),
        ("Inside radius", 2, 3, 1),
        ("Fall", None, 8, None),
        ("Return width", None, 20, None),
    ]
    # four walls; with returns four bends more
    assert (result.folds.was, result.folds.now, result.folds.by) == (4, 8, 4)


@pytest.mark.parametrize(
    ("finish", "sizes"),
    [
        ({"kind": "lap", "width": 25, "inside_radius": 2}, [("Lap width", 25), ("Inside radius", 2)]),
        ({"kind": "upstand", "height": 18, "inside_radius": 3}, [("Upstand height", 18), ("Inside radius", 3)]),
    ],
)
def test_a_rim_that_comes_to_have_strips_is_told_by_their_sizes(
    finish: dict[str, Any], sizes: list[tuple[str, float]]
) -> None:
    result = changed({**SKEW, "rim_finish": finish})
    assert [(size.what, size.was, size.now) for size in result.lengths] == [(what, None, now) for what, now in sizes]
    assert result.points == ()
    back = compare(plan(sheet_of({**SKEW, "rim_finish": finish})), plan(sheet_of(SKEW)))
    assert [(size.what, size.was, size.now) for size in back.lengths] == [(what, was, None) for what, was in sizes]


def test_a_tray_that_becomes_a_pan_loses_its_corners_and_low_point() -> None:
    pan = {"family": "pan", "length": 400, "width": 250, "height": 60}
    result = changed(pan)
    assert [(point.what, point.now) for point in result.points] == [
        *((f"Corner {number}", None) for number in range(1, 5)),
        ("Low point", None),
    ]
    assert {size.what for size in result.lengths if size.was is None} == {"Length", "Width", "Height", "Inside radius"}
    assert {size.what for size in result.lengths if size.now is None} == {"Depth", "Outlet"}


def test_how_it_is_joined_and_bent_is_told_in_words() -> None:
    making = {"joins": "fewest-welds", "bend_method": "k-factor", "k_factor": 0.4, "longest_fold": 1000}
    resets = {reset.what: (reset.was, reset.now) for reset in changed(SKEW, making=making).resets}
    assert resets == {
        "Facets joined": ("every seam welded", "folded where they can be"),
        "Bends worked out by": ("DIN 6935", "the shop's own K"),
        "The shop's own K": ("", "0.4"),
        "Longest fold": ("1250 mm", "1000 mm"),
    }
