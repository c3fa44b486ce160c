"""The opening in the bench: what to cut for a tray as it was made, and where it lies from the bench's own edge and end."""

from calc.aperture.corners import Corner, Relief
from calc.aperture.opening import Aperture, Cutting, open_up
from calc.aperture.setting_out import Place, PlaceFault, SetOut, place_cautions, set_out

__all__ = [
    "Aperture",
    "Corner",
    "Cutting",
    "Place",
    "PlaceFault",
    "Relief",
    "SetOut",
    "open_up",
    "place_cautions",
    "set_out",
]
