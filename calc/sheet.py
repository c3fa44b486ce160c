"""The job sheet: what a person fills in, read and checked, every default filled in.

`read_sheet` takes the JSON of a sheet (the form and the file give the same) and returns a `JobSheet` or raises `SheetFaults`
with every fault that was found, each under the path of its field.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from calc.duty import USUAL_DUTY, Duty, read_duty
from calc.families import Shape, read_shape
from calc.families.metal import Metal
from calc.frozen import read_frozen
from calc.laid import SheetLayout
from calc.making import USUAL_RADIUS, Making, read_making
from calc.reading import Field, SheetFaults
from calc.records import as_json
from calc.shared import Elsewhere, Guest, read_elsewhere, read_guests
from calc.stock import Stock, read_stock
from calc.tables.alloys import ALLOYS, Alloy, alloy, least_inside_radius
from calc.tables.gauges import Kind, gauge_thickness
from calc.tables.lookup import NotListedError
from calc.tables.minutes import STANDARD
from calc.tables.tacks import usual_tack_pitch

FORMAT = "fabjobs-sheet/1"
MOST_COPIES = 500
MOST_BLANKS = 2_000
MOST_RATE = "99999.99"  # of an hour, a kg, a litre, a fitting
RATE_PLACES = {"labour": 2, "filler": 2, "gas": 4, "outlet_fitting": 2}  # decimals


CURRENCY = re.compile(r"[A-Z]{3}")  # ISO 4217
GAUGE = re.compile(r"(\d{1,3})\s*(?:ga|gauge)\.?", re.IGNORECASE | re.ASCII)


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
class Bench:
    """What the tray is set into: its metal and thickness [mm]; None where nobody said."""

    alloy: str | None = None
    thickness: float | None = None


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
    bench: Bench = Bench()
    duty: Duty = USUAL_DUTY

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
        "bench",
        "duty",
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
    making = read_making(top.at("making", {}), usual_radius, usual_tack_pitch(metal.thickness))
    bench, duty = _read_bench(top.at("bench", {})), read_duty(top.at("duty", {}))
    stock = read_stock(top.at("stock", [{"label": "S1", "length": 2440, "width": 1220}]))
    rates = _read_rates(top.at("rates", {}))
    sizes = {size.label: (size.length, size.width) for size in stock or ()}
    frozen = read_frozen(top.at("frozen", []), sizes)
    guests, elsewhere = read_guests(top.at("guests", [])), read_elsewhere(top.at("elsewhere", []))
    if making and making.cutting != "straight-saw" and (guests or elsewhere):
        top.at("making").at("cutting").wrong("straight-saw where blanks of two jobs lie on one sheet")
    if top.faults or not (quantity and material and shape and making and stock and rates) or frozen is None:
        raise SheetFaults(top.faults)
    if guests is None or elsewhere is None or bench is None or duty is None:
        raise SheetFaults(top.faults)
    title, customer, machine = (words[key] or "" for key in ("title", "customer", "machine"))
    return JobSheet(
        FORMAT,
        title,
        customer,
        machine,
        quantity,
        material,
        shape,
        making,
        stock,
        rates,
        frozen,
        guests,
        elsewhere,
        bench,
        duty,
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


def _read_bench(item: Field) -> Bench | None:
    """What the tray is set into; both of it may be left open."""
    if not item.mapping(tuple(as_json(Bench()))):
        return None
    name, thickness = item.at("alloy", None), item.at("thickness", None)
    alloy_read = None if name.value is None else _read_alloy(name)
    thickness_read = None if thickness.value is None else read_thickness(thickness, alloy_read)
    if (alloy_read is None and name.value is not None) or (thickness_read is None and thickness.value is not None):
        return None
    return Bench(alloy_read, thickness_read)


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
