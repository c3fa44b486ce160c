"""What the drawings call the corners, edges and strips of a shell, whatever its family."""

from collections.abc import Sequence
from dataclasses import dataclass

from calc import Plan
from calc.blank import BlankEdge
from calc.records import Point3
from calc.shell import Role, Shell

STRIPS = {"lap": "lap", "upstand": "upstand", "free": "return"}  # what the strips on a rim are, by how it is set in
GIVEN = "given"  # a corner of a flat part, by its number in the outline as given


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


def thing(plan: Plan) -> str:
    """What is made: a tray or a pan."""
    return "pan" if has_walls(plan.shell) else "tray"


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


def sump_floor(shell: Shell) -> tuple[int, ...]:
    """The vertices of the floor of a sump, in loop order; empty where there is none."""
    return next((face.loop for face in shell.faces if face.role == "sump"), ())


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


def vertex_names(plan: Plan) -> tuple[str, ...]:
    """What the shop calls each vertex: "rim 3", "lap 3", "low point", "valley deep end"; of a pan "top 3", "floor 3"; of a
    flat part, which is numbered anew from its base, "given 3".

    Corners at one corner of the rim have its number; those of a sump are numbered round its floor.
    """
    shell, word = plan.shell, strip_word(plan)
    if shell.is_loose:
        return tuple(f"{GIVEN} {place}" for face in shell.faces for place in range(1, len(face.loop) + 1))
    numbers = {vertex: number for number, vertex in enumerate(rim_loop(shell), 1)}
    rim = "top" if has_walls(shell) else "rim"
    names = {vertex: f"{rim} {number}" for vertex, number in numbers.items()}
    roles = {face.name: face.role for face in shell.faces}
    for joint in shell.joints:
        near = next((vertex for vertex in joint.edge if vertex in numbers), None)
        far = next((vertex for vertex in joint.edge if vertex not in numbers), None)
        if near is None or far is None:
            continue
        met = {roles[name] for name in joint.between}
        kind = {"strip": word, "wall": "floor"}.get(met.pop()) if len(met) == 1 else None
        if kind:
            names[far] = f"{kind} {numbers[near]}"
    inner = sump_floor(shell) or [index for index in range(len(shell.vertices)) if index not in names]
    for number, index in enumerate(inner, 1):
        names[index] = f"sump corner {number}" if sump_floor(shell) else _bottom_name(plan, number - 1)
    return tuple(names[index] for index in range(len(shell.vertices)))


def _bottom_name(plan: Plan, number: int) -> str:
    """What a vertex is called that facets fall to, counted from 0 in the order of the shape's spots."""
    name = bottoms(plan)[number].name
    return name[:1].lower() + name[1:]


def edge_words(edge: BlankEdge, names: Sequence[str]) -> str:
    """What an edge of a blank is when it is fitted: welded to another face, the end of a bend, or a free edge by its name; of
    a flat part which side it is of the outline as given."""
    if edge.kind == "bend":
        return "end of a bend"
    if edge.meets:
        return f"weld to {edge.meets}"
    corner, _, number = names[edge.edge[0]].rpartition(" ")
    return f"side {number}" if corner == GIVEN else corner
