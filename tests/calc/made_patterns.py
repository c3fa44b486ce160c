"""Blanks made by hand, of plain geometry, for papers to be measured against."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.template import Context, Engine

import calc
from calc.blank import Blank, FoldLine, Hole
from calc.marking import mark_out
from calc.records import Outline
from tests.shapes import SKEW, sheet_of

TEMPLATES = Engine(dirs=[str(Path(__file__).parents[2] / "templates")])
BASE = calc.plan(sheet_of(SKEW))

RECTANGLE: Outline = ((0.0, 0.0), (900.0, 0.0), (900.0, 450.0), (0.0, 450.0))
# A floor of 276 x 166 with walls 22 high all round, its corners left open
PAN: Outline = (
    (22.0, 0.0), (298.0, 0.0), (298.0, 22.0), (320.0, 22.0), (320.0, 188.0), (298.0, 188.0),
    (298.0, 210.0), (22.0, 210.0), (22.0, 188.0), (0.0, 188.0), (0.0, 22.0), (22.0, 22.0),
)  # fmt: skip
PAN_FOLDS = tuple(
    FoldLine(line, angle, 1.5, 3.0)
    for line, angle in (
        (((22.0, 22.0), (298.0, 22.0)), 90.0),
        (((298.0, 22.0), (298.0, 188.0)), 90.0),
        (((298.0, 188.0), (22.0, 188.0)), 87.5),
        (((22.0, 188.0), (22.0, 22.0)), -45.0),
    )
)
PAN_HOLES = (Hole((120.0, 100.0), 32.0, "outlet"), Hole((183.0, 100.0), 60.0, "outlet"))


def render(name: str, context: Mapping[str, object]) -> str:
    return str(TEMPLATES.get_template(name).render(Context(dict(context))))


def blank_of(outline: Outline, name: str = "A", **more: Any) -> Blank:
    plain = {"same_as": None, "mirrored": False, "holes": (), "folds": (), "hand_cuts": (), "edges": (), "count": 1}
    return replace(BASE.blanks[0], name=name, net_outline=outline, cut_outline=outline, **{**plain, **more})


def plan_of(*blanks: Blank, **sheet: Any) -> calc.Plan:
    """A plan in which only the blanks, and what the sheet says, are to be looked at."""
    making = replace(BASE.sheet.making, **sheet.pop("making", {}))
    told = replace(BASE.sheet, making=making, **sheet)
    return replace(BASE, sheet=told, blanks=mark_out(blanks, making.display))


def pan(**sheet: Any) -> calc.Plan:
    return plan_of(blank_of(PAN, "Pan", folds=PAN_FOLDS, holes=PAN_HOLES, hand_cuts=((1, 2), (2, 3))), **sheet)
