"""Faces in space, seen obliquely in parallel view: the eye, and painting them so that the near ones hide the far."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from calc.drawing.boxes import Array
from calc.drawing.labels import Labels
from calc.drawing.svg import PAPER
from calc.drawing.view import View
from calc.records import Outline, Point, Point3
from calc.shell import Face, Shell, normal

ELEVATION = 35.0  # [degrees] how far above the rim plane the eye is
TURN = 16.0  # [degrees] what is drawn is turned this much, so that no side hides behind a seam
TALL = 1.5  # a rim this much deeper than wide is seen from its side
LIGHT = np.array([-0.45, -0.35, 0.82])  # where the light comes from, in the tray's frame
OUTER, SEAM, FOLD = 1.8, 0.9, 0.6  # line widths
LEAST_SEEN = 4.0  # square units of a face that can be pointed at
HIDDEN = 0.01  # square units of a face: less of it is not worth taking from what is seen
TOUCH = 1e-6  # of the size: faces that share no more than this don't hide each other


@dataclass(frozen=True, slots=True)
class Eye:
    """A parallel view: unit vectors of the picture's right and up, and towards the eye, in the tray's frame."""

    right: Array
    up: Array
    towards: Array

    @classmethod
    def at(cls, turn: float) -> "Eye":
        """The eye raised over the rim plane and turned [degrees] about the upright; at 0 it is in front, at -y."""
        angle, high = math.radians(turn), math.radians(ELEVATION)
        cosine, sine = math.cos(angle), math.sin(angle)
        ahead = np.array([sine, cosine, 0.0])  # level, away from the eye
        up = ahead * math.sin(high) + np.array([0.0, 0.0, math.cos(high)])
        towards = np.array([0.0, 0.0, math.sin(high)]) - ahead * math.cos(high)
        return cls(np.array([cosine, -sine, 0.0]), up, towards)

    @classmethod
    def before(cls, points: Array) -> "Eye":
        """The eye in front; for points that reach much deeper than wide, at their side."""
        spans = points.max(axis=0) - points.min(axis=0)
        return cls.at(-TURN if spans[1] < TALL * spans[0] else -TURN - 90.0)

    def sees(self, point: Point3) -> Point:
        """Where a point [mm] is in the picture [mm], y up."""
        spot = np.array(point)
        return float(spot @ self.right), float(spot @ self.up)


def paint(labels: Labels, view: View, eye: Eye, shell: Shell, faces: Sequence[Face]) -> dict[str, Outline]:
    """Some faces of a shell, the far ones first, each tinted by how it faces the light, its dry side darker.

    Edges that no two of the faces share are drawn as outline, the others thinner, folds thinnest. Returns what is seen of
    each face that isn't hidden: the outline of the largest part, in the drawing.
    """
    painted: list[tuple[str, shapely.Polygon]] = []
    shared = {edge[::-1] for face in faces for edge in face.edges}
    folds = {frozenset(joint.edge) for joint in shell.folds}
    light = LIGHT / np.linalg.norm(LIGHT)
    for face in far_first(shell, faces, eye):
        outline = [view.at(eye.sees(shell.vertices[index])) for index in face.loop]
        upward = normal(shell.corners(face))
        wet_seen = float(upward @ eye.towards) > 0
        tint = 0.02 + 0.30 * (1 - max(0.0, float(upward @ light))) if wet_seen else 0.36
        labels.drawing.outline(outline, "paper facet", {"fill": PAPER, "data-face": face.name})
        labels.drawing.outline(outline, "tint", {"fill-opacity": round(tint, 3)})
        for start, end in face.edges:
            ends = (view.at(eye.sees(shell.vertices[start])), view.at(eye.sees(shell.vertices[end])))
            is_outer = (start, end) not in shared
            width = OUTER if is_outer else FOLD if frozenset((start, end)) in folds else SEAM
            labels.drawing.line(*ends, "outline rim" if is_outer else "weld edge", {"stroke-width": width})
            if is_outer or start < end:  # an edge that two faces share is one line
                labels.avoid(ends, "outline" if is_outer else "weld")
        painted.append((face.name, shapely.Polygon(outline).buffer(0)))
    return _seen(painted)


def _seen(painted: Sequence[tuple[str, shapely.Polygon]]) -> dict[str, Outline]:
    """What later faces leave to be seen of each: the largest part of it."""
    seen: dict[str, Outline] = {}
    hiding: dict[int, list[shapely.Polygon]] = {}
    for far, near in _sharing([outline for _, outline in painted], HIDDEN):
        hiding.setdefault(far, []).append(painted[near][1])
    for place, (name, outline) in reversed(list(enumerate(painted))):
        left: BaseGeometry = outline
        if place in hiding:  # seldom: seen from above, facets lie side by side
            left = outline.difference(shapely.union_all(hiding[place]))
        largest = max(shapely.get_parts(left), key=shapely.area, default=None)
        if isinstance(largest, shapely.Polygon) and largest.area > LEAST_SEEN:
            seen[name] = tuple((float(x), float(y)) for x, y in largest.exterior.coords[:-1])
    return seen


def far_first(shell: Shell, faces: Sequence[Face], eye: Eye) -> list[Face]:
    """The faces in the order they are painted, so that what is nearer the eye hides what is behind it.

    Of two flat faces that overlap in the picture, one that lies wholly beyond the plane of the other, as the eye sees it,
    goes first. Where that leads round in a ring, and for faces that don't overlap, the one whose middle is farther does.
    """
    corners = [shell.corners(face) for face in faces]
    depths = [float((points @ eye.towards).mean()) for points in corners]
    order = sorted(range(len(faces)), key=lambda index: depths[index])
    rank = {index: place for place, index in enumerate(order)}
    behind: dict[int, set[int]] = {index: set() for index in order}
    for one, other in _overlapping(corners, eye):
        if _is_beyond(corners[one], corners[other], eye) or _is_before(corners[other], corners[one], eye):
            behind[other].add(one)
        elif _is_beyond(corners[other], corners[one], eye) or _is_before(corners[one], corners[other], eye):
            behind[one].add(other)
    sorter = TopologicalSorter(behind)
    try:
        sorter.prepare()
    except CycleError:
        return [faces[index] for index in order]
    painted: list[Face] = []
    ready: set[int] = set()
    while sorter.is_active():
        ready |= set(sorter.get_ready())
        following = min(ready, key=lambda index: rank[index])
        ready.remove(following)
        sorter.done(following)
        painted.append(faces[following])
    return painted


def _overlapping(corners: Sequence[Array], eye: Eye) -> list[tuple[int, int]]:
    """The pairs of faces that overlap in the picture, by their places."""
    flat = [shapely.Polygon(np.column_stack((points @ eye.right, points @ eye.up))).buffer(0) for points in corners]
    return _sharing(flat, TOUCH * max(float(np.ptp(np.vstack(corners), axis=0).max()), 1.0) ** 2)


def _sharing(flat: Sequence[shapely.Polygon], least: float) -> list[tuple[int, int]]:
    """The pairs of outlines that share more area than the least, by their places, the lesser place first."""
    ones, others = shapely.STRtree(flat).query(flat, predicate="intersects")
    ones, others = ones[ones < others], others[ones < others]
    outlines = np.array(flat)
    shared = shapely.area(shapely.intersection(outlines[ones], outlines[others]))
    return [(int(one), int(other)) for one, other, area in zip(ones, others, shared, strict=True) if area > least]


def _heights(points: Array, plane: Array, eye: Eye) -> Array:
    """How far points are on the eye's side of the plane of a face [mm]."""
    upward = normal(plane)
    return np.asarray((points - plane[0]) @ (upward if upward @ eye.towards > 0 else -upward))


def _is_beyond(points: Array, plane: Array, eye: Eye) -> bool:
    """Whether a face lies wholly on the far side of the plane of another."""
    return bool((_heights(points, plane, eye) < 1e-6).all())


def _is_before(points: Array, plane: Array, eye: Eye) -> bool:
    return bool((_heights(points, plane, eye) > -1e-6).all())
