"""Blanks with errors drawn at random, laid up by another road than `calc.budget`: each face drawn in its own plane, its moved
edges crossed, and set in space by whole rotations, many draws at once.

From a plan's JSON and the order of the welds alone. Every weld puts the second face (and all that hangs on it) with its edge on
the first face's, rim ends together, at the angle of the drawing, and then turns it about the seam until the other end of its
rim edge lies on the plate (z = 0), by Newton's steps.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def unit(vectors: Array) -> Array:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=-1, keepdims=True))


@dataclass
class LaidUp:
    shell: Mapping[str, Any]
    draws: int
    flat: dict[str, Array] = field(default_factory=dict)  # (draws, m, 2) corners as cut
    true: dict[str, Array] = field(default_factory=dict)  # (m, 2)
    error: dict[tuple[str, frozenset[int]], Array] = field(default_factory=dict)  # (draws,)
    turn: dict[str, Array] = field(default_factory=dict)  # (draws, 3, 3)
    shift: dict[str, Array] = field(default_factory=dict)  # (draws, 3)
    most_turned: float = 0.0  # [radians] on the plate, in any draw
    left_over: list[Mapping[str, Any]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.points = np.array(self.shell["vertices"])
        self.loops = {face["name"]: list(face["loop"]) for face in self.shell["faces"]}
        self.roles = {face["name"]: face["role"] for face in self.shell["faces"]}

    # --- blanks

    def draw(self, marking: float, cutting: float, seed: int) -> None:
        rng = np.random.default_rng(seed)
        folds = {frozenset(joint["edge"]): joint for joint in self.shell["joints"] if joint["kind"] == "fold"}
        for key, joint in folds.items():
            off = rng.normal(0.0, marking / 2, self.draws)
            self.error[joint["between"][0], key] = off
            self.error[joint["between"][1], key] = -off
        spread = ((marking**2 + cutting**2) / 4) ** 0.5
        for name, loop in self.loops.items():
            for edge in zip(loop, loop[1:] + loop[:1], strict=True):
                if frozenset(edge) not in folds:
                    self.error[name, frozenset(edge)] = rng.normal(0.0, spread, self.draws)
        for name in self.loops:
            self._cut(name)

    def _cut(self, name: str) -> None:
        loop = self.loops[name]
        space = self.points[loop]
        x = unit(space[1] - space[0])
        z = unit(sum(np.cross(space[i] - space[0], space[i + 1] - space[0]) for i in range(1, len(loop) - 1)))
        frame = np.column_stack([x, np.cross(z, x), z])
        flat = ((space - space[0]) @ frame)[:, :2]
        self.true[name] = flat
        self.turn[name] = np.tile(frame, (self.draws, 1, 1))
        self.shift[name] = np.tile(space[0], (self.draws, 1))
        count = len(loop)
        normals, reaches = [], []
        for i in range(count):
            along = unit(flat[(i + 1) % count] - flat[i])
            out = np.array([along[1], -along[0]])
            normals.append(out)
            reaches.append(out @ flat[i] + self.error[name, frozenset((loop[i], loop[(i + 1) % count]))])
        corners = []
        for i in range(count):
            both = np.array([normals[i - 1], normals[i]])
            corners.append(np.linalg.solve(both, np.array([reaches[i - 1], reaches[i]])).T)
        self.flat[name] = np.stack(corners, axis=1)

    # --- in space

    def in_space(self, name: str, flat: Array) -> Array:
        solid = np.concatenate([flat, np.zeros((*flat.shape[:-1], 1))], axis=-1)
        return np.asarray(np.einsum("nij,nj->ni", self.turn[name], solid) + self.shift[name])

    def corner(self, name: str, vertex: int) -> Array:
        return self.in_space(name, self.flat[name][:, self.loops[name].index(vertex)])

    def hinge(self, name: str, edge: Sequence[int]) -> tuple[Array, Array]:
        """The first end of an edge moved square to itself, and the way the edge runs from there."""
        start, end = (self.true[name][self.loops[name].index(vertex)] for vertex in edge)
        runs_so = self.loops[name][(self.loops[name].index(edge[0]) + 1) % len(self.loops[name])] == edge[1]
        along = unit(end - start)
        out = np.array([along[1], -along[0]]) * (1 if runs_so else -1)
        moved = start + self.error[name, frozenset(edge)][:, None] * out
        return self.in_space(name, moved), np.einsum("nij,j->ni", self.turn[name], [*along, 0.0])

    def move(self, names: set[str], turn: Array, shift: Array) -> None:
        for name in names:
            self.turn[name] = np.einsum("nij,njk->nik", turn, self.turn[name])
            self.shift[name] = np.einsum("nij,nj->ni", turn, self.shift[name]) + shift

    def lay_up(self, welds: Sequence[Mapping[str, Any]]) -> None:
        together = {name: {name} for name in self.loops}
        folds = [joint for joint in self.shell["joints"] if joint["kind"] == "fold"]
        for joint in [*folds, *welds]:
            one, other = joint["between"]
            if other in together[one]:
                self.left_over += [joint] if joint["kind"] == "weld" else []
                continue
            self._join(joint, together[one], together[other])
            whole = together[one] | together[other]
            for name in whole:
                together[name] = whole

    def _join(self, joint: Mapping[str, Any], standing: set[str], coming: set[str]) -> None:
        one, other = joint["between"]
        edge = self.ends(joint)
        if joint["kind"] == "weld" and edge[0] in self.rim:
            height = self.corner(one, edge[0])[:, 2]
            self.move(standing, np.tile(np.eye(3), (self.draws, 1, 1)), -height[:, None] * np.array([0.0, 0.0, 1.0]))
        spot, along = self.hinge(one, edge)
        its_spot, its_along = self.hinge(other, edge)
        if joint["kind"] == "weld":
            spot, its_spot = self.corner(one, edge[0]), self.corner(other, edge[0])
        nominal = self.nominal_turn(joint, edge)
        facing = rotated(self.turn[one][:, :, 2], along, np.full(self.draws, nominal))
        wanted = np.stack([along, facing, np.cross(along, facing)], axis=2)
        is_so = np.stack([its_along, self.turn[other][:, :, 2], np.cross(its_along, self.turn[other][:, :, 2])], axis=2)
        turn = np.einsum("nij,nkj->nik", wanted, is_so)
        self.move(coming, turn, spot - np.einsum("nij,nj->ni", turn, its_spot))
        if joint["kind"] == "weld" and edge[0] in self.rim:
            self._on_plate(other, edge[0], coming, spot, along)

    def _on_plate(self, name: str, vertex: int, coming: set[str], spot: Array, along: Array) -> None:
        loop = self.loops[name]
        place = loop.index(vertex)
        beside = [v for v in (loop[place - 1], loop[(place + 1) % len(loop)]) if v in self.rim]
        if not beside or abs(along[0][2]) > 1 - 1e-9:  # turned about an upright nothing goes up or down
            return
        far = self.corner(name, beside[0]) - spot
        angle = np.zeros(self.draws)
        for _ in range(4):
            now = rotated(far, along, angle)
            angle -= (spot + now)[:, 2] / np.cross(along, now)[:, 2]
        assert np.abs((spot + rotated(far, along, angle))[:, 2]).max() < 1e-9
        self.most_turned = max(self.most_turned, float(np.abs(angle).max()))
        turn = np.stack([rotated(np.tile(axis, (self.draws, 1)), along, angle) for axis in np.eye(3)], axis=2)
        self.move(coming, turn, spot - np.einsum("nij,nj->ni", turn, spot))

    # --- of the drawing

    @property
    def rim(self) -> set[int]:
        """The corners of the rim: both ends of every level edge at z = 0 of a face that is no strip."""
        return {
            vertex
            for name, loop in self.loops.items()
            if self.roles[name] != "strip"
            for pair in zip(loop, loop[1:] + loop[:1], strict=True)
            if all(self.points[v][2] == 0.0 for v in pair)
            for vertex in pair
        }

    def ends(self, joint: Mapping[str, Any]) -> tuple[int, int]:
        """The joint's ends: the one on the rim, else the upper one, first."""
        first, second = joint["edge"]
        rank = [(v in self.rim, self.points[v][2]) for v in (first, second)]
        return (second, first) if rank[1] > rank[0] else (first, second)

    def nominal_turn(self, joint: Mapping[str, Any], edge: Sequence[int]) -> float:
        """By how much the first face's normal is turned about the edge to be the second's, as drawn [radians]."""
        axis = unit(self.points[edge[1]] - self.points[edge[0]])
        one, other = (
            unit(sum(np.cross(c[i] - c[0], c[i + 1] - c[0]) for i in range(1, len(c) - 1)))
            for c in (self.points[self.loops[name]] for name in joint["between"])
        )
        return float(np.arctan2(axis @ np.cross(one, other), one @ other))


def rotated(vectors: Array, axis: Array, angle: Array) -> Array:
    """Vectors (n, 3) turned about axes (n, 3) by angles (n,), by Rodrigues' formula."""
    cos, sin = np.cos(angle)[:, None], np.sin(angle)[:, None]
    along = (axis * vectors).sum(axis=1, keepdims=True)
    return np.asarray(vectors * cos + np.cross(axis, vectors) * sin + axis * along * (1 - cos))
