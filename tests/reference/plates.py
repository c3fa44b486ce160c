"""Plates by other ways than the product's, to hold tables and element to: series, polynomials, two membranes.

All for a bending stiffness of 1 and an even load of 1 or a load of 1.
"""

from collections.abc import Sequence

import numpy as np
import scipy.special
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

from calc.stiffness.plate import Plate

Array = NDArray[np.float64]


def amid(plate: Plate) -> int:
    """Which of the places of a plate is its centre."""
    return int(np.linalg.norm(plate.places - plate.centre, axis=1).argmin())


def navier(b: float, poisson: float, patch: float | None = None, terms: int = 400) -> tuple[float, float, float]:
    """Sag and moments M_x, M_y at the middle of a supported rectangle 1 x b: Navier's double sine series (Timoshenko, art. 28,
    34). patch: the radius of a round patch at the middle that bears a load of 1, 0 for a point; None for an even load."""
    m, n = np.meshgrid(np.arange(1, 2 * terms, 2), np.arange(1, 2 * terms, 2), indexing="ij")
    squared = m**2 + (n / b) ** 2
    signs = (-1.0) ** ((m + n) // 2 - 1)
    if patch is None:
        load = 16 / (np.pi**2 * m * n)
    else:
        reach = np.pi * np.sqrt(squared) * patch
        load = 4 / b * (2 * scipy.special.j1(reach) / reach if patch else np.ones_like(reach))
    # a patch's middle lies on the crests: sin(m pi / 2) sin(n pi / 2) twice is 1
    at_middle = load * signs if patch is None else load
    sag = (at_middle / (np.pi**4 * squared**2)).sum()
    bend_x = (at_middle * (m**2 + poisson * (n / b) ** 2) / (np.pi**2 * squared**2)).sum()
    bend_y = (at_middle * ((n / b) ** 2 + poisson * m**2) / (np.pi**2 * squared**2)).sum()
    return float(sag), float(bend_x), float(bend_y)


def levy_one_free(b: float, poisson: float, terms: int = 30) -> tuple[float, float]:
    """Sag and M_x at the middle of the free edge of a rectangle 1 x b: x = 0, x = 1 and y = 0 supported, y = b free; even load
    (Lévy's series, Timoshenko, art. 48)."""
    sag = bend = 0.0
    for m in range(1, 2 * terms, 2):
        k = m * np.pi
        even = 4 / (np.pi**5 * m**5)

        def row(y: float, order: int, k: float = k) -> list[float]:
            """Derivatives of e^-ky and y e^-ky, and of e^k(y - b) and y e^k(y - b)."""
            down, up = np.exp(-k * y), np.exp(k * (y - b))
            return [part for rate, size in ((-k, down), (k, up))
                    for part in (rate**order * size, (rate**order * y + order * rate ** max(order - 1, 0)) * size)]  # fmt: skip

        def of(y: float, first: int, second: int, times: float, k: float = k) -> list[float]:
            return [p - times * k**2 * q for p, q in zip(row(y, first), row(y, second), strict=True)]

        system = [row(0, 0), row(0, 2), of(b, 2, 0, poisson), of(b, 3, 1, 2 - poisson)]
        known = [-even, 0.0, poisson * k**2 * even, 0.0]
        parts = np.linalg.solve(np.array(system), np.array(known))
        shape, curve = parts @ row(b, 0) + even, parts @ row(b, 2)
        sign = (-1.0) ** ((m - 1) // 2)
        sag += sign * shape
        bend += sign * (k**2 * shape - poisson * curve)
    return float(sag), float(bend)


def ritz_clamped(
    outline: Array, poisson: float, at: Array | None = None, degree: int = 12, along_edges: Sequence[float] = (0.5,)
) -> tuple[float, float, Array]:
    """A clamped convex plate by Ritz: (the product of its edges' distances)^2 times a polynomial, even load, integrated over
    triangles by Gauss. Returns the sag and the greatest principal moment at a place (2,), the centroid where none is given, and
    of the moments square to each edge, at these shares of its length (by default in its middle), the one farthest from nil."""
    centre = outline.mean(axis=0)
    size = float(np.abs(outline - centre).max())
    corners = (outline - centre) / size
    along = np.roll(corners, -1, axis=0) - corners
    inward = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.linalg.norm(along, axis=1)[:, None]
    offsets = (inward * corners).sum(axis=1)
    powers = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]

    def basis(x: Array, y: Array) -> tuple[Array, Array, Array, Array]:
        """w, w_xx, w_xy and w_yy of each term at points, by Taylor arithmetic to second order."""
        one, nil = np.ones_like(x), np.zeros_like(x)

        def times(p: tuple[Array, ...], q: tuple[Array, ...]) -> tuple[Array, ...]:
            v, px, py, pxx, pxy, pyy = p
            w, qx, qy, qxx, qxy, qyy = q
            return (v * w, px * w + v * qx, py * w + v * qy, pxx * w + 2 * px * qx + v * qxx,
                    pxy * w + px * qy + py * qx + v * qxy, pyy * w + 2 * py * qy + v * qyy)  # fmt: skip

        bubble = (one, nil, nil, nil, nil, nil)
        for (a, b), offset in zip(inward, offsets, strict=True):
            edge = (a * x + b * y - offset, a * one, b * one, nil, nil, nil)
            bubble = times(times(bubble, edge), edge)
        legendre = np.polynomial.legendre.Legendre.basis
        found = []
        for i, j in powers:
            p, q = legendre(i), legendre(j)
            p1, p2, q1, q2 = p.deriv(), p.deriv(2), q.deriv(), q.deriv(2)
            term = (p(x) * q(y), p1(x) * q(y), p(x) * q1(y), p2(x) * q(y), p1(x) * q1(y), p(x) * q2(y))
            found.append(times(bubble, term))
        return tuple(np.stack([each[k] for each in found]) for k in (0, 3, 4, 5))

    nodes, weights = np.polynomial.legendre.leggauss(degree + 2 * len(corners))
    u, v = np.meshgrid((nodes + 1) / 2, (nodes + 1) / 2, indexing="ij")
    shares = np.outer(weights, weights) / 4 * u
    points, parts = [], []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        points.append((a[:, None] * (u * (1 - v)).ravel() + b[:, None] * (u * v).ravel()).T)
        parts.append(shares.ravel() * float(abs(a[0] * b[1] - a[1] * b[0])))
    where, by = np.concatenate(points), np.concatenate(parts)
    w, xx, xy, yy = basis(where[:, 0], where[:, 1])
    energy = ((xx + yy) * by) @ (xx + yy).T - (1 - poisson) * (
        (xx * by) @ yy.T + (yy * by) @ xx.T - 2 * (xy * by) @ xy.T
    )
    parts_of = np.linalg.lstsq(energy, w @ by, rcond=1e-14)[0]
    shares = np.array(along_edges)[:, None]
    on_edges = [a + shares * (b - a) for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True)]
    spot = np.zeros(2) if at is None else (at - centre) / size
    spots = np.concatenate([spot[None], *on_edges])
    sag, xx, xy, yy = (parts_of @ each for each in basis(spots[:, 0], spots[:, 1]))
    mean, half = -(1 + poisson) * (xx + yy) / 2, (1 - poisson) * np.hypot((xx - yy) / 2, xy)
    edges = -(xx + yy)[1:].reshape(len(corners), -1)  # along a clamped edge nothing bends
    edges = np.take_along_axis(edges, np.abs(edges).argmax(axis=1)[:, None], axis=1)[:, 0]
    return float(sag[0]) * size**4, float((mean + half)[0]) * size**2, np.asarray(edges * size**2)


def two_membranes(outline: Array, centre: Array, steps: int) -> float:
    """The greatest sag of a supported convex polygon under even load: two membranes, one loaded by the other (Timoshenko, art.
    24), on straight-sided triangles about a centre, each of its triangles cut into so many steps a side."""
    places: dict[tuple[int, ...], int] = {}
    points: list[Array] = []
    triangles = []
    count = len(outline)

    def vertex(side: int, i: int, j: int) -> int:
        key = (-1,) if i == j == 0 else (side, i) if j == 0 else ((side + 1) % count, j) if i == 0 else (side, i, j)
        if key not in places:
            places[key] = len(points)
            a, b = outline[side], outline[(side + 1) % count]
            points.append(centre + (a - centre) * i / steps + (b - centre) * j / steps)
        return places[key]

    rim = set()
    for side in range(count):
        for i in range(steps + 1):
            rim.add(vertex(side, i, steps - i))
            for j in range(steps - i):
                triangles.append((vertex(side, i, j), vertex(side, i + 1, j), vertex(side, i, j + 1)))
                if i + j < steps - 1:
                    triangles.append((vertex(side, i + 1, j), vertex(side, i + 1, j + 1), vertex(side, i, j + 1)))
    at, corners = np.array(points), np.array(triangles)
    x, y = np.moveaxis(at[corners], -1, 0)
    slopes = np.stack([np.roll(y, -1, 1) - np.roll(y, 1, 1), np.roll(x, 1, 1) - np.roll(x, -1, 1)], axis=2)
    twice = x[:, 0] * slopes[:, 0, 0] + x[:, 1] * slopes[:, 1, 0] + x[:, 2] * slopes[:, 2, 0]
    stiffness = slopes @ np.swapaxes(slopes, 1, 2) / (2 * twice)[:, None, None]
    mass = twice[:, None, None] / 24 * (np.ones((3, 3)) + np.eye(3))
    rows, columns = np.repeat(corners, 3, axis=1).ravel(), np.tile(corners, (1, 3)).ravel()
    k, m = (sparse.csc_matrix((each.ravel(), (rows, columns))) for each in (stiffness, mass))
    inside = np.array(sorted(set(range(len(at))) - rim))
    factor = splu(k[np.ix_(inside, inside)].tocsc())
    load = np.ones(len(at))
    for _ in (0, 1):
        solved = np.zeros(len(at))
        solved[inside] = factor.solve((m @ load)[inside])
        load = solved
    return float(load.max())
