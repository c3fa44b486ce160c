"""Reading a job sheet: defaults, every fault named, nothing raised but `SheetFaults`."""

import copy
import math
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given, settings

from calc import SheetFaults, plan, read_sheet
from calc.making import Saw
from tests.shapes import METAL, SKEW, fall_tray, fall_trays, sheet_of

LEAST = {"shape": SKEW, "material": METAL}


def faults_of(data: Any) -> list[str]:
    with pytest.raises(SheetFaults) as caught:
        read_sheet(data)
    return [str(fault) for fault in caught.value.faults]


def changed(path: str, value: Any) -> dict[str, Any]:
    """The least sheet with one key set, the path's steps parted by dots."""
    data = copy.deepcopy(LEAST)
    *steps, last = path.split(".")
    place: Any = data
    for step in steps:
        place = place.setdefault(step, {})
    place[last] = value
    return data


def test_defaults_are_those_of_the_contract() -> None:
    data = read_sheet(LEAST).as_json()
    assert data["quantity"] == 1
    assert data["making"]["cutting"] == "straight-saw"
    assert (data["making"]["kerf"], data["making"]["edge_trim"], data["making"]["seam_gap"]) == (2.0, 5.0, 0.5)
    assert (data["making"]["joins"], data["making"]["effort"]) == ("weld-all", "normal")
    one = {"label": "S1", "length": 2440.0, "width": 1220.0, "count": None, "price": "0", "outline": None, "rack": None}
    assert data["stock"] == [one]
    assert (data["material"]["finished_face"], data["material"]["grain"]) == (False, False)
    assert data["shape"]["rim_finish"] == {"kind": "bare"}


def test_a_filled_sheet_reads_as_itself() -> None:
    sheet = read_sheet({**LEAST, "title": " Tray \t", "stock": [{"length": "96 in", "width": "48 in", "price": "80"}]})
    assert sheet.title == "Tray"
    assert sheet.stock[0].length == 2438.4  # 96 x 25.4
    assert read_sheet(sheet.as_json()) == sheet


@pytest.mark.parametrize(
    ("metal", "typed", "inches"),
    # Sheet-gauge tables: steel 16 ga .0598, galvanised 16 .0635, stainless 16 .0625, aluminium (Brown & Sharpe) 16 .0508
    [
        ("DC01", "16 ga", 0.0598),
        ("DX51D+Z", "16 gauge", 0.0635),
        ("304", "16GA", 0.0625),
        ("5052-H32", "16 ga.", 0.0508),
    ],
)
def test_a_thickness_may_be_a_gauge(metal: str, typed: str, inches: float) -> None:
    sheet = read_sheet({**LEAST, "material": {"alloy": metal, "thickness": typed}})
    assert sheet.material.thickness == pytest.approx(inches * 25.4, abs=0.0013)


def test_lengths_are_millimetres_or_text_with_a_unit() -> None:
    rim = [["0 mm", 0], ["29 1/4 in", 0], ["74.2 cm", "1'-3 1/2\""], [0, 380]]
    sheet = read_sheet({**LEAST, "shape": fall_tray(rim, ["20 in", "148,5 mm"], "1 3/4 in")})
    assert sheet.shape.corners == ((0.0, 0.0), (742.95, 0.0), (742.0, 393.7), (0.0, 380.0))
    assert sheet.shape.low_point == (508.0, 148.5)
    assert sheet.shape.depth == 44.45


@pytest.mark.parametrize(
    ("path", "value", "where", "says"),
    [
        ("shape.depth", -5, "sheet.shape.depth", "must be more than 0 mm (got -5)"),
        ("shape.depth", 0, "sheet.shape.depth", "must be more than 0 mm (got 0)"),
        ("shape.depth", 20001, "sheet.shape.depth", "must be at most 20000 mm (got 20001)"),
        ("shape.depth", "57", "sheet.shape.depth", "unit"),
        ("shape.depth", "1,500 mm", "sheet.shape.depth", "1,500"),
        ("shape.depth", True, "sheet.shape.depth", "number in mm (got true)"),
        ("shape.depth", math.nan, "sheet.shape.depth", "number"),
        ("shape.depth", math.inf, "sheet.shape.depth", "number"),
        ("shape.depth", 10**400, "sheet.shape.depth", "number"),
        ("shape.depth", None, "sheet.shape.depth", "number"),
        ("shape.rim", [[0, 0], [10, 0]], "sheet.shape.rim", "must hold 3 to 24 corners (got 2)"),
        ("shape.rim", [[0, 0]] * 25, "sheet.shape.rim", "must hold 3 to 24 corners (got 25)"),
        ("shape.rim", "square", "sheet.shape.rim", "list of corners"),
        ("shape.rim", [[0, 0], [10], [0, 10]], "sheet.shape.rim[1]", "2 coordinates"),
        ("shape.rim", [[0, 0], [700, 0], [700, 0.001], [0, 400]], "sheet.shape.rim[2]", "same point as corner 2"),
        ("shape.rim", [[0, 0], [300, 0], [700, 0], [0, 400]], "sheet.shape.rim[1]", "straight line"),
        ("shape.rim", [[0, 0], [700, 400], [700, 0], [0, 400]], "sheet.shape.rim", "crosses itself"),
        ("shape.rim", {"sides": [1, 2, 3], "diagonals": [2, 2]}, "sheet.shape.rim.sides", "must hold 4 sides (got 3)"),
        (
            "shape.rim",
            {"sides": [500, 300, 500, 300], "diagonals": [900, 583]},
            "sheet.shape.rim.diagonals[0]",
            "between",
        ),
        ("shape.rim", {"sides": [500, 300, 500, 300], "diagonals": [583, 540]}, "sheet.shape.rim", "can't all be true"),
        ("material.thickness", "99 ga", "sheet.material.thickness", "gauge"),
        ("shape.rim", {"sides": [500, 300, 500, 300]}, "sheet.shape.rim.diagonals", "missing"),
        ("shape.low_point", [900, 148], "sheet.shape.low_point", "inside the rim"),
        ("shape.low_point", [3, 0.5], "sheet.shape.low_point", "at least 1 mm inside"),
        ("shape.low_point", [3], "sheet.shape.low_point", "coordinates"),
        ("shape.outlet", {"bore": 0}, "sheet.shape.outlet.bore", "more than 0"),
        ("shape.outlet", {"bore": 500}, "sheet.shape.outlet.bore", "room round the low point"),
        ("shape.outlet", {}, "sheet.shape.outlet.bore", "missing"),
        (
            "shape.rim_finish",
            {"kind": "rolled"},
            "sheet.shape.rim_finish.kind",
            'must be one of bare, lap, upstand (got "rolled")',
        ),
        ("shape.lid", 1, "sheet.shape.lid", "unknown key"),
        (
            "shape.family",
            "bucket",
            "sheet.shape.family",
            'one of fall-tray, valley-tray, pan, flat-parts (got "bucket")',
        ),
        ("shape", [], "sheet.shape", "family"),
        ("material.alloy", "unobtainium", "sheet.material.alloy", "5052-H32"),
        ("material.alloy", 5052, "sheet.material.alloy", "text"),
        ("material.thickness", 0.1, "sheet.material.thickness", "at least 0.2 mm (got 0.1)"),
        ("material.thickness", 26, "sheet.material.thickness", "at most 25 mm"),
        ("material.grain", 1, "sheet.material.grain", "true or false"),
        ("making.kerf", 10.5, "sheet.making.kerf", "at most 10 mm"),
        ("making.kerf", -1, "sheet.making.kerf", "at least 0 mm (got -1)"),
        ("making.kerf", 0, "sheet.making.kerf", "at least 0.5 mm where blanks are sawn: a blade takes 1.5 to 3 mm"),
        ("making.kerf", "0.4 mm", "sheet.making.kerf", '(got "0.4 mm")'),
        ("making.edge_trim", 201, "sheet.making.edge_trim", "at most 200 mm"),
        ("making.seam_gap", 6, "sheet.making.seam_gap", "at most 5 mm"),
        ("making.guide_offset", -1, "sheet.making.guide_offset", "at least 0 mm (got -1)"),
        ("making.least_clamp", "1 m", "sheet.making.least_clamp", "at most 500 mm"),
        ("making.saw", "big", "sheet.making.saw", "big"),
        ("making.saw", {"blade": 165}, "sheet.making.saw.blade", "unknown key"),
        ("making.saw", {"diameter": 10}, "sheet.making.saw.diameter", "at least 50 mm"),
        ("making.saw", {"teeth": 48.5}, "sheet.making.saw.teeth", "whole number"),
        ("making.saw", {"speed": 0}, "sheet.making.saw.speed", "at least 100 rev/min"),
        ("making.saw", {"marked_speed": "fast"}, "sheet.making.saw.marked_speed", "number"),
        ("making.effort", "heroic", "sheet.making.effort", "quick, normal, long"),
        ("making.rule", "1/3 mm", "sheet.making.rule", "a step that a rule in mm has"),
        ("making", {"units": "in", "rule": 0.5}, "sheet.making.rule", "a step that a rule in in has"),
        ("title", "tray\u202egnp", "sheet.title", "plain text"),
        ("title", "one\u2028two", "sheet.title", "plain text"),
        ("shape.rim", [[-20000, -5], [20000, 0], [0, 20000]], "sheet.shape.rim[0]", "at most 20000 mm"),
        ("making.speed", 1, "sheet.making.speed", "unknown key"),
        ("quantity", 0, "sheet.quantity", "from 1 to 500 (got 0)"),
        ("quantity", 501, "sheet.quantity", "from 1 to 500"),
        ("quantity", 1.5, "sheet.quantity", "whole number"),
        ("quantity", True, "sheet.quantity", "whole number"),
        ("title", 7, "sheet.title", "text"),
        ("title", "a\nb", "sheet.title", "one line"),
        ("title", "x" * 201, "sheet.title", "at most 200"),
        ("format", "fabjobs-sheet/2", "sheet.format", "fabjobs-sheet/1"),
        ("stock", [], "sheet.stock", "sheet sizes (got 0)"),
        ("stock", [{"length": 100}], "sheet.stock[0].width", "missing"),
        ("stock", [{"length": 100, "width": 50, "price": 3}], "sheet.stock[0].price", "118.00"),
        ("stock", [{"length": 100, "width": 50, "price": "-3"}], "sheet.stock[0].price", "digits"),
        ("stock", [{"length": 100, "width": 50, "price": "1e3"}], "sheet.stock[0].price", "digits"),
        ("stock", [{"length": 100, "width": 50, "count": -1}], "sheet.stock[0].count", "from 0"),
        ("stock", [{"label": "a", "length": 9, "width": 5}] * 2, "sheet.stock[1].label", "earlier size"),
        ("stock", [{"length": 100, "width": 50, "price": "1000000"}], "sheet.stock[0].price", "at most 999999.99 (got"),
        ("stock", [{"length": 100, "width": 50, "price": "1.005"}], "sheet.stock[0].price", "2 decimals at most"),
        ("rates.labour", "dear", "sheet.rates.labour", "digits"),
        ("rates.labour", "100000", "sheet.rates.labour", 'must be at most 99999.99 (got "100000")'),
        ("rates.labour", "42.001", "sheet.rates.labour", 'to 2 decimals at most (got "42.001")'),
        ("rates.labour", ".", "sheet.rates.labour", "digits"),
        ("rates.labour", "\u0664\u0662", "sheet.rates.labour", "digits"),
        ("rates.gas", "0.00001", "sheet.rates.gas", 'such as "0.0200", to 4 decimals at most'),
        ("rates.labour_by_kind", {"weld": "1e2"}, "sheet.rates.labour_by_kind.weld", "digits and a point only"),
        ("rates.labour_by_kind", {"weld": "100000"}, "sheet.rates.labour_by_kind.weld", "at most 99999.99"),
        ("rates.currency", "", "sheet.rates.currency", 'three capital letters, such as "EUR"'),
        ("rates.currency", "EURO", "sheet.rates.currency", "three capital letters"),
        ("rates.labour_by_kind", {"sleep": "1"}, "sheet.rates.labour_by_kind.sleep", "unknown key"),
    ],
)
def test_a_fault_names_its_field_and_what_would_do(path: str, value: Any, where: str, says: str) -> None:
    found = faults_of(changed(path, value))
    assert any(line.startswith(f"{where}: ") and says in line for line in found), found


def test_contours_are_cut_with_any_kerf() -> None:
    for kerf in (0, 0.1):  # a beam takes next to nothing
        assert read_sheet({**LEAST, "making": {"cutting": "contour", "kerf": kerf}}).making.kerf == kerf


@pytest.mark.parametrize("data", [None, 7, "sheet", [], [1]])
def test_what_is_no_object_is_one_fault(data: Any) -> None:
    (line,) = faults_of(data)
    assert line.startswith("sheet: must be an object")


def test_every_fault_is_told_at_once() -> None:
    data = changed("shape.depth", -1)
    data["quantity"] = 0
    data["colour"] = "red"
    assert [line.split(":")[0] for line in faults_of(data)] == ["sheet.colour", "sheet.quantity", "sheet.shape.depth"]
    assert [line.split(":")[0] for line in faults_of({})] == ["sheet.shape", "sheet.material"]


def test_a_fault_is_one_printable_line_whatever_was_typed() -> None:
    for line in faults_of({**LEAST, "a\nb\ud800\x1b[31m": 1, "machine": "\ud800"}):
        assert line.isprintable()
        line.encode()


def test_a_rim_with_a_hidden_side_says_which_and_what_would_do() -> None:
    rim = [[0, 0], [900, 0], [900, 250], [400, 250], [400, 700], [0, 700]]
    (line,) = faults_of(sheet_of(fall_tray(rim, [700, 120], 40)))
    assert "side 4 (corner 4 to 5) is hidden" in line
    moved = [float(part) for part in line.split("; [")[1].split("]")[0].split(", ")]
    assert read_sheet(sheet_of(fall_tray(rim, moved, 40)))


def test_a_rim_that_no_point_sees_says_so() -> None:
    rim = [[0, 0], [900, 0], [900, 600], [700, 600], [700, 200], [200, 200], [200, 600], [0, 600]]
    (line,) = faults_of(sheet_of(fall_tray(rim, [450, 100], 40)))
    assert "no point sees every side" in line


def test_a_huge_rim_of_faults_still_reads() -> None:
    assert len(faults_of(changed("shape.rim", [["x", "y"]] * 24))) == 48


@pytest.mark.parametrize("rule", ["1/1000 in", "1/64 in", 0.396875])
def test_a_rule_of_inches_is_kept_exactly(rule: Any) -> None:
    making = read_sheet({**LEAST, "making": {"units": "in", "rule": rule}}).making
    assert making.display.rule in (Fraction(1, 1000), Fraction(1, 64))


@settings(max_examples=30)
@given(fall_trays())
def test_a_stored_sheet_alone_gives_its_plan_again(shape: dict[str, Any]) -> None:
    """Random coordinates have more digits than are stored; what is planned is what is stored."""
    try:
        made = plan(sheet_of(shape))
    except SheetFaults:
        assume(False)
        raise
    assert plan(made.as_json()["sheet"]).as_json() == made.as_json()


def test_a_sheet_in_thirds_of_an_inch_gives_its_plan_again() -> None:
    rim = [["0 in", "0 in"], ["29 1/3 in", "1/7 in"], ["28 2/3 in", "15 5/7 in"], ["-1/3 in", "14 2/3 in"]]
    made = plan(sheet_of(fall_tray(rim, ["20 1/3 in", "5 2/3 in"], "1 2/3 in")))
    assert plan(made.as_json()["sheet"]).as_json() == made.as_json()


def test_the_saw_is_the_usual_one_the_one_given_or_not_said() -> None:
    assert read_sheet(LEAST).making.saw == Saw(165, 48, 4500, None)
    half = read_sheet({**LEAST, "making": {"saw": {"diameter": "8 1/2 in", "marked_speed": 6000}}}).making
    assert half.saw == Saw(215.9, 48, 4500, 6000)
    none = read_sheet({**LEAST, "making": {"saw": None}})
    assert none.making.saw is None
    assert read_sheet(none.as_json()) == none
