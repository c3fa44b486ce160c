"""What is told of draining: records that go into a plan."""

from dataclasses import dataclass, field

from calc.records import FINE


@dataclass(frozen=True, slots=True)
class FaceFall:
    """The steepest slope of a face (0.05 = 5 %)."""

    face: str
    fall: float = field(metadata=FINE)


@dataclass(frozen=True, slots=True)
class SeamFall:
    """The slope along a valley joint: drop over plan length."""

    between: tuple[str, str]
    fall: float = field(metadata=FINE)


@dataclass(frozen=True, slots=True)
class Slice:
    """What is held between two neighbouring levels at which the shell has corners: there the area is quadratic, exactly.

    low, high [mm]: the two levels, the rim at 0. area_low, area_middle, area_high [mm2]: of the water surface just above the
    one, halfway, and just below the other. volume [mm3]: what is held below the lower one.
    """

    low: float
    high: float
    area_low: float
    area_middle: float
    area_high: float
    volume: float

    @property
    def height(self) -> float:
        """From the lower level to the upper one [mm]."""
        return self.high - self.low

    @property
    def full(self) -> float:
        """The volume held below the upper level [mm3]: the prismatoid's, exact for a quadratic area."""
        return self.volume + self.height * (self.area_low + 4.0 * self.area_middle + self.area_high) / 6.0

    @property
    def quadratic(self) -> tuple[float, float, float]:
        """q0, q1, q2 of the area q0 + q1 u + q2 u^2 [mm2], u the share of the height that the level has risen."""
        low, middle, high = self.area_low, self.area_middle, self.area_high
        return low, 4.0 * middle - 3.0 * low - high, 2.0 * (low + high) - 4.0 * middle


@dataclass(frozen=True, slots=True)
class Running:
    """The outlet at the pump's flow: head [mm] over the lip, which rule governs ("weir", "orifice"), the level [mm, rim 0] that
    the coolant stands at over the outlet, and the freeboard [mm] left below the brim, negative where it runs over."""

    head: float
    governs: str
    level: float
    freeboard: float


@dataclass(frozen=True, slots=True)
class Larger:
    """A usual outlet that keeps the freeboard at the pump's flow: its name, its bore [mm], and how deep the tray must be for
    it [mm], None where it is deep enough. An outlet that is no usual one has no name."""

    name: str
    bore: float
    depth: float | None


@dataclass(frozen=True, slots=True)
class Outflow:
    """What the outlet does.

    bore [mm]; lip [mm, rim 0]: the level that heads are measured from. passes, passes_dry [l/min]: with coolant at the brim,
    and with the freeboard kept. governs: which rule does at the brim. seconds: from the brim to a film over the lip, nothing
    coming in; None where the brim is no higher than that.

    Where the pump's flow was given, running: the outlet at that flow. enough: the smallest usual outlet that passes it with the
    freeboard kept and has room in the tray; failing that, the one that needs the least depth, and how deep the tray must be.
    depth [mm]: how deep for the outlet as it is, where it doesn't keep the freeboard; None too where no shape is so deep.
    """

    bore: float
    lip: float
    passes: float
    passes_dry: float
    governs: str
    seconds: float | None
    running: Running | None = None
    enough: Larger | None = None
    depth: float | None = None


@dataclass(frozen=True, slots=True)
class Tilt:
    """The shell set out of level: one side so many mm lower than the one across from it.

    low: which side ("left", "right", "front", "back", as on the plan). drop [mm]. least_fall: the least of the falls towards
    the outlet, negative where something now falls away from it, and where; None without a lowest place. litres: to the brim
    where it now is lowest. stands [litres], deep [mm]: what stays in hollows that don't reach the outlet, and how deep.
    freeboard [mm]: at the pump's flow, None where nobody gave it.
    """

    low: str
    drop: float
    least_fall: float | None = field(metadata=FINE)
    least_fall_at: str
    litres: float = field(metadata=FINE)
    stands: float = field(default=0.0, metadata=FINE)
    deep: float = 0.0
    freeboard: float | None = None


@dataclass(frozen=True, slots=True)
class Drainage:
    """Litres to the lowest free edge; falls of faces and valley joints; the least of them and where it is.

    What follows is of the tray in use, and missing in a plan of an earlier day: slices of what it holds by level, from the
    lowest up; brim [mm, rim 0]: its lowest free edge; full [kg]: metal, coolant and chips, of one; outlet: what it does, None
    where there is none; tilts: out of level, each way; true_within [mm]: how far out of level it may be set for everything
    still to fall towards the outlet, None where no tilt changes that or nothing falls there.
    """

    litres: float = field(metadata=FINE)
    falls: tuple[FaceFall, ...]
    seams: tuple[SeamFall, ...]
    least_fall: float = field(metadata=FINE)
    least_fall_at: str
    slices: tuple[Slice, ...] = ()
    brim: float = 0.0
    full: float | None = None
    outlet: Outflow | None = None
    tilts: tuple[Tilt, ...] = ()
    true_within: float | None = None

    @property
    def worst(self) -> Tilt | None:
        """The way out of level that drains worst: where most stands, else where the least fall is least; None of none."""
        by_fall = [tilt for tilt in self.tilts if tilt.least_fall is not None]
        if not by_fall:
            return min(self.tilts, key=lambda tilt: tilt.litres, default=None)
        return min(by_fall, key=lambda tilt: (-tilt.stands, tilt.least_fall or 0.0))
