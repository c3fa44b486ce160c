"""Errors of the plate element against the published tables, and how long the stiffness of a thing takes.

`python tests/bench/stiffness.py [rounds]`. Times are the processor's, which a busy machine distorts less, of every facet solved
anew and with all of them known from before; with OPENBLAS_NUM_THREADS=1 they are the clock's too.
"""

import sys
import time
from pathlib import Path
from statistics import median
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import read_sheet
from calc.joins import join
from calc.stiffness import stiffness_of
from calc.stiffness.plate import Plate, solve_plate
from calc.tables import plates
from tests.reference.plates import amid
from tests.shapes import NAMED, SUMPS, VALLEYS, pan, ring, sheet_of

ROUNDS = int(sys.argv[1]) if len(sys.argv) > 1 else 15
SIDE, PATCH = 100.0, 12.5


def rectangle(ratio: float, free: bool = False) -> Plate:
    outline = ((0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE * ratio), (0.0, SIDE * ratio))
    return solve_plate(outline, (True, True, not free, True), PATCH, plates.PRINTED_FOR)


def off(found: float, printed: float) -> str:
    return f"{100 * (found / printed - 1):+.2f}"


def errors() -> None:
    print("errors against the printed tables [%]: sag; moments")
    for row in plates.SUPPORTED[:-1]:
        plate = rectangle(row.ratio)
        across, along, _ = plate.supported.moments[amid(plate), :, 0] / SIDE**2
        sag = plate.supported.sags[:, 0].max() / SIDE**4
        print(f"supported {row.ratio:3.1f}: {off(sag, row.sag)}; {off(across, row.across)} {off(along, row.along)}")
    for clamped in plates.CLAMPED[:-1]:
        plate = rectangle(clamped.ratio)
        edge = np.abs(plate.clamped.moments[plate.on_sides[1]][:, :2, 0]).max() / SIDE**2
        middle = plate.clamped.moments[amid(plate), 0, 0] / SIDE**2
        sag = plate.clamped.sags[:, 0].max() / SIDE**4
        told = f"{off(sag, clamped.sag)}; edge {off(edge, clamped.edge)} middle {off(middle, clamped.middle)}"
        print(f"clamped {clamped.ratio:3.1f}: {told}")
    for free in plates.ONE_FREE[:-1]:
        plate = rectangle(free.ratio, free=True)
        moment = plate.supported.moments[plate.on_sides[2]][:, 0, 0].max() / SIDE**2
        sag = plate.supported.sags[:, 0].max() / SIDE**4
        print(f"one free {free.ratio:4.2f}: {off(sag, free.sag)}; {off(moment, free.moment)}")
    side = 2 * SIDE / 3**0.5
    plate = solve_plate(((0.0, 0.0), (side, 0.0), (side / 2, SIDE)), (True,) * 3, PATCH, plates.PRINTED_FOR)
    print(f"equilateral: {off(plate.supported.sags[:, 0].max() / SIDE**4, plates.EQUILATERAL)}")


def timed(shape: dict[str, Any]) -> tuple[int, float, float, float]:
    """Facets; median and least time anew, median time with plates known [ms]."""
    sheet = read_sheet(sheet_of(shape))
    shell = join(sheet.shape.shell(sheet.material.thickness), sheet)
    anew, known, count = [], [], 0
    for _ in range(ROUNDS):
        solve_plate.cache_clear()
        for times in (anew, known):
            start = time.process_time()
            found = stiffness_of(shell, sheet)
            times.append((time.process_time() - start) * 1000)
            count = len(found.facets) if found else 0
    return count, median(anew), min(anew), median(known)


if __name__ == "__main__":
    errors()
    cases = {
        **NAMED,
        **{f"valley, {name}": shape for name, shape in VALLEYS.items()},
        **{f"sump, {name}": shape for name, shape in SUMPS.items()},
        "pan": pan(400, 300, 60, inside_radius=2),
        "pan with returns": pan(400, 300, 60, inside_radius=2, return_width=20),
        "ring of 24": ring(24),
    }
    print(f"{'shape':22} {'facets':>6}   median, least [ms] of {ROUNDS}; plates known")
    for name, shape in cases.items():
        facets, middle, least, again = timed(shape)
        print(f"{name:22} {facets:6}   {middle:8.1f} {least:8.1f} {again:8.1f}")
