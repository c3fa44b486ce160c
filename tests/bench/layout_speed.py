"""How long a layout takes at each effort: ``python -m tests.bench.layout_speed [quick normal long]``.

Four blanks are one tray 900 x 450, low point (620, 225), 45 deep; twelve are three of them, twenty-four six. The sheet
is 2440 x 1220, the kerf 2. Printed: the median of the process time of a few runs, and the length used on each sheet.
"""

import math
import statistics
import sys
import time

from calc.layout import Item, Layout, Stock, lay_out

RUNS = {"quick": 9, "normal": 3, "long": 1}
RIM = [(0.0, 0.0), (900.0, 0.0), (900.0, 450.0), (0.0, 450.0)]
LOW_POINT, DEPTH = (620.0, 225.0), 45.0


def tray_items(sets: int) -> list[Item]:
    """The facets of so many trays, each in the frame of its rim side."""
    items = []
    for name, a, b in zip("ABCD", RIM, RIM[1:] + RIM[:1], strict=True):
        side = math.dist(a, b)
        ux, uy = (b[0] - a[0]) / side, (b[1] - a[1]) / side
        x, y = LOW_POINT[0] - a[0], LOW_POINT[1] - a[1]
        apex = (x * ux + y * uy, math.hypot(y * ux - x * uy, DEPTH))
        items.append(Item(name, ((0.0, 0.0), (side, 0.0), apex), sets))
    return items


def timed(sets: int, effort: str) -> tuple[float, Layout]:
    seconds = []
    for _ in range(RUNS[effort]):
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
        seconds.append(time.process_time() - start)
    return statistics.median(seconds), layout


def main() -> None:
    for effort in sys.argv[1:] or RUNS:
        for sets in (1, 3, 6):
            seconds, layout = timed(sets, effort)
            used = [max(x for placed in sheet.placed for x, _ in placed.outline) for sheet in layout.sheets]
            lengths = " + ".join(f"{x:.1f}" for x in used)
            print(f"{effort:7}{4 * sets:3} blanks {1000 * seconds:8.0f} ms   length used {lengths} mm")


if __name__ == "__main__":
    main()
