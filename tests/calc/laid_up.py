"""Blanks with errors drawn at random, laid up by another road than `calc.budget`: each face drawn in its own plane, its marks
moved, the lines through them moved on as they are cut and crossed, and set in space by whole rotations, many draws at once.

From a plan's JSON and the order of the welds alone. The first face stands with its rim edge on the plate (z = 0), as steep as
drawn. Every joint puts the face that comes with its edge on that of the one that stands, rim ends together, at the angle of the
drawing; about a weld on the rim it is then turned until the other end of its rim edge lies on the plate, by Newton's steps.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
STEEP = 0.1  # what `calc.budget` says: an edge that rises by less of its length as its face is turned is left


def unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))


def cross(one: Array, other: Array) -> Array:
    """The cross product of vectors of the plane (..., 2)."""
    return np.asarray(one[..., 0] * other[..., 1] - one[..., 1] * other[..., 0])


@dataclass
class LaidUp:
    shell: Mapping[str, Any]
    draws: int
    true: dict[str, Array] = field(default_factory=dict)  # (m, 2)
    frame: dict[str, Array] = field(default_factory=dict)  # (3, 3) as drawn
    line: dict[tuple[str, frozenset[int]], tuple[Array, Array]] = field(
        default_factory=dict
    )  # two points (draws, 2) of each
    flat: dict[str, Array] = field(default_factory=dict)  # (draws, m, 2) corners as cut
    turn: dict[str, Array] = field(default_factory=dict)  # (draws, 3, 3)
    shift: dict[str, Array] = field(default_factory=dict)  # (draws, 3)
    most_turned: float = 0.0  # [radians] on the plate, in any draw
    left_over: list[Mapping[str, Any]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.points = np.array(self.shell["vertices"])
        self.loops = {face["name"]: list(face["loop"]) for face in self.shell["faces"]}
        self.roles = {face["name"]: face["role"] for face in self.shell["faces"]}
        self.folds = {frozenset(joint["edge"]): joint for joint in self.shell["joints"] if joint["kind"] == "fold"}
        self.rim_edges = [
            pair
            for name in self.loops
            if self.roles[name] != "strip"
            for pair in self.edges(name)
            if all(self.points[v][2] == 0.0 for v in pair)
        ]
        self.rim = {vertex for pair in self.rim_edges for vertex in pair}
        for name, loop in self.loops.items():
            space = self.points[loop]
            x, z = unit(space[1] - space[0]), upright(space)
            self.frame[name] = np.column_stack([x, np.cross(z, x), z])
            self.true[name] = ((space - space[0]) @ self.frame[name])[:, :2]

    def edges(self, name: str) -> list[tuple[int, int]]:
        loop = self.loops[name]
        return list(zip(loop, loop[1:] + loop[:1], strict=True))

    def spot(self, name: str, vertex: int) -> Array:
        return np.asarray(self.true[name][self.loops[name].index(vertex)])

    def outward(self, name: str, edge: Sequence[int]) -> Array:
        """Square to an edge, out of its face as drawn flat."""
        if tuple(edge) not in self.edges(name):
            edge = (edge[1], edge[0])
        x, y = unit(self.spot(name, edge[1]) - self.spot(name, edge[0]))
        return np.array([y, -x])

    # --- blanks

    def draw(self, marking: float, cutting: float, seed: int) -> None:
        rng = np.random.default_rng(seed)
        for joint in self.folds.values():
            off = rng.normal(0.0, marking / 2, (2, self.draws, 1))
            for name, way in zip(joint["between"], (1, -1), strict=True):
                one, other = (
                    self.spot(name, vertex) + way * out * self.outward(name, joint["edge"])
                    for vertex, out in zip(joint["edge"], off, strict=True)
                )
                self.line[name, frozenset(joint["edge"])] = (one, other)
        for name in self.loops:
            self._cut(name, marking, cutting, rng)

    def _cut(self, name: str, marking: float, cutting: float, rng: np.random.Generator) -> None:
        edges = self.edges(name)
        marks = {v: self.spot(name, v) + rng.normal(0.0, marking / 2, (self.draws, 2)) for v in self.loops[name]}
        for edge in edges:
            if frozenset(edge) in self.folds:
                continue
            ends = [marks[v] for v in edge]
            way = unit(ends[1] - ends[0])
            off = rng.normal(0.0, cutting / 2, (self.draws, 1)) * np.column_stack([way[:, 1], -way[:, 0]])
            self.line[name, frozenset(edge)] = (ends[0] + off, ends[1] + off)
        corners = []
        for place, edge in enumerate(edges):
            (spot, end), (other, far) = self.line[name, frozenset(edge)], self.line[name, frozenset(edges[place - 1])]
            part = cross(other - spot, far - other) / cross(end - spot, far - other)
            corners.append(spot + part[:, None] * (end - spot))
        self.flat[name] = np.stack(corners, axis=1)

    # --- in space

    def in_space(self, name: str, flat: Array) -> Array:
        solid = np.concatenate([flat, np.zeros((*flat.shape[:-1], 1))], axis=-1)
        return np.asarray(np.einsum("nij,nj->ni", self.turn[name], solid) + self.shift[name])

    def corner(self, name: str, vertex: int) -> Array:
        return self.in_space(name, self.flat[name][:, self.loops[name].index(vertex)])

    def lay_up(self, welds: Sequence[Mapping[str, Any]]) -> None:
        """Puts the faces together: folds, then welds in the order given; welds by which no face comes are left over."""
        together = {name: {name} for name in self.loops}
        tree = []
        for joint in [*self.folds.values(), *welds]:
            one, other = joint["between"]
            if other in together[one]:
                self.left_over += [joint] if joint["kind"] == "weld" else []
                continue
            tree.append(joint)
            for name in (whole := together[one] | together[other]):
                together[name] = whole
        seams = [name for joint in tree if joint["kind"] == "weld" for name in joint["between"]]
        first = next(name for name in [*seams, *self.loops] if self.rim_edge(name))
        self._stand(first)
        self._all_from(first, tree)
        assert self.turn.keys() == self.loops.keys()

    def _all_from(self, name: str, tree: Sequence[Mapping[str, Any]]) -> None:
        for joint in tree:
            for other in set(joint["between"]) - {name}:
                if name in joint["between"] and other not in self.turn:
                    self._join(joint, name, other)
                    self._all_from(other, tree)

    def rim_edge(self, name: str, vertex: int | None = None) -> tuple[int, int] | None:
        found = [edge for edge in self.edges(name) if edge in self.rim_edges and vertex in (None, *edge)]
        return found[0] if found else None

    def _stand(self, name: str) -> None:
        edge = self.rim_edge(name)
        assert edge is not None
        start, end = (self.flat[name][:, self.loops[name].index(vertex)] for vertex in edge)
        solid = np.column_stack([unit(end - start), np.zeros(self.draws)])
        up = np.tile([0.0, 0.0, 1.0], (self.draws, 1))
        is_so = np.stack([solid, np.cross(up, solid), up], axis=2)
        along, facing = unit(self.points[edge[1]] - self.points[edge[0]]), self.frame[name][:, 2]
        wanted = np.column_stack([along, np.cross(facing, along), facing])
        self.turn[name] = np.einsum("ij,nkj->nik", wanted, is_so)
        self.shift[name] = np.zeros((self.draws, 3))
        self.shift[name] = self.points[edge[0]] - self.in_space(name, start)

    def _join(self, joint: Mapping[str, Any], one: str, other: str) -> None:
        edge = self.ends(joint)
        self.turn[other] = np.tile(self.frame[other], (self.draws, 1, 1))
        self.shift[other] = np.zeros((self.draws, 3))
        (spot, along), (its_spot, its_along) = (self._edge(name, edge, joint["kind"]) for name in (one, other))
        nominal = self.nominal_turn(one, other, edge)
        facing = rotated(self.turn[one][:, :, 2], along, np.full(self.draws, nominal))
        wanted = np.stack([along, facing, np.cross(along, facing)], axis=2)
        is_so = np.stack([its_along, self.turn[other][:, :, 2], np.cross(its_along, self.turn[other][:, :, 2])], axis=2)
        self._turn(other, np.einsum("nij,nkj->nik", wanted, is_so), its_spot, spot)
        if joint["kind"] == "weld" and (on_plate := self.rim_edge(other, edge[0])):
            self._on_plate(other, edge, next(v for v in on_plate if v != edge[0]), along)

    def _edge(self, name: str, edge: Sequence[int], kind: str) -> tuple[Array, Array]:
        """In space, one end of an edge and the way it runs from there: its corners, or a fold's marks."""
        if kind == "weld":
            start, end = (self.corner(name, vertex) for vertex in edge)
        else:
            marks = dict(zip(self.folds[frozenset(edge)]["edge"], self.line[name, frozenset(edge)], strict=True))
            start, end = (self.in_space(name, marks[vertex]) for vertex in edge)
        return start, unit(end - start)

    def _turn(self, name: str, turn: Array, about: Array, to: Array) -> None:
        """Turns a face about a point, which then lies elsewhere."""
        self.turn[name] = np.einsum("nij,njk->nik", turn, self.turn[name])
        self.shift[name] = np.einsum("nij,nj->ni", turn, self.shift[name] - about) + to

    def _on_plate(self, name: str, edge: Sequence[int], vertex: int, along: Array) -> None:
        arm = self.points[vertex] - self.points[edge[0]]
        if abs(np.cross(unit(self.points[edge[1]] - self.points[edge[0]]), unit(arm))[2]) <= STEEP:
            return
        spot = self.corner(name, edge[0])
        far, angle = self.corner(name, vertex) - spot, np.zeros(self.draws)
        for _ in range(5):
            now = rotated(far, along, angle)
            angle -= (spot + now)[:, 2] / np.cross(along, now)[:, 2]
        axes = (np.tile(axis, (self.draws, 1)) for axis in np.eye(3))
        self._turn(name, np.stack([rotated(axis, along, angle) for axis in axes], axis=2), spot, spot)
        assert np.abs(self.corner(name, vertex)[:, 2]).max() < 1e-9
        self.most_turned = max(self.most_turned, float(np.abs(angle).max()))

    # --- of the drawing

    def ends(self, joint: Mapping[str, Any]) -> tuple[int, int]:
        """The joint's ends: the one on the rim, else the upper one, first."""
        first, second = joint["edge"]
        rank = [(v in self.rim, self.points[v][2]) for v in (first, second)]
        return (second, first) if rank[1] > rank[0] else (first, second)

    def nominal_turn(self, one: str, other: str, edge: Sequence[int]) -> float:
        """By how much one face's normal is turned about the edge to be the other's, as drawn [radians]."""
        axis = unit(self.points[edge[1]] - self.points[edge[0]])
        facing, its = self.frame[one][:, 2], self.frame[other][:, 2]
        return float(np.arctan2(axis @ np.cross(facing, its), facing @ its))


def upright(space: Array) -> Array:
    """The unit normal of a flat loop of corners (m, 3)."""
    return unit(sum(np.cross(space[i] - space[0], space[i + 1] - space[0]) for i in range(1, len(space) - 1)))


def rotated(vectors: Array, axis: Array, angle: Array) -> Array:
    """Vectors (n, 3) turned about axes (n, 3) by angles (n,), by Rodrigues' formula."""
    cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
    along = (axis * vectors).sum(axis=1, keepdims=True)
    return np.asarray(vectors * cos + np.cross(axis, vectors) * sin + axis * along * (1 - cos))
