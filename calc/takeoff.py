"""The takeoff: metal, cuts, edges, welds and filler of the whole job (every tray of it)."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from calc.blank import Blank
from calc.laid import Layout
from calc.layout.job import sawn_off, spoiled_now
from calc.sharing import shares_of
from calc.sheet import JobSheet
from calc.welding.records import Kind, WeldPlan

KINDS: tuple[Kind, ...] = ("seam", "reliefs", "outlet", "rim")


@dataclass(frozen=True, slots=True)
class Takeoff:
    """Areas [mm2], masses [kg], lengths [mm]. sheet_mass = net_mass + offcut_mass + scrap_mass, kerf being scrap.

    Of a sheet that two jobs share, each counts its own share; its offcuts are the host's.

    weld_length is all that is welded: seams between faces, the bare rim into the bench, the outlet fitting, reliefs welded
    shut; each of them has a figure of its own. filler_mass is what is bought, stubs or spatter included. cut_length is of
    the straight cuts; what they leave to be cut by hand is hand_cut_length. fold_length is of the bend lines. spoiled_mass is
    what of scrap_mass is blanks that were cut and spoiled.
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
    spoiled_mass: float = 0.0


def take_off_job(sheet: JobSheet, blanks: Sequence[Blank], layout: Layout, welding: WeldPlan | None) -> Takeoff:
    """The takeoff of a sheet, its blanks, layout and weld plan."""
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
    seams, reliefs, outlet, rim = (copies * welded(welding, kind) for kind in KINDS)
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
        filler_mass=welding.filler_mass if welding else 0.0,
        spoiled_mass=_spoiled_mass(sheet, blanks, layout),
    )


def welded(welding: WeldPlan | None, kind: Kind) -> float:
    """The length of all welds of a kind in one fabrication [mm]."""
    return math.fsum(weld.length for weld in welding.welds if weld.kind == kind) if welding else 0.0


def _unplaced_mass(blanks: Sequence[Blank], layout: Layout) -> float:
    masses = {blank.name: blank.mass for blank in blanks}
    return math.fsum(
        masses.get(copy.rsplit(".", 1)[0], 0.0) for copy in layout.unplaced
    )  # a guest's is none of its own


def _spoiled_mass(sheet: JobSheet, blanks: Sequence[Blank], layout: Layout) -> float:
    """Of spoiled copies: what such a blank weighs, of one of an earlier shape its outline."""
    masses = {blank.name: blank.mass for blank in blanks}
    as_now = {placed.name for placed in spoiled_now(blanks, layout)}
    return math.fsum(
        masses[placed.blank]
        if placed.name in as_now
        else sheet.material.mass(float(shapely.Polygon(placed.outline).area))
        for used in layout.sheets
        for placed in used.spoiled
    )


def fold_length(blank: Blank) -> float:
    """The length of all bends of the blanks of this entry, in one fabrication [mm]."""
    return blank.count * math.fsum(math.dist(*fold.line) for fold in blank.folds)


def hand_cuts_of(sheet: JobSheet, blanks: Sequence[Blank], layout: Layout) -> float:
    """The length [mm] of the edges that straight cuts leave to be cut by hand, of all copies that were laid out so."""
    off = sawn_off(blanks, sheet, layout)
    return math.fsum(off[blank.name] * blank.hand_cut_length for blank in blanks)
