"""What the weld plan says: records only. Lengths mm, angles degrees, masses kg, times minutes, of one fabrication each."""

import math
from dataclasses import dataclass
from typing import Literal

from calc.records import Point3
from calc.shrinkage import Shrinkage, Spread

Kind = Literal["seam", "reliefs", "outlet", "rim"]
Side = Literal["dry", "wet"]


@dataclass(frozen=True, slots=True)
class Setting:
    """Where the machine is set to begin with, for a trial on an offcut.

    amps, gas_flow [l/min]: from low to high; volts: of the arc at the middle amps; rod: diameter of rod or wire [mm];
    travel [mm/min]; source: of the row; caution: what to say where no published row reaches, else empty. feed: of the wire
    at the middle amps [m/min]; 0 by TIG.
    """

    amps: tuple[float, float]
    volts: float
    rod: float
    gas: str
    gas_flow: tuple[float, float]
    travel: float
    source: str
    caution: str = ""
    feed: float = 0.0

    @property
    def middle_amps(self) -> float:
        """The amps half-way from low to high."""
        return sum(self.amps) / 2


@dataclass(frozen=True, slots=True)
class Tack:
    """A tack: its turn along this seam, from 1, and where it lies from the seam's start [mm]."""

    turn: int
    at: float


@dataclass(frozen=True, slots=True)
class Run:
    """A short run: its turn over the whole weld (seams and reliefs together, the rim by itself), from 1.

    It is welded from `begins` to `ends` [mm along the seam from its start]; back-stepped, so that it ends where the run
    before it along the seam began. `line` is the same in space, from its beginning to its end. pause [min]: how long the metal
    is let cool before it begins.
    """

    turn: int
    begins: float
    ends: float
    line: tuple[Point3, Point3]
    pause: float = 0.0


@dataclass(frozen=True, slots=True)
class Weld:
    """One weld: a seam between two faces, the reliefs shut, the fitting round the outlet, a bare rim into the bench.

    key: of the step that welds it; name: as the shop says it. line: its course in space, from its start, closed for outlet
    and rim. dihedral, groove: as of a joint, None of what is no seam. form: what the edges are like there; side and why:
    where it is welded from. rule: what must not be broken in choosing the rod. section [mm2]: of weld metal; heat [kJ/mm].
    filler_mass is what is bought, stubs and spatter included; rods: of a metre each, 0 of wire; wire [m]: what runs off the
    spool while the arc burns, which fills the section at least.
    across [mm] a seam, along [mm per m]: how much it shrinks; None of what is no seam.
    """

    key: str
    name: str
    kind: Kind
    line: tuple[Point3, ...]
    length: float
    dihedral: float | None
    groove: float | None
    form: str
    root_gap: float
    side: Side
    why: str
    filler: str
    rule: str
    setting: Setting
    section: float
    heat: float
    arc_minutes: float
    elapsed_minutes: float
    filler_mass: float
    rods: float
    wire: float
    gas_litres: float
    across: Spread | None
    along: Spread | None
    tacks: tuple[Tack, ...]
    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class Warmth:
    """How warm the metal still is from earlier runs where a run begins [K above the shop]: at the worst and on average."""

    worst: float
    mean: float


@dataclass(frozen=True, slots=True)
class WeldPlan:
    """The welds of one fabrication in the order in which they are made, and what all of the job takes.

    rods, wire [m], filler_mass [kg], gas_litres, arc_minutes and elapsed_minutes are of every fabrication of the job.
    warmth: in the order of the runs, with their pauses, which come on top of elapsed_minutes; plain_warmth: of the same runs
    seam after seam from end to end, without any.
    """

    process: str
    welds: tuple[Weld, ...]
    rods: float
    wire: float
    filler_mass: float
    gas_litres: float
    arc_minutes: float
    elapsed_minutes: float
    warmth: Warmth
    plain_warmth: Warmth
    shrinkage: Shrinkage | None

    @property
    def pauses(self) -> tuple[int, float]:
        """How many runs of one fabrication wait for the metal to cool, and how long in all [min]."""
        waits = [run.pause for weld in self.welds for run in weld.runs if run.pause]
        return len(waits), math.fsum(waits)
