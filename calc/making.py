"""How a thing is made: the part of a job sheet that holds the shop's ways and limits, read and checked."""

from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Any, Literal

from calc.reading import Field
from calc.records import as_json
from calc.stock import LARGEST_SHEET
from calc.tables.bending import METHODS, BendMethod
from calc.units import INCH, Display

Joins = Literal["weld-all", "fewest-welds"]
JOINS: tuple[Joins, ...] = ("weld-all", "fewest-welds")
Process = Literal["TIG", "MIG"]
PROCESSES: tuple[Process, ...] = ("TIG", "MIG")
COLDEST, HOTTEST = -50.0, 300.0  # [°C] in service
MOST_ERROR = 10.0  # [mm] of marking or cutting
LEAST_TIMES, MOST_TIMES = 0.05, 20.0  # that a shop's own shrinkage may be of the published one
USUAL_PITCH = 40.0  # [mm] of tacks where no metal could be read
FINEST_RULE = 1000  # parts of a mm or an inch
LEAST_K, MOST_K = (
    0.1,
    0.6,
)  # of the thickness, from its inside face: the neutral line lies within these (common practice)
LEAST_SAWN = 0.5  # [mm] kerf that no saw is under
SAWN = f"at least {LEAST_SAWN:g} mm where blanks are sawn: a blade takes 1.5 to 3 mm, common practice"
MOST_OFFSET = 500.0  # [mm] of a saw's guide; the widest that a piece may have to be for its clamps
BLADES = (50.0, 500.0)  # [mm] diameters
MOST_TEETH = 400
LEAST_SPEED, MOST_SPEED = 100.0, 30_000.0  # [rev/min] of a saw
USUAL_RADIUS = 1.5  # [mm] stands for the metal's own where no metal could be read
RULES = {"mm": 0.5, "in": 25.4 / 32}  # [mm] the step a rule is read to, where the shop says nothing else


def display_of(units: Literal["mm", "in"], rule: float) -> Display:
    """Lengths in these units, read to a rule's step [mm]. Raises ValueError for a step that no rule in them has."""
    step = Fraction(repr(rule)) / (INCH if units == "in" else 1)
    if step.denominator > FINEST_RULE:
        raise ValueError(f"no rule has a step of {float(step)} {units}")
    return Display(units, step)


@dataclass(frozen=True, slots=True)
class Saw:
    """The saw and its blade: diameter [mm], how many teeth, the saw's no-load speed and the highest that is marked on the
    blade [rev/min]; None where nobody said."""

    diameter: float = 165.0
    teeth: int = 48
    speed: float = 4500.0
    marked_speed: float | None = None


@dataclass(frozen=True, slots=True)
class OwnShrinkage:
    """What the shop's own trays say of shrinkage: so many times the published estimate across a seam and along it, with how far
    the next tray may be from that (one standard deviation); from how many trays. along: None where they tell nothing of it."""

    across: float
    along: float | None
    across_spread: float
    along_spread: float
    trays: int


@dataclass(frozen=True, slots=True)
class Making:
    """How it is made. Lengths [mm]; process, tolerance class (ISO 13920) and the shop's own limits with their defaults.

    units and rule say how papers and steps show a length: the unit, and the step of the rule that reads it off.
    bend_method: how a bend allowance is worked out, k_factor the shop's own K for it, a share of the thickness.
    fold_radius: inside radius of folds between facets. longest_fold, largest_blank: what the shop's folder takes, along a
    bend line and over the longest side of a folded blank. guide_offset: from the edge of the saw's base that runs along the
    guide to the blade's near side; least_clamp: a piece narrower than this can hardly be clamped; saw: None where nobody
    said what it is.
    """

    cutting: Literal["straight-saw", "contour"] = "straight-saw"
    kerf: float = 2.0
    edge_trim: float = 5.0
    seam_gap: float = 0.5
    joins: Joins = "weld-all"
    effort: Literal["quick", "normal", "long"] = "normal"
    least_offcut: float = 150.0
    process: Process = "TIG"
    tack_pitch: float = USUAL_PITCH
    service_temperature: float = 20.0
    weld_side: Literal["dry", "wet"] = "dry"
    allow_shrinkage: bool = False
    own_shrinkage: OwnShrinkage | None = None
    marking_error: float = 0.5
    cutting_error: float = 0.5
    tolerance_class: Literal["A", "B", "C", "D"] = "B"
    two_person_mass: float = 25.0
    bend_method: BendMethod = "din-6935"
    k_factor: float | None = None
    fold_radius: float = USUAL_RADIUS
    longest_fold: float = 1250.0
    largest_blank: float = 2500.0
    guide_offset: float = 100.0
    least_clamp: float = 60.0
    saw: Saw | None = Saw()
    units: Literal["mm", "in"] = "mm"
    rule: float = RULES["mm"]

    @property
    def display(self) -> Display:
        """How this job shows a length."""
        return display_of(self.units, self.rule)


def read_making(item: Field, usual_radius: float, usual_pitch: float) -> Making | None:
    """The making in a field; None where it is at fault. usual_radius, usual_pitch: of folds and tacks, in this metal [mm]."""
    usual, faults = as_json(Making(fold_radius=usual_radius, tack_pitch=usual_pitch)), len(item.faults)
    if not item.mapping(tuple(usual)):
        return None
    read: dict[str, Any] = {
        "cutting": item.at("cutting", usual["cutting"]).choice(("straight-saw", "contour")),
        "kerf": item.at("kerf", usual["kerf"]).length(0.0, 10.0),
        "edge_trim": item.at("edge_trim", usual["edge_trim"]).length(0.0, 200.0),
        "seam_gap": item.at("seam_gap", usual["seam_gap"]).length(0.0, 5.0),
        "joins": item.at("joins", usual["joins"]).choice(JOINS),
        "effort": item.at("effort", usual["effort"]).choice(("quick", "normal", "long")),
        "least_offcut": item.at("least_offcut", usual["least_offcut"]).length(0.0, LARGEST_SHEET),
        "process": item.at("process", usual["process"]).choice(PROCESSES),
        "tack_pitch": item.at("tack_pitch", usual["tack_pitch"]).length(5.0, 1000.0),
        "tolerance_class": item.at("tolerance_class", usual["tolerance_class"]).choice(("A", "B", "C", "D")),
        "units": item.at("units", usual["units"]).choice(("mm", "in")),
        "rule": item.at("rule", RULES.get(str(item.value.get("units")), usual["rule"])).length(0.01, 25.4),
        "fold_radius": item.at("fold_radius", usual["fold_radius"]).length(0.0, 200.0),
        "longest_fold": item.at("longest_fold", usual["longest_fold"]).length(1.0, LARGEST_SHEET),
        "largest_blank": item.at("largest_blank", usual["largest_blank"]).length(1.0, LARGEST_SHEET),
        "guide_offset": item.at("guide_offset", usual["guide_offset"]).length(0.0, MOST_OFFSET),
        "least_clamp": item.at("least_clamp", usual["least_clamp"]).length(0.0, MOST_OFFSET),
        "service_temperature": item.at("service_temperature", usual["service_temperature"]).number(
            COLDEST, HOTTEST, "°C"
        ),
        "weld_side": item.at("weld_side", usual["weld_side"]).choice(("dry", "wet")),
        "allow_shrinkage": item.at("allow_shrinkage", usual["allow_shrinkage"]).flag(),
        "marking_error": item.at("marking_error", usual["marking_error"]).length(0.0, MOST_ERROR),
        "cutting_error": item.at("cutting_error", usual["cutting_error"]).length(0.0, MOST_ERROR),
        "two_person_mass": item.at("two_person_mass", usual["two_person_mass"]).number(1.0, 1000.0, "kg"),
    }
    if read["cutting"] == "straight-saw" and read["kerf"] is not None and read["kerf"] < LEAST_SAWN:
        item.at("kerf").wrong(SAWN)
    read["bend_method"] = item.at("bend_method", usual["bend_method"]).choice(tuple(METHODS))
    read["saw"] = _read_saw(item.at("saw", usual["saw"]))
    read["own_shrinkage"] = _read_own_shrinkage(item.at("own_shrinkage", None))
    k_factor = item.at("k_factor", None)
    read["k_factor"] = None if k_factor.value is None else k_factor.number(LEAST_K, MOST_K, "of the thickness")
    if read["bend_method"] == "k-factor" and k_factor.value is None:
        k_factor.fault("missing; the shop's own K is wanted where bend_method is k-factor, such as 0.4")
    if len(item.faults) > faults:
        return None
    try:
        display_of(read["units"], read["rule"])
    except ValueError:
        item.at("rule", usual["rule"]).wrong(f"a step that a rule in {read['units']} has, such as 0.5 mm or 1/32 in")
        return None
    return Making(**read)


def _read_own_shrinkage(item: Field) -> OwnShrinkage | None:
    """What the shop's own trays say; None for nothing, or where it is at fault."""
    keys = tuple(field.name for field in fields(OwnShrinkage))
    if item.value is None or not item.mapping(keys, required=keys):
        return None
    faults = len(item.faults)
    across, along = (item.at(key) for key in ("across", "along"))
    times = across.number(LEAST_TIMES, MOST_TIMES, "times the estimate")
    along_times = None if along.value is None else along.number(LEAST_TIMES, MOST_TIMES, "times the estimate")
    spread, along_spread = (
        item.at(key).number(0.0, MOST_TIMES, "times the estimate") for key in ("across_spread", "along_spread")
    )
    trays = item.at("trays").whole(1, 1_000_000)
    if len(item.faults) > faults or times is None or trays is None:
        return None
    return OwnShrinkage(times, along_times, spread or 0.0, along_spread or 0.0, trays)


def _read_saw(item: Field) -> Saw | None:
    """The saw; None for none, or where it is at fault."""
    usual = as_json(Saw())
    if item.value is None or not item.mapping(tuple(usual)):
        return None
    diameter = item.at("diameter", usual["diameter"]).length(*BLADES)
    teeth = item.at("teeth", usual["teeth"]).whole(2, MOST_TEETH)
    speed = item.at("speed", usual["speed"]).number(LEAST_SPEED, MOST_SPEED, "rev/min")
    marked = item.at("marked_speed", None)
    marked_speed = None if marked.value is None else marked.number(LEAST_SPEED, MOST_SPEED, "rev/min")
    if diameter is None or teeth is None or speed is None or (marked_speed is None and marked.value is not None):
        return None
    return Saw(diameter, teeth, speed, marked_speed)
