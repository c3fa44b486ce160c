"""The sizes that a shape has beside its rim's corners, by what the shop calls them, whatever its family."""

from dataclasses import dataclass

from calc import Plan
from calc.records import Point3
from calc.shell import Role, Shell

STRIPS = {"lap": "lap", "upstand": "upstand", "free": "return"}  # what the strips on a rim are, by how it is set in


def rim_loop(shell: Shell) -> tuple[int, ...]:
    """The vertices round the rim, anticlockwise from above from corner 1: where the faces end that are no strips."""
    body = [face for face in shell.faces if face.role != "strip"]
    edges = {edge for face in body for edge in face.edges}
    following = dict(edge for edge in edges if edge[::-1] not in edges)
    loop = [min(following)]
    while following[loop[-1]] != loop[0]:
        loop.append(following[loop[-1]])
    return tuple(loop)


def has_walls(shell: Shell) -> bool:
    """Whether it is a floor with walls on it, not facets that fall to a point."""
    return any(face.role == "wall" for face in shell.faces)


@dataclass(frozen=True, slots=True)
class Bottom:
    """A point that facets fall to: what the shop calls it, how deep it lies below the rim, and where, z up [mm]."""

    name: str
    depth: float
    at: Point3


def bottoms(plan: Plan) -> tuple[Bottom, ...]:
    """What is set out and has its depth measured: the low point, the middle of a sump, both ends of a valley."""
    shape, spots = plan.sheet.shape, plan.sheet.shape.spots
    names = list(spots)
    if len(names) == 1:
        words = shape.lowest_words.removeprefix("the ")
        names = [words[:1].upper() + words[1:]]
    elif len(set(shape.depths)) > 1:
        names = [f"Valley {'deep' if depth == max(shape.depths) else 'shallow'} end" for depth in shape.depths]
    return tuple(
        Bottom(name, depth, (*spot, -depth))
        for name, depth, spot in zip(names, shape.depths, spots.values(), strict=True)
    )


def strip_word(plan: Plan) -> str | None:
    """What the strips on the rim are: lap, upstand or return; None where it has none."""
    has_strips = any(face.role == "strip" for face in plan.shell.faces)
    return STRIPS.get(plan.sheet.shape.seat) if has_strips else None


def strip_reach(plan: Plan) -> float:
    """How wide the lap or the return is, or how high the upstand [mm]; 0 where there is none."""
    return _flange(plan, "strip") if strip_word(plan) else 0.0


def _flange(plan: Plan, role: Role) -> float:
    flange = plan.sheet.shape.flange(role)
    return flange[1] if flange else 0.0


def wall_heights(plan: Plan) -> tuple[float, float]:
    """How high a pan's walls are outside where x = 0, and at its far end [mm]."""
    near, corners = _flange(plan, "wall"), plan.sheet.shape.corners
    floor = [plan.shell.vertices[index] for face in plan.shell.faces if face.role == "floor" for index in face.loop]
    (x, _, high), (far_x, _, low) = min(floor), max(floor)
    return near, near + round((high - low) / (far_x - x) * (max(corners)[0] - min(corners)[0]), 6)
