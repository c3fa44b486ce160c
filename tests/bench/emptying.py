"""Time to empty against quadrature: `python tests/bench/emptying.py`.

For each shape the closed form of `seconds_to_empty`, and `scipy.integrate.quad` of area over flow between the same levels, the
areas cut by shapely out of the faces seen from above: another way to the areas, and another to the integral.
"""

import sys
from itertools import pairwise
from pathlib import Path

from scipy.integrate import quad

sys.path.insert(0, str(Path(__file__).parents[2]))

from calc import read_sheet
from calc.drainage.basin import basin_of, lip_of
from calc.drainage.emptying import FILM, seconds_to_empty
from calc.drainage.levels import slices_of
from calc.drainage.openings import PER_MINUTE, drop_outlet
from tests.reference.test_drainage import surface_of
from tests.shapes import NAMED, SUMPS, VALLEYS, pan, ring, sheet_of

BORE = 32.0

if __name__ == "__main__":
    cases = {
        **NAMED,
        "pan, falling": pan(620, 410, 55, inside_radius=2, fall=9),
        **{f"valley, {name}": shape for name, shape in VALLEYS.items()},
        **{f"sump, {name}": shape for name, shape in SUMPS.items()},
        "ring of 24": ring(24),
    }
    print(
        f"{'shape':18}   closed [s]   quadrature [s]   off by   (bore {BORE:g} mm, strainer, to a film of {FILM:g} mm)"
    )
    worst = 0.0
    for name, shape in cases.items():
        read = read_sheet(sheet_of(shape)).shape
        shell = read.shell(1.5)
        basin, opening = basin_of(shell), drop_outlet(BORE, strainer=True)
        slices, area = slices_of(basin.triangles, basin.heights, basin.brim), surface_of(shell)
        lip = lip_of(basin, read.lowest, BORE / 2) if read.lowest else slices[0].low
        breaks = sorted({lip + opening.change_over, *(piece.low for piece in slices)})
        ends = [lip + FILM, *(level for level in breaks if lip + FILM < level < basin.brim), basin.brim]
        summed = PER_MINUTE * sum(
            quad(
                lambda level, area=area, lip=lip, opening=opening: area(level) / opening.flow(level - lip),
                low,
                high,
                epsrel=1e-12,
                epsabs=0.0,
                limit=200,
            )[0]
            for low, high in pairwise(ends)
        )
        closed = seconds_to_empty(slices, opening, lip, basin.brim)
        off = abs(closed / summed - 1)
        worst = max(worst, off)
        print(f"{name:18} {closed:12.4f} {summed:16.4f} {off:8.1e}")
    print(f"worst {worst:.1e}")
