"""An offcut typed as its sides and the diagonals from corner 1."""

import math
from itertools import pairwise
from typing import Any

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from calc.reading import Field
from calc.taped import read_taped


def read(sides: Any, diagonals: Any) -> Any:
    field = Field({"sides": sides, "diagonals": diagonals}, "offcut")
    outline = read_taped(field)
    return outline, [str(fault) for fault in field.faults]


def test_four_sides_and_a_diagonal_fix_everything() -> None:
    # AB 5, BC 13, CD 16, DA 20, AC 12: area 126, BD the root of 585, a worked example of school geometry. Both triangles are
    # right-angled (5-12-13, 12-16-20), at A and at C, so that no corner points inward: A is 90 + 53.1, C 22.6 + 90 degrees.
    outline, faults = read([5, 13, 16, 20], [12])
    assert faults == []
    assert shapely.Polygon(outline).area == pytest.approx(126, abs=1e-3)
    assert math.dist(outline[1], outline[3]) == pytest.approx(math.sqrt(585), abs=1e-3)
    assert math.dist(outline[0], outline[2]) == pytest.approx(12, abs=1e-3)


def test_three_sides_are_a_triangle() -> None:
    outline, _ = read([13, 14, 15], [])
    assert shapely.Polygon(outline).area == pytest.approx(84, abs=1e-3)  # 13-14-15: Heron's own example


def test_a_regular_hexagon_by_its_fan() -> None:
    # Of side a the diagonals are a root 3, 2 a, a root 3, the area 3 root 3 / 2 a2: any table of polygons.
    outline, _ = read([100] * 6, [100 * math.sqrt(3), 200, 100 * math.sqrt(3)])
    assert shapely.Polygon(outline).area == pytest.approx(1.5 * math.sqrt(3) * 1e4, rel=1e-5)


@given(
    st.lists(st.floats(0.05, 0.95), min_size=3, max_size=8, unique_by=lambda share: round(share, 1)),
    st.floats(50, 5000),
)
def test_sides_and_diagonals_of_any_convex_outline_give_it_again(shares: list[float], radius: float) -> None:
    corners = [
        (radius * math.cos(a), radius * math.sin(a)) for a in sorted(2 * math.pi * share for share in shares)
    ]  # points of a circle in turn: convex
    sides = [math.dist(*ends) for ends in pairwise([*corners, corners[0]])]
    diagonals = [math.dist(corners[0], far) for far in corners[2:-1]]
    outline, faults = read(sides, diagonals)
    if min(sides) < 1 or shapely.Polygon(corners).area < 0.05 * radius**2:
        return  # slivers, whose corners no tape can tell
    assert faults == []
    for one in range(len(corners)):
        for other in range(one):
            apart = math.dist(corners[one], corners[other])
            assert math.dist(outline[one], outline[other]) == pytest.approx(apart, rel=1e-3, abs=1e-2)


@pytest.mark.parametrize(
    ("sides", "diagonals", "fault"),
    [
        (
            [100, 100, 300],
            [],
            "offcut.sides[2]: makes no triangle with side 1 and side 2: must be between 0 and 200 mm",
        ),
        (
            [500, 300, 500, 300],
            [900],
            "offcut.diagonals[0]: makes no triangle with side 1 and side 2: must be between 200 and 800 mm (got 900)",
        ),
        (
            [500, 400, 100, 100],
            [300],
            "offcut.diagonals[0]: makes no triangle with side 4 and side 3: must be between 0 and 200 mm (got 300)",
        ),
        (
            [500, 400, 300, 300, 400],
            [600, 1000],
            "offcut.diagonals[1]: makes no triangle with diagonal 1-3 and side 3: must be between 300 and 900 mm (got 1000)",
        ),
        # a dart: corner 1 turns in by more than half a turn
        ([300, 500, 500, 300], [210], "offcut: must be convex: no corner may point inward"),
        ([100, 100], [], "offcut.sides: must hold 3 to 40 sides (got 2)"),
        ([100] * 4, [], "offcut.diagonals: must hold 1 diagonals, for 4 sides (got 0)"),
        ([100] * 3, [100], "offcut.diagonals: must hold 0 diagonals, for 3 sides (got 1)"),
        ([100, 0, 100], [], "offcut.sides[1]: must be at least 1 mm (got 0)"),
        (["4 in", "long", "4 in"], [], "offcut.sides[1]: there is no number in it"),
        ([25000, 100, 100], [], "offcut.sides[0]: must be at most 20000 mm (got 25000)"),
    ],
)
def test_what_is_wrong_is_told(sides: Any, diagonals: Any, fault: str) -> None:
    outline, faults = read(sides, diagonals)
    assert outline is None
    assert faults[0].startswith(fault), faults


def test_what_is_no_offcut_is_told() -> None:
    field = Field({"sides": [1, 1, 1]}, "offcut")
    assert read_taped(field) is None
    assert str(field.faults[0]).startswith("offcut.diagonals: missing")
