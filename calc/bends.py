"""The bends of a shell: how far the flat runs up to each, how much metal it takes, and the reliefs where bends meet.

The wet face is the datum. In a valley it is the inside of the bend, on a ridge the outside; the setback, from the sharp
edge of the wet faces to the tangent line, is measured on it.
"""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from calc.sheet import JobSheet
from calc.shell import Face, Joint, Shell
from calc.tables.bending import SHARPEST, bend_allowance, setback


@dataclass(frozen=True, slots=True)
class Bend:
    """A folded joint. angle [degrees], positive for a valley; inside_radius, setback on the wet face, allowance [mm];
    outside: the radius of the outside of the bend [mm]."""

    joint: Joint
    angle: float
    inside_radius: float
    outside: float
    setback: float
    allowance: float


Bends = Mapping[frozenset[int], Bend]


def bends_of(shell: Shell, sheet: JobSheet) -> dict[frozenset[int], Bend]:
    """The bends of a shell by their edges; the method is the sheet's (DIN 6935 where it says nothing)."""
    return {frozenset(joint.edge): bend_of(joint, sheet) for joint in shell.folds}


def bend_of(joint: Joint, sheet: JobSheet) -> Bend:
    """The bend of a folded joint."""
    thickness, making = sheet.material.thickness, sheet.making
    radius = joint.inside_radius or 0.0
    turned = abs(joint.bend)
    allowance = bend_allowance(
        turned,
        radius,
        thickness,
        method=making.bend_method,
        metal=sheet.material.properties.family,
        k_factor=making.k_factor,
    )
    on_wet = radius if joint.bend >= 0 else radius + thickness
    return Bend(joint, joint.bend, radius, radius + thickness, setback(min(turned, SHARPEST), on_wet), allowance)


@dataclass(frozen=True, slots=True)
class Fan:
    """The faces round a vertex that folds join there into one piece, in order, and the bends between them."""

    vertex: int
    faces: tuple[str, ...]
    bends: tuple[Bend, ...]


def fans(shell: Shell, bends: Bends) -> Iterator[Fan]:
    """Every fan that has a bend in it, by vertex."""
    for vertex in sorted({index for edge in bends for index in edge}):
        around = [face for face in shell.faces if vertex in face.loop]
        meeting = {key: bend for key, bend in bends.items() if vertex in key}
        left = {face.name: face for face in around}
        while left:
            names, found = _fan_from(next(iter(left.values())), vertex, left, meeting)
            if found:
                yield Fan(vertex, names, found)


def _fan_from(
    start: Face, vertex: int, left: dict[str, Face], meeting: Bends
) -> tuple[tuple[str, ...], tuple[Bend, ...]]:
    """The fan that a face belongs to, its faces taken out of `left`."""
    del left[start.name]
    faces, found = [start], list[Bend]()
    for forward in (True, False):
        here = start
        while bend := meeting.get(_edge_at(here, vertex, forward)):
            beyond = next((left[name] for name in bend.joint.between if name in left), None)
            if beyond is None:
                break
            del left[beyond.name]
            faces.insert(len(faces) if forward else 0, beyond)
            found.insert(len(found) if forward else 0, bend)
            here = beyond
    return tuple(face.name for face in faces), tuple(found)


def _edge_at(face: Face, vertex: int, forward: bool) -> frozenset[int]:
    """The face's edge that comes to a vertex (forward) or leaves it, so that going on by it turns one way round."""
    place = face.loop.index(vertex)
    return frozenset((face.loop[place - 1], vertex) if forward else (vertex, face.loop[(place + 1) % len(face.loop)]))


def reliefs_of(shell: Shell, bends: Bends) -> dict[Fan, float]:
    """The radius [mm] of the relief of each fan that has two bends or more, or one of a rim's strips where another strip's
    bend comes to the same corner.

    At least max(R + t, w / (2 sin(phi / 2))): w the width of the widest bend of the fan, phi the least angle between
    neighbouring bends of it, so that no two bends run into each other outside the hole.
    """
    found = list(fans(shell, bends))
    strips = {face.name for face in shell.faces if face.role == "strip"}
    of_rim = Counter(fan.vertex for fan in found for bend in fan.bends if strips & set(bend.joint.between))
    return {
        fan: _relief(shell, fan)
        for fan in found
        if len(fan.bends) > 1 or (of_rim[fan.vertex] > 1 and strips & set(fan.bends[0].joint.between))
    }


def _relief(shell: Shell, fan: Fan) -> float:
    least = math.pi
    for name in fan.faces[1:-1]:
        least = min(least, angle_at(shell, shell.face(name), fan.vertex))
    width = max(bend.allowance for bend in fan.bends)
    return max(*(bend.outside for bend in fan.bends), width / (2 * math.sin(least / 2)))


def angle_at(shell: Shell, face: Face, vertex: int) -> float:
    """The angle of a face at one of its corners [radians]."""
    place = face.loop.index(vertex)
    here = shell.points[vertex]
    one = shell.points[face.loop[place - 1]] - here
    other = shell.points[face.loop[(place + 1) % len(face.loop)]] - here
    return float(math.atan2(np.linalg.norm(np.cross(one, other)), one @ other))


def pieces(faces: Sequence[Face], joints: Sequence[Joint]) -> list[tuple[Face, ...]]:
    """The faces that folds join, piece by piece, each in the order of `faces`."""
    piece_of = {face.name: {face.name} for face in faces}
    for joint in joints:
        if joint.kind == "fold":
            joined = piece_of[joint.between[0]] | piece_of[joint.between[1]]
            for name in joined:
                piece_of[name] = joined
    found, seen = [], set[str]()
    for face in faces:
        if face.name not in seen:
            seen |= piece_of[face.name]
            found.append(tuple(other for other in faces if other.name in piece_of[face.name]))
    return found
