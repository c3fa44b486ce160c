"""Trays against figures from outside: roof framing, pyramids, quadrilaterals, and a mesh library.

A square-cornered tray that falls equally is a hip roof upside down, so the carpenter's framing square has its figures.
"""

import math
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given

from calc import plan, read_sheet
from calc.blank import Blank
from calc.drainage import litres
from calc.families.rims import MeasuredRim, corners_of, disagreements
from calc.shell import Shell
from calc.unfold import unfold
from tests.shapes import NAMED, fall_tray, fall_trays, sheet_of


def made(shape: dict[str, Any], **keys: Any) -> tuple[Shell, tuple[Blank, ...]]:
    sheet = read_sheet(sheet_of(shape, **keys))
    shell = sheet.shape.shell(1.5)
    return shell, unfold(shell, sheet)


def rectangle(length: float, width: float) -> list[list[float]]:
    return [[0, 0], [length, 0], [length, width], [0, width]]


# Rise per 12 of run; length of common and of hip rafter per 12 of run. From memory: the tables on every framing square.
# Dihedral: 180 less twice the hip's backing angle, which is atan(sin of the hip's slope / tan of its plan angle, here 45).
FRAMING_SQUARE = [
    (2, 12.17, 17.09, 166.649),
    (4, 12.65, 17.44, 154.158),
    (6, 13.42, 18.00, 143.130),
    (8, 14.42, 18.76, 133.813),
    (12, 16.97, 20.78, 120.000),
    (16, 20.00, 23.32, 111.100),
]


@pytest.mark.parametrize(("rise", "common", "hip", "dihedral"), FRAMING_SQUARE)
def test_hips_of_the_framing_square(rise: float, common: float, hip: float, dihedral: float) -> None:
    shell, blanks = made(fall_tray(rectangle(24, 24), [12, 12], rise), making={"seam_gap": 0})
    for joint in shell.joints:
        assert joint.length == pytest.approx(hip, abs=0.006)
        assert joint.dihedral == pytest.approx(dihedral, abs=6e-4)
        assert joint.groove == pytest.approx(180 - dihedral, abs=6e-4)
    for blank in blanks:
        rim = next(i for i, edge in enumerate(blank.edges) if edge.meets is None)
        corners = np.array(blank.net_outline)
        base = corners[(rim + 1) % 3] - corners[rim]
        apex = corners[(rim + 2) % 3] - corners[rim]
        height = abs(base[0] * apex[1] - base[1] * apex[0]) / np.linalg.norm(base)
        assert height == pytest.approx(common, abs=0.006)


def test_a_common_rafter_alone() -> None:
    """9 in 12: 15.00 and 19.21 (from memory: framing square)."""
    shell, _ = made(fall_tray(rectangle(24, 24), [12, 12], 9))
    assert shell.joints[0].length == pytest.approx(19.21, abs=0.006)


def test_a_corner_of_unequal_falls() -> None:
    """Runs 18.5 and 10.571428, depth 12.333333: hip 24.61943, its slope 30.063493 degrees, face angles at the rim corner
    64.57091 and 41.28481 degrees (read: a worked irregular hip of roof carpentry). The dihedral, 122.785, is arithmetic:
    180 less the two backing angles atan(sin hip slope / tan of the plan angle to either wall)."""
    shell, blanks = made(fall_tray(rectangle(40, 30), [10.571428, 18.5], 12.333333), making={"seam_gap": 0})
    (corner_seam,) = (joint for joint in shell.joints if 0 in joint.edge)
    assert corner_seam.length == pytest.approx(24.61943, abs=1e-5)
    assert math.degrees(math.asin(12.333333 / corner_seam.length)) == pytest.approx(30.063493, abs=1e-4)
    assert corner_seam.dihedral == pytest.approx(122.785, abs=1e-3)
    angles = sorted(angle_at(blank, 0) for blank in blanks if any(0 in edge.edge for edge in blank.edges))
    assert angles == pytest.approx([41.28481, 64.57091], abs=1e-4)


def angle_at(blank: Blank, vertex: int) -> float:
    """The angle [degrees] of a blank's net outline at a vertex of the shell."""
    at = next(i for i, edge in enumerate(blank.edges) if edge.edge[0] == vertex)
    corners = np.array(blank.net_outline)
    one, other = corners[(at + 1) % 3] - corners[at], corners[at - 1] - corners[at]
    return math.degrees(math.acos(float(one @ other) / float(np.linalg.norm(one) * np.linalg.norm(other))))


# Square pyramids, base x height: slant and edge by Pythagoras, sqrt(h^2 + (b/2)^2) and sqrt(h^2 + b^2/2) (school geometry).
PYRAMIDS = [(30, 55, 57.009, 58.949), (40, 60, 63.246, 66.332), (50, 70, 74.330, 78.422)]


@pytest.mark.parametrize(("base", "height", "slant", "edge"), PYRAMIDS)
def test_square_pyramids(base: float, height: float, slant: float, edge: float) -> None:
    shell, blanks = made(fall_tray(rectangle(base, base), [base / 2, base / 2], height), making={"seam_gap": 0})
    assert [joint.length for joint in shell.joints] == pytest.approx([edge] * 4, abs=6e-4)
    assert [blank.area for blank in blanks] == pytest.approx([base * slant / 2] * 4, abs=0.01)
    assert blanks[0].same_as is None
    assert [blank.same_as for blank in blanks[1:]] == ["A"] * 3


@given(fall_trays())
def test_volume_and_area_by_a_mesh_library(shape: dict[str, Any]) -> None:
    """trimesh: the area of the facets as a mesh, and the volume between them and the rim plane."""
    shell, blanks = made(shape, making={"seam_gap": 0})
    mesh = trimesh.Trimesh(shell.points, [face.loop for face in shell.faces], process=False)
    assert litres(shell) == pytest.approx(abs(signed_volume(mesh)) * 1e-6, rel=1e-6)
    assert math.fsum(blank.area for blank in blanks) == pytest.approx(mesh.area, rel=1e-6)


def signed_volume(mesh: trimesh.Trimesh) -> float:
    """The volume between a mesh and the origin; the rim plane goes through it, so a lid there would add nothing."""
    return float(trimesh.triangles.mass_properties(mesh.triangles, skip_inertia=True).volume)


@pytest.mark.parametrize("name", NAMED)
def test_named_trays_planned_whole_against_the_mesh_library(name: str) -> None:
    planned = plan(sheet_of(NAMED[name]))
    mesh = trimesh.Trimesh(planned.shell.points, [face.loop for face in planned.shell.faces], process=False)
    assert planned.takeoff.net_area == pytest.approx(mesh.area, rel=1e-9)
    assert planned.drainage.litres == pytest.approx(abs(signed_volume(mesh)) * 1e-6, rel=1e-9)


def test_the_prismatoid_rule() -> None:
    """V = H/6 (A1 + 4 Am + A2), the prismatoid rule (geometry textbooks): here A2 = 0 and Am = A1/4."""
    rim = shapely.Polygon(NAMED["five"]["rim"]).area
    held = plan(sheet_of(NAMED["five"])).drainage.litres
    assert held == pytest.approx(52 / 6 * (rim + 4 * rim / 4 + 0) * 1e-6, rel=1e-12)


# Quadrilaterals. Read (a worked geometry example): AB 5, BC 13, CD 16, DA 20 and the diagonal AC 12 enclose 126; the other
# diagonal, sqrt(585), is arithmetic from the corners (0,0) (5,0) (0,12) (-16,12).
def test_four_sides_and_their_diagonals() -> None:
    rim = MeasuredRim((5.0, 13.0, 16.0, 20.0), (12.0, math.sqrt(585)))
    corners = corners_of(rim)
    assert shapely.Polygon(corners).area == pytest.approx(126, abs=1e-9)
    assert disagreements(rim) == pytest.approx((0,) * 6, abs=1e-9)


def bretschneider(sides: tuple[float, ...], diagonals: tuple[float, ...]) -> float:
    """Area from four sides and two diagonals: sqrt(4 p^2 q^2 - (a^2 - b^2 + c^2 - d^2)^2) / 4 (Bretschneider)."""
    a, b, c, d = sides
    p, q = diagonals
    return math.sqrt(4 * (p * q) ** 2 - (a**2 - b**2 + c**2 - d**2) ** 2) / 4


def test_area_by_bretschneider() -> None:
    corners = ((0.0, 0.0), (742.0, 9.0), (731.0, 398.0), (-12.0, 371.0))
    sides = tuple(math.dist(corners[i], corners[(i + 1) % 4]) for i in range(4))
    diagonals = (math.dist(corners[0], corners[2]), math.dist(corners[1], corners[3]))
    taped = MeasuredRim((sides[0], sides[1], sides[2], sides[3]), diagonals)
    assert shapely.Polygon(corners_of(taped)).area == pytest.approx(bretschneider(sides, diagonals), rel=1e-9)
    assert bretschneider(sides, diagonals) == pytest.approx(shapely.Polygon(corners).area, rel=1e-9)


def test_tape_that_disagrees_is_fitted_by_least_squares() -> None:
    """One diagonal read 6 mm long. scipy-free check of the optimum itself: no small move of a corner lowers the sum."""
    rim = MeasuredRim((700.0, 400.0, 700.0, 400.0), (math.hypot(700, 400) + 6, math.hypot(700, 400)))
    corners = np.array(corners_of(rim))
    best = sum(error**2 for error in disagreements(rim))
    pairs = [(0, 1), (1, 2), (2, 3), (3, 0), (0, 2), (1, 3)]
    taped = np.array(rim.sides + rim.diagonals)
    for corner in range(4):
        for move in ((0.05, 0), (-0.05, 0), (0, 0.05), (0, -0.05)):
            moved = corners.copy()
            moved[corner] += move
            lengths = np.array([np.linalg.norm(moved[i] - moved[j]) for i, j in pairs])
            assert float(((lengths - taped) ** 2).sum()) > best
    warnings = plan(
        sheet_of(fall_tray({"sides": list(rim.sides), "diagonals": list(rim.diagonals)}, [300, 150], 40))
    ).warnings
    assert "tape-disagrees" in [warning.code for warning in warnings]
