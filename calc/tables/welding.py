"""TIG starting figures for butt seams in sheet: where to set the machine for a trial, not a procedure.

Aluminium on AC: all figures from welding handbooks. Stainless: amps from the same, the rest from memory. Steel:
from memory. "One amp a thousandth of an inch" holds for aluminium from about 1 to 4 mm.
"""

from typing import NamedTuple

from calc.tables.alloys import Family
from calc.tables.lookup import SAME_SIZE, NotListedError, refuse_name

THINNEST = 1.0  # mm; under it amps no longer follow the thickness


class TigSetting(NamedTuple):
    """Amps and argon [L/min] from low to high, rod diameter [mm], travel [mm/min], for a thickness [mm]."""

    thickness: float
    amps: tuple[float, float]
    filler: float
    argon: tuple[float, float]
    travel: float
    source: str


class Travel(NamedTuple):
    """A speed [mm/min] for estimating, and what to say of it where no published row reaches."""

    speed: float
    caution: str


_HANDBOOK = "welding handbooks"
_PARTLY = "amps from welding handbooks, the rest from memory"
_MEMORY = "from memory"

TIG: dict[str, tuple[TigSetting, ...]] = {
    "aluminium": (
        TigSetting(1.6, (60, 80), 1.6, (6, 7), 400, _HANDBOOK),
        TigSetting(3.2, (125, 145), 2.4, (7, 7), 300, _HANDBOOK),
        TigSetting(4.8, (180, 220), 3.2, (6.5, 10), 250, _HANDBOOK),
    ),
    "stainless": (
        TigSetting(1.6, (60, 70), 1.6, (5, 6), 300, _PARTLY),
        TigSetting(3.2, (70, 95), 2.4, (5, 6), 250, _PARTLY),
    ),
    "steel": (
        TigSetting(1.6, (70, 95), 1.6, (5, 6), 300, _MEMORY),
        TigSetting(3.2, (110, 145), 2.4, (5, 6), 250, _MEMORY),
    ),
}


def tig_settings(family: Family, thickness: float) -> TigSetting:
    """Starting figures to TIG weld a butt seam.

    family: "aluminium", "steel" or "stainless". thickness [mm], from 1 to the family's thickest row.
    Between two rows amps and travel are read off the straight line, argon and rod are the thicker row's; under the
    first row amps go down with the thickness and the rest is the first row's.
    Raises NotListedError outside that.

    >>> tig_settings("aluminium", 3.2).amps, tig_settings("aluminium", 2.4).travel
    ((125.0, 145.0), 350.0)
    """
    rows = _rows(family)
    if not THINNEST - SAME_SIZE <= thickness <= rows[-1].thickness + SAME_SIZE:
        span = f"{THINNEST:g} to {rows[-1].thickness:g} mm"
        raise NotListedError(f"TIG figures for {family} are listed from {span}: nothing for {thickness:g} mm")
    above = next(row for row in rows if thickness <= row.thickness + SAME_SIZE)
    if above is rows[0]:
        share = min(thickness / above.thickness, 1.0)
        low, high = above.amps
        return above._replace(thickness=thickness, amps=(low * share, high * share))
    below = rows[rows.index(above) - 1]
    share = min((thickness - below.thickness) / (above.thickness - below.thickness), 1.0)
    amps = tuple(b + share * (a - b) for b, a in zip(below.amps, above.amps, strict=True))
    return above._replace(
        thickness=thickness,
        amps=(amps[0], amps[1]),
        travel=below.travel + share * (above.travel - below.travel),
    )


def travel_for_estimate(family: Family, thickness: float) -> Travel:
    """A TIG travel speed to estimate minutes with, for any thickness [mm] above 0.

    Inside the table it is the table's. Thinner sheet is taken at the first row's speed. Thicker plate wants a
    prepared joint and several runs: the last row's speed goes down with the square of the thickness, as the
    joint's section goes up (common practice). Outside the table `caution` is a sentence to print beside the minutes.

    >>> travel_for_estimate("aluminium", 1.6)
    Travel(speed=400, caution='')
    >>> travel_for_estimate("aluminium", 9.6).speed
    62.5
    """
    rows = _rows(family)
    if not 0 < thickness < float("inf"):
        raise NotListedError(f"a thickness to weld must be above 0 mm (got {thickness:g} mm)")
    if thickness < THINNEST - SAME_SIZE:
        speed = rows[0].travel
    elif thickness > rows[-1].thickness + SAME_SIZE:
        speed = rows[-1].travel * (rows[-1].thickness / thickness) ** 2
    else:
        return Travel(tig_settings(family, thickness).travel, "")
    span = f"{THINNEST:g} to {rows[-1].thickness:g} mm"
    return Travel(speed, f"TIG figures for {family} are listed from {span}: at {thickness:g} mm minutes are a guess")


def _rows(family: str) -> tuple[TigSetting, ...]:
    rows = TIG.get(family)
    if rows is None:
        refuse_name("TIG setting", family, TIG)
    return rows
