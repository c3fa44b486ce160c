"""How good layouts are, and how long they take, against area bounds and published figures.

    python tests/bench/layout.py --data DIR [--effort normal] [--seeds 3] [--only tray] [--skip-speed] [--jobs 200]

Three tables: the cases of `layout_data` (best and median of so many seeds; aim: at normal / at long); tries a second and
time at each effort; random jobs of twelve blanks against shelves of bounding rectangles (`layout_shelves`).
Times are process times on one core.
"""

import argparse
import sys
import time
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc.layout import Layout, Stock, lay_out
from calc.layout.search import Search
from tests.bench.layout_data import Case, cases, tray_items
from tests.bench.layout_shelves import compare_with_shelves, metal_of

SETS = {4: 1, 12: 3, 24: 6, 40: 10}
RUNS = {"quick": 9, "normal": 3, "long": 1}


def lay_out_case(case: Case, effort: str, seed: int) -> Layout:
    return lay_out(
        case.items,
        [Stock("S", *case.sheet)],
        kerf=case.kerf,
        edge_trim=0.0,
        may_turn_over=case.may_turn_over,
        grain=False,
        effort=effort,
        seed=seed,
    )


def measured(case: Case, layout: Layout) -> float:
    """The length used, the number of sheets, or the blanks' share of the metal: the last sheet up to a cut across."""
    assert not layout.unplaced
    if case.measure == "sheets":
        return len(layout.sheets)
    *full, last = layout.sheets
    if case.measure == "length":
        longest = max(x for placed in last.placed for x, _ in placed.outline)
        return (longest + sum(sheet.length for sheet in full)) / case.scale
    opened = sum(sheet.length * sheet.width for sheet in full)
    used = layout.share_used * (opened + last.length * last.width)
    return 100 * used / (opened + metal_of(last))


def print_cases(data: Path, effort: str, seeds: int, only: str) -> None:
    print(f"{'set':18}{'bound':>8}{'best':>9}{'median':>9}{'s each':>8}   aim at normal / long; known elsewhere")
    for case in cases(data):
        if only not in case.name:
            continue
        start = time.process_time()
        found = sorted(measured(case, lay_out_case(case, effort, seed)) for seed in range(seeds))
        if case.measure == "share":
            found.reverse()
        each = (time.process_time() - start) / seeds
        print(
            f"{case.name:18}{case.bound:8.1f}{found[0]:9.1f}{median(found):9.1f}{each:8.2f}   {case.aim}; {case.known}",
            flush=True,
        )


def counted(sets: int, effort: str) -> tuple[float, int, Layout]:
    """Time [s], tries and layout of so many trays."""
    tries, one_try = 0, Search.one_try

    def counting(self: Search) -> None:
        nonlocal tries
        tries += 1
        one_try(self)

    Search.one_try = counting  # type: ignore[method-assign]
    try:
        start = time.process_time()
        layout = lay_out(
            tray_items(sets),
            [Stock("S", 2440.0, 1220.0)],
            kerf=2.0,
            edge_trim=0.0,
            may_turn_over=True,
            grain=False,
            effort=effort,
        )
        return time.process_time() - start, tries, layout
    finally:
        Search.one_try = one_try  # type: ignore[method-assign]


def print_speed(efforts: list[str]) -> None:
    print(f"\n{'effort':8}{'blanks':>7}{'ms':>9}{'tries/s':>9}   length used of each 2440 x 1220 sheet")
    for effort in efforts:
        for blanks, sets in SETS.items():
            runs = [counted(sets, effort) for _ in range(RUNS[effort])]
            seconds, tries, layout = sorted(runs, key=lambda run: run[0])[len(runs) // 2]
            used = [max(x for placed in sheet.placed for x, _ in placed.outline) for sheet in layout.sheets]
            lengths = " + ".join(f"{x:.1f}" for x in used)
            print(f"{effort:8}{blanks:7}{1000 * seconds:9.0f}{tries / seconds:9.0f}   {lengths}", flush=True)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    options.add_argument("--data", type=Path, required=True, help="folder with the open data sets")
    options.add_argument("--effort", default="normal", choices=RUNS)
    options.add_argument("--seeds", type=int, default=3)
    options.add_argument("--only", default="", help="only cases with this in their name")
    options.add_argument("--skip-speed", action="store_true")
    options.add_argument("--jobs", type=int, default=0, help="random jobs to compare with shelves")
    chosen = options.parse_args()
    print_cases(chosen.data, chosen.effort, chosen.seeds, chosen.only)
    if not chosen.skip_speed:
        print_speed([effort for effort in RUNS if effort != "long" or chosen.effort == "long"])
    if chosen.jobs:
        compare_with_shelves(chosen.jobs, chosen.effort)


if __name__ == "__main__":
    main()
