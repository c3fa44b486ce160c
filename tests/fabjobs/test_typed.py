"""A stored sheet typed back: the same lengths, in whatever unit the shop reads."""

from fractions import Fraction
from typing import Any

import pytest
from django.test import Client
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc.units import Display, parse_length
from fabjobs.forms.lengths import exactly
from fabjobs.forms.typed import as_typed
from fabjobs.models import Person, Revision, ShopSettings
from fabjobs.services import job_create
from tests.fabjobs.test_change import sent_by
from tests.fabjobs.test_new_job import value_of

DISPLAYS = [Display(), Display("in", Fraction(1, 16)), Display("in", Fraction(1, 32))]


@given(st.integers(-20_000 * 10**7, 20_000 * 10**7), st.sampled_from(DISPLAYS))
def test_any_stored_length_comes_back_exactly(steps: int, display: Display) -> None:
    mm = steps / 10**7  # a plan keeps lengths to 1e-7 mm
    assert parse_length(exactly(mm, display), bare_unit=display.unit) == Fraction(repr(mm))


def test_corners_or_sides_as_they_were_measured(sheet: dict[str, Any]) -> None:
    by_corners = as_typed(calc.read_sheet(sheet).as_json(), Display())
    assert (by_corners["rim_by"], by_corners["corners"], by_corners["corner_3_x"]) == ("corners", "4", "-14")
    assert "side_0" not in by_corners
    sheet["shape"] |= {"rim": {"sides": [800, 600, 800, 600], "diagonals": [1000, 1000]}, "low_point": [500, 200]}
    del sheet["shape"]["outlet"]
    by_sides = as_typed(calc.read_sheet(sheet).as_json(), Display("in"))
    assert (by_sides["rim_by"], by_sides["side_1"], by_sides["diagonal_0"]) == ("sides", "600 mm", "1000 mm")
    assert not {"corner_0_x", "bore"} & by_sides.keys()


@pytest.mark.parametrize(("unit", "rule"), [("mm", "0.5"), ("in", "1/32")])
def test_a_rim_by_sides_opens_so_and_sent_back_changes_nothing(
    signed_in: Client, owner: Person, sheet: dict[str, Any], unit: str, rule: str
) -> None:
    sheet["shape"] |= {"rim": {"sides": [812, 382, 811, 402], "diagonals": [888, 911]}, "low_point": [500, 200]}
    sheet["material"] |= {"grain": True, "finished_face": True, "thickness": "1/16 in"}
    job_create(plan=calc.plan(sheet), due_day=None, by=owner)
    ShopSettings.objects.update(unit=unit, rule=rule)
    page = signed_in.get("/jobs/1/change").content.decode()
    assert 'value="sides"' in page
    assert value_of(page, "side_0") == ("812" if unit == "mm" else "812 mm")
    assert value_of(page, "thickness") == ("1.5875" if unit == "mm" else "1/16")  # 25.4 / 16
    assert signed_in.post("/jobs/1/change", sent_by(page)).status_code == 302
    assert Revision.objects.count() == 1
