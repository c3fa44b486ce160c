"""The takeoff: metal, cuts, edges, welds and filler of the whole job (every tray of it)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from calc.blank import Blank
from calc.laid import Layout
from calc.layout.job import sawn_off
from calc.sharing import shares_of
from calc.sheet import JobSheet
from calc.shell import Joint, Shell
from calc.tables.fillers import Filler, filler_for
from calc.tables.welding import Travel, travel_for_estimate

CAP_HEIGHT = 0.3  # common practice: a flush-ish cap on thin sheet stands about 0.3 of the thickness above it
CAP_WIDTH = 3.0  # common practice: and is about three thicknesses wide, plus the gap
STUB_LOSS = 0.15  # common practice: share of TIG rod that ends as stubs


@dataclass(frozen=True, slots=True)
class Takeoff:
    """Areas [mm2], masses [kg], lengths [mm]. sheet_mass = net_mass + offcut_mass + scrap_mass, kerf being scrap.

    Of a sheet that two jobs share, each counts its own share; its offcuts are the host's.

    weld_length is all that is welded: seams between faces, the bare rim into the bench, the outlet fitting, reliefs welded
    shut; each of them has a figure of its own. filler_mass is what is bought, rod stubs included. cut_length is of the
    straight cuts; what they leave to be cut by hand is hand_cut_length. fold_length is of the bend lines.
    """

    net_area: float
    net_mass: float
    sheet_area: float
    sheet_mass: float
    scrap_mass: float
    offcut_mass: float
    cut_length: float
    edge_length: float
    fold_count: int
    weld_length: float
    seam_length: float
    rim_weld_length: float
    outlet_weld_length: float
    filler_mass: float
    fold_length: float = 0.0
    hand_cut_length: float = 0.0
    relief_weld_length: float = 0.0


def take_off_job(sheet: JobSheet, shell: Shell, blanks: Sequence[Blank], layout: Layout) -> Takeoff:
    """The takeoff of a sheet, its shell, blanks and layout."""
    copies = sheet.quantity
    net_mass = copies * math.fsum(blank.count * blank.mass for blank in blanks)
    sheet_area = math.fsum(
        (
            *(used.area for used in layout.sheets),
            *(-share.area for share in shares_of(sheet, layout)),
            *(entry.area for entry in sheet.elsewhere),
        )
    )
    offcut_area = math.fsum(shapely.Polygon(kept.outline).area for used in layout.sheets for kept in used.offcuts)
    sheet_mass, offcut_mass = sheet.material.mass(sheet_area), sheet.material.mass(offcut_area)
    laid_mass = net_mass - _unplaced_mass(blanks, layout)
    seams, rim = copies * seam_length(shell), copies * rim_weld(sheet, shell)
    outlet = copies * outlet_weld(sheet)
    reliefs = copies * relief_weld(blanks)
    metal = copies * math.fsum(weld_metal(sheet, joint) for joint in shell.welds)
    metal += fillet_metal(sheet) * (rim + outlet) + butt_metal(sheet) * reliefs
    return Takeoff(
        net_area=copies * math.fsum(blank.count * blank.area for blank in blanks),
        net_mass=net_mass,
        sheet_area=sheet_area,
        sheet_mass=sheet_mass,
        scrap_mass=sheet_mass - offcut_mass - laid_mass,
        offcut_mass=offcut_mass,
        cut_length=math.fsum(cut.length for used in layout.sheets for cut in used.cuts if used.needs(cut)),
        hand_cut_length=hand_cuts_of(sheet, blanks, layout),
        edge_length=copies * math.fsum(blank.count * shapely.Polygon(blank.cut_outline).length for blank in blanks),
        fold_count=copies * sum(blank.count * len(blank.folds) for blank in blanks),
        fold_length=copies * math.fsum(fold_length(blank) for blank in blanks),
        weld_length=seams + rim + outlet + reliefs,
        seam_length=seams,
        rim_weld_length=rim,
        outlet_weld_length=outlet,
        relief_weld_length=reliefs,
        filler_mass=metal * filler_of(sheet).density * 1e-9 / (1 - STUB_LOSS),
    )


def _unplaced_mass(blanks: Sequence[Blank], layout: Layout) -> float:
    masses = {blank.name: blank.mass for blank in blanks}
    return math.fsum(
        masses.get(copy.rsplit(".", 1)[0], 0.0) for copy in layout.unplaced
    )  # a guest's is none of its own


def filler_of(sheet: JobSheet) -> Filler:
    """The filler for the sheet's alloy."""
    return filler_for(sheet.material.properties)


def travel_of(sheet: JobSheet) -> Travel:
    """The welding speed to estimate with, for the sheet's metal."""
    return travel_for_estimate(sheet.material.properties.family, sheet.material.thickness)


def seam_length(shell: Shell) -> float:
    """The length of all welded joints of one fabrication [mm]."""
    return math.fsum(joint.length for joint in shell.welds)


def rim_length(shell: Shell) -> float:
    """The length of the edge that runs round the outside [mm]: the rim, or the outer edge of its strips."""
    return math.fsum(shell.edge_length(edge) for edge in shell.free_edges())


def rim_weld(sheet: JobSheet, shell: Shell) -> float:
    """The length of a bare rim's weld into its aperture [mm]; 0 where the rim has strips or stands on its own."""
    return rim_length(shell) if sheet.shape.seat == "bare" else 0.0


def fold_length(blank: Blank) -> float:
    """The length of all bends of the blanks of this entry, in one fabrication [mm]."""
    return blank.count * math.fsum(math.dist(*fold.line) for fold in blank.folds)


def hand_cuts_of(sheet: JobSheet, blanks: Sequence[Blank], layout: Layout) -> float:
    """The length [mm] of the edges that straight cuts leave to be cut by hand, of all copies that were laid out so."""
    off = sawn_off(blanks, sheet, layout)
    return math.fsum(off[blank.name] * blank.hand_cut_length for blank in blanks)


def outlet_weld(sheet: JobSheet) -> float:
    """The length of the weld round the outlet fitting of one fabrication [mm]."""
    return math.pi * sheet.shape.outlet.bore if sheet.shape.outlet else 0.0


def relief_weld(blanks: Sequence[Blank]) -> float:
    """How far round the reliefs of one fabrication metal runs [mm]: that much is welded to shut them."""
    total = 0.0
    for blank in blanks:
        solid = shapely.Polygon(blank.cut_outline)
        for hole in blank.holes:
            if hole.purpose == "relief":
                rim = shapely.Point(hole.centre).buffer(hole.diameter / 2, quad_segs=32).exterior
                total += blank.count * float(rim.intersection(solid).length)
    return total


def butt_metal(sheet: JobSheet) -> float:
    """The section of the weld that fills a drilled relief along its edge [mm2]: the thickness as wide as it is deep."""
    return sheet.material.thickness**2


def weld_metal(sheet: JobSheet, joint: Joint) -> float:
    """The volume of weld metal in a seam [mm3]: the opening of its square-cut edges, the root gap, a cap.

    A butt of thickness t whose edges open by the groove angle g holds t^2 tan(|g|/2) over and above the gap.
    """
    thickness, gap = sheet.material.thickness, sheet.making.seam_gap
    opening = math.tan(math.radians(min(abs(joint.groove or 0.0), 170.0)) / 2) * thickness**2
    cap = 2 / 3 * CAP_HEIGHT * thickness * (CAP_WIDTH * thickness + gap)
    return joint.length * (opening + gap * thickness + cap)


def fillet_metal(sheet: JobSheet) -> float:
    """The section of a fillet with a leg of one thickness [mm2]: leg^2 / 2."""
    return sheet.material.thickness**2 / 2
