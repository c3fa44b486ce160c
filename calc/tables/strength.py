"""At what stress sheet begins to give for good, as it comes and beside a weld; how far from it plates are kept.

Least 0.2 % proof strength or yield that the standards let a sheet have, from memory: aluminium EN 485-2 or ASTM B209M,
stainless ASTM A240, which is lower than EN 10088-2; S235JR EN 10025-2 to 16 mm. DC01 has no
least yield; EN 10130 says to design with 140, and DX51D+Z (EN 10346), which has none either, is taken like it.

Beside a weld, work-hardened aluminium is annealed: the O temper's figure stands. 6061-T6 is softened less: Aluminum Design
Manual, welded. Steels stay as they are, the mild ones and 304 and 316, which come annealed.
"""

from typing import NamedTuple

from calc.tables.alloys import Alloy, Family
from calc.tables.lookup import refuse_name

# Plates bent flat: AISC Specification 1989 (allowable stress), F2, 0.75 of the yield for solid rectangles bent about their
# weaker axis, from memory; the Aluminum Design Manual's 1.65 over a shape factor of 1.3 (from memory) asks for less.
FACTOR = 4 / 3
# Where an edge is held the plate is bent there, though it would bear as well if the edge turned. Such bending may come to twice
# the yield, up to which it settles after the first load (ASME VIII-2, 5.5.6, from memory), and is kept under that by the same
# factor: at 1.5 times the yield a flat section gives right through.
HELD = 2.0
# Poisson's ratio: aluminium in handbooks, steel EN 1993-1-1; from memory.
POISSON: dict[Family, float] = {"aluminium": 0.33, "steel": 0.3, "stainless": 0.3}


class Strength(NamedTuple):
    """Proof strength or yield [MPa] as the sheet comes, and beside a weld; where they are from."""

    proof: float
    welded: float
    source: str


STRENGTHS: dict[str, Strength] = {
    "1050A-H14": Strength(85.0, 20.0, "EN 485-2, from memory"),
    "1100-H14": Strength(95.0, 25.0, "ASTM B209M, from memory"),
    "3003-H14": Strength(115.0, 35.0, "ASTM B209M, from memory"),
    "5052-H32": Strength(160.0, 65.0, "ASTM B209M, from memory"),
    "5052-H34": Strength(180.0, 65.0, "ASTM B209M, from memory"),
    "5083-H111": Strength(125.0, 125.0, "EN 485-2, from memory"),
    "5754-H111": Strength(80.0, 80.0, "EN 485-2, from memory"),
    "5754-H22": Strength(130.0, 80.0, "EN 485-2, from memory"),
    "6061-T6": Strength(240.0, 105.0, "EN 485-2; welded, Aluminum Design Manual; from memory"),
    "DC01": Strength(140.0, 140.0, "EN 10130, from memory"),
    "S235JR": Strength(235.0, 235.0, "EN 10025-2, from memory"),
    "DX51D+Z": Strength(140.0, 140.0, "as DC01: EN 10346 has no least yield"),
    "304": Strength(205.0, 205.0, "ASTM A240, from memory"),
    "316": Strength(205.0, 205.0, "ASTM A240, from memory"),
}


def strength_of(metal: Alloy) -> Strength:
    """How strong a metal is. Raises NotListedError for one that has no row.

    >>> from calc.tables.alloys import alloy
    >>> strength_of(alloy("5052-H32")).welded
    65.0
    """
    row = STRENGTHS.get(metal.name)
    if row is None:
        refuse_name("strength", metal.name, STRENGTHS)
    return row
