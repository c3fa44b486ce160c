"""Falls, litres, and the depth that gives a wanted fall."""

from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from calc import read_sheet
from calc.drainage import Drainage, depth_for_fall, drain
from calc.shell import Face, Shell, join_faces
from tests.shapes import NAMED, fall_tray, fall_trays, sheet_of


def shell_of(shape: dict[str, Any]) -> Shell:
    return read_sheet(sheet_of(shape)).shape.shell(1.5)


def drained(shape: dict[str, Any]) -> Drainage:
    return drain(shell_of(shape))


@given(fall_trays())
def test_litres_are_a_third_of_rim_area_times_depth(shape: dict[str, Any]) -> None:
    rim = shapely.Polygon(shape["rim"]).area
    assert drained(shape).litres == pytest.approx(rim * shape["depth"] / 3e6, rel=1e-9)


@given(fall_trays())
def test_falls_by_distance(shape: dict[str, Any]) -> None:
    """A facet falls its depth over the distance from the low point to its side; a seam over that to its corner."""
    shell, low = shell_of(shape), shapely.Point(shape["low_point"])
    found = drain(shell)
    for fall, face in zip(found.falls, shell.faces, strict=True):
        (x1, y1, _), (x2, y2, _) = (shell.vertices[index] for index in face.loop[:2])
        reach = 1e5 / shapely.LineString(((x1, y1), (x2, y2))).length
        line = shapely.LineString(
            ((x1 - (x2 - x1) * reach, y1 - (y2 - y1) * reach), (x1 + (x2 - x1) * reach, y1 + (y2 - y1) * reach))
        )
        assert fall.fall == pytest.approx(shape["depth"] / line.distance(low), rel=1e-6)
    valleys = [joint for joint in shell.joints if joint.is_valley]
    assert [seam.between for seam in found.seams] == [joint.between for joint in valleys]
    for seam, joint in zip(found.seams, valleys, strict=True):
        corner = shell.vertices[min(joint.edge)]
        assert seam.fall == pytest.approx(shape["depth"] / low.distance(shapely.Point(corner[:2])), rel=1e-9)
    assert found.least_fall == min(fall.fall for fall in (*found.falls, *found.seams))


@given(fall_trays(), st.floats(0.005, 0.2))
def test_the_depth_for_a_wanted_fall_gives_it(shape: dict[str, Any], wanted: float) -> None:
    depth = depth_for_fall(shell_of(shape), wanted)
    assert drained({**shape, "depth": max(depth, 0.01)}).least_fall == pytest.approx(
        wanted * max(depth, 0.01) / depth, rel=1e-6
    )


def test_by_hand() -> None:
    """600 x 400, low point 210 from the left in the middle, 40 deep: falls 40/200, 40/390, 40/210; seam 40/hypot(390, 200)."""
    found = drained(NAMED["mirror"])
    assert [round(fall.fall, 6) for fall in found.falls] == [0.2, 0.102564, 0.2, 0.190476]
    assert found.least_fall == pytest.approx(40 / (390**2 + 200**2) ** 0.5)
    assert found.least_fall_at in {"seam A-B", "seam B-C"}
    assert found.litres == pytest.approx(3.2)  # 240,000 mm2 x 40 / 3


def test_a_ridge_is_no_place_where_coolant_gathers() -> None:
    assert ("C", "D") not in [seam.between for seam in drained(NAMED["reflex"]).seams]


def box() -> Shell:
    """A level floor 100 x 50 with four upright walls 20 high."""
    low = [(0.0, 0.0, -20.0), (100.0, 0.0, -20.0), (100.0, 50.0, -20.0), (0.0, 50.0, -20.0)]
    high = [(x, y, 0.0) for x, y, _ in low]
    walls = [Face(name, (i + 4, (i + 1) % 4 + 4, (i + 1) % 4, i)) for i, name in enumerate("BCDE")]
    return join_faces([*low, *high], [Face("A", (0, 1, 2, 3)), *walls])


def test_a_level_floor_falls_nowhere() -> None:
    found = drain(box())
    assert found.litres == pytest.approx(0.1)
    assert (found.least_fall, found.least_fall_at) == (0.0, "facet A")
    assert [fall.face for fall in found.falls] == ["A"]  # upright walls take no part
    with pytest.raises(ValueError, match="whatever the depth"):
        depth_for_fall(box(), 0.02)


def test_a_deep_and_a_shallow_tray() -> None:
    rim = [[0, 0], [500, 0], [500, 400], [0, 400]]
    assert drained(fall_tray(rim, [250, 200], 20000)).least_fall > 50
    assert 0 < drained(fall_tray(rim, [250, 200], 0.01)).least_fall < 1e-4
