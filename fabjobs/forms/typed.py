"""A stored job sheet as a person would type it into the form."""

from collections.abc import Mapping
from typing import Any

from calc.sheet import Material
from calc.units import Display
from fabjobs.forms.duty import duty_typed
from fabjobs.forms.families import FAMILIES
from fabjobs.forms.lengths import exactly
from fabjobs.forms.welding import welding_typed
from fabjobs.planning import in_a_request


def as_typed(sheet: Mapping[str, Any], display: Display) -> dict[str, str]:
    """Field by field what would be typed for this sheet (its JSON) in a shop that reads lengths so.

    >>> from calc import plan
    >>> rim = [[0, 0], [600, 0], [640, 380]]
    >>> tray = {"family": "fall-tray", "rim": rim, "low_point": [410, 150], "depth": 40.5}
    >>> sheet = plan({"shape": tray, "material": {"alloy": "5052-H32", "thickness": 1.5}}).sheet.as_json()
    >>> typed = as_typed(sheet, Display("in"))
    >>> typed["corner_1_x"], typed["sheet_length"], typed["depth"]
    ('600 mm', '2440 mm', '40.5 mm')
    """
    shape, material, making, stock = sheet["shape"], sheet["material"], sheet["making"], sheet["stock"][0]
    family = FAMILIES[shape["family"]]
    lengths = {
        **family.lengths(shape, Material(material["alloy"], material["thickness"]).usual_radius),
        "thickness": material["thickness"],
        **{name: making[name] for name in ("kerf", "edge_trim", "seam_gap")},
        "sheet_length": stock["length"],
        "sheet_width": stock["width"],
    }
    typed = {name: exactly(mm, display) for name, mm in lengths.items() if mm is not None}
    typed |= {name: sheet[name] for name in ("title", "customer", "machine")}
    typed |= {name: "on" for name in ("finished_face", "grain") if material[name]}
    typed |= {"quantity": str(sheet["quantity"]), "alloy": material["alloy"], "effort": in_a_request(making["effort"])}
    typed |= {"family": family.name, "joins": making["joins"], **family.choices(shape)}
    typed |= welding_typed(sheet, display) if family.is_welded else {}
    typed |= duty_typed(sheet, display) if family.holds else {}
    return typed | {"price": stock["price"], "labour": sheet["rates"]["labour"]}
