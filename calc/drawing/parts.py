"""What the drawings call the corners, edges and strips of a shell, whatever its family."""

from collections.abc import Sequence

from calc import Plan
from calc.blank import BlankEdge
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


def thing(plan: Plan) -> str:
    """What is made: a tray or a pan."""
    return "pan" if has_walls(plan.shell) else "tray"


def low_point(shell: Shell) -> int | None:
    """The vertex at which the facets meet; None where there are walls."""
    return None if has_walls(shell) else min(range(len(shell.vertices)), key=lambda index: shell.vertices[index][2])


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
    """What the shop calls each vertex: "rim 3", "low point", "lap 3"; of a pan "top 3", "floor 3", "return 3".

    Corners at one corner of the rim have its number.
    """
    shell, word = plan.shell, strip_word(plan)
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
    return tuple(names.get(index, "low point") for index in range(len(shell.vertices)))


def edge_words(edge: BlankEdge, names: Sequence[str]) -> str:
    """What an edge of a blank is when it is fitted: welded to another face, the end of a bend, or a free edge by its name."""
    if edge.kind == "bend":
        return "end of a bend"
    return f"weld to {edge.meets}" if edge.meets else names[edge.edge[0]].rpartition(" ")[0]
