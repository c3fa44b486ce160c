"""How much cooler metal the planned order of runs meets than the same runs made seam after seam from end to end, and how long
the weld plan takes: `python tests/bench/heat_spread.py [rounds]`.

Prints, for the demo's fabrications (also in stainless) and the tests' shapes, how much warmer than the shop [K] a run finds the
place where it begins, at the worst and on average, in both orders; how many runs wait for the metal to cool and how long in all
[min]; and the median time of `plan_welds` [ms of processor].
"""

import sys
import time
from pathlib import Path
from statistics import median
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc.joins import join
from calc.marking import mark_out
from calc.sheet import read_sheet
from calc.unfold import unfold
from calc.welding import plan_welds
from fabjobs.demo.scenario import JOBS
from tests.shapes import NAMED, SUMPS, VALLEYS, pan, ring, sheet_of

ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 15


def told(name: str, data: dict[str, Any]) -> None:
    """A line of the table; none where nothing is welded."""
    sheet = read_sheet(data)
    shell = join(sheet.shape.shell(sheet.material.thickness), sheet)
    blanks = mark_out(unfold(shell, sheet), sheet.making.display)
    welding = plan_welds(sheet, shell, blanks)
    if welding is None:
        return
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        plan_welds(sheet, shell, blanks)
        times.append((time.process_time() - start) * 1000)
    runs = sum(len(weld.runs) for weld in welding.welds)
    planned, plain = welding.warmth, welding.plain_warmth
    print(
        f"{name[:34]:34} {runs:5} {planned.worst:7.1f} {planned.mean:6.1f} {plain.worst:9.1f} {plain.mean:6.1f} "
        f"{planned.worst / plain.worst:7.2f} {planned.mean / plain.mean:5.2f} "
        f"{welding.pauses[0]:4} {welding.pauses[1]:6.1f} {median(times):8.1f}"
    )


if __name__ == "__main__":
    print(f"{'':34} {'':5} {'planned [K]':>14} {'plain [K]':>16} {'ratio':>13}")
    print(
        f"{'fabrication':34} {'runs':>5} {'worst':>7} {'mean':>6} {'worst':>9} {'mean':>6} {'worst':>7} {'mean':>5} "
        f"{'wait':>4} {'min':>6} {'ms':>8}"
    )
    shapes = {
        **NAMED,
        **{f"valley, {name}": shape for name, shape in VALLEYS.items()},
        **{f"sump, {name}": shape for name, shape in SUMPS.items()},
        "pan": pan(600, 400, 80),
        "ring of 12": ring(12),
        "ring of 24": ring(24),
    }
    for job in JOBS:
        told(job.title, sheet_of(job.shape))
    for job in JOBS:
        told(f"304: {job.title}", sheet_of(job.shape, material={"alloy": "304", "thickness": job.thickness}))
    for name, shape in shapes.items():
        told(name, sheet_of(shape))
