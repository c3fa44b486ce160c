"""How long the figures of draining take beyond the falls alone: `python tests/bench/drainage_speed.py [rounds]`.

Prints median and worst time of the processor [ms] of `drainage_of`, which a plan asks, and of `drain`, which previews ask, with
a pump's flow given, which is the dearest.
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import read_sheet
from calc.drainage import drain, drainage_of
from calc.joins import join
from tests.shapes import NAMED, SUMPS, VALLEYS, pan, ring, sheet_of

ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 50


def timed(asked: Callable[[], object]) -> str:
    """Median and worst of so many rounds."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        asked()
        times.append((time.process_time() - start) * 1000)
    return f"{median(times):6.2f} {max(times):6.2f}"


if __name__ == "__main__":
    cases = {
        **NAMED,
        "pan": pan(620, 410, 55, inside_radius=2),
        **{f"valley, {name}": shape for name, shape in VALLEYS.items()},
        **{f"sump, {name}": shape for name, shape in SUMPS.items()},
        "ring of 24": ring(24),
    }
    print(f"{'shape':18}    in use        falls alone   (median, worst [ms] of {ROUNDS})")
    for name, shape in cases.items():
        sheet = read_sheet(sheet_of(shape, duty={"pump_flow": 30}))
        shell = join(sheet.shape.shell(sheet.material.thickness), sheet)
        in_use = timed(lambda sheet=sheet, shell=shell: drainage_of(sheet, shell, 3.0))
        print(f"{name:18} {in_use} {timed(lambda shell=shell: drain(shell))}")
