"""How long the error budget of a plan takes: `python tests/bench/budget_speed.py [rounds]`. Prints median and worst [ms]."""

import sys
import time
from pathlib import Path
from statistics import median
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import read_sheet
from calc.budget import budget_of
from calc.joins import join
from tests.shapes import NAMED, SUMPS, VALLEYS, pan, ring, sheet_of

ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 25
LAP = {"kind": "lap", "width": 25, "inside_radius": 2}


def timed(shape: dict[str, Any]) -> tuple[int, float, float]:
    """Faces; median and worst time of so many rounds [ms]."""
    sheet = read_sheet(sheet_of(shape))
    shell = join(sheet.shape.shell(sheet.material.thickness), sheet)
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        budget_of(shell, sheet)
        times.append((time.perf_counter() - start) * 1000)
    return len(shell.faces), median(times), max(times)


if __name__ == "__main__":
    cases = {
        **NAMED,
        "skew, lapped": {**NAMED["skew"], "rim_finish": LAP},
        "pan with returns": pan(620, 410, 55, inside_radius=2, return_width=20),
        **{f"valley, {name}": shape for name, shape in VALLEYS.items()},
        **{f"sump, {name}": shape for name, shape in SUMPS.items()},
        "ring of 24": ring(24),
        "ring of 24, lapped": {**ring(24), "rim_finish": LAP},
    }
    print(f"{'shape':22} {'faces':>5}   median, worst [ms] of {ROUNDS}")
    for name, shape in cases.items():
        faces, middle, worst = timed(shape)
        print(f"{name:22} {faces:5}   {middle:8.1f} {worst:8.1f}")
