"""What a tray has to bear in use: what the pump sends into it, how true it is set up, what lies and leans on it."""

import math
import re
from dataclasses import dataclass

from calc.reading import Field
from calc.records import DIGITS, as_json
from calc.units import LONGEST_TEXT, Unit

MOST_FLOW = 10_000.0  # [l/min]
MOST_FREEBOARD = 1_000.0  # [mm]
MOST_TILT = 500.0  # [mm] over the length of a tray
DENSITIES = (0.5, 2.0)  # [kg/l] of a coolant
MOST_CHIPS = 2_000.0  # [kg/m2]
MOST_LOAD = 1_000.0  # [kg] at one place
LOAD_WIDTHS = (5.0, 500.0)  # [mm]
SAGS = (20.0, 2_000.0)  # a span over its sag

# A flow as it may be typed, litres a minute in each; the US gallon is 231 cubic inches (NIST SP 811).
FLOW_UNITS = {"l/min": 1.0, "l/s": 60.0, "l/h": 1 / 60, "m3/h": 1000 / 60, "US gal/min": 3.785411784}
FLOWS: dict[Unit, str] = {"mm": "l/min", "in": "US gal/min"}  # what a shop of this unit says and means
_FLOW = re.compile(r"([0-9]+(?:\.[0-9]+)?)\s*([A-Za-z].*)", re.ASCII)
_SPELLINGS = {name.replace(" ", "").lower(): times for name, times in FLOW_UNITS.items()} | {
    "lpm": 1.0,
    "m³/h": 1000 / 60,
    "gpm": FLOW_UNITS["US gal/min"],
    "gal/min": FLOW_UNITS["US gal/min"],
}


@dataclass(frozen=True, slots=True)
class Duty:
    """What a tray has to bear.

    pump_flow [l/min]: what the pump delivers at the most, None where nobody said. strainer: whether a strainer or grid lies
    over the outlet. freeboard [mm]: what is to stay dry below the lowest edge while the pump runs. out_of_level [mm]: by how
    much one side of the tray may come lower than the other when it is set up. coolant_density [kg/l]: 1.0 is water with an
    emulsion; neat oil is lighter. chips [kg/m2]: wet chips left lying, by area seen from above. point_load [kg], on a round
    patch load_width [mm] across: a hand leaned on, a part set down. sag: the sag that is borne is the short span over this.
    """

    pump_flow: float | None = None
    strainer: bool = True
    freeboard: float = 10.0
    out_of_level: float = 5.0
    coolant_density: float = 1.0
    chips: float = 20.0
    point_load: float = 10.0
    load_width: float = 50.0
    sag: float = 60.0


USUAL_DUTY = Duty()  # of a sheet that says nothing of it: common practice


def read_duty(item: Field) -> Duty | None:
    """The duty in a field; None where it is at fault."""
    usual, faults = as_json(USUAL_DUTY), len(item.faults)
    if not item.mapping(tuple(usual)):
        return None

    def at(key: str) -> Field:
        return item.at(key, usual[key])

    flow = at("pump_flow")
    pump_flow = None if flow.value is None else read_flow(flow)
    strainer = at("strainer").flag()
    freeboard = at("freeboard").length(0.0, MOST_FREEBOARD)
    out_of_level = at("out_of_level").length(0.0, MOST_TILT)
    density = at("coolant_density").number(*DENSITIES, "kg/l")
    chips = at("chips").number(0.0, MOST_CHIPS, "kg/m2")
    point_load = at("point_load").number(0.0, MOST_LOAD, "kg")
    load_width = at("load_width").length(*LOAD_WIDTHS)
    sag = at("sag").number(*SAGS)
    if len(item.faults) > faults or strainer is None or freeboard is None or out_of_level is None or density is None:
        return None
    if chips is None or point_load is None or load_width is None or sag is None:
        return None
    return Duty(pump_flow, strainer, freeboard, out_of_level, density, chips, point_load, load_width, sag)


def read_flow(item: Field) -> float | None:
    """A flow [l/min]: a number in l/min, or text with its unit.

    >>> read_flow(Field("2 US gal/min")), read_flow(Field(30))
    (7.5708236, 30.0)
    """
    if not isinstance(item.value, str):
        return item.number(0.01, MOST_FLOW, "l/min")
    found = _FLOW.fullmatch(item.value.strip()) if len(item.value) <= LONGEST_TEXT else None
    times = _SPELLINGS.get(found[2].replace(" ", "").lower()) if found else None
    if found is None or times is None or not math.isfinite(float(found[1])):
        item.wrong(f'a number of l/min, or a flow with its unit ({", ".join(FLOW_UNITS)}), such as "30 l/min"')
        return None
    return item.within(round(float(found[1]) * times, DIGITS), 0.01, MOST_FLOW, "l/min")
