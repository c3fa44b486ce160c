"""A flat plate of any convex outline, solved by `element`: sags and moments under unit loads, its edges supported and clamped.

Small deflection: what it sags changes nothing of how it bears. All is linear in the loads, so an outline is solved once for
unit loads, and every load on it is put together from these.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from calc.records import Outline
from calc.stiffness.edges import Flags, frames_of
from calc.stiffness.element import CURVATURES, DOFS, Array, Triangles, monomials
from calc.stiffness.mesh import Mesh, inscribed_circle, mesh_of

ROUNDING = 1e-9
LARGEST_PATCH = 0.8  # of the inscribed circle's radius: a load as large as the facet is taken as on a smaller patch
_LATTICE = np.array([(i / 4, j / 4) for i in range(5) for j in range(5 - i)])
_SHARES_AT_LATTICE = np.column_stack([1 - _LATTICE.sum(axis=1), _LATTICE])  # of a triangle's three corners
_AT_LATTICE = monomials(_LATTICE)
_BENT_AT_LATTICE = np.concatenate([monomials(_LATTICE, each) for each in CURVATURES])
_RADII, _SHARES = np.polynomial.legendre.leggauss(4)
_TURNS = (
    2 * np.pi * (np.arange(12) + 0.3) / 12
)  # directions of the points that stand for a patch, none along a mesh line


@dataclass(frozen=True)
class Response:
    """What the four unit loads do, a column each: a pressure of 1; one that is nil at the centre and rises by 1 per mm along
    x; the same along y; a load of 1 on the patch.

    Both at `Plate.places`: sags (m, 4), of a plate whose bending stiffness D is 1; moments (m, 3, 4) M_x, M_y and M_xy per
    length, of a plate of any D. Where triangles meet a place is there once for each: along their edges, corners aside, their
    moments differ a little.
    """

    sags: Array
    moments: Array


@dataclass(frozen=True)
class Plate:
    """A plate solved: its mesh [mm], the centre (2,) and radius of the patch [mm], places (m, 2) where it is told how it bends.

    These are a lattice in every triangle: a plate may bend most between the mesh's vertices. inner: (m,) which of them lie well
    inside: at obtuse corners of a supported plate the theory's moments have no bound. on_sides: for each side of the outline
    those on it by their index, its ends left out.
    """

    mesh: Mesh
    centre: Array
    patch: float
    places: Array
    inner: Flags
    on_sides: tuple[NDArray[np.intp], ...]
    supported: Response
    clamped: Response


@lru_cache(maxsize=64)  # about half a MB each
def solve_plate(outline: Outline, held: tuple[bool, ...], patch: float, poisson: float, finer: int = 1) -> Plate:
    """The plate of a convex outline [mm], anticlockwise; which of its sides are held, the others being free.

    patch: the radius [mm] of a round patch about the centre of the largest inscribed circle. poisson: Poisson's ratio. finer:
    so many times as fine a mesh, to see what the mesh does. Raises LinAlgError where nothing holds it.

    >>> square = solve_plate(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)), (True,) * 4, 0.1, 0.3)
    >>> float(round(square.supported.sags[:, 0].max(), 5)), float(round(square.clamped.sags[:, 0].max(), 5))
    (0.00406, 0.00127)
    """
    corners = np.array(outline, dtype=np.float64)
    centre, radius = inscribed_circle(corners)
    patch = min(patch, LARGEST_PATCH * radius)
    scaled = (corners - centre) / radius  # of size 1, so that slopes and curvatures are of one order
    mesh = mesh_of(scaled, patch / radius, finer)
    frames, supported, clamped = frames_of(scaled, held, mesh.sides)
    triangles = Triangles(mesh.vertices[mesh.triangles], frames[mesh.triangles])
    unknowns = (mesh.triangles[:, :, None] * DOFS + np.arange(DOFS)).reshape(len(mesh.triangles), -1)
    stiffness, loads = _assembled(triangles, unknowns, len(mesh.vertices) * DOFS, poisson, patch / radius)
    responses = [
        _response(values, triangles, unknowns, poisson, radius)
        for values in _solved(stiffness, loads, mesh, (supported, clamped))
    ]
    return Plate(
        replace(mesh, vertices=mesh.vertices * radius + centre),
        centre,
        patch,
        (_SHARES_AT_LATTICE @ triangles.corners).reshape(-1, 2) * radius + centre,
        _places_amid(mesh, mesh.rings > 0),
        tuple(_on_side(mesh, side) for side in range(len(outline))),
        *responses,
    )


def _places_amid(mesh: Mesh, has: Flags) -> Flags:
    """Of each place whether all the vertices that it lies between have something, (n,): (m,)."""
    return np.asarray(has[mesh.triangles] @ _SHARES_AT_LATTICE.T > 1 - ROUNDING).ravel()


def _on_side(mesh: Mesh, side: int) -> NDArray[np.intp]:
    """The places on a side, its ends left out, by their index."""
    on_it = np.array([side in on for on in mesh.sides])
    is_corner = np.array([len(on) > 1 for on in mesh.sides])
    return np.flatnonzero(_places_amid(mesh, on_it) & ~_places_amid(mesh, is_corner))


def _assembled(
    triangles: Triangles, unknowns: NDArray[np.intp], size: int, poisson: float, patch: float
) -> tuple[Array, Array]:
    """The stiffness (size, size) and the unit loads (size, 4) of all triangles together."""
    pairs = unknowns[:, :, None] * size + unknowns[:, None, :]
    summed = np.bincount(pairs.ravel(), triangles.stiffness(poisson).ravel(), size * size)
    stiffness: Array = summed.astype(np.float64, copy=False).reshape(size, size)
    spread = triangles.loads()
    loads = [np.bincount(unknowns.ravel(), spread[:, :, kind].ravel(), size) for kind in range(3)]
    points = (patch * np.sqrt((_RADII + 1) / 2))[:, None, None] * np.stack([np.cos(_TURNS), np.sin(_TURNS)], axis=1)
    points, shares = points.reshape(-1, 2), np.repeat(_SHARES / 2 / len(_TURNS), len(_TURNS))
    seen = triangles.reference_points(points)
    one, other = np.moveaxis(seen, -1, 0)
    which = np.minimum(np.minimum(one, other), 1 - one - other).argmax(axis=0)  # the triangle that each lies in
    at = monomials(seen[which, np.arange(len(points))])
    on_patch = (at[:, None] @ triangles.shapes[which])[:, 0] * shares[:, None]
    return stiffness, np.stack([*loads, np.bincount(unknowns[which].ravel(), on_patch.ravel(), size)], axis=1)


def _solved(stiffness: Array, loads: Array, mesh: Mesh, free: tuple[Flags, ...]) -> Iterator[Array]:
    """What is solved for (size, 4), for each of the ways in which the boundary is held.

    A ring joins its neighbours only: rings are eliminated from the centre outward, once, and the boundary is solved last.
    """
    vertices = [np.flatnonzero(mesh.rings == ring) for ring in range(int(mesh.rings.max()) + 1)]
    rings = [(each[:, None] * DOFS + np.arange(DOFS)).ravel() for each in vertices]
    inside: list[tuple[Array, Array]] = []
    own, load = stiffness[np.ix_(rings[-1], rings[-1])], loads[rings[-1]]
    for outer, here in reversed(list(pairwise(rings))):
        link = stiffness[np.ix_(here, outer)]
        solved = np.linalg.solve(own, np.concatenate([link, load], axis=1))
        follows, alone = np.split(solved, [len(outer)], axis=1)
        inside.append((follows, alone))
        own = stiffness[np.ix_(outer, outer)] - link.T @ follows
        load = loads[outer] - link.T @ alone
    for flags in free:
        kept = np.flatnonzero(flags[vertices[0]])
        values = np.zeros_like(loads)
        values[rings[0][kept]] = np.linalg.solve(own[np.ix_(kept, kept)], load[kept])
        for (outer, here), (follows, alone) in zip(pairwise(rings), reversed(inside), strict=True):
            values[here] = alone - follows @ values[outer]
        yield values


def _response(
    values: Array, triangles: Triangles, unknowns: NDArray[np.intp], poisson: float, radius: float
) -> Response:
    """Sags and moments from what was solved for in units of the inscribed circle's radius [mm]."""
    scale = np.array([radius**2, radius**3, radius**3, 1.0])
    quintics = triangles.shapes @ values[unknowns]
    sags = (_AT_LATTICE @ quintics).reshape(-1, values.shape[1])
    law = -np.array([[1.0, 0.0, poisson], [poisson, 0.0, 1.0], [0.0, 1.0 - poisson, 0.0]])
    bent = (_BENT_AT_LATTICE @ quintics).reshape(len(quintics), len(CURVATURES), -1)  # of places and loads together
    moments = (law @ triangles.turned_curvatures @ bent).reshape(len(quintics), 3, len(_LATTICE), -1)
    return Response(sags * scale * radius**2, np.swapaxes(moments, 1, 2).reshape(len(sags), 3, -1) * scale)
