"""How long a plan takes, all stages: `python tests/bench/plan_speed.py [rounds]`. Prints the median and the worst [ms]."""

import sys
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import plan
from tests.shapes import NAMED, SUMP, SUMPS, VALLEYS, ring, sheet_of

ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 15


def timed(sheet: dict[str, object]) -> tuple[float, float]:
    """Median and worst time of planning a sheet so many times [ms]."""
    plan(sheet)
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        plan(sheet)
        times.append((time.perf_counter() - start) * 1000)
    return median(times), max(times)


if __name__ == "__main__":
    legs = [{"at": [7 * i, 5 * i], "length": 60, "width": 60} for i in range(50)]
    cases = {
        **NAMED,
        "ring of 12": ring(12),
        "ring of 24": ring(24),
        **{f"valley, {name}": shape for name, shape in VALLEYS.items()},
        **{f"sump, {name}": shape for name, shape in SUMPS.items()},
        "sump, ring of 10": {**ring(10), "sump": SUMP},
        "outlet among 50 legs": {**VALLEYS["twisted"], "keep_clear": legs},
    }
    print(f"{'tray':22} {'corners':>7} {'joins':>13}   quick: median, worst [ms] of {ROUNDS}")
    for name, shape in cases.items():
        for joins in ("weld-all", "fewest-welds"):
            middle, worst = timed(sheet_of(shape, making={"joins": joins}))
            print(f"{name:22} {len(shape['rim']):7} {joins:>13}   {middle:8.1f} {worst:8.1f}")
