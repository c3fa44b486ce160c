"""The plate element and its mesh: what is exact stays exact, and neither place, turn nor size of a plate changes anything."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings

from calc import read_sheet
from calc.records import Outline
from calc.stiffness.element import Triangles
from calc.stiffness.loads import lay_down
from calc.stiffness.mesh import inscribed_circle, mesh_of
from calc.stiffness.plate import Plate, solve_plate
from tests.reference.plates import amid
from tests.shapes import NAMED, SUMPS, VALLEYS, fall_trays, ring, sheet_of

POISSON = 0.33
OBLIQUE: Outline = ((0.0, 0.0), (310.0, 0.0), (260.0, 140.0), (40.0, 170.0))


def oblique_mesh() -> tuple[np.ndarray, Triangles, np.ndarray]:
    """A mesh of no symmetry, its triangles with plain unknowns, and which unknowns of the whole each has."""
    corners = np.array(OBLIQUE)
    centre, radius = inscribed_circle(corners)
    mesh = mesh_of((corners - centre) / radius, 0.3)
    frames = np.tile(np.eye(6), (len(mesh.triangles), 3, 1, 1))
    unknowns = (mesh.triangles[:, :, None] * 6 + np.arange(6)).reshape(-1, 18)
    return mesh.vertices, Triangles(mesh.vertices[mesh.triangles], frames), unknowns


# w, w_x, w_y, w_xx, w_xy, w_yy at (x, y) as factors of 1, x, y, x^2, xy, y^2; twice the energy per area for D = 1, which is
# (w_xx + w_yy)^2 - 2 (1 - nu) (w_xx w_yy - w_xy^2)
QUADRATICS = {
    "level": ([1, 0, 0, 0, 0, 0], 0.0),
    "tilted": ([0, 2, -1, 0, 0, 0], 0.0),
    "rolled": ([0, 0, 0, 1, 0, 0], 4.0),
    "dished": ([0, 0, 0, 1, 0, 1], 16.0 - 8 * (1 - POISSON)),
    "twisted": ([0, 0, 0, 0, 1, 0], 2 * (1 - POISSON)),
}


def carried(factors: list[int], at: np.ndarray) -> np.ndarray:
    """What vertices (n, 2) carry of a quadratic, (n, 6)."""
    _, along, across, xx, xy, yy = factors
    x, y = at.T
    w = np.stack([x**0, x, y, x * x, x * y, y * y], axis=1) @ factors
    slopes = [along + 2 * xx * x + xy * y, across + xy * x + 2 * yy * y]
    return np.stack([w, *slopes, *(0 * x + each for each in (2 * xx, xy, 2 * yy))], axis=1)


@pytest.mark.parametrize(("factors", "energy"), QUADRATICS.values(), ids=QUADRATICS)
def test_constant_curvature_is_exact(factors: list[int], energy: float) -> None:
    """The patch test: no force is left at a vertex inside, and the work is that of the plate."""
    vertices, triangles, unknowns = oblique_mesh()
    values = carried(factors, vertices).ravel()
    stiffness = triangles.stiffness(POISSON)
    forces = np.bincount(unknowns.ravel(), (stiffness @ values[unknowns][:, :, None]).ravel(), len(values))
    inside = np.linalg.norm(vertices, axis=1) < 0.9
    assert np.abs(forces.reshape(-1, 6)[inside]).max() < 1e-9
    area = triangles.twice_areas.sum() / 2
    assert values @ forces == pytest.approx(energy * area, rel=1e-9, abs=1e-9)


def test_a_quartic_that_bell_holds_is_reproduced() -> None:
    """Of w = x^4 every slope across an edge is cubic or less along it, so the sum of its squared curvatures is met exactly."""
    vertices, triangles, unknowns = oblique_mesh()
    x, nil = vertices[:, 0], 0 * vertices[:, 0]
    values = np.stack([x**4, 4 * x**3, nil, 12 * x**2, nil, nil], axis=1).ravel()
    work = sum(value @ own @ value for value, own in zip(values[unknowns], triangles.stiffness(POISSON), strict=True))
    nodes, weights = np.polynomial.legendre.leggauss(6)
    u, v = np.meshgrid((nodes + 1) / 2, (nodes + 1) / 2, indexing="ij")
    shares = (np.outer(weights, weights) / 4 * (1 - u)).ravel()
    at = np.stack([(1 - u) * (1 - v), u, (1 - u) * v], axis=-1).reshape(-1, 3) @ triangles.corners
    expected = ((12 * at[:, :, 0] ** 2) ** 2 @ shares * triangles.twice_areas).sum()
    assert work == pytest.approx(expected, rel=1e-9)


def test_loads_push_as_hard_as_they_are_and_where_they_are() -> None:
    vertices, triangles, unknowns = oblique_mesh()
    loads = triangles.loads()
    corners, nil = triangles.corners, 0 * vertices[:, 0]
    areas = triangles.twice_areas / 2
    middles = corners.mean(axis=1)
    lifts = np.stack([nil + 1, nil, nil, nil, nil, nil], axis=1).ravel()
    tilts = np.stack([vertices[:, 0], nil + 1, nil, nil, nil, nil], axis=1).ravel()
    total = np.einsum("tuk,tu->k", loads, lifts[unknowns])
    assert total == pytest.approx(
        [areas.sum(), (areas * middles[:, 0]).sum(), (areas * middles[:, 1]).sum()], abs=1e-12
    )
    # the integral of x^2 over a triangle: its area times (the sum of squares + the square of the sum) / 12
    squares = areas * ((corners[:, :, 0] ** 2).sum(axis=1) + corners[:, :, 0].sum(axis=1) ** 2) / 12
    assert np.einsum("tuk,tu->k", loads, tilts[unknowns])[1] == pytest.approx(squares.sum())


def figures(plate: Plate) -> list[float]:
    """What of a plate is told and is no matter of axes: sags, and how much it bends inside and at clamped edges, under an even
    pressure and under the load on the patch."""
    out = []
    on_sides = np.concatenate(plate.on_sides)
    for load in (0, 3):
        for response, where in ((plate.supported, plate.inner), (plate.clamped, on_sides)):
            x, y, twist = response.moments[where][:, :, load].T
            out += [response.sags[:, load].max(), np.sqrt(x * x - x * y + y * y + 3 * twist * twist).max()]
    return [float(each) for each in out]


def moved(
    outline: Outline, turn: float, shift: tuple[float, float], *, mirrored: bool = False, first: int = 0
) -> Outline:
    points = [complex(x, -y if mirrored else y) * complex(math.cos(turn), math.sin(turn)) for x, y in outline]
    points = [point + complex(*shift) for point in (reversed(points) if mirrored else points)]
    return tuple((point.real, point.imag) for point in points[first:] + points[:first])


@pytest.mark.parametrize(
    "other",
    [
        moved(OBLIQUE, 0.7, (1000.0, -300.0)),
        moved(OBLIQUE, math.pi / 2, (0.0, 0.0)),
        moved(OBLIQUE, 0.0, (0.0, 0.0), mirrored=True),
        moved(OBLIQUE, 2.0, (5.0, 5.0), mirrored=True, first=2),
        moved(OBLIQUE, 0.0, (0.0, 0.0), first=3),
    ],
    ids=["turned and moved", "turned square", "mirrored", "mirrored and turned", "from another corner"],
)
def test_the_same_however_it_lies(other: Outline) -> None:
    """But for the points that stand for the patch, which lie otherwise in its triangles."""
    own, same = (figures(solve_plate(each, (True,) * 4, 25.0, POISSON)) for each in (OBLIQUE, other))
    under_patch = 5
    assert same[under_patch] == pytest.approx(own[under_patch], rel=1e-2)
    assert same[:under_patch] + same[under_patch + 1 :] == pytest.approx(
        own[:under_patch] + own[under_patch + 1 :], rel=2e-3
    )


def test_size_goes_as_it_must() -> None:
    """Twice as large, patch and all: under pressure sags 16 times and moments 4 times, under a load 4 times and the same."""
    own = figures(solve_plate(OBLIQUE, (True,) * 4, 25.0, POISSON))
    twice = figures(solve_plate(tuple((2 * x, 2 * y) for x, y in OBLIQUE), (True,) * 4, 50.0, POISSON))
    assert twice == pytest.approx(
        [times * each for times, each in zip((16, 4, 16, 4, 4, 1, 4, 1), own, strict=True)], rel=1e-9
    )


def test_a_sloping_pressure_is_what_it_is_made_of() -> None:
    """On a symmetrical plate a pressure that is nil at the centre bends one half down and the other up, alike."""
    square = ((0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0))
    plate = solve_plate(square, (True,) * 4, 25.0, POISSON)
    for load in (1, 2):
        sags = plate.supported.sags[:, load]
        assert sags.max() == pytest.approx(-sags.min(), rel=1e-3)
        assert (
            abs(plate.supported.moments[amid(plate), 0, load])
            < 1e-6 * np.abs(plate.supported.moments[:, 0, load]).max()
        )


def product_outlines() -> dict[str, Outline]:
    found = {}
    for name, shape in {
        **NAMED,
        **VALLEYS,
        **{f"{name} with sump": shape for name, shape in SUMPS.items()},
        "ring": ring(12),
    }.items():
        shell = read_sheet(sheet_of(shape)).shape.shell(1.5)
        found |= {f"{name} {face.name}": lay_down(shell, face).outline for face in shell.faces}
    return found


@pytest.mark.parametrize("outline", product_outlines().values(), ids=product_outlines())
def test_a_finer_mesh_changes_little(outline: Outline) -> None:
    """Sags by less than 1 %, stress under a hand in the middle by less than 3 %, on every facet of the catalogue."""
    own, finer = (solve_plate(outline, (True,) * len(outline), 25.0, POISSON, times) for times in (1, 2))
    for load in (0, 3):
        sags = [plate.supported.sags[:, load].max() for plate in (own, finer)]
        assert sags[0] == pytest.approx(sags[1], rel=0.01)
    middles = [plate.supported.moments[amid(plate), :2, 3].sum() for plate in (own, finer)]
    assert middles[0] == pytest.approx(middles[1], rel=0.03)


@settings(max_examples=10, deadline=None)
@given(fall_trays())
def test_any_facet_is_solved(shape: dict[str, Any]) -> None:
    shell = read_sheet(sheet_of(shape)).shape.shell(1.5)
    for face in shell.faces:
        outline = lay_down(shell, face).outline
        plate = solve_plate(outline, (True,) * len(outline), 25.0, POISSON)
        assert np.isfinite(plate.supported.moments).all()
        assert 0 < plate.clamped.sags[:, 0].max() < plate.supported.sags[:, 0].max()
        for sags in (plate.supported.sags, plate.clamped.sags):
            assert sags[:, 3].max() > 0
            assert sags[:, [0, 3]].min() > -0.02 * sags[:, [0, 3]].max()
