"""The mesh of a facet: rings about the centre of its largest inscribed circle, round inside, of its outline's shape outside.

Fine where a load on a small patch bends the plate most and where a clamped edge does, coarse far away: along a side the steps
grow with the distance from the centre, and so do the rings. At obtuse corners, where a supported plate's curvature has no
bound, the triangles are cut nearer and nearer to the corner.
"""

from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from calc.stiffness.edges import is_obtuse
from calc.stiffness.element import Array

Whole = NDArray[np.int64]
STEP = 0.65  # of asinh(along / away from the centre), the most from vertex to vertex along a side
RINGS = (1.0, 0.7, 0.4)  # of the inscribed circle's radius; more, each half the one before, down to the patch
LONG = 4.0  # an outline that reaches farther than so many radii of its circle is slender:
SLENDER = 0.6  # over that reach: then the innermost ring lies no farther out
CUTS, NEARER = 2, 0.3  # how often edges into an obtuse corner are cut, at which share of their length
NEAR_CORNER = 0.2  # of a side: a foot of the centre nearer than that to a corner is no vertex


@dataclass(frozen=True)
class Mesh:
    """Vertices (n, 2) and triangles (m, 3) of them, anticlockwise.

    sides: for each vertex the sides of the outline that it lies on, two at a corner, none inside. rings: (n,) which ring it is
    of, 0 the boundary and what lies by its corners; a triangle's vertices are of one ring or of two that follow each other.
    """

    vertices: Array
    triangles: Whole
    sides: tuple[tuple[int, ...], ...]
    rings: Whole


def inscribed_circle(outline: Array) -> tuple[Array, float]:
    """The centre (2,) and radius of the largest circle within a convex outline (n, 2), anticlockwise.

    Where there are many, as in a rectangle, the one in their middle.

    >>> centre, radius = inscribed_circle(np.array([[0.0, 0], [8, 0], [8, 4], [0, 4]]))
    >>> centre.tolist(), radius
    ([4.0, 2.0], 2.0)
    """
    along = np.roll(outline, -1, axis=0) - outline
    inward = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.linalg.norm(along, axis=1)[:, None]
    offsets = (inward * outline).sum(axis=1)
    rows = np.concatenate(
        [inward, -np.ones((len(outline), 1))], axis=1
    )  # inward . centre - radius = offset: it touches
    chosen = np.array(list(combinations(range(len(outline)), 3)))
    systems, wanted = rows[chosen], offsets[chosen]
    sound = np.abs(np.linalg.det(systems)) > 1e-9
    circles = np.linalg.solve(systems[sound], wanted[sound][..., None])[..., 0]
    size = float(np.ptp(outline, axis=0).max())
    fitting = circles[(circles @ rows.T - offsets).min(axis=1) >= -1e-9 * size]
    radius = float(fitting[:, 2].max())
    centres = fitting[fitting[:, 2] >= radius - 1e-7 * size][:, :2]
    return (centres.min(axis=0) + centres.max(axis=0)) / 2, radius


def mesh_of(outline: Array, patch: float, finer: int = 1) -> Mesh:
    """The mesh of a convex outline (n, 2), anticlockwise, whose largest inscribed circle is that of radius 1 about (0, 0).

    patch: the radius of a round patch about the centre that bears a load of its own. finer: so many times as many steps along
    the sides and from ring to ring.
    """
    around, sides = _boundary(outline, STEP / finer)
    reach = np.linalg.norm(around, axis=1)[:, None]
    radii = np.array(_radii(patch, float(reach.max()), finer))
    inner = radii[-1]
    shares = (radii - inner) / (1.0 - inner)  # 1 on the outline, 0 on the innermost ring, which is a circle
    points = np.concatenate(
        [around / reach * (inner + share * (reach - inner)) for share in shares] + [np.zeros((1, 2))]
    )
    rings = np.append(np.repeat(np.arange(len(radii)), len(around)), len(radii) - 1)
    inside = ((),) * (len(points) - len(around))
    mesh = Mesh(points, _triangles(points, len(around), len(radii)), (*sides, *inside), rings)
    along = np.roll(outline, -1, axis=0) - outline
    along = along / np.linalg.norm(along, axis=1)[:, None]
    for corner in range(len(outline)):
        if is_obtuse(along[corner - 1], along[corner]):
            for _ in range(CUTS * finer):
                mesh = _cut_to(mesh, mesh.sides.index(((corner - 1) % len(outline), corner)))
    return mesh


def _cut_to(mesh: Mesh, corner: int) -> Mesh:
    """The mesh with every edge that ends in a corner cut once more, near it."""
    at = mesh.triangles == corner
    touching = at.any(axis=1)
    place = at[touching].argmax(axis=1)[:, None]
    one, other = np.take_along_axis(
        mesh.triangles[touching], (place + np.array([[1, 2]])) % 3, axis=1
    ).T  # corner, one, other
    ends = np.unique([one, other])
    spot = mesh.vertices[corner]
    near_one, near_other = (len(mesh.vertices) + np.searchsorted(ends, each) for each in (one, other))
    cut = [(np.full_like(one, corner), near_one, near_other), (near_one, one, other), (near_one, other, near_other)]
    shared = (tuple(side for side in mesh.sides[corner] if side in mesh.sides[end]) for end in ends)
    return Mesh(
        np.concatenate([mesh.vertices, spot + NEARER * (mesh.vertices[ends] - spot)]),
        np.concatenate([mesh.triangles[~touching], *(np.stack(each, axis=1) for each in cut)]),
        (*mesh.sides, *shared),
        np.append(mesh.rings, np.zeros(len(ends), dtype=np.int64)),
    )


def _boundary(outline: Array, step: float) -> tuple[Array, tuple[tuple[int, ...], ...]]:
    """The vertices on the outline (n, 2), corner by corner, and the sides that each lies on."""
    count = len(outline)
    points: list[Array] = []
    sides: list[tuple[int, ...]] = []
    for side, (start, end) in enumerate(zip(outline, np.roll(outline, -1, axis=0), strict=True)):
        length = float(np.linalg.norm(end - start))
        along = (end - start) / length
        first, last = float(start @ along), float(end @ along)
        off = abs(float(start @ np.array([along[1], -along[0]])))
        has_foot = first < -NEAR_CORNER * length and last > NEAR_CORNER * length
        corner = len(sides)
        for begin, until in pairwise([first, 0.0, last] if has_foot else [first, last]):
            low, high = np.arcsinh(begin / off), np.arcsinh(until / off)
            steps = max(1, int(np.ceil((high - low) / step - 1e-6)))
            places = off * np.sinh(low + (high - low) * np.arange(steps) / steps)
            points.append(start + (places - first)[:, None] * along)
            sides += [(side,)] * steps
        sides[corner] = ((side - 1) % count, side)
    return np.concatenate(points), tuple(sides)


def _radii(patch: float, reach: float, finer: int) -> list[float]:
    """How far out the rings lie where the outline is nearest: down to the patch, farther where the outline is slender."""
    least = min(patch, SLENDER / reach) if reach > LONG else patch
    radii = list(RINGS)
    while radii[-1] > 1.5 * least:
        radii.append(max(radii[-1] / 2, least))
    return [
        outer * (inner / outer) ** (part / finer) for outer, inner in pairwise(radii) for part in range(finer)
    ] + radii[-1:]


def _triangles(points: Array, around: int, rings: int) -> Whole:
    """Quadrangles from ring to ring, each cut along its shorter diagonal, and the fan about the centre."""
    here = np.arange(around)
    after = (here + 1) % around
    triangles = []
    for ring in range(rings - 1):
        a, b, c, d = (
            ring * around + here,
            ring * around + after,
            (ring + 1) * around + after,
            (ring + 1) * around + here,
        )
        one, other = (np.linalg.norm(points[i] - points[k], axis=1) for i, k in ((a, c), (b, d)))
        first = (one < other * (1 - 1e-9))[:, None]
        triangles.append(np.where(first, np.stack([a, b, c], axis=1), np.stack([a, b, d], axis=1)))
        triangles.append(np.where(first, np.stack([a, c, d], axis=1), np.stack([b, c, d], axis=1)))
    inner = (rings - 1) * around
    triangles.append(np.stack([inner + here, inner + after, np.full(around, len(points) - 1)], axis=1))
    return np.concatenate(triangles)
