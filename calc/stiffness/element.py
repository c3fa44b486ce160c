"""The plate element: Bell's triangle, a quintic whose slope across each edge is cubic, so that triangles join without a kink.

Each corner carries w, w_x, w_y, w_xx, w_xy and w_yy; so bending moments come straight from what is solved for, and a coarse
mesh is accurate. Source: K. Bell, A refined triangular plate bending finite element, Int. J. Num. Meth. Eng. 1 (1969).

Each triangle is the image of one reference triangle (0, 0), (1, 0), (0, 1), on which the quintic has 21 monomials. 18 of its
conditions, the values at the corners, are the same for every triangle; only the three at the edges depend on its shape. What
is integrated over the reference triangle is integrated exactly, once.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
POWERS = tuple((total - j, j) for total in range(6) for j in range(total + 1))  # of xi and eta, 21 of them
CORNERS = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
DERIVATIVES = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))  # what each corner carries, in this order
DOFS = len(DERIVATIVES)
CURVATURES = DERIVATIVES[3:]


def monomials(points: Array, along: tuple[int, int] = (0, 0)) -> Array:
    """The 21 monomials, differentiated so often along xi and eta, at points (n, 2) of the reference triangle: (n, 21)."""
    columns = []
    for powers in POWERS:
        column = np.ones(len(points))
        for axis in (0, 1):
            power, times = powers[axis], along[axis]
            column = column * (math.perm(power, times) * points[:, axis] ** max(power - times, 0))
        columns.append(column)
    return np.stack(columns, axis=1)


def _integral(first: int, second: int) -> float:
    """The integral of xi^first eta^second over the reference triangle."""
    return math.factorial(first) * math.factorial(second) / math.factorial(first + second + 2)


def _moments(one: tuple[int, int], other: tuple[int, int]) -> Array:
    """The integrals (21, 21) of each monomial's derivative `one` times each monomial's derivative `other`."""
    out = np.zeros((len(POWERS), len(POWERS)))
    for i, (a, b) in enumerate(POWERS):
        for j, (c, d) in enumerate(POWERS):
            times = math.perm(a, one[0]) * math.perm(b, one[1]) * math.perm(c, other[0]) * math.perm(d, other[1])
            if times:
                out[i, j] = times * _integral(a + c - one[0] - other[0], b + d - one[1] - other[1])
    return out


_VALUES = np.concatenate([monomials(CORNERS[k : k + 1], each) for k in range(3) for each in DERIVATIVES])  # (18, 21)
_FITTED = np.linalg.pinv(_VALUES)  # (21, 18) a quintic for each value at a corner
_SPARE = np.linalg.svd(_VALUES)[2][18:].T  # (21, 3) the quintics that are nil at the corners
_PRODUCTS = np.array([[_moments(one, other) for other in CURVATURES] for one in CURVATURES]).reshape(9, -1)
_LOADS = np.array([[_integral(a + i, b + j) for a, b in POWERS] for i, j in ((0, 0), (1, 0), (0, 1))])  # (3, 21)
_EDGES = np.roll(CORNERS, -1, axis=0) - CORNERS


def _quartic_slopes() -> Array:
    """The quartic term along each edge of the slopes towards xi and eta, (3, 2, 21)."""
    out = np.zeros((3, 2, len(POWERS)))
    for edge, (u, v) in enumerate(_EDGES):
        for axis in (0, 1):
            for i in range(5):
                along = (4 - i, i)
                times = math.comb(4, i) * u ** (4 - i) * v**i
                derivative = (along[0] + (axis == 0), along[1] + (axis == 1))
                out[edge, axis] += times * monomials(np.zeros((1, 2)), derivative)[0]
    return out


_QUARTIC = _quartic_slopes()


@dataclass(frozen=True)
class Triangles:
    """Triangles in the plane: corners (n, 3, 2), anticlockwise, in any one unit of length.

    frames: (n, 3, 6, 6), for each corner the combinations of its six values that are solved for, a column each.
    """

    corners: Array
    frames: Array

    @cached_property
    def jacobians(self) -> Array:
        """From the reference triangle to each, (n, 2, 2): x = first corner + J xi."""
        start, one, other = np.moveaxis(self.corners, 1, 0)
        return np.stack([one - start, other - start], axis=2)

    @cached_property
    def inverses(self) -> Array:
        """The inverse of each Jacobian, (n, 2, 2)."""
        return np.asarray(np.linalg.inv(self.jacobians), dtype=np.float64)

    @cached_property
    def twice_areas(self) -> Array:
        """Twice the area of each, (n,)."""
        j = self.jacobians
        return np.asarray(j[:, 0, 0] * j[:, 1, 1] - j[:, 0, 1] * j[:, 1, 0])

    @cached_property
    def shapes(self) -> Array:
        """The 21 coefficients of the quintic that each unknown makes, (n, 21, 18)."""
        along = np.roll(self.corners, -1, axis=1) - self.corners
        length = np.linalg.norm(along, axis=2)
        normals = np.stack([along[..., 1], -along[..., 0]], axis=2) / length[..., None]
        towards = np.einsum("tij,tej->tei", self.inverses, normals)
        conditions = np.einsum("tea,eam->tem", towards, _QUARTIC)
        quintics = _FITTED - _SPARE @ np.linalg.solve(conditions @ _SPARE, conditions @ _FITTED)
        by_corner = np.swapaxes(quintics.reshape(-1, len(POWERS), 3, DOFS), 1, 2)  # (n, 3, 21, 6)
        turned = by_corner @ (self._reference_values[:, None] @ self.frames)
        return np.asarray(np.swapaxes(turned, 1, 2).reshape(-1, len(POWERS), 3 * DOFS))

    @cached_property
    def _reference_values(self) -> Array:
        """What a corner carries in the reference triangle, of what it carries in the plane: (n, 6, 6)."""
        (a, b), (c, d) = np.moveaxis(self.jacobians, 0, -1)
        out = np.zeros((len(self.corners), DOFS, DOFS))
        out[:, 0, 0] = 1.0
        out[:, 1:3, 1:3] = np.swapaxes(self.jacobians, 1, 2)
        out[:, 3:, 3:] = _turned_curvatures(a, b, c, d)
        return out

    @cached_property
    def turned_curvatures(self) -> Array:
        """Curvatures (xx, xy, yy) in the plane, of those in the reference triangle: (n, 3, 3)."""
        (a, b), (c, d) = np.moveaxis(self.inverses, 0, -1)
        return _turned_curvatures(a, b, c, d)

    def stiffness(self, poisson: float) -> Array:
        """The stiffness (n, 18, 18) of each, of a plate whose bending stiffness D is 1."""
        turned = self.turned_curvatures
        law = np.array([[1.0, 0.0, poisson], [0.0, 2.0 * (1.0 - poisson), 0.0], [poisson, 0.0, 1.0]])
        weights = np.swapaxes(turned, 1, 2) @ law @ turned * self.twice_areas[:, None, None]
        inner = (weights.reshape(-1, 9) @ _PRODUCTS).reshape(-1, len(POWERS), len(POWERS))
        return np.asarray(np.swapaxes(self.shapes, 1, 2) @ inner @ self.shapes)

    def loads(self) -> Array:
        """What pressures of 1, x and y come to at the unknowns, (n, 18, 3)."""
        in_reference = _LOADS @ self.shapes * self.twice_areas[:, None, None]  # (n, 3, 18) of 1, xi, eta
        start = self.corners[:, 0, :, None] * in_reference[:, :1]
        slopes = self.jacobians @ in_reference[:, 1:]
        return np.asarray(np.swapaxes(np.concatenate([in_reference[:, :1], start + slopes], axis=1), 1, 2))

    def reference_points(self, points: Array) -> Array:
        """Points (m, 2) of the plane as each triangle's own reference sees them, (n, m, 2)."""
        return np.asarray((points[None] - self.corners[:, :1]) @ np.swapaxes(self.inverses, 1, 2))


def _turned_curvatures(a: Array, b: Array, c: Array, d: Array) -> Array:
    """Curvatures (xx, xy, yy) seen in axes that a matrix ((a, b), (c, d)) turns into these: (n, 3, 3)."""
    rows = ((a * a, 2 * a * c, c * c), (a * b, a * d + b * c, c * d), (b * b, 2 * b * d, d * d))
    return np.stack([np.stack(row, axis=-1) for row in rows], axis=-2)
