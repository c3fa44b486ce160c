"""The shape families: one module each, from what is measured to a `Shell`.

A family is a frozen dataclass with `family` (its name in the sheet), `read` (from a sheet's field, noting faults), `shell`,
and what words and drawings ask of it: `corners`, `outlet`, `outlet_at`, `tape_errors`, `taped`, `seat` (how it is set in),
`flange` (which length makes a face wider), `face_side` (what the side it is marked out from is called), `sizes` (the lengths
that it is measured by, named), `measured_corners` (none where they follow from the sizes), `spots` (points beside them,
named), `depths`, `lowest` and `lowest_words`, `set_out_words`, `drain_meets`, `most_bore` and `free_place` (what the outlet
must keep clear of, and the room for it). It is
listed in `FAMILIES`, and nothing after the shell knows which one it was.
"""

from collections.abc import Mapping

from calc.families.fall_tray import FallTray
from calc.families.flat_parts import FlatParts
from calc.families.metal import Metal
from calc.families.pan import Pan
from calc.families.valley_tray import ValleyTray
from calc.reading import Field

Shape = FallTray | ValleyTray | Pan | FlatParts
FAMILIES: dict[str, type[Shape]] = {
    "fall-tray": FallTray,
    "valley-tray": ValleyTray,
    "pan": Pan,
    "flat-parts": FlatParts,
}


def read_shape(field: Field, metal: Metal) -> Shape | None:
    """The shape of a sheet, by its family, made of this metal; None where it is at fault."""
    if not isinstance(field.value, Mapping):
        field.wrong('an object with "family" and its measurements')
        return None
    if "family" not in field.value:
        field.at("family").fault(f"missing; one of {', '.join(FAMILIES)}")
        return None
    family = field.at("family").choice(tuple(FAMILIES))
    return FAMILIES[family].read(field, metal) if family else None
