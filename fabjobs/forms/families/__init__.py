"""The shape families as the form asks for them, in the order of the choice. A new one is a module and a line here."""

from fabjobs.forms.families.fall_tray import FallTray
from fabjobs.forms.families.family import Family, unless_usual
from fabjobs.forms.families.flat_parts import FlatParts
from fabjobs.forms.families.pan import Pan
from fabjobs.forms.families.valley_tray import ValleyTray

FAMILIES: dict[str, type[Family]] = {family.name: family for family in (FallTray, ValleyTray, Pan, FlatParts)}
USUAL = FallTray.name

__all__ = ["FAMILIES", "USUAL", "FallTray", "Family", "FlatParts", "Pan", "ValleyTray", "unless_usual"]
