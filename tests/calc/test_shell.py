"""The shell: joints found, dihedrals signed, what is not flat refused."""

import math

import numpy as np
import pytest
from hypothesis import given

from calc import read_sheet
from calc.shell import Face, Shell, join_faces, volume_below
from tests.shapes import NAMED, fall_trays, sheet_of


def shell_of(shape: dict[str, object]) -> Shell:
    return read_sheet(sheet_of(shape)).shape.shell(1.5)


def test_faces_run_anticlockwise_whichever_way_the_rim_was_given() -> None:
    rim = NAMED["skew"]["rim"]
    forward = shell_of(NAMED["skew"])
    backward = shell_of({**NAMED["skew"], "rim": [rim[0], *rim[:0:-1]]})
    assert forward == backward


def test_a_fall_tray_has_a_facet_a_side_and_a_seam_a_corner() -> None:
    shell = shell_of(NAMED["five"])
    assert [face.name for face in shell.faces] == list("ABCDE")
    assert len(shell.joints) == 5
    assert len(shell.free_edges()) == 5
    assert shell.vertices[-1] == (430.0, 210.0, -52.0)
    assert [joint.name for joint in shell.joints_of("A")] == ["A-B", "A-E"]


def test_a_reflex_corner_makes_a_ridge() -> None:
    shell = shell_of(NAMED["reflex"])
    ridges = [joint for joint in shell.joints if not joint.is_valley]
    assert [joint.name for joint in ridges] == ["C-D"]
    assert ridges[0].dihedral > 180
    assert ridges[0].groove == pytest.approx(180 - ridges[0].dihedral)


@given(fall_trays())
def test_a_dihedral_is_the_angle_between_perpendiculars_to_the_seam(shape: dict[str, object]) -> None:
    """The definition itself: in each face the direction square to the seam, and the angle from one to the other.

    Which way it opens is told by the rim: over 180 degrees where the rim turns inward, a reflex corner.
    """
    shell = shell_of(shape)
    points = shell.points
    low = len(points) - 1
    for joint in shell.joints:
        rim_corner = next(index for index in joint.edge if index != low)
        along = points[rim_corner] - points[low]
        along = along / np.linalg.norm(along)
        squares = []
        for name in joint.between:
            (other,) = set(shell.face(name).loop) - set(joint.edge)
            out = points[other] - points[low]
            out = out - along * (out @ along)
            squares.append(out / np.linalg.norm(out))
        angle = math.degrees(math.acos(float(np.clip(squares[0] @ squares[1], -1, 1))))
        before, here, after = (points[(rim_corner + step) % low][:2] for step in (-1, 0, 1))
        reflex = (here - before)[0] * (after - here)[1] - (here - before)[1] * (after - here)[0] < 0
        assert joint.dihedral == pytest.approx(360 - angle if reflex else angle, abs=1e-5)
        assert joint.is_valley != reflex or joint.dihedral == pytest.approx(180, abs=1e-3)


def test_a_bent_face_is_refused() -> None:
    corners = ((0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (9.0, 9.0, 1.0), (0.0, 9.0, 0.0))
    with pytest.raises(ValueError, match="face A is not flat"):
        join_faces(corners, [Face("A", (0, 1, 2, 3))])


def test_faces_that_run_along_an_edge_the_same_way_are_refused() -> None:
    corners = ((0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (0.0, 9.0, 0.0), (9.0, 9.0, 0.0))
    with pytest.raises(ValueError, match="can't share the edge"):
        join_faces(corners, [Face("A", (0, 1, 2)), Face("B", (0, 1, 3))])


def test_a_named_fold_is_no_weld() -> None:
    corners = ((0.0, 0.0, 0.0), (9.0, 0.0, 0.0), (0.0, 9.0, 0.0), (9.0, 9.0, 4.0))
    shell = join_faces(corners, [Face("A", (0, 1, 2)), Face("B", (1, 3, 2))], {frozenset((1, 2)): ("fold", 2.0)})
    (joint,) = shell.joints
    assert (joint.kind, joint.groove, joint.inside_radius) == ("fold", None, 2.0)


def test_volume_below_a_level_part_way_up() -> None:
    """A tray that falls to a point is a pyramid upside down: filled to a share of its depth it holds the cube of that."""
    shell = shell_of(NAMED["skew"])
    full = volume_below(shell, 0.0)
    assert volume_below(shell, -46.0 / 2) == pytest.approx(full / 8, rel=1e-12)
    assert volume_below(shell, -46.0) == pytest.approx(0.0, abs=1e-6)
