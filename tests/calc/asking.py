"""What the tests of a family ask of a shape: its shell, its plan, its faults."""

from typing import Any

import pytest

from calc import Plan, SheetFaults, plan
from calc.sheet import read_sheet
from calc.shell import Shell
from tests.shapes import sheet_of


def shell_of(shape: dict[str, Any]) -> Shell:
    return read_sheet(sheet_of(shape)).shape.shell(1.5)


def planned(shape: dict[str, Any], **making: Any) -> Plan:
    return plan(sheet_of(shape, making=making))


def faults_of(shape: dict[str, Any], **making: Any) -> list[str]:
    with pytest.raises(SheetFaults) as caught:
        planned(shape, **making)
    return [str(fault) for fault in caught.value.faults]
