"""What a sheet says of the making, in words: its keys, what it says by a key, and which of it are lengths."""

import re
from decimal import Decimal

from calc.tables.bending import METHODS

FIGURE = re.compile(r"\d+(\.\d+)?")  # one that is no fraction of an inch

# What the sheet says of the making, in the words of the form; what is not here is named by its key.
WORDS = {
    "quantity": "How many",
    "material.alloy": "Alloy",
    "material.thickness": "Thickness, mm",
    "material.finished_face": "One face is finished",
    "material.grain": "The sheet has a grain",
    "making.kerf": "Saw kerf",
    "making.edge_trim": "Edge trim",
    "making.seam_gap": "Seam gap",
    "making.joins": "Facets joined",
    "making.fold_radius": "Fold radius between facets",
    "making.bend_method": "Bends worked out by",
    "making.k_factor": "The shop's own K",
    "making.longest_fold": "Longest fold",
    "making.largest_blank": "Largest folded blank",
    "making.guide_offset": "Saw's guide offset",
    "making.least_clamp": "Least clamping width",
    "making.saw": "Saw",
    "making.saw.diameter": "Saw blade",
    "making.saw.teeth": "Teeth of the blade",
    "making.saw.speed": "Saw's speed, rev/min",
    "making.saw.marked_speed": "Blade marked to, rev/min",
    "making.process": "Welded by",
    "making.weld_side": "Seams welded from",
    "making.service_temperature": "Hottest in service, °C",
    "making.tack_pitch": "Tacks apart",
    "making.allow_shrinkage": "Shrinkage put on the blanks",
    "making.own_shrinkage.across": "The shop's own shrinkage across, times the published",
    "making.own_shrinkage.along": "The shop's own shrinkage along, times the published",
    "making.own_shrinkage.trays": "The shop's own shrinkage, from how many trays",
    "making.marking_error": "Marking error, either way",
    "making.cutting_error": "Cutting error, either way",
    "bench.alloy": "Metal of the bench",
    "bench.thickness": "Thickness of the bench, mm",
    "duty.pump_flow": "Pump delivers",
    "duty.strainer": "Strainer over the outlet",
    "duty.freeboard": "To stay dry below the rim",
    "duty.out_of_level": "Out of level when set up",
    "duty.coolant_density": "Coolant, kg a litre",
    "duty.chips": "Chips left lying, kg/m²",
    "duty.point_load": "Load at one place, kg",
    "duty.load_width": "That load's width across",
    "duty.sag": "Sag borne: short span over",
    "rates.labour": "Labour, an hour",
    "rates.filler": "Filler, a kg",
    "rates.gas": "Gas, a litre",
    "rates.outlet_fitting": "Outlet fitting, each",
    "rates.currency": "Currency",
}
# What it says by a key, in words.
TOLD = {
    "weld-all": "every seam welded",
    "fewest-welds": "folded where they can be",
    "dry": "the dry side",
    "wet": "the wet side",
} | {str(method): name for method, name in METHODS.items()}
FLOW = "duty.pump_flow"
LENGTHS = {f"duty.{key}" for key in ("freeboard", "out_of_level", "load_width")} | {
    f"making.{key}"
    for key in (
        *("kerf", "edge_trim", "seam_gap", "least_offcut", "tack_pitch", "rule"),
        *("fold_radius", "longest_fold", "largest_blank", "guide_offset", "least_clamp", "saw.diameter"),
        *("marking_error", "cutting_error"),
    )
}


def difference_shown(was: str, now: str) -> str:
    """The difference of two figures as they are shown, so that it proves by them; empty of what is no figure, or not in one
    unit.

    >>> difference_shown("11.9 m", "11.6 m"), difference_shown("1.5", "2"), difference_shown("", "2 mm")
    ('−0.3 m', '+0.5', '')
    """
    (before, unit), (after, same) = (text.partition(" ")[::2] for text in (was, now))
    if unit != same or not (FIGURE.fullmatch(before) and FIGURE.fullmatch(after)):
        return ""
    more = Decimal(after) - Decimal(before)
    return f"{'−' if more < 0 else '+'}{abs(more)} {unit}".rstrip()
