"""A piece of the shell laid flat: faces that folds join, turned into the plane one beside the other.

Points are complex numbers. In a face's own frame its first corner is at 0 and its first edge along +x; a placing
(turn, shift) takes them to turn z + shift in the piece, whose frame is that of its first face.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from calc.bends import Bend, Bends, Fan
from calc.blank import FoldLine
from calc.outlines import Complex, as_complex, take_off
from calc.records import Outline, Point
from calc.shell import Face, Vectors, normal

OVER = 1e-6  # of a piece's area: faces that overlap by less touch, but for rounding
GRID = 1e-6  # [mm] overlays are snapped to this: exact ones go wrong where edges lie on each other but for rounding
Placing = tuple[complex, complex]


class NotFlatError(ValueError):
    """A piece that can't be laid flat; its text says why."""


class OverlapError(NotFlatError):
    """A piece whose faces lie one over another when laid flat: no larger piece with these folds will do either."""


def true_shape(corners: Vectors) -> Outline:
    """A flat loop of corners in space (m, 3), turned into its own plane: m points, wet side up, anticlockwise [mm]."""
    return in_plane_of(corners, corners)


def in_plane_of(corners: Vectors, points: Vectors) -> Outline:
    """Points (k, 3) in the plane of a flat loop of corners (m, 3), in the frame of that loop's true shape [mm]."""
    along = corners[1] - corners[0]
    along = along / np.linalg.norm(along)
    across = np.cross(normal(corners), along)
    from_first = points - corners[0]
    return tuple((float(x), float(y)) for x, y in zip(from_first @ along, from_first @ across, strict=True))


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of the cut outline: where it is, the vertex and the face it comes from, and the edge of the face that
    follows; None where the end of a bend follows."""

    at: complex
    vertex: int
    face: Face
    edge: tuple[int, int] | None


class Piece:
    """One piece laid flat.

    outlines: each face's true shape; cores: what is flat of it when half the gaps and the bends are taken off; allowed: how
    much farther out each of its edges lies for shrinkage [mm]. Raises `NotFlatError` where folds go all the way round.
    """

    def __init__(
        self,
        faces: Sequence[Face],
        outlines: Mapping[str, Outline],
        cores: Mapping[str, Outline],
        bends: Bends,
        allowed: Mapping[str, Sequence[float]],
    ) -> None:
        self.faces = {face.name: face for face in faces}
        self._allowed = {
            face.name: dict(zip(map(frozenset, face.edges), allowed[face.name], strict=True)) for face in faces
        }
        self._root = faces[0]
        self._outlines = outlines
        self._net: dict[str, Complex] = {name: as_complex(outline) for name, outline in outlines.items()}
        self._core: dict[str, Complex] = {name: as_complex(outline) for name, outline in cores.items()}
        self._placings: dict[str, Placing] = {faces[0].name: (1.0 + 0j, 0j)}
        self._net_placings = dict(self._placings)
        self._children: dict[str, dict[frozenset[int], Bend]] = {face.name: {} for face in faces}
        self._place(bends)

    def _place(self, bends: Bends) -> None:
        """Lay every face beside the one it is folded from."""
        waiting, done = [self._root], set[frozenset[int]]()
        while waiting:
            face = waiting.pop(0)
            for edge in face.edges:
                bend = bends.get(frozenset(edge))
                if bend is None or frozenset(edge) in done:
                    continue
                done.add(frozenset(edge))
                child = self._across(face, bend)
                if child.name in self._placings:
                    raise NotFlatError(
                        f"folds go all the way round the faces {', '.join(self.faces)}: one of their joints must be a weld"
                    )
                self._children[face.name][frozenset(edge)] = bend
                self._attach(face, child, edge, bend)
                waiting.append(child)

    def _across(self, face: Face, bend: Bend) -> Face:
        return self.faces[next(name for name in bend.joint.between if name != face.name)]

    def _attach(self, face: Face, child: Face, edge: tuple[int, int], bend: Bend) -> None:
        """Place a face beside its parent: edge on edge for the net, apart by what the bend takes for the cut."""
        own, other = self._net[face.name], self._net[child.name]
        start, end = (complex(own[face.loop.index(vertex)]) for vertex in edge)
        its_start, its_end = (complex(other[child.loop.index(vertex)]) for vertex in edge)
        along = (end - start) / abs(end - start)
        turn = along / ((its_end - its_start) / abs(its_end - its_start))
        shift = start - turn * its_start
        more = self._allowed[face.name][frozenset(edge)] + self._allowed[child.name][frozenset(edge)]
        outward = -1j * along * (bend.allowance - 2 * bend.setback + more)
        for placings, moved in ((self._net_placings, 0j), (self._placings, outward)):
            parent_turn, parent_shift = placings[face.name]
            placings[child.name] = (parent_turn * turn, parent_turn * (shift + moved) + parent_shift)

    def _at(self, face: Face, vertex: int) -> complex:
        """Where a corner of what is flat of a face lies in the piece."""
        turn, shift = self._placings[face.name]
        return turn * complex(self._core[face.name][face.loop.index(vertex)]) + shift

    def walk(self) -> Iterator[Corner]:
        """The corners of the cut outline, anticlockwise: each flat face's, with the ends of the bends between them."""
        yield from self._walk(self._root, None)

    def _walk(self, face: Face, entry: frozenset[int] | None) -> Iterator[Corner]:
        """entry: the fold that a face hangs on; the walk begins after it and ends with its far corner."""
        for start, end in _edges_from(face, entry):
            bend = self._children[face.name].get(frozenset((start, end)))
            yield Corner(self._at(face, start), start, face, None if bend else (start, end))
            if bend:
                yield from self._walk(self._across(face, bend), frozenset((start, end)))
        if entry is not None:
            last = next(start for start, end in face.edges if frozenset((start, end)) == entry)
            yield Corner(self._at(face, last), last, face, None)

    def net(self, first: Corner) -> tuple[complex, ...]:
        """The corners of the net outline: the faces turned flat about their sharp wet edges.

        It begins with the corner that `first` of the cut outline was before anything was taken off.
        """
        outline = tuple(self._net_walk(self._root, None))
        turn, shift = self._net_placings[first.face.name]
        spot = turn * complex(self._net[first.face.name][first.face.loop.index(first.vertex)]) + shift
        begin = min(range(len(outline)), key=lambda index: abs(outline[index] - spot))
        return outline[begin:] + outline[:begin]

    def _net_walk(self, face: Face, entry: frozenset[int] | None) -> Iterator[complex]:
        turn, shift = self._net_placings[face.name]
        for place, (start, end) in enumerate(_edges_from(face, entry)):
            if entry is None or place:  # a hanging face's first corner is one that its parent has given
                yield turn * complex(self._net[face.name][face.loop.index(start)]) + shift
            if bend := self._children[face.name].get(frozenset((start, end))):
                yield from self._net_walk(self._across(face, bend), frozenset((start, end)))

    @property
    def overlaps(self) -> bool:
        """Whether faces, turned flat about their sharp edges, lie one over another anywhere."""
        flat = [shapely.Polygon([(z.real, z.imag) for z in self._net_of(name)]) for name in self.faces]
        area = math.fsum(face.area for face in flat)
        return area - float(shapely.union_all(flat, grid_size=GRID).area) > OVER * area

    def _net_of(self, name: str) -> Complex:
        turn, shift = self._net_placings[name]
        return turn * self._net[name] + shift

    def fold_lines(self, on_base: Callable[[complex], Point]) -> Iterator[FoldLine]:
        """The middle line of every bend, on_base taking a point of the piece into the blank's frame."""
        for name, children in self._children.items():
            for bend in children.values():
                face, child, edge = self.faces[name], self._across(self.faces[name], bend), bend.joint.edge
                start, end = (on_base((self._at(face, vertex) + self._at(child, vertex)) / 2) for vertex in edge)
                yield FoldLine((start, end), bend.angle, bend.inside_radius, bend.allowance, bend.joint.between, edge)

    def spot(self, face: Face, own: Point) -> complex:
        """Where a point of a face's true shape lies in the piece."""
        turn, shift = self._placings[face.name]
        return turn * complex(*own) + shift

    def room(self, face: Face, own: Point) -> float:
        """The diameter [mm] of the largest circle round a point of a face's true shape that what is flat of it holds."""
        flat = shapely.Polygon([(z.real, z.imag) for z in self._core[face.name].tolist()])
        spot = shapely.Point(own)
        return 2 * float(flat.exterior.distance(spot)) if flat.contains(spot) else 0.0

    def centre(self, fan: Fan) -> complex:
        """Where the relief of a fan goes: amid the places at which its faces' sharp corners lie, folds where they are bent."""
        folds = {frozenset(bend.joint.edge) for bend in fan.bends}
        spots = []
        for name in fan.faces:
            turn, shift = self._placings[name]
            out = [-more if edge in folds else 0.0 for edge, more in self._allowed[name].items()]
            sharp = (take_off(self._outlines[name], out) if any(out) else None) or self._outlines[name]
            spots.append(turn * complex(*sharp[self.faces[name].loop.index(fan.vertex)]) + shift)
        return complex(np.mean(spots))


def _edges_from(face: Face, entry: frozenset[int] | None) -> list[tuple[int, int]]:
    """A face's edges in order; for one that hangs on a fold, those after it, without the fold."""
    edges = list(face.edges)
    if entry is None:
        return edges
    first = next(place for place, edge in enumerate(edges) if frozenset(edge) == entry)
    return edges[first + 1 :] + edges[:first]
