"""How long a plan takes, all stages: `python tests/bench/plan_speed.py [rounds]`. Prints the median and the worst [ms]."""

import sys
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import plan
from tests.shapes import NAMED, ring, sheet_of

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
    cases = {**NAMED, "ring of 12": ring(12), "ring of 24": ring(24)}
    print(f"{'tray':12} {'facets':>6}   quick: median, worst [ms] of {ROUNDS}")
    for name, shape in cases.items():
        middle, worst = timed(sheet_of(shape))
        print(f"{name:12} {len(shape['rim']):6}   {middle:8.1f} {worst:8.1f}")
