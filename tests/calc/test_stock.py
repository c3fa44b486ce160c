"""Stock: sizes of sheet, and offcuts of any convex outline."""

from typing import Any

import pytest
import shapely

import calc
from calc.layout import Item, lay_out
from calc.reading import Field
from calc.stock import Stock, read_stock
from tests.shapes import SKEW, sheet_of

TRAPEZIUM = [[100, 50], [1000, 50], [800, 750], [200, 550]]


def read(*sizes: Any) -> Any:
    field = Field(list(sizes))
    return read_stock(field), [str(fault) for fault in field.faults]


def test_an_offcut_is_one_piece_from_its_own_corner() -> None:
    (stock,), faults = read({"label": "O7", "outline": TRAPEZIUM, "price": "8.50"})
    assert faults == []
    assert (stock.length, stock.width, stock.count) == (900, 700, 1)
    assert stock.outline == ((0, 0), (900, 0), (700, 700), (100, 500))


def test_an_outline_typed_clockwise_is_turned_round() -> None:
    (stock,), _ = read({"outline": TRAPEZIUM[::-1]})
    assert shapely.Polygon(stock.outline).exterior.is_ccw


@pytest.mark.parametrize(
    ("size", "fault"),
    [
        ({"outline": [[0, 0], [100, 0], [30, 30], [0, 100]]}, "sheet[0].outline: must be convex"),
        (
            {"outline": [[0, 0], [100, 100], [100, 0], [0, 100]]},
            "sheet[0].outline: must be an outline that does not cross",
        ),
        ({"outline": [[0, 0], [50, 0], [100, 0]]}, "sheet[0].outline: must be an outline that does not cross"),
        ({"outline": [[0, 0], [1, 0]]}, "sheet[0].outline: must hold 3 to 40 corners (got 2)"),
        ({"outline": "round"}, "sheet[0].outline: must be"),
        ({"outline": TRAPEZIUM, "length": 20}, "sheet[0].length: must be 900 mm as its outline measures, or left out"),
        ({"label": "S"}, "sheet[0].length: missing"),
        (3, "sheet[0]: must be an object"),
    ],
)
def test_what_is_wrong_is_told(size: Any, fault: str) -> None:
    stock, faults = read(size)
    assert stock is None
    assert faults[0].startswith(fault), faults


def test_blanks_lie_on_the_offcut_clear_of_its_edges() -> None:
    offcut = {"label": "O7", "outline": [[0, 0], [1400, 0], [1300, 900], [100, 700]], "price": "5"}
    whole = {"label": "S", "length": 2440, "width": 1220, "price": "100"}
    plan = calc.plan(sheet_of(SKEW, stock=[offcut, whole], making={"edge_trim": 5}))
    first = plan.layout.sheets[0]
    assert first.stock == "O7"
    room = shapely.Polygon(offcut["outline"]).buffer(-5 + 1e-6, join_style="mitre")
    assert first.placed
    assert all(room.covers(shapely.Polygon(placed.outline)) for placed in first.placed)
    # 1400 x 700 less the triangles cut off, by the shoelace rule: (1260000 - 130000 + 100 * 0 ...) worked by shapely
    assert plan.takeoff.sheet_area == pytest.approx(
        sum(shapely.Polygon(used.metal).area for used in plan.layout.sheets)
    )
    assert calc.plan(plan.as_json()["sheet"]).as_json() == plan.as_json()


@pytest.mark.parametrize("seed", range(6))
def test_blanks_of_a_lopsided_offcut_lie_on_it_whichever_face_is_up(seed: int) -> None:
    slanted = ((373.0, 0.0), (373.0, 219.0), (0.0, 219.0), (0.0, 94.0))
    blank = ((171.7, 232.0), (130.1, 301.1), (2.0, 345.9), (4.8, 255.0), (21.9, 124.6), (149.0, 104.5))
    made = lay_out(
        [Item("P", blank, 1)], [Stock("O", 373.0, 219.0, 1, "1", slanted)], kerf=2, edge_trim=5, may_turn_over=True,
        grain=False, effort="quick", seed=seed,
    )  # fmt: skip
    (sheet,) = made.sheets
    assert shapely.Polygon(slanted).covers(shapely.Polygon(sheet.placed[0].outline))
