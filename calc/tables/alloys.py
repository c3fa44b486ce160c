"""Sheet metals: what a plan has to know of each alloy and temper.

Where sources differ the safe figure stands: the heavier density (it may have to be lifted), the smaller modulus
(it sags more), the larger expansion, the larger bend radius.

Densities: handbook values as quoted beside each metal. Modulus: aluminium alloys are printed as 69 to 71 GPa,
carbon steel as 210, austenitic stainless as 200. Expansion: aluminium 23.1e-6, steel 12e-6; 304 16.0e-6
(EN 10088-1) or 17.2e-6 per K (data sheets, from memory), of which the larger stands.
"""

from dataclasses import dataclass
from functools import partial
from typing import Literal, NamedTuple

from calc.tables.lookup import refuse_name, row_up_to

Family = Literal["aluminium", "steel", "stainless"]

ALUMINUM_ASSOCIATION = "Aluminum Association, least radii for 90° cold bends"
ALUMINUM_ASSOCIATION_MEMORY = f"{ALUMINUM_ASSOCIATION}, row from memory"
EN_485_2 = "EN 485-2, least bend radius at 90°"
EN_485_2_MEMORY = "EN 485-2, from memory, the harder bend where it has two"
DIN_6935 = "DIN 6935, steel to 390 N/mm²"
DIN_6935_MEMORY = f"{DIN_6935}, row from memory"
COMMON_PRACTICE = "common practice"


class BendRow(NamedTuple):
    """The least inside radius for sheet up to a thickness [mm]: `figure`, times the thickness or in mm."""

    up_to: float
    figure: float
    per: Literal["thickness", "mm"]
    source: str


class LeastRadius(NamedTuple):
    """A least inside radius [mm] and the row that it was read from; 0 is a sharp fold."""

    radius: float
    source: str


@dataclass(frozen=True, slots=True)
class Alloy:
    """A metal in one temper.

    density [kg/m3], modulus [GPa], expansion [1/K], fillers in order of preference, magnesium [%]: nominal, and the most that
    its standard lets a sheet hold, which decides fillers (EN 573-3, from memory). `also` are other names that a person may
    type for it.
    """

    name: str
    family: Family
    density: float
    modulus: float
    expansion: float
    least_bend: tuple[BendRow, ...]
    fillers: tuple[str, ...]
    source: str
    note: str = ""
    magnesium: float = 0.0
    magnesium_up_to: float = 0.0
    also: tuple[str, ...] = ()


def _inch_rows(*multiples: float, read: int = 3) -> tuple[BendRow, ...]:
    """Multiples of the thickness at 1/32, 1/16, 1/8, 3/16 and 1/4 in; between two, the thicker row."""
    sources = (ALUMINUM_ASSOCIATION,) * read + (ALUMINUM_ASSOCIATION_MEMORY,) * (5 - read)
    limits = (n * 25.4 for n in (1 / 32, 1 / 16, 1 / 8, 3 / 16, 1 / 4))
    return tuple(
        BendRow(limit, multiple, "thickness", source)
        for limit, multiple, source in zip(limits, multiples, sources, strict=True)
    )


def _rows(per: Literal["thickness", "mm"], source: str, *rows: tuple[float, float]) -> tuple[BendRow, ...]:
    return tuple(BendRow(limit, figure, per, source) for limit, figure in rows)


_aluminium = partial(Alloy, family="aluminium", modulus=69.0, expansion=23.1e-6)
_steel = partial(
    Alloy,
    family="steel",
    density=7850.0,
    modulus=210.0,
    expansion=12e-6,
    least_bend=_rows("mm", DIN_6935, (1.0, 1.0), (1.5, 1.6), (2.5, 2.5), (3.0, 3.0), (4.0, 5.0))
    + _rows("mm", DIN_6935_MEMORY, (5.0, 6.0), (6.0, 8.0)),
    fillers=("ER70S-6",),
)
_stainless = partial(
    Alloy,
    family="stainless",
    density=8000.0,
    modulus=200.0,
    least_bend=_rows("thickness", COMMON_PRACTICE, (3.0, 1.0), (6.0, 2.0)),
    note="the fume of stainless holds chromium: extract it at the arc",
)
# Most magnesium [%] by EN 573-3, from memory: 5052 2.2 to 2.8, 5083 4.0 to 4.9, 5754 2.6 to 3.6, 6061 0.8 to 1.2; 1050A, 1100
# and 3003 hold traces.
_PURE = ("ER4043", "ER1100")
_MAGNESIUM = ("ER5356", "ER5554")
_5754_SOURCE = "density 2660 to 2690 in handbooks, the heavier taken: a weight may be 1 % high, never low"

_METALS = (
    _aluminium(
        name="1050A-H14",
        density=2710.0,
        least_bend=_rows("thickness", EN_485_2, (1.5, 0.5), (3.0, 1.0), (6.0, 1.5)),
        fillers=_PURE,
        source="density 2705 to 2710 in handbooks, the heavier taken",
    ),
    _aluminium(
        name="1100-H14",
        density=2710.0,
        least_bend=_inch_rows(0, 0, 1, 1, 1.5),
        fillers=_PURE,
        source="density 2710, Aluminum Association, from memory",
    ),
    _aluminium(
        name="3003-H14",
        density=2730.0,
        least_bend=_inch_rows(0, 0, 1, 1, 1.5, read=0),
        fillers=_PURE,
        source="density 2730, handbooks",
    ),
    _aluminium(
        name="5052-H32",
        density=2680.0,
        least_bend=_inch_rows(0, 1, 1.5, 1.5, 1.5),
        fillers=_MAGNESIUM,
        source="density 2680, handbooks",
        magnesium=2.5,
        magnesium_up_to=2.8,
    ),
    _aluminium(
        name="5052-H34",
        density=2680.0,
        least_bend=_inch_rows(1, 1.5, 2, 2, 2.5),
        fillers=_MAGNESIUM,
        source="density 2680, handbooks",
        magnesium=2.5,
        magnesium_up_to=2.8,
    ),
    _aluminium(
        name="5083-H111",
        density=2660.0,
        least_bend=_rows("thickness", EN_485_2_MEMORY, (1.5, 1.0), (6.0, 1.5)),
        fillers=("ER5183", "ER5356"),
        source="density 2660, handbooks",
        magnesium=4.5,
        magnesium_up_to=4.9,
        note="not for continued service above 65 °C",
    ),
    _aluminium(
        name="5754-H111",
        density=2690.0,
        least_bend=_rows("thickness", EN_485_2_MEMORY, (1.5, 0.5), (6.0, 1.0)),
        fillers=_MAGNESIUM,
        source=_5754_SOURCE,
        magnesium=3.1,
        magnesium_up_to=3.6,
    ),
    _aluminium(
        name="5754-H22",
        density=2690.0,
        least_bend=_rows("thickness", EN_485_2_MEMORY, (1.5, 1.5), (6.0, 2.0)),
        fillers=_MAGNESIUM,
        source=_5754_SOURCE,
        magnesium=3.1,
        magnesium_up_to=3.6,
    ),
    _aluminium(
        name="6061-T6",
        density=2700.0,
        least_bend=_inch_rows(1, 1.5, 2.5, 3, 3.5),
        fillers=("ER4043", "ER5356"),
        source="density 2700, handbooks",
        magnesium=1.0,
        magnesium_up_to=1.2,
        note="a weld leaves it much softer beside the seam (common practice)",
    ),
    _steel(
        name="DC01",
        source="EN 10130, cold rolled; density 7850, from memory",
        also=("mild steel",),
    ),
    _steel(name="S235JR", source="EN 10025-2, hot rolled; density 7850, from memory"),
    _steel(
        name="DX51D+Z",
        source="EN 10346, hot-dip galvanised; density 7850, from memory, the zinc not counted",
        note="take the zinc off the joint before welding: its fume makes ill",
        also=("galvanised steel", "galvanized steel"),
    ),
    _stainless(
        name="304",
        expansion=17.2e-6,
        fillers=("ER308L", "ER316L"),
        source="density 7900 (EN 10088-1) or 8000 (data sheets), the heavier taken",
        also=("1.4301",),
    ),
    _stainless(
        name="316",
        expansion=16.0e-6,
        fillers=("ER316L",),
        source="density 8000, data sheets; expansion 16.0e-6, EN 10088-1, from memory",
        also=("1.4401",),
    ),
)

ALLOYS: dict[str, Alloy] = {metal.name: metal for metal in _METALS}

_BY_NAME = {name.casefold(): metal for metal in _METALS for name in (metal.name, *metal.also)}


def alloy(name: str) -> Alloy:
    """The metal of this name, upper or lower case.

    Raises NotListedError, with every name listed, for one that isn't here: a guessed temper could crack a fold.

    >>> alloy("5052-h32").density, alloy("mild steel").name
    (2680.0, 'DC01')
    """
    metal = _BY_NAME.get(name.strip().casefold())
    if metal is None:
        refuse_name("metal", name, ALLOYS)
    return metal


def least_inside_radius(metal: Alloy, thickness: float) -> LeastRadius:
    """The least inside radius of a 90-degree bend across the rolling direction; along it, bend larger.

    thickness [mm]; between two rows the thicker one is taken. Returns the radius [mm] and its source.
    Raises NotListedError for a thickness past the metal's rows.

    >>> least_inside_radius(alloy("5052-H32"), 1.5).radius, least_inside_radius(alloy("DC01"), 2.0).radius
    (1.5, 2.5)
    """
    row = row_up_to(metal.least_bend, thickness, table=f"the least bend radius of {metal.name}")
    return LeastRadius(row.figure * thickness if row.per == "thickness" else row.figure, row.source)
