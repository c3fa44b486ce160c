"""What the shell says about draining: the fall of every face and seam, the litres it holds, the depth a wanted fall needs."""

import math

from calc.drainage.records import Drainage, FaceFall, SeamFall
from calc.families.rims import LONGEST
from calc.shell import LEVEL, Joint, Shell, normal, volume_below


def drain(shell: Shell) -> Drainage | None:
    """How this shell drains; None for loose parts, on which nothing lies.

    Upright faces shed everything, nothing runs on the strips of a rim: they and their bends take no part in it. Nor do the
    floor of a sump and its edges, which are level on purpose: the outlet is there.
    """
    if shell.is_loose:
        return None
    wetted = [face for face in shell.faces if face.role not in ("strip", "sump")]
    names = {face.name for face in wetted}
    falls = tuple(FaceFall(face.name, fall) for face in wetted if (fall := face_fall(shell, face.name)) is not None)
    valleys = [joint for joint in shell.joints if joint.is_valley and names.issuperset(joint.between)]
    seams = tuple(SeamFall(joint.between, fall) for joint in valleys if (fall := seam_fall(shell, joint)) is not None)
    words = names_of(shell)
    found = [(fall.fall, words[fall.face,]) for fall in falls] + [(seam.fall, words[seam.between]) for seam in seams]
    least, where = min(found, key=lambda pair: pair[0])
    return Drainage(litres(shell), falls, seams, least, where)


def names_of(shell: Shell) -> dict[tuple[str, ...], str]:
    """What falls are called: a face by its role and name ("facet A"), a joint by how it is made ("seam A-B", "fold A-B")."""
    names: dict[tuple[str, ...], str] = {(face.name,): f"{face.role} {face.name}" for face in shell.faces}
    for joint in shell.joints:
        names[joint.between] = f"{'fold' if joint.kind == 'fold' else 'seam'} {joint.name}"
    return names


def face_fall(shell: Shell, name: str) -> float | None:
    """The steepest slope on a face: rise over run, 0 for a level one, None for an upright one."""
    x, y, z = (float(part) for part in normal(shell.corners(shell.face(name))))
    return None if abs(z) < LEVEL else math.hypot(x, y) / abs(z)


def seam_fall(shell: Shell, joint: Joint) -> float | None:
    """The slope along a joint: drop over plan length, None for an upright one."""
    start, end = (shell.vertices[index] for index in joint.edge)
    run = math.dist(start[:2], end[:2])
    return None if run < LEVEL * joint.length else abs(end[2] - start[2]) / run


def litres(shell: Shell) -> float:
    """What the shell holds [litres], filled to its lowest free edge."""
    return volume_below(shell, shell.brim) * 1e-6


def times_deeper(shell: Shell, wanted: float) -> float:
    """How many times as deep a shell must be for a wanted least fall (0.02 = 1 in 50), its plan as it is.

    Every fall is a drop over a length in plan, so all of them grow in proportion when every depth does: both ends of a
    valley together, a sump with its tray. Raises ValueError where the wanted fall is none, where a level floor or valley
    keeps the least fall at 0 whatever the depth, where nothing is to drain, and where no shape is so deep.
    """
    if not (math.isfinite(wanted) and wanted > 0):
        raise ValueError(f"the wanted fall must be more than 0, such as 0.02 for 1 in 50 (got {wanted:g})")
    found = drain(shell)
    if found is None:
        raise ValueError("flat parts hold nothing that could drain")
    if found.least_fall <= LEVEL:
        raise ValueError(f"a level floor or valley falls nowhere, whatever the depth: {found.least_fall_at} is level")
    times = wanted / found.least_fall
    if shell.depth * times > LONGEST:
        raise ValueError(
            f"a fall of {wanted:g} at {found.least_fall_at} would need a depth of {shell.depth * times:.0f} mm, and no "
            f"shape is deeper than {LONGEST:g} mm"
        )
    return times


def depth_for_fall(shell: Shell, wanted: float) -> float:
    """The greatest depth below the rim [mm] that gives a wanted least fall (0.02 = 1 in 50) with the same plan.

    Where a shape has several depths (the two ends of a valley), all of them are made so many times deeper: see
    `times_deeper`, which also tells what is raised.
    """
    return shell.depth * times_deeper(shell, wanted)
