"""Records go to JSON and back unchanged."""

import json

import pytest

from calc import Plan, plan
from calc.records import as_json
from tests.shapes import FLAT, NAMED, fall_tray, sheet_of


@pytest.mark.parametrize("name", [*NAMED, *FLAT])
def test_a_plan_comes_back_from_its_own_text(name: str) -> None:
    text = json.dumps(plan(sheet_of((NAMED | FLAT)[name])).as_json(), allow_nan=False)
    assert json.dumps(Plan.from_json(json.loads(text)).as_json()) == text


def test_a_measured_rim_comes_back_as_measured() -> None:
    rim = {"sides": [742, 389, 743, 371], "diagonals": [829, 840]}
    made = plan(sheet_of(fall_tray(rim, [512, 148], 46)))
    assert Plan.from_json(made.as_json()).sheet == made.sheet


def test_what_is_no_record_is_refused() -> None:
    with pytest.raises(TypeError, match="set is not part of a record"):
        as_json({1, 2})


def test_the_same_sheet_gives_the_same_text() -> None:
    sheet = sheet_of(NAMED["five"], quantity=2)
    assert json.dumps(plan(sheet).as_json()) == json.dumps(plan(sheet).as_json())
