"""What the shell says about draining: the fall of every face and seam, the litres it holds, the depth a wanted fall needs."""

import math
from dataclasses import dataclass, field

from calc.records import FINE
from calc.shell import LEVEL, Joint, Shell, normal, volume_below


@dataclass(frozen=True, slots=True)
class FaceFall:
    """The steepest slope of a face (0.05 = 5 %)."""

    face: str
    fall: float = field(metadata=FINE)


@dataclass(frozen=True, slots=True)
class SeamFall:
    """The slope along a valley joint: drop over plan length."""

    between: tuple[str, str]
    fall: float = field(metadata=FINE)


@dataclass(frozen=True, slots=True)
class Drainage:
    """Litres to the lowest free edge; falls of faces and valley joints; the least of them and where it is."""

    litres: float = field(metadata=FINE)
    falls: tuple[FaceFall, ...]
    seams: tuple[SeamFall, ...]
    least_fall: float = field(metadata=FINE)
    least_fall_at: str


def drain(shell: Shell) -> Drainage:
    """How this shell drains.

    Upright faces shed everything, nothing runs on the strips of a rim: they and their bends take no part in it.
    """
    wetted = [face for face in shell.faces if face.role != "strip"]
    names = {face.name for face in wetted}
    falls = tuple(FaceFall(face.name, fall) for face in wetted if (fall := face_fall(shell, face.name)) is not None)
    valleys = [joint for joint in shell.joints if joint.is_valley and names.issuperset(joint.between)]
    seams = tuple(SeamFall(joint.between, fall) for joint in valleys if (fall := seam_fall(shell, joint)) is not None)
    words = {joint.between: "fold" if joint.kind == "fold" else "seam" for joint in valleys}
    found = [(fall.fall, f"{shell.face(fall.face).role} {fall.face}") for fall in falls] + [
        (seam.fall, f"{words[seam.between]} {'-'.join(seam.between)}") for seam in seams
    ]
    least, where = min(found, key=lambda pair: pair[0])
    return Drainage(litres(shell), falls, seams, least, where)


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
    brim = min(shell.vertices[index][2] for edge in shell.free_edges() for index in edge)
    return volume_below(shell, brim) * 1e-6


def depth_for_fall(shell: Shell, wanted: float) -> float:
    """The depth below the rim [mm] that gives a wanted least fall (0.02 = 1 in 50) with the same plan.

    Every fall is a drop over a length in plan, so all of them grow in proportion to the depth. Raises ValueError where a
    level floor or valley keeps the least fall at 0 whatever the depth.
    """
    least = drain(shell).least_fall
    if least <= LEVEL:
        raise ValueError("a level floor or valley falls nowhere, whatever the depth")
    return shell.depth * wanted / least
