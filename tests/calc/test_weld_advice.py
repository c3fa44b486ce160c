"""What is said of the welding: roots that must be shielded, aluminium that serves hot, rods counted filler by filler."""

import math
from typing import Any

import pytest

from calc import Plan, plan
from calc.papers import cautions
from calc.papers.weld_lines import sums_of
from tests.shapes import PLATES, SKEW, sheet_of


def made_of(alloy: str, **keys: Any) -> Plan:
    return plan(sheet_of(SKEW, material={"alloy": alloy, "thickness": 1.5}, **keys))


def advice(made: Plan, code: str) -> str:
    return next((warning.text for warning in made.warnings if warning.code == code), "")


def sums(made: Plan) -> dict[str, str]:
    assert made.welding
    return dict(sums_of(made, made.welding))


@pytest.mark.parametrize(("side", "root"), [("dry", "wet"), ("wet", "dry")])
def test_the_root_of_a_stainless_seam_is_backed(side: str, root: str) -> None:
    # common practice: stainless burns at a bare root; the root is across from the side that is welded from
    made = made_of("304", making={"weld_side": side})
    assert f"it is the {root} face" in advice(made, "root-bare")
    assert "torch's alone" in advice(made, "root-bare")
    assert any(f"Back every root, the {root} face, with argon" in text for text in cautions.welding(made))
    assert sums(made)["Gas"].endswith("litres of argon, at the torch alone")


@pytest.mark.parametrize(("alloy", "process"), [("5052-H32", "TIG"), ("DC01", "TIG"), ("304", "MIG")])
def test_no_backing_is_asked_for_where_it_is_not_usual(alloy: str, process: str) -> None:
    made = made_of(alloy, making={"process": process})
    assert advice(made, "root-bare") == ""
    assert not [text for text in cautions.welding(made) if "Back every root" in text]
    assert "torch" not in sums(made)["Gas"]


def test_parts_that_nothing_joins_have_no_roots() -> None:
    assert advice(plan(sheet_of(PLATES, material={"alloy": "304", "thickness": 1.5})), "root-bare") == ""


# 5xxx metal that may hold over 3 % magnesium (5754 2.6 to 3.6 %, 5083 4.0 to 4.9 %, EN 573-3) not over 65 °C for long; 5052
# holds at most 2.8 %; aluminium loses strength over about 100 °C: handbooks, from memory.
@pytest.mark.parametrize(
    ("alloy", "service", "rich", "soft"),
    [
        ("5052-H32", 80, False, False),
        ("5754-H111", 80, True, False),
        ("5754-H22", 66, True, False),
        ("1050A-H14", 99, False, False),
        ("6061-T6", 150, False, True),
        ("5754-H111", 300, True, True),
    ],
)
def test_metal_that_serves_hot_is_cautioned_by_what_it_is(alloy: str, service: float, rich: bool, soft: bool) -> None:
    text = advice(made_of(alloy, making={"service_temperature": service}), "hot-service")
    assert "not ruled out" in text
    assert "stands that" not in text
    assert ("may itself hold over 3 % magnesium" in text) is rich
    assert (alloy in text) is rich
    assert ("loses strength" in text) is soft


def test_every_rod_of_a_hot_job_is_named_and_the_metal_of_the_bench_looked_at() -> None:
    made = made_of("6061-T6", making={"service_temperature": 80}, bench={"alloy": "1050A-H14"})
    assert "ER4043 is not ruled out" in advice(made, "hot-service")
    # from memory, as in the filler charts: plain metal to 5xxx that serves hot takes ER5554, the plain one alone ER4043
    made = made_of("1050A-H14", making={"service_temperature": 80}, bench={"alloy": "5754-H111"})
    text = advice(made, "hot-service")
    assert "ER4043 and ER5554 are not ruled out" in text
    assert "5754-H111 may itself" in text
    for alloy, service in (("DC01", 200), ("304", 200), ("5754-H111", 65)):
        assert advice(made_of(alloy, making={"service_temperature": service}), "hot-service") == ""


@pytest.mark.parametrize("quantity", [1, 3])
def test_rods_are_counted_filler_by_filler(quantity: int) -> None:
    made = made_of("304", bench={"alloy": "S235JR"}, quantity=quantity)
    assert made.welding
    rim = math.ceil(quantity * sum(weld.rods for weld in made.welding.welds if weld.kind == "rim"))
    rest = math.ceil(quantity * sum(weld.rods for weld in made.welding.welds if weld.kind != "rim"))
    assert sums(made)["Rods"] == f"{rest} ER308L, {rim} ER309L of a metre"
    assert rest + rim >= math.ceil(made.welding.rods)
    alike = made_of("304", quantity=quantity)
    assert alike.welding
    assert sums(alike)["Rods"] == f"{math.ceil(alike.welding.rods)} of a metre"
