"""What the shell says about draining.

- `falls`: the fall of every face and seam, the litres it holds, the depth a wanted fall needs: cheap, for previews
- `levels`: what is held up to each level, exactly
- `openings`: what an opening passes at a head, weir or orifice
- `basin`: what liquid lies in, level or not; the lip of a hole in it
- `outflow`, `emptying`: the outlet at the pump's flow; how long it takes to empty
- `standing`, `tilting`: what stays in hollows; the same set out of level
"""

from dataclasses import replace

from calc.drainage.basin import basin_of
from calc.drainage.falls import depth_for_fall, drain, face_fall, litres, seam_fall, times_deeper
from calc.drainage.levels import slices_of
from calc.drainage.outflow import outflow_of
from calc.drainage.records import Drainage, FaceFall, Larger, Outflow, Running, SeamFall, Slice, Tilt
from calc.drainage.tilting import Outgoing, courses_of, tilts_of, true_within
from calc.sheet import JobSheet
from calc.shell import Shell

__all__ = [
    "Drainage",
    "FaceFall",
    "Larger",
    "Outflow",
    "Running",
    "SeamFall",
    "Slice",
    "Tilt",
    "depth_for_fall",
    "drain",
    "drainage_of",
    "face_fall",
    "litres",
    "seam_fall",
    "times_deeper",
]

SQUARE_METRE = 1e6  # [mm2]


def drainage_of(sheet: JobSheet, shell: Shell, mass: float) -> Drainage | None:
    """How a tray made as its sheet says drains in use, with all the figures; None for loose parts.

    mass [kg]: of one, empty.
    """
    drainage = drain(shell)
    if drainage is None:
        return None
    basin, duty, shape = basin_of(shell), sheet.duty, sheet.shape
    slices = slices_of(basin.triangles, basin.heights, basin.brim)
    outlet, at = shape.outlet, shape.outlet_at
    outflow, outgoing = None, None
    if outlet and at:
        outflow = outflow_of(basin, slices, at, outlet.bore, shape.most_bore, duty)
        outgoing = Outgoing(at, outlet.bore / 2, outflow.running.head if outflow.running else None)
    courses = courses_of(shell, basin, drainage, shape.lowest) if shape.lowest else []
    area = slices[-1].area_high if slices else 0.0
    return replace(
        drainage,
        slices=slices,
        brim=basin.brim,
        full=mass + duty.coolant_density * drainage.litres + duty.chips * area / SQUARE_METRE,
        outlet=outflow,
        tilts=tilts_of(basin, duty.out_of_level, courses, outgoing),
        true_within=true_within(basin, courses),
    )
