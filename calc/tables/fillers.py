"""Welding rods, and which of them suits which metal.

Choice by base metal: the filler charts of welding handbooks, rods named as in AWS A5.9, A5.10 and A5.18. What the
charts rule out stands in `unfit`, so that a rod a shop picks for itself meets the same rules as one picked here.
"""

from dataclasses import dataclass

from calc.tables.alloys import Alloy, alloy
from calc.tables.lookup import NotListedError, refuse_name

# % that the metal's standard lets it hold, over which a silicon rod leaves a brittle seam: no sheet says what it really holds
LEAST_MAGNESIUM_AGAINST_SILICON = 2.5
MUCH_MAGNESIUM = 3.0  # % in a rod
HOTTEST_FOR_MAGNESIUM = 65.0  # °C in service, above which a rod with over 3 % magnesium may crack


@dataclass(frozen=True, slots=True)
class Filler:
    """A rod: its classification, density [kg/m3], nominal magnesium [%], whether silicon leads it."""

    name: str
    density: float
    source: str
    magnesium: float = 0.0
    silicon: bool = False


_AUSTENITIC = "density 7900, that of 304 in EN 10088-1; the rod's own not seen"

FILLERS: tuple[Filler, ...] = (
    Filler("ER1100", 2710.0, "AWS A5.10; density of 1100, from memory"),
    Filler("ER4043", 2690.0, "AWS A5.10; density from handbooks", silicon=True),
    Filler("ER5183", 2660.0, "AWS A5.10; density from memory", magnesium=4.8),
    Filler("ER5356", 2640.0, "AWS A5.10; density from handbooks", magnesium=5.0),
    Filler("ER5554", 2690.0, "AWS A5.10; density and use above 65 °C from memory", magnesium=2.7),
    Filler("ER70S-6", 7850.0, "AWS A5.18; density of steel, from memory"),
    Filler("ER308L", 7900.0, f"AWS A5.9; {_AUSTENITIC}"),
    Filler("ER309L", 7900.0, f"AWS A5.9; {_AUSTENITIC}"),
    Filler("ER316L", 7900.0, f"AWS A5.9; {_AUSTENITIC}"),
)

# Metal without magnesium (1xxx, 3xxx) to 5xxx, which share no rod in their own lists: filler charts of handbooks, from memory.
# Above 65 °C that leaves ER5554, where it is one of the 5xxx metal's own.
PLAIN_TO_MAGNESIUM = ("ER5356", "ER5554")

_BY_NAME = {rod.name.casefold(): rod for rod in FILLERS}


def filler(name: str) -> Filler:
    """The rod of this classification, upper or lower case. Raises NotListedError, with those listed.

    >>> filler("er5356").density
    2640.0
    """
    rod = _BY_NAME.get(name.strip().casefold())
    if rod is None:
        refuse_name("filler", name, (known.name for known in FILLERS))
    return rod


def unfit(rod: Filler, metal: Alloy, *, service: float = 20.0) -> str:
    """Why this rod may not weld this metal, as part of a sentence; empty where no rule here forbids it.

    service: the hottest the seam gets in use [°C].

    >>> unfit(filler("ER4043"), alloy("5083-H111"))
    'ER4043 leaves a brittle seam in 5083-H111, which may have over 2.5 % magnesium'
    """
    if rod.silicon and metal.magnesium_up_to > LEAST_MAGNESIUM_AGAINST_SILICON:
        return f"{rod.name} leaves a brittle seam in {metal.name}, which may have over 2.5 % magnesium"
    if rod.magnesium > MUCH_MAGNESIUM and service > HOTTEST_FOR_MAGNESIUM:
        return f"{rod.name} may crack in service above 65 °C"
    return ""


def filler_for(base: Alloy | str, to: Alloy | str | None = None, *, service: float = 20.0) -> Filler:
    """The rod to weld a metal to itself or to another.

    base, to: the metals or their names; without `to` the metal is welded to itself.
    service: the hottest the seam gets in use [°C].
    Raises NotListedError where no rod listed suits both metals at that heat.

    >>> filler_for("5052-H32").name, filler_for("304", "DC01").name
    ('ER5356', 'ER309L')
    """
    metal = alloy(base) if isinstance(base, str) else base
    other = metal if to is None else alloy(to) if isinstance(to, str) else to
    if {metal.family, other.family} == {"steel", "stainless"}:
        return filler("ER309L")
    reasons = []
    mixed = metal.family == other.family == "aluminium" and min(metal.magnesium, other.magnesium) == 0.0
    common = tuple(name for name in metal.fillers if name in other.fillers)
    rich = max(metal, other, key=lambda one: one.magnesium)
    for name in common or (tuple(name for name in PLAIN_TO_MAGNESIUM if name in rich.fillers) if mixed else ()):
        reason = unfit(filler(name), metal, service=service) or unfit(filler(name), other, service=service)
        if not reason:
            return filler(name)
        reasons.append(reason)
    pair = metal.name if other is metal else f"{metal.name} to {other.name}"
    because = f" ({'; '.join(reasons)})" if reasons else ""
    raise NotListedError(f"no filler is listed for {pair} at {service:g} °C{because}: ask the rod's maker")


def rule_of(rod: Filler, base: Alloy, to: Alloy | None = None) -> str:
    """The rule that must not be broken where this rod welds these metals, in one sentence.

    Source: the filler charts of welding handbooks; that 6xxx cracks without a rod, brushes kept apart and zinc or scale
    taken off are common practice.

    >>> rule_of(filler("ER309L"), alloy("304"), alloy("DC01"))
    'Only ER309L between stainless and mild steel: any other rod here leaves a seam that cracks.'
    """
    metals = [base] if to is None else [base, to]
    families = {metal.family for metal in metals}
    zinc = any("zinc" in metal.note for metal in metals)
    if families == {"steel", "stainless"}:
        only = f"Only {rod.name} between stainless and mild steel: any other rod here leaves a seam that cracks"
        return f"{only}; and no trace of zinc near it, which cracks hot stainless." if zinc else f"{only}."
    if families == {"stainless"}:
        return "Only a brush and tools kept for stainless, and never a rod of mild steel: the seam rusts."
    if families == {"steel"}:
        on_it = "zinc" if zinc else "scale or rust"
        return f"No {on_it} left on the joint, 20 mm either side: the seam comes out full of holes."
    return _rule_of_aluminium(rod, max(metal.magnesium_up_to for metal in metals), metals)


def _rule_of_aluminium(rod: Filler, magnesium: float, metals: list[Alloy]) -> str:
    hot = (
        f"never in service above 65 °C with {rod.name}, which has over 3 % magnesium and may crack there"
        if rod.magnesium > MUCH_MAGNESIUM
        else "above 65 °C in service never a rod with over 3 % magnesium, such as ER5356: it may crack there"
    )
    if magnesium > LEAST_MAGNESIUM_AGAINST_SILICON:
        return f"No silicon rod (ER4043) in metal that may have over 2.5 % magnesium, it leaves a brittle seam; {hot}."
    if rod.silicon and any(metal.name.startswith("6") for metal in metals):
        return "Never without a rod: 6xxx metal melted on its own cracks along the seam."
    if rod.silicon:
        return f"Keep {rod.name} from any metal that may have over 2.5 % magnesium: it leaves a brittle seam there."
    return f"{hot[0].upper()}{hot[1:]}."
