"""Which rod or wire each weld takes, and how much of it: faults where no listed one suits."""

import math

from calc.reading import Fault, SheetFaults
from calc.seams import filler_of
from calc.sheet import JobSheet
from calc.tables.alloys import ALLOYS, Alloy, alloy
from calc.tables.fillers import HOTTEST_FOR_MAGNESIUM, Filler, filler_for
from calc.tables.lookup import NotListedError
from calc.tables.welding import ARCS
from calc.welding.records import Setting, Weld

ROD_LENGTH = 1000.0  # [mm] common practice: TIG rods are a metre long
MOST_NAMED = 4  # metals that a fault names


def seam_filler(sheet: JobSheet) -> Filler:
    """The filler of all that joins the sheet's metal to itself. Raises `SheetFaults` where none listed suits."""
    try:
        return filler_of(sheet)
    except NotListedError as error:
        raise SheetFaults([_too_hot(sheet, sheet.material.properties, None, str(error))]) from None


def rim_filler(sheet: JobSheet) -> Filler:
    """The filler of a bare rim into its bench: by both metals where the bench's is known, else the seams' own.

    Raises `SheetFaults` where none listed suits both.
    """
    if sheet.bench.alloy is None:
        return seam_filler(sheet)
    metal, bench = sheet.material.properties, alloy(sheet.bench.alloy)
    try:
        return filler_for(metal, bench, service=sheet.making.service_temperature)
    except NotListedError as error:
        if _joins(metal, bench, -math.inf):
            raise SheetFaults([_too_hot(sheet, metal, bench, str(error))]) from None
        raise SheetFaults([_never(metal, bench)]) from None


def _joins(metal: Alloy, other: Alloy, service: float) -> bool:
    try:
        filler_for(metal, other, service=service)
    except NotListedError:
        return False
    return True


def _too_hot(sheet: JobSheet, metal: Alloy, bench: Alloy | None, error: str) -> Fault:
    """The seam serves hotter than any rod that suits the metals stands."""
    service, to = sheet.making.service_temperature, f" to {bench.name}" if bench else ""
    stand = [
        other.name
        for other in ALLOYS.values()
        if other.family == metal.family and _joins(other, other if bench is None else bench, service)
    ]
    other_metal = f", or make it of {_some(stand)}" if stand else ""
    text = (
        f"must be at most {HOTTEST_FOR_MAGNESIUM:g} °C to weld {metal.name}{to}{other_metal} (got {service:g}; {error})"
    )
    return Fault("sheet.making.service_temperature", text)


def _never(metal: Alloy, bench: Alloy) -> Fault:
    """No rod joins the two metals at any heat."""
    join = [other.name for other in ALLOYS.values() if _joins(metal, other, -math.inf)]
    text = (
        f"can't be welded to {metal.name} with any rod listed: must be one of {', '.join(join)} (got {bench.name}); or "
        "give the rim a lap or an upstand, which is sealed and screwed to the bench"
    )
    return Fault("sheet.bench.alloy", text)


def _some(names: list[str]) -> str:
    return ", ".join(names[:MOST_NAMED]) if len(names) <= MOST_NAMED else ", ".join((*names[:MOST_NAMED], "others"))


def taken(process: str, setting: Setting, section: float, length: float) -> float:
    """How long [m] the rod or wire is that a weld takes, stubs or spatter included; section [mm2], length [mm].

    A rod is dipped as the section asks. Wire runs off the spool as long as the arc burns: feed x arc minutes, whatever the
    section asks; the travel is such that it asks no more.
    """
    if setting.feed:
        return setting.feed * length / setting.travel
    return section * length / (1 - ARCS[process].loss) / _round(setting.rod) / 1000


def mass_of(metres: float, diameter: float, rod: Filler) -> float:
    """The mass [kg] of so many metres of rod or wire of this diameter [mm]."""
    return metres * 1000 * _round(diameter) * rod.density * 1e-9


def _round(diameter: float) -> float:
    return math.pi * diameter**2 / 4


def filler_masses(welds: tuple[Weld, ...], copies: int) -> dict[str, float]:
    """What is bought of each filler for so many fabrications [kg], by its name, in the order of the welds."""
    masses: dict[str, float] = {}
    for weld in welds:
        masses[weld.filler] = masses.get(weld.filler, 0.0) + copies * weld.filler_mass
    return masses
