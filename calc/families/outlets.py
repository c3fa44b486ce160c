"""The outlet of a tray: its bore, and whether there is room for it."""

from dataclasses import dataclass

from calc.families.rims import LONGEST, SHORTEST
from calc.reading import Field, as_typed


@dataclass(frozen=True, slots=True)
class Outlet:
    """The drain: a round hole of this bore [mm] where the tray is lowest."""

    bore: float


def read_outlet(field: Field) -> Outlet | None:
    """The outlet in a field; None where there is none or it is at fault."""
    if field.value is None or not field.mapping(("bore",), required=("bore",)):
        return None
    bore = field.at("bore").length(SHORTEST, LONGEST)
    return None if bore is None else Outlet(bore)


def has_room(field: Field, outlet: Outlet, room: float, where: str) -> bool:
    """Whether an outlet's bore is less than the room [mm] there is for it; the fault says where that is."""
    if outlet.bore < room:
        return True
    bore = field.at("bore")
    bore.fault(f"must be less than {room:.1f} mm, the room {where} (got {as_typed(bore.value)})")
    return False
