"""The rim of a shell: its edges in their turn, and whose they are."""

from calc.shell import Face, Shell

LEVEL = 1e-6  # [mm] heights that differ by less are one


def rim_edges(shell: Shell) -> tuple[tuple[int, int], ...]:
    """The edges of faces, strips aside, that lie in the rim's plane, from its first corner on as they run round.

    >>> rim_edges(Shell(((0, 0, 0), (9, 0, 0), (4, 6, 0), (4, 2, -1)), (Face("A", (1, 2, 3)), Face("B", (0, 1, 3))), ()))
    ((0, 1), (1, 2))
    """
    on_rim = [abs(z) < LEVEL for _, _, z in shell.vertices]
    after = {
        start: end
        for face in shell.faces
        if face.role not in ("strip", "part")
        for start, end in face.edges
        if on_rim[start] and on_rim[end]
    }
    if not after:
        return ()
    corners = [min(after)]
    while (following := after.get(corners[-1])) not in (None, corners[0]):
        corners.append(following)
    return tuple((start, after[start]) for start in corners if start in after)


def rim_face(shell: Shell, edge: tuple[int, int]) -> Face:
    """The face, no strip, that a rim edge is of."""
    return next(face for face in shell.faces if face.role != "strip" and edge in face.edges)
