"""Is the metal stiff enough: what each facet sags and how it is stressed under coolant, chips, its own weight and a hand on it.

How an edge is held. A joint, weld or fold, holds an edge; so do the bench where a rim is welded in, a lap and an upstand. Only
the tops of a pan without returns are free. How far a joint lets an edge turn isn't known, so it is looked at both ways: sags as
if edges were supported and could turn; stress in the middle likewise, and at the edges as if they were clamped, where more is
allowed, since the plate would bear as well if they gave. Beside a weld the metal is taken as the weld leaves it.

Two loads: filled to the brim, and leaned on, a load on a round patch at the middle of the largest circle that the facet holds;
each with chips and the sheet's own weight. Weights act straight down (`loads`), so on an upright wall coolant alone bears.

Each facet is a plate by itself, of small deflection (`plate`, a finite element that the tests hold to the published tables);
the tables' own answer for the nearest plate that is sure to be no stiffer stands beside it (`published`). Over half a thickness
of sag a plate also bears by being stretched, and sags less than told. A facet with corners that run inward is reckoned as its
convex hull, which is safe. Left out: what facets do to each other, what welding pulls, an outlet cut into a facet, dents.
"""

from calc.sheet import JobSheet
from calc.shell import WET_FLOORS, Shell
from calc.stiffness.facets import load_facet
from calc.stiffness.judging import judge, with_ribs
from calc.stiffness.loads import FILLED, LEANED_ON
from calc.stiffness.records import AT_MOST, Bearing, FacetStiffness, Stiffness
from calc.tables.gauges import Kind, usual_thicknesses
from calc.tables.strength import FACTOR, strength_of

__all__ = ["AT_MOST", "FILLED", "LEANED_ON", "Bearing", "FacetStiffness", "Stiffness", "stiffness_of"]


def stiffness_of(shell: Shell, sheet: JobSheet) -> Stiffness | None:
    """How stiff a shell is, made and used as its sheet says; None of loose parts, on which nothing lies."""
    if shell.is_loose:
        return None
    thickness, metal = sheet.material.thickness, sheet.material.properties
    kind: Kind = "galvanised" if metal.name == "DX51D+Z" else metal.family
    usual = usual_thicknesses(kind, gauges=sheet.making.display.unit == "in")
    loaded = [load_facet(shell, face, sheet) for face in shell.faces if face.role in WET_FLOORS or face.role == "wall"]
    facets = with_ribs(loaded, [judge(facet, thickness, usual) for facet in loaded], thickness)
    strength, needed = strength_of(metal), [facet.thickness for facet in facets]
    most = None if None in needed else max(each for each in needed if each is not None)
    return Stiffness(facets, thickness, strength.proof, strength.welded, FACTOR, strength.source, most)
