"""What a tray has to bear, as a sheet says it."""

from typing import Any

import pytest

from calc.duty import Duty, read_duty
from calc.reading import Field

GALLON = 3.785411784  # l, NIST SP 811: the US gallon is 231 cubic inches


def read(**given: Any) -> tuple[Duty | None, list[str]]:
    field = Field(given, "sheet.duty")
    return read_duty(field), [str(fault) for fault in field.faults]


def test_all_of_it_has_a_default() -> None:
    assert read() == (Duty(), [])


@pytest.mark.parametrize(
    ("typed", "litres"),
    [(30, 30.0), ("30 l/min", 30.0), ("0.5 l/s", 30.0), ("1.8 m³/h", 30.0), ("8 gpm", 8 * GALLON), ("90 l/h", 1.5),
     ("8 US gal/min", 8 * GALLON)],
)  # fmt: skip
def test_a_flow_is_read_with_its_unit(typed: object, litres: float) -> None:
    duty, faults = read(pump_flow=typed)
    assert not faults
    assert duty is not None
    assert duty.pump_flow == pytest.approx(litres, abs=1e-6)


@pytest.mark.parametrize(
    ("given", "path", "words"),
    [
        ({"pump_flow": 0}, "pump_flow", "must be more than 0 l/min (got 0)"),
        ({"pump_flow": "30"}, "pump_flow", "a flow with its unit"),
        ({"pump_flow": "30 buckets"}, "pump_flow", "a flow with its unit"),
        ({"pump_flow": "9" * 400 + " l/min"}, "pump_flow", "a flow with its unit"),
        ({"pump_flow": True}, "pump_flow", "must be a number in l/min"),
        ({"pump_flow": "20000 l/min"}, "pump_flow", "must be at most 10000 l/min"),
        ({"strainer": "yes"}, "strainer", "must be true or false"),
        ({"out_of_level": -1}, "out_of_level", "must be at least 0 mm"),
        ({"coolant_density": 1000}, "coolant_density", "must be at most 2 kg/l (got 1000)"),
        ({"chips": -1}, "chips", "must be at least 0 kg/m2"),
        ({"point_load": 5000}, "point_load", "must be at most 1000 kg"),
        ({"load_width": 0}, "load_width", "must be at least 5 mm"),
        ({"sag": 1}, "sag", "must be at least 20 (got 1)"),
        ({"pump": 30}, "pump", "unknown key"),
    ],
)
def test_what_is_wrong_is_told_by_its_field(given: dict[str, Any], path: str, words: str) -> None:
    duty, faults = read(**given)
    assert duty is None
    assert faults[0].startswith(f"sheet.duty.{path}: ")
    assert words in faults[0]
