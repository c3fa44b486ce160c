"""What can hurt people at each stage of the work, in a line each, for the papers to print where it matters."""

from calc import Plan
from calc.advice.welding import root_face, wants_backing

ALWAYS = "Estimates and layouts to be checked by a competent person; local codes and licensed trades come first."

CUTTING = (
    "Eye, face and hearing protection: hot flying chips.",
    "Carbide blade rated for the metal, never above its marked speed.",
    "Clamp both sides of every cut. Edges and tips are sharp.",
)

_WELDING = (
    "Arc light, fume and ozone: mask, screens, extraction.",
    "No chlorinated degreaser anywhere near an arc: its vapour turns to poison gas.",
    "Gas cylinders secured.",
)
_METALS = {
    "aluminium": "Aluminium dust and sparks don't mix.",
    "stainless": "Stainless fume harms the lungs: extraction at the arc.",
    "steel": "Galvanised metal gives off harmful fume: strip the zinc, and extract.",
}

INSTALLING = (
    "Isolate and lock off the machine before cutting or welding its bench.",
    "Clear out coolant residue and keep a fire watch when welding into the bench.",
)


def welding(plan: Plan) -> tuple[str, ...]:
    """The cautions of welding this metal."""
    metal = _METALS.get(plan.sheet.material.properties.family)
    return (*_WELDING, *([metal] if metal else []), *backing(plan))


def backing(plan: Plan) -> tuple[str, ...]:
    """The caution of a root that must be kept from the air; none where that does no harm."""
    if not wants_backing(plan.sheet):
        return ()
    root = root_face(plan.sheet)
    return (
        f"Back every root, the {root} face, with argon: bare it burns and rusts. Argon drives out the air one breathes.",
    )


def installing(plan: Plan) -> tuple[str, ...]:
    """The cautions of fitting the tray to its machine."""
    each, limit = plan.takeoff.net_mass / plan.sheet.quantity, plan.sheet.making.two_person_mass
    lift = (f"{each:.0f} kg: two people or a hoist.",) if each > limit else ()
    return (*INSTALLING, *lift)
