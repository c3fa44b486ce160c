"""The job sheet: what a person fills in, read and checked, every default filled in.

`read_sheet` takes the JSON of a sheet (the form and the file give the same) and returns a `JobSheet` or raises `SheetFaults`
with every fault that was found, each under the path of its field.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Literal

from calc.families import Shape, read_shape
from calc.families.metal import Metal
from calc.frozen import read_frozen
from calc.laid import SheetLayout
from calc.reading import Field, SheetFaults
from calc.records import as_json
from calc.shared import Elsewhere, Guest, read_elsewhere, read_guests
from calc.stock import LARGEST_SHEET, Stock, read_stock
from calc.tables.alloys import ALLOYS, Alloy, alloy, least_inside_radius
from calc.tables.bending import METHODS, BendMethod
from calc.tables.gauges import Kind, gauge_thickness
from calc.tables.lookup import NotListedError
from calc.tables.minutes import STANDARD
from calc.units import INCH, Display

FORMAT = "fabjobs-sheet/1"
MOST_COPIES = 500
MOST_BLANKS = 2_000
MOST_RATE = "99999.99"  # of an hour, a kg, a litre, a fitting
RATE_PLACES = {"labour": 2, "filler": 2, "gas": 4, "outlet_fitting": 2}  # decimals


Joins = Literal["weld-all", "fewest-welds"]
JOINS: tuple[Joins, ...] = ("weld-all", "fewest-welds")
FINEST_RULE = 1000  # parts of a mm or an inch
LEAST_K, MOST_K = (
    0.1,
    0.6,
)  # of the thickness, from its inside face: the neutral line lies within these (common practice)
MOST_OFFSET = 500.0  # [mm] of a saw's guide; the widest that a piece may have to be for its clamps
BLADES = (50.0, 500.0)  # [mm] diameters
MOST_TEETH = 400
LEAST_SPEED, MOST_SPEED = 100.0, 30_000.0  # [rev/min] of a saw
USUAL_RADIUS = 1.5  # [mm] stands for the metal's own where no metal could be read
CURRENCY = re.compile(r"[A-Z]{3}")  # ISO 4217
GAUGE = re.compile(r"(\d{1,3})\s*(?:ga|gauge)\.?", re.IGNORECASE | re.ASCII)
RULES = {"mm": 0.5, "in": 25.4 / 32}  # [mm] the step a rule is read to, where the shop says nothing else


def display_of(units: Literal["mm", "in"], rule: float) -> Display:
    """Lengths in these units, read to a rule's step [mm]. Raises ValueError for a step that no rule in them has."""
    step = Fraction(repr(rule)) / (INCH if units == "in" else 1)
    if step.denominator > FINEST_RULE:
        raise ValueError(f"no rule has a step of {float(step)} {units}")
    return Display(units, step)


@dataclass(frozen=True, slots=True)
class Material:
    """The metal: alloy and temper, thickness [mm], whether one face is finished (never turned over) and has a grain."""

    alloy: str
    thickness: float
    finished_face: bool = False
    grain: bool = False

    @property
    def properties(self) -> Alloy:
        """The alloy's row in the tables."""
        return alloy(self.alloy)

    @property
    def usual_radius(self) -> float:
        """The inside radius [mm] of a fold where nothing else is said: one thickness (common practice), more where the
        metal would crack; two thicknesses past the end of the metal's table."""
        try:
            return max(self.thickness, least_inside_radius(self.properties, self.thickness).radius)
        except NotListedError:
            return 2 * self.thickness

    def mass(self, area: float) -> float:
        """The mass [kg] of sheet of this area [mm2]."""
        return area * self.thickness * self.properties.density * 1e-9


@dataclass(frozen=True, slots=True)
class Saw:
    """The saw and its blade: diameter [mm], how many teeth, the saw's no-load speed and the highest that is marked on the
    blade [rev/min]; None where nobody said."""

    diameter: float = 165.0
    teeth: int = 48
    speed: float = 4500.0
    marked_speed: float | None = None


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
    process: Literal["TIG"] = "TIG"
    tack_pitch: float = 40.0
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


@dataclass(frozen=True, slots=True)
class Rates:
    """What work and supplies cost, as decimal texts: labour per hour (by kind of work where it differs), filler per kg,
    shielding gas per litre, a spigot or outlet fitting each."""

    currency: str = "EUR"
    labour: str = "42.00"
    labour_by_kind: Mapping[str, str] = field(default_factory=dict)
    filler: str = "24.00"
    gas: str = "0.02"
    outlet_fitting: str = "12.00"


@dataclass(frozen=True, slots=True)
class JobSheet:
    """A checked job sheet; every length in mm, every default filled in.

    frozen: sheets of an earlier layout that have been cut into; they stay as they lie, and only blanks that are not on
    them are laid out anew. guests: other jobs whose blanks are laid out on this one's sheets. elsewhere: copies that lie on
    another job's sheets, and are not laid out here.
    """

    format: str
    title: str
    customer: str
    machine: str
    quantity: int
    material: Material
    shape: Shape
    making: Making
    stock: tuple[Stock, ...]
    rates: Rates
    frozen: tuple[SheetLayout, ...] = ()
    guests: tuple[Guest, ...] = ()
    elsewhere: tuple[Elsewhere, ...] = ()

    @property
    def together_with(self) -> tuple[str, ...]:
        """The jobs that share sheets with this one."""
        return tuple(dict.fromkeys((*(guest.job for guest in self.guests), *(entry.job for entry in self.elsewhere))))

    def as_json(self) -> dict[str, Any]:
        """The sheet as JSON; reading it again gives this sheet."""
        data: dict[str, Any] = as_json(self)
        return data


def read_sheet(data: object) -> JobSheet:
    """The job sheet in this JSON value. Raises `SheetFaults` with every fault found."""
    top = Field(data)
    keys = (
        "format",
        "title",
        "customer",
        "machine",
        "quantity",
        "material",
        "shape",
        "making",
        "stock",
        "rates",
        "frozen",
        "guests",
        "elsewhere",
    )
    if not top.mapping(keys, required=("shape", "material")) and not isinstance(data, Mapping):
        raise SheetFaults(top.faults)
    top.at("format", FORMAT).choice((FORMAT,))
    words = {key: top.at(key, "").text() for key in ("title", "customer", "machine")}
    quantity = top.at("quantity", 1).whole(1, MOST_COPIES)
    material = _read_material(top.at("material")) if "material" in top.value else None
    usual_radius = USUAL_RADIUS if material is None else material.usual_radius
    metal = Metal(USUAL_RADIUS if material is None else material.thickness, usual_radius)
    shape = read_shape(top.at("shape"), metal) if "shape" in top.value else None
    making = _read_making(top.at("making", {}), usual_radius)
    stock = read_stock(top.at("stock", [{"label": "S1", "length": 2440, "width": 1220}]))
    rates = _read_rates(top.at("rates", {}))
    sizes = {size.label: (size.length, size.width) for size in stock or ()}
    frozen = read_frozen(top.at("frozen", []), sizes)
    guests, elsewhere = read_guests(top.at("guests", [])), read_elsewhere(top.at("elsewhere", []))
    if making and making.cutting != "straight-saw" and (guests or elsewhere):
        top.at("making").at("cutting").wrong("straight-saw where blanks of two jobs lie on one sheet")
    if top.faults or not (quantity and material and shape and making and stock and rates) or frozen is None:
        raise SheetFaults(top.faults)
    if guests is None or elsewhere is None:
        raise SheetFaults(top.faults)
    title, customer, machine = (words[key] or "" for key in ("title", "customer", "machine"))
    return JobSheet(
        FORMAT, title, customer, machine, quantity, material, shape, making, stock, rates, frozen, guests, elsewhere
    )


def _read_material(item: Field) -> Material | None:
    if not item.mapping(("alloy", "thickness", "finished_face", "grain"), required=("alloy", "thickness")):
        return None
    name = _read_alloy(item.at("alloy"))
    thickness = read_thickness(item.at("thickness"), name)
    finished_face = item.at("finished_face", False).flag()
    grain = item.at("grain", False).flag()
    if name is None or thickness is None or finished_face is None or grain is None:
        return None
    return Material(name, thickness, finished_face, grain)


def _read_alloy(item: Field) -> str | None:
    """The name of a metal in the tables, as it was typed: papers print it so."""
    name = item.text()
    if name is not None:
        try:
            alloy(name)
        except NotListedError:
            item.wrong(f"one of {', '.join(ALLOYS)}")
            return None
    return name


def read_thickness(item: Field, metal: str | None) -> float | None:
    """A thickness [mm]: a length, or a sheet gauge ("16 ga"), which means another thickness for each kind of metal."""
    gauge = GAUGE.fullmatch(item.value.strip()) if isinstance(item.value, str) else None
    if gauge is None or metal is None:
        return item.length(0.2, 25.0)
    properties = alloy(metal)
    kind: Kind = "galvanised" if properties.name == "DX51D+Z" else properties.family
    try:
        return item.within(gauge_thickness(kind, int(gauge[1])), 0.2, 25.0, "mm")
    except NotListedError as error:
        item.fault(str(error))
        return None


def _read_making(item: Field, usual_radius: float) -> Making | None:
    usual = as_json(Making(fold_radius=usual_radius))
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
        "process": item.at("process", usual["process"]).choice(("TIG",)),
        "tack_pitch": item.at("tack_pitch", usual["tack_pitch"]).length(5.0, 1000.0),
        "tolerance_class": item.at("tolerance_class", usual["tolerance_class"]).choice(("A", "B", "C", "D")),
        "units": item.at("units", usual["units"]).choice(("mm", "in")),
        "rule": item.at("rule", RULES.get(str(item.value.get("units")), usual["rule"])).length(0.01, 25.4),
        "fold_radius": item.at("fold_radius", usual["fold_radius"]).length(0.0, 200.0),
        "longest_fold": item.at("longest_fold", usual["longest_fold"]).length(1.0, LARGEST_SHEET),
        "largest_blank": item.at("largest_blank", usual["largest_blank"]).length(1.0, LARGEST_SHEET),
        "guide_offset": item.at("guide_offset", usual["guide_offset"]).length(0.0, MOST_OFFSET),
        "least_clamp": item.at("least_clamp", usual["least_clamp"]).length(0.0, MOST_OFFSET),
        "two_person_mass": item.at("two_person_mass", usual["two_person_mass"]).number(1.0, 1000.0, "kg"),
    }
    saw = _read_saw(item.at("saw", usual["saw"]))
    if any(value is None for value in read.values()) or (saw is None and item.value.get("saw") is not None):
        return None
    read["saw"] = saw if "saw" in item.value else Making().saw
    read |= {"bend_method": item.at("bend_method", usual["bend_method"]).choice(tuple(METHODS)), "k_factor": None}
    if item.value.get("k_factor") is not None:
        read["k_factor"] = item.at("k_factor").number(LEAST_K, MOST_K, "of the thickness")
    if read["bend_method"] is None or (read["k_factor"] is None and item.value.get("k_factor") is not None):
        return None
    if read["bend_method"] == "k-factor" and read["k_factor"] is None:
        item.at("k_factor").fault("missing; the shop's own K is wanted where bend_method is k-factor, such as 0.4")
        return None
    try:
        display_of(read["units"], read["rule"])
    except ValueError:
        item.at("rule", usual["rule"]).wrong(f"a step that a rule in {read['units']} has, such as 0.5 mm or 1/32 in")
        return None
    return Making(**read)


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


def _read_rates(item: Field) -> Rates | None:
    usual = as_json(Rates())
    if not item.mapping(tuple(usual)):
        return None
    currency = item.at("currency", usual["currency"]).text(10)
    if currency is not None and not CURRENCY.fullmatch(currency):
        item.at("currency", usual["currency"]).wrong('a code of three capital letters, such as "EUR"')
        currency = None
    plain = {key: item.at(key, usual[key]).money(MOST_RATE, places) for key, places in RATE_PLACES.items()}
    kinds = item.at("labour_by_kind", {})
    if not kinds.mapping(tuple(STANDARD)):
        return None
    by_kind = {kind: kinds.at(kind).money(MOST_RATE) for kind in STANDARD if kind in kinds.value}
    if currency is None or None in plain.values() or None in by_kind.values():
        return None
    texts = {key: value or "0" for key, value in plain.items()}
    return Rates(currency, labour_by_kind={kind: value or "0" for kind, value in by_kind.items()}, **texts)
