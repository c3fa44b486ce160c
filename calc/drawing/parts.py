"""What the drawings call the corners, edges and strips of a shell, whatever its family."""

from collections.abc import Sequence

from calc import Plan
from calc.blank import BlankEdge
from calc.fitup.sizes import Bottom, bottoms, has_walls, rim_loop, strip_reach, strip_word, wall_heights
from calc.shell import Shell

__all__ = [
    "Bottom", "bottoms", "edge_words", "has_walls", "rim_loop", "strip_reach", "strip_word", "sump_floor", "thing",
    "vertex_names", "wall_heights",
]  # fmt: skip

GIVEN = "given"  # a corner of a flat part, by its number in the outline as given


def thing(plan: Plan) -> str:
    """What is made: a tray or a pan."""
    return "pan" if has_walls(plan.shell) else "tray"


def sump_floor(shell: Shell) -> tuple[int, ...]:
    """The vertices of the floor of a sump, in loop order; empty where there is none."""
    return next((face.loop for face in shell.faces if face.role == "sump"), ())


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
