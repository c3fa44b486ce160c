"""What a seam is by the shape and the sheet alone: its weld metal in section and the rod that suits it.

Sections are square to the seam [mm2]. A seam between faces is a butt of square-cut edges; round a bare rim and an outlet
fitting runs a fillet.
"""

import math

from calc.sheet import JobSheet
from calc.shell import Shell
from calc.tables.fillers import Filler, filler_for

CAP_HEIGHT = 0.3  # common practice: a flush-ish cap on thin sheet stands about 0.3 of the thickness above it
CAP_WIDTH = 3.0  # common practice: and is about three thicknesses wide, plus the gap
SQUARE_BUTT = 20.0  # [degrees] common practice: an opening up to this is welded as a square butt
STEEPEST = 170.0  # [degrees] an opening is reckoned at no more than this: nothing is welded into a closed fold


def filler_of(sheet: JobSheet) -> Filler:
    """The rod for the sheet's metal at the heat it serves in. Raises NotListedError where none suits."""
    return filler_for(sheet.material.properties, service=sheet.making.service_temperature)


def rim_length(shell: Shell) -> float:
    """The length of the edge that runs round the outside [mm]: the rim, or the outer edge of its strips."""
    return math.fsum(shell.edge_length(edge) for edge in shell.free_edges())


def outlet_weld(sheet: JobSheet) -> float:
    """The length of the weld round the outlet fitting of one fabrication [mm]."""
    return math.pi * sheet.shape.outlet.bore if sheet.shape.outlet else 0.0


def dry_face_out(thickness: float, slope: float) -> float:
    """How far the dry face of a side stands outside its bare rim [mm]: thickness x sin(slope) (common practice).

    thickness [mm]; slope [degrees] of the side from level.

    >>> dry_face_out(2.0, 90.0)
    2.0
    """
    return thickness * math.sin(math.radians(slope))


def told_out(mm: float) -> float:
    """How far something stands out, as it is told [mm]: to the tenth above, so that what is cut for it is never too small.

    >>> told_out(0.54), told_out(0.6)
    (0.6, 0.6)
    """
    return math.ceil(mm * 10 - 1e-6) / 10


def seam_section(sheet: JobSheet, groove: float) -> float:
    """The section of a seam whose square-cut edges open by `groove` [degrees] on the dry side: opening, root gap, cap [mm2].

    A butt of thickness t whose edges open by the angle g holds t^2 tan(g/2) over and above the gap. At a ridge (g under 0) dry
    edges are bevelled by what would collide, so that what is left of them meets square: nothing opens there. From the wet side
    the edges are met where they are closed: the gap and the cap are filled, and the dry side stays open.
    """
    thickness, gap = sheet.material.thickness, sheet.making.seam_gap
    filled = 0.0 if sheet.making.weld_side == "wet" else min(max(groove, 0.0), STEEPEST)
    opening = math.tan(math.radians(filled) / 2) * thickness**2
    cap = 2 / 3 * CAP_HEIGHT * thickness * (CAP_WIDTH * thickness + gap)
    return opening + gap * thickness + cap


def fillet_section(sheet: JobSheet) -> float:
    """The section of a fillet with a leg of one thickness [mm2]: leg^2 / 2."""
    return sheet.material.thickness**2 / 2


def relief_section(sheet: JobSheet) -> float:
    """The section of the weld that fills a drilled relief along its edge [mm2]: the thickness as wide as it is deep."""
    return sheet.material.thickness**2
