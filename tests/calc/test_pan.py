"""Pans: what they hold, how they drain, what is refused and whether the cure that is told does cure it."""

import math
import re
from typing import Any

import numpy as np
import pytest
import trimesh
from hypothesis import assume, given, settings

from calc import Plan, SheetFaults, plan, read_sheet
from calc.drainage import drain
from calc.shell import Shell
from calc.unfold import unfold
from tests.shapes import pan, pans, sheet_of


def shell_of(shape: dict[str, Any], thickness: float = 1.5) -> Shell:
    sheet = {**sheet_of(shape), "material": {"alloy": "5052-H32", "thickness": thickness}}
    return read_sheet(sheet).shape.shell(thickness)


def planned(shape: dict[str, Any], **keys: Any) -> Plan:
    return plan(sheet_of(shape, **keys))


def fault_of(shape: dict[str, Any], thickness: float = 1.5) -> str | None:
    """What is wrong with a pan, by the checks of the sheet or the unfolding."""
    try:
        sheet = read_sheet({**sheet_of(shape), "material": {"alloy": "5052-H32", "thickness": thickness}})
        unfold(sheet.shape.shell(thickness), sheet)
    except SheetFaults as faults:
        return str(faults)
    return None


# --- volume and fall


@pytest.mark.parametrize("returns", [{}, {"return_width": 20}])
def test_a_level_pan_holds_its_inside(returns: dict[str, float]) -> None:
    """Plain arithmetic: outside sizes less the metal, 597 x 397 x 48.5 mm."""
    assert drain(shell_of(pan(600, 400, 50, inside_radius=2, **returns))).litres == pytest.approx(
        597 * 397 * 48.5 * 1e-6
    )


@given(pans())
def test_a_pan_holds_what_a_mesh_of_it_encloses(shape: dict[str, Any]) -> None:
    """trimesh: a floor, four walls and a lid of two triangles each, on the eight inside corners; returns hold nothing."""
    shell = shell_of(shape)
    walls = [(i, (i + 1) % 4, (i + 1) % 4 + 4, i + 4) for i in range(4)]
    quads = [(3, 2, 1, 0), *walls, (4, 5, 6, 7)]
    triangles = [half for a, b, c, d in quads for half in ((a, b, c), (a, c, d))]
    inside = trimesh.Trimesh(np.array(shell.vertices[:8]), triangles, process=False)
    assert inside.is_watertight
    assert drain(shell).litres == pytest.approx(float(inside.volume) * 1e-6, rel=1e-9)


def test_the_floor_of_a_falling_pan_by_hand() -> None:
    """The outside drops 12 in 600, so the wet floor, 1.5 mm off it square, lies 1.5 x hypot(1, 0.02) over it. Half-way along
    the outside is 56 deep."""
    shell = shell_of(pan(600, 400, 50, inside_radius=2, fall=12))
    depth = 56 - 1.5 * math.hypot(1, 0.02)
    assert drain(shell).litres == pytest.approx(597 * 397 * depth * 1e-6)
    (floor,) = drain(shell).falls
    assert (floor.face, floor.fall) == ("A", pytest.approx(0.02))
    assert min(z for *_, z in shell.vertices) == pytest.approx(-(50 + 12 * 598.5 / 600 - 1.5 * math.hypot(1, 0.02)))


def test_walls_stand_upright_on_a_falling_floor() -> None:
    """By trigonometry: at the low end the wall turns up by 90 + atan(fall / length), at the high end by 90 less that."""
    shell = shell_of(pan(600, 400, 50, inside_radius=2, fall=12))
    tilt = math.degrees(math.atan2(12, 600))
    bends = {joint.name: joint.bend for joint in shell.folds}
    assert bends == pytest.approx({"A-B": 90, "A-C": 90 + tilt, "A-D": 90, "A-E": 90 - tilt})
    for name in "BCDE":
        assert len({round(z, 9) for *_, z in shell.corners(shell.face(name))[2:]}) == 1


def test_returns_turn_outward_and_take_no_part_in_draining() -> None:
    shell = shell_of(pan(600, 400, 50, inside_radius=2, fall=12, return_width=20))
    assert [joint.bend for joint in shell.folds if joint.name.endswith("r")] == pytest.approx([-90] * 4)
    outer = np.array(shell.vertices[8:])
    assert outer[:, 2] == pytest.approx(0)
    # 20 from the inside face, 1.5 inside the outside: 18.5 past it
    assert [outer[:, 0].min(), outer[:, 0].max()] == pytest.approx([-18.5, 618.5])
    assert [outer[:, 1].min(), outer[:, 1].max()] == pytest.approx([-18.5, 418.5])
    found = drain(shell)
    assert {fall.face for fall in found.falls} == {"A"}
    assert not any(name.endswith("r") for seam in found.seams for name in seam.between)


@pytest.mark.parametrize("fall", [0, 12])
def test_a_level_floor_or_end_is_warned_of(fall: float) -> None:
    codes = [warning.code for warning in planned(pan(600, 400, 50, inside_radius=2, fall=fall)).warnings]
    assert "level" in codes
    assert "fall-low" not in codes


def test_a_pan_is_one_blank_whose_corners_are_welded() -> None:
    made = planned(pan(600, 400, 50, inside_radius=2, return_width=20), making={"joins": "fewest-welds"})
    assert [blank.faces for blank in made.blanks] == [("A", "B", "C", "D", "E", "Br", "Cr", "Dr", "Er")]
    assert made.takeoff.fold_count == 8
    assert {joint.name for joint in made.shell.welds if not joint.name.count("r")} == {"B-C", "C-D", "D-E", "B-E"}
    # four uprights 48.5 high
    assert sum(joint.length for joint in made.shell.welds if not joint.name.count("r")) == pytest.approx(4 * 48.5)


# --- what is refused


TOLD = re.compile(r"^sheet\.shape\.(\w+): .*must be at least ([\d.]+) mm")


@pytest.mark.parametrize(
    ("shape", "key"),
    [
        (pan(600, 400, 4, inside_radius=2), "height"),
        (pan(600, 400, 6, inside_radius=2, return_width=20), "height"),
        (pan(340, 420, 7, inside_radius=5, fall=30), "height"),
        (pan(800, 155, 30, inside_radius=3, return_width=2.3), "return_width"),
        (pan(411, 132, 11, inside_radius=10.8, fall=6), "height"),
    ],
)
@pytest.mark.parametrize("thickness", [0.8, 1.5, 3.0])
def test_the_least_that_is_told_does_and_no_less(shape: dict[str, Any], key: str, thickness: float) -> None:
    text = fault_of({**shape, key: 3.1 if key == "height" else 2.3}, thickness)
    assert text is not None
    told = TOLD.match(text)
    assert told is not None
    assert told[1] == key
    least = float(told[2])
    assert fault_of({**shape, key: least}, thickness) is None
    assert fault_of({**shape, key: least - 0.2}, thickness) is not None


@settings(max_examples=25)
@given(pans())
def test_the_least_of_any_pan_does(shape: dict[str, Any]) -> None:
    text = fault_of({**shape, "height": 2.0, "inside_radius": 4.0, "return_width": None})
    told = TOLD.match(text or "")
    assume(told is not None)
    assert told is not None
    assert fault_of({**shape, "height": float(told[2]), "inside_radius": 4.0, "return_width": None}) is None


def test_the_least_height_by_hand() -> None:
    """A level pan's wall has its height less thickness and R flat, and that must be as wide as the metal is thick: R + 2 T.
    With a return it loses R + T there too: 2 R + 3 T."""
    assert "must be at least 5 mm" in str(fault_of(pan(600, 400, 4, inside_radius=2)))
    assert "must be at least 8.5 mm" in str(fault_of(pan(600, 400, 6, inside_radius=2, return_width=20)))


def test_a_return_wide_enough_by_hand() -> None:
    """A return is measured outside its bend, so R + T go into the bend and T must be left: R + 2 T."""
    text = fault_of(pan(600, 400, 50, inside_radius=2, return_width=3))
    assert text is not None
    assert text.startswith("sheet.shape.return_width: ")
    assert "must be at least 5 mm" in text


def test_a_radius_that_leaves_no_floor_is_told_of_the_radius() -> None:
    assert str(fault_of(pan(60, 400, 100, inside_radius=40))).startswith("sheet.shape.inside_radius: ")


@pytest.mark.parametrize(
    ("keys", "text"),
    [
        ({"length": 2}, "sheet.shape.length: must be more than two thicknesses, 3 mm (got 2)"),
        ({"width": 3}, "sheet.shape.width: must be more than two thicknesses, 3 mm (got 3)"),
        ({"height": 1.5}, "sheet.shape.height: must be more than one thickness, 1.5 mm (got 1.5)"),
        ({"height": -5}, "sheet.shape.height: must be more than 0 mm (got -5)"),
    ],
)
def test_nothing_left_within_the_metal(keys: dict[str, float], text: str) -> None:
    assert fault_of({**pan(600, 400, 50, inside_radius=2), **keys}) == text


def test_a_floor_so_steep_that_its_low_end_would_be_a_hem() -> None:
    """The low end turns 90 + atan(fall / length); at 150 degrees that is length x tan 60 = 600 x 1.73205 = 1039.2."""
    text = fault_of(pan(600, 400, 50, inside_radius=2, fall=1040))
    assert text is not None
    assert text.startswith("sheet.shape.fall: must be at most 1039.2 mm")


def test_faces_that_would_overlap_are_told_of_the_shape() -> None:
    text = fault_of(pan(600, 400, 60, inside_radius=5, fall=900))
    assert text is not None
    assert re.match(r"^sheet\.\S+: .*the faces A, B, C, D, E\b.* in one piece", text)
    assert "joins" not in text.split(":")[0]  # a pan has no say in those


def test_the_usual_radius_is_the_metals_own() -> None:
    """Read: Aluminum Association, 5052-H32 at 1/16 in takes 1 T, so that 1.5 mm is folded to 1.5."""
    assert {joint.inside_radius for joint in shell_of(pan(600, 400, 50)).folds} == {1.5}
