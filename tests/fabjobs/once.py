"""What the app's tests need again and again is worked out once a process: plans, and papers typeset.

Both are a matter of what goes in alone, which the tests of calc hold true: those work them out anew each time.
"""

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

import pytest

import calc
from calc.layout import effort
from calc.papers import aperture_paper, labels, templates, traveller
from calc.papers.typeset import typeset

PRINTED = (aperture_paper, labels, templates, traveller)
EFFORTS = (effort.TRIES, effort.JOINTS, effort.MOST_BLOCKS)

plan_anew = calc.plan
typeset_once = lru_cache(maxsize=100)(typeset)


@lru_cache(maxsize=150)
def _planned(sheet: str, _efforts: str) -> calc.Plan:
    return plan_anew(json.loads(sheet))


def plan_once(sheet: calc.JobSheet | Mapping[str, Any]) -> calc.Plan:
    """The plan of a sheet that is plain JSON is kept; of any other it is made anew. A test may have changed the efforts."""
    try:
        plain = json.dumps(sheet)
    except (TypeError, ValueError):
        return plan_anew(sheet)
    return _planned(plain, repr(EFFORTS)) if json.loads(plain) == sheet else plan_anew(sheet)


@pytest.fixture(autouse=True)
def computed_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """For the time of a test, so that none elsewhere is given what was kept."""
    monkeypatch.setattr(calc, "plan", plan_once)
    for paper in PRINTED:
        monkeypatch.setattr(paper, "typeset", typeset_once)
