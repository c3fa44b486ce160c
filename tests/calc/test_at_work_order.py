"""The order of runs at the bench: whole where the drawing beside it has no room for every number."""

import re

import pytest

import calc
from calc.at_work import at_work
from calc.drawing import weld_drawing
from calc.steps.weld_words import run_number
from calc.welding.records import Weld
from tests import shapes

PHONE = 300.0  # units of a drawing at work


@pytest.fixture(scope="module")
def long_rim() -> calc.Plan:
    """A long bare rim: far more runs than circles fit round it on a phone."""
    rim = [[0, 0], [2130, 6], [2124, 371], [-4, 362]]
    return calc.plan(shapes.sheet_of(shapes.fall_tray(rim, [1480, 150], 60, outlet={"bore": 42})))


def welds(plan: calc.Plan) -> list[Weld]:
    assert plan.weld_plan is not None
    return [weld for weld in plan.weld_plan.welds if len(weld.runs) > 1]


def test_every_run_of_a_weld_stands_in_its_order(long_rim: calc.Plan) -> None:
    for weld in welds(long_rim):
        (order,) = at_work(long_rim, weld.key).tables
        turns = sorted(run.turn for run in weld.runs)
        assert [row[0] for row in order.rows] == [run_number(weld, turn) for turn in turns]
        assert {len(row) for row in order.rows} == {len(order.heads)}


def test_a_run_of_a_rim_is_told_from_the_first_corner_of_its_side(long_rim: calc.Plan) -> None:
    """By the shape's own figures: no place on a side lies past its length, as Pythagoras gives it."""
    (rim,) = (weld for weld in welds(long_rim) if weld.kind == "rim")
    (order,) = at_work(long_rim, rim.key).tables
    sides = {"1–2": (2130, 6), "2–3": (-6, 365), "3–4": (-2128, -9), "4–1": (4, -362)}
    assert {side for _, side, *_ in order.rows} == set(sides)
    for _, side, start, end in order.rows:
        x, y = sides[side]
        assert all(0 <= float(place) <= (x * x + y * y) ** 0.5 + 0.5 for place in (start, end))
        assert start != end


def test_what_a_drawing_at_work_points_to_is_on_the_page(long_rim: calc.Plan) -> None:
    (rim,) = (weld for weld in welds(long_rim) if weld.kind == "rim")
    drawn = weld_drawing(long_rim, rim, width=PHONE)
    assert "see" in re.findall(r"No room here for the number of [\w, ]+: (\w+)", drawn)  # so many are not in it
    (order,) = at_work(long_rim, rim.key).tables
    assert order.caption.startswith("Order of runs")


def test_a_leader_in_a_drawing_at_work_is_short(long_rim: calc.Plan) -> None:
    """No number is led across the tray: twice the radius of its circle beyond that circle at most."""
    (rim,) = (weld for weld in welds(long_rim) if weld.kind == "rim")
    drawn = weld_drawing(long_rim, rim, width=PHONE)
    leaders = re.findall(r'<path class="dim leader"[^>]* d="M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)"', drawn)
    assert leaders
    for x1, y1, x2, y2 in ([float(figure) for figure in leader] for leader in leaders):
        assert ((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5 < 12.0 * 2 + 12.0 * 2**0.5 + 1
