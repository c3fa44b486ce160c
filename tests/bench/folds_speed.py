"""What folds take and give: `python tests/bench/folds_speed.py [rounds] [shells]`.

Prints plan times (median and worst), the largest error of refolding the blanks of so many random shells by the tests' own
route, and the weld that folding saves on the demo's trays.
"""

import random
import sys
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import SheetFaults, plan
from calc.joins import folded
from calc.records import DIGITS, as_json
from calc.sheet import read_sheet
from calc.unfold import unfold
from fabjobs.demo.scenario import JOBS
from tests.bench.plan_speed import timed
from tests.calc.refold import misfit
from tests.shapes import MAKING_OF, SKEW, fall_tray, pan, ring, sheet_of

SHELLS = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
LAP = {"kind": "lap", "width": 25}


def random_sheet(draw: random.Random) -> dict[str, Any]:
    """A tray of three to nine corners with a bare rim, laps or upstands, or a pan; bends worked out any way."""
    making = draw.choice(list(MAKING_OF.values()))
    if draw.random() < 0.3:
        sizes = [draw.uniform(60, 900), draw.uniform(60, 900), draw.uniform(20, 150)]
        keys = {"return_width": draw.uniform(12, 40)} if draw.random() < 0.5 else {}
        shape = pan(*sizes, inside_radius=draw.uniform(0, 5), fall=draw.choice((0.0, 3.5, 17.25)), **keys)
    else:
        tray = ring(draw.randint(3, 9), draw.uniform(120, 500), draw.choice((0.0, 0.0, 0.2)))
        kind = draw.choice(({"kind": "bare"}, LAP, {"kind": "upstand", "height": draw.uniform(8, 35)}))
        shape = fall_tray(tray["rim"], tray["low_point"], draw.uniform(5, 250), rim_finish=kind)
    return sheet_of(shape, making=making)


def refolding(draw: random.Random) -> tuple[float, int, int]:
    """The worst misfit [mm] over so many shells, how many blanks they had, how many shells could not be laid flat."""
    worst, blanks, refused, made = 0.0, 0, 0, 0
    while made < SHELLS:
        try:
            sheet = read_sheet(random_sheet(draw))
            shell = sheet.shape.shell(sheet.material.thickness)
            open_joints = [
                joint for joint in shell.welds if {shell.face(name).role for name in joint.between} == {"facet"}
            ]
            chosen = frozenset(frozenset(joint.edge) for joint in open_joints[1:] if draw.random() < 0.5)
            shell = folded(shell, chosen, sheet.making.fold_radius)
            found = unfold(shell, sheet)
        except SheetFaults:
            refused += 1
            continue
        made += 1
        for blank in found:
            off = misfit(as_json(shell, DIGITS), as_json(blank), sheet.material.thickness, sheet.making.seam_gap)
            worst, blanks = max(worst, off), blanks + 1
    return worst, blanks, refused


def saved() -> None:
    """The weld [m] of the demo's trays welded all round and with the fewest welds, the rim and the outlet included."""
    total = [0.0, 0.0]
    for job in JOBS:
        if "rim" not in job.shape:
            continue
        welds = [
            plan(sheet_of(job.shape, making={"joins": joins})).takeoff.weld_length / 1000
            for joins in ("weld-all", "fewest-welds")
        ]
        total = [before + more for before, more in zip(total, welds, strict=True)]
        print(f"  {job.title:34} {welds[0]:6.2f} m  {welds[1]:6.2f} m")
    print(f"  {'all':34} {total[0]:6.2f} m  {total[1]:6.2f} m, {total[0] - total[1]:.2f} m saved")


if __name__ == "__main__":
    cases = {
        "lapped, 4 facets": sheet_of({**SKEW, "rim_finish": LAP}),
        "pan with returns": sheet_of(pan(600, 400, 60, return_width=20)),
        "fewest welds, 12 facets": sheet_of(ring(12), making={"joins": "fewest-welds"}),
    }
    print("plan, quick: median, worst [ms]")
    for name, sheet in cases.items():
        middle, worst = timed(sheet)
        print(f"  {name:26} {middle:7.1f} {worst:7.1f}")
    off, count, refused = refolding(random.Random(4))  # noqa: S311  seeded, so that the figure repeats
    print(f"refolding {SHELLS} shells, {count} blanks: worst {off:.2e} mm; {refused} more could not be laid flat")
    print("weld: all seams, fewest")
    saved()
