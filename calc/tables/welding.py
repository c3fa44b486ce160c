"""Starting figures to weld butt seams in sheet by TIG and MIG: where to set the machine for a trial, not a procedure.

TIG, aluminium on AC: all figures from welding handbooks. Stainless: amps from the same, the rest from memory. Steel:
from memory. "One amp a thousandth of an inch" holds for aluminium from about 1 to 4 mm. MIG: all from memory, short-arc in
steel and stainless, spray or pulse in aluminium; its wire feed is what burns off at the middle amps.

Arc volts: the conventional load voltages to which power sources are rated (IEC 60974-1, from memory), which follow
the amps: 10 + 0.04 I by TIG, 14 + 0.05 I by MIG. Heat input: EN 1011-1. Gases by their groups in ISO 14175, from memory.
"""

import math
from typing import NamedTuple

from calc.tables.alloys import Family
from calc.tables.lookup import SAME_SIZE, NotListedError, refuse_name

THINNEST = 1.0  # mm; under it amps no longer follow the thickness
MIG_THIN = 1.5  # [mm] common practice: thinner sheet burns through by MIG in most hands


class ArcRow(NamedTuple):
    """Amps and gas [L/min] from low to high, diameter of rod or wire [mm], travel [mm/min], for a thickness [mm].

    feed: of the wire at the middle amps [m/min]; 0 by TIG, whose rod is fed by hand.
    """

    thickness: float
    amps: tuple[float, float]
    filler: float
    flow: tuple[float, float]
    travel: float
    source: str
    feed: float = 0.0

    @property
    def melted(self) -> float:
        """How much wire runs off the spool [mm3/min]."""
        return self.feed * 1000 * math.pi * self.filler**2 / 4


class ArcSetting(NamedTuple):
    """A row to set the machine by, whatever the thickness, and what to say of it where no published row reaches."""

    row: ArcRow
    caution: str


class Arc(NamedTuple):
    """What is the same of a process whatever the metal.

    thermal efficiency k (EN 1011-1); volts at no amps, and more for each amp (IEC 60974-1, from memory); the share of
    filler that is bought and lost, and on what; seconds of gas before each start and after each stop, and after it for
    each amp besides (common practice).
    """

    efficiency: float
    volts: float
    volts_per_amp: float
    loss: float
    lost_on: str
    pre_flow: float
    post_flow: float
    post_flow_per_amp: float


_HANDBOOK = "welding handbooks"
_PARTLY = "amps from welding handbooks, the rest from memory"
_MEMORY = "from memory"

ARCS: dict[str, Arc] = {
    "TIG": Arc(0.6, 10.0, 0.04, 0.15, "stubs", 0.5, 0.0, 0.1),  # a second of gas after the arc for each 10 A
    "MIG": Arc(0.8, 14.0, 0.05, 0.05, "spatter and ends of wire", 0.5, 1.0, 0.0),
}

TIG: dict[str, tuple[ArcRow, ...]] = {
    "aluminium": (
        ArcRow(1.6, (60.0, 80.0), 1.6, (6.0, 7.0), 400.0, _HANDBOOK),
        ArcRow(3.2, (125.0, 145.0), 2.4, (7.0, 7.0), 300.0, _HANDBOOK),
        ArcRow(4.8, (180.0, 220.0), 3.2, (6.5, 10.0), 250.0, _HANDBOOK),
    ),
    "stainless": (
        ArcRow(1.6, (60.0, 70.0), 1.6, (5.0, 6.0), 300.0, _PARTLY),
        ArcRow(3.2, (70.0, 95.0), 2.4, (5.0, 6.0), 250.0, _PARTLY),
    ),
    "steel": (
        ArcRow(1.6, (70.0, 95.0), 1.6, (5.0, 6.0), 300.0, _MEMORY),
        ArcRow(3.2, (110.0, 145.0), 2.4, (5.0, 6.0), 250.0, _MEMORY),
    ),
}

MIG: dict[str, tuple[ArcRow, ...]] = {
    "aluminium": (
        ArcRow(1.6, (70.0, 90.0), 1.0, (12.0, 14.0), 700.0, _MEMORY, 6.0),
        ArcRow(3.2, (110.0, 130.0), 1.2, (14.0, 16.0), 600.0, _MEMORY, 6.0),
        ArcRow(6.4, (170.0, 210.0), 1.2, (16.0, 20.0), 500.0, _MEMORY, 10.0),
    ),
    "stainless": (
        ArcRow(1.6, (65.0, 90.0), 0.8, (10.0, 12.0), 450.0, _MEMORY, 4.5),
        ArcRow(3.2, (110.0, 140.0), 1.0, (12.0, 14.0), 400.0, _MEMORY, 5.0),
        ArcRow(6.4, (160.0, 200.0), 1.0, (14.0, 16.0), 350.0, _MEMORY, 7.5),
    ),
    "steel": (
        ArcRow(1.6, (75.0, 100.0), 0.8, (10.0, 12.0), 450.0, _MEMORY, 4.5),
        ArcRow(3.2, (120.0, 150.0), 1.0, (12.0, 14.0), 400.0, _MEMORY, 4.5),
        ArcRow(6.4, (180.0, 220.0), 1.0, (14.0, 16.0), 350.0, _MEMORY, 7.0),
    ),
}
ROWS = {"TIG": TIG, "MIG": MIG}

# ISO 14175, from memory: I1 argon; M12 argon with up to 5 % CO2; M21 with 15 to 25 %.
GASES: dict[str, dict[str, str]] = {
    "TIG": {"aluminium": "argon", "stainless": "argon", "steel": "argon"},
    "MIG": {"aluminium": "argon", "stainless": "argon with 2 % CO2", "steel": "argon with 18 % CO2"},
}


def tig_settings(family: Family, thickness: float) -> ArcRow:
    """Starting figures to TIG weld a butt seam.

    family: "aluminium", "steel" or "stainless". thickness [mm], from 1 to the family's thickest row.
    Raises NotListedError outside that.

    >>> tig_settings("aluminium", 3.2).amps, tig_settings("aluminium", 2.4).travel
    ((125.0, 145.0), 350.0)
    """
    return listed_settings(family, thickness, "TIG")


def listed_settings(family: Family, thickness: float, process: str) -> ArcRow:
    """Starting figures to weld a butt seam by a process ("TIG" or "MIG").

    Between two rows amps and travel are read off the straight line, gas and filler are the thicker row's; so is the metal
    that the wire feed melts, and the feed is what gives that of the thicker row's wire. Under the first row amps and feed
    go down with the thickness and the rest is the first row's.
    Raises NotListedError for sheet under 1 mm or past the family's thickest row.

    >>> listed_settings("steel", 2.4, "MIG").amps
    (97.5, 125.0)
    """
    rows = _rows(family, process)
    if not THINNEST - SAME_SIZE <= thickness <= rows[-1].thickness + SAME_SIZE:
        raise NotListedError(f"{_span(family, process, rows)}: nothing for {thickness:g} mm")
    return _between(rows, thickness)


def _between(rows: tuple[ArcRow, ...], thickness: float) -> ArcRow:
    """The figures for a thickness [mm] up to the last row's."""
    above = next(row for row in rows if thickness <= row.thickness + SAME_SIZE)
    if above is rows[0]:
        share = min(thickness / above.thickness, 1.0)
        low, high = above.amps
        return above._replace(thickness=thickness, amps=(low * share, high * share), feed=above.feed * share)
    below = rows[rows.index(above) - 1]
    share = min((thickness - below.thickness) / (above.thickness - below.thickness), 1.0)
    amps = tuple(b + share * (a - b) for b, a in zip(below.amps, above.amps, strict=True))
    melted = below.melted + share * (above.melted - below.melted)
    return above._replace(
        thickness=thickness,
        amps=(amps[0], amps[1]),
        travel=below.travel + share * (above.travel - below.travel),
        feed=above.feed * melted / above.melted if above.feed else 0.0,
    )


def settings_for_estimate(family: Family, thickness: float, process: str) -> ArcSetting:
    """Starting figures for any thickness [mm] above 0; outside the table with a caution to print beside them.

    Thinner sheet than the table's is welded at the first row's speed, the amps down with the thickness. Thicker plate wants
    a prepared joint and several runs at the last row's amps: its speed goes down with the square of the thickness, as the
    joint's section goes up (common practice).

    >>> settings_for_estimate("aluminium", 9.6, "TIG").row.travel
    62.5

    Raises NotListedError for a thickness that is no positive number.
    """
    rows = _rows(family, process)
    if not 0 < thickness < float("inf"):
        raise NotListedError(f"a thickness to weld must be above 0 mm (got {thickness:g} mm)")
    last = rows[-1]
    if thickness > last.thickness + SAME_SIZE:
        slower = last.travel * (last.thickness / thickness) ** 2
        return ArcSetting(last._replace(thickness=thickness, travel=slower), _guess(family, process, rows, thickness))
    caution = "" if thickness >= THINNEST - SAME_SIZE else _guess(family, process, rows, thickness)
    return ArcSetting(_between(rows, thickness), caution)


def travel_that_fills(row: ArcRow, process: str, section: float) -> float:
    """The travel [mm/min] of a weld of this section [mm2]: the row's, or slower where its wire feed would not fill that.

    A rod is dipped as often as is needed, so that TIG goes at the row's whatever the section.

    >>> row = listed_settings("steel", 1.6, "MIG")  # 4.5 m/min of 0.8 mm wire, 5 % of it lost, at 450 mm/min
    >>> travel_that_fills(row, "MIG", 2.0), round(travel_that_fills(row, "MIG", 10.0), 1)
    (450.0, 214.9)
    """
    if not row.feed:
        return row.travel
    return min(row.travel, row.melted * (1 - ARCS[process].loss) / section)


def arc_volts(process: str, amps: float) -> float:
    """The volts of the arc at so many amps: the conventional load voltage (IEC 60974-1, from memory).

    >>> arc_volts("TIG", 100), arc_volts("MIG", 200)
    (14.0, 24.0)
    """
    arc = ARCS[process]
    return arc.volts + arc.volts_per_amp * amps


def heat_input(process: str, volts: float, amps: float, travel: float) -> float:
    """The heat that stays in the metal [kJ/mm]: k U I / (1000 v), v in mm/s (EN 1011-1). travel [mm/min].

    >>> round(heat_input("TIG", 12.0, 100.0, 300.0), 3)
    0.144
    """
    return ARCS[process].efficiency * volts * amps / (1000 * travel / 60)


def gas_round_a_run(process: str, amps: float) -> float:
    """The seconds that gas flows before the arc is struck and after it is out."""
    arc = ARCS[process]
    return arc.pre_flow + arc.post_flow + arc.post_flow_per_amp * amps


def _span(family: str, process: str, rows: tuple[ArcRow, ...]) -> str:
    return f"{process} figures for {family} are listed from {THINNEST:g} to {rows[-1].thickness:g} mm"


def _guess(family: str, process: str, rows: tuple[ArcRow, ...], thickness: float) -> str:
    return f"{_span(family, process, rows)}: at {thickness:g} mm amps and minutes are a guess"


def _rows(family: str, process: str) -> tuple[ArcRow, ...]:
    rows = ROWS[process].get(family)
    if rows is None:
        refuse_name(f"{process} setting", family, ROWS[process])
    return rows
