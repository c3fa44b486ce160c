"""Valley trays and sumps against figures from outside: frusta, prismatoids, wedges, hip roofs.

A tray with a sump is a hopper, the frustum of a pyramid upside down; one that falls to a level valley is a hip roof upside
down, so the carpenter's framing square has its figures.
"""

import math
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given

from calc import read_sheet
from calc.blank import Blank
from calc.drainage import litres
from calc.shell import Shell
from calc.unfold import unfold
from tests.shapes import fall_tray, sheet_of, sump_trays, valley_tray, valley_trays


def made(shape: dict[str, Any]) -> tuple[Shell, tuple[Blank, ...]]:
    sheet = read_sheet(sheet_of(shape, making={"seam_gap": 0}))
    shell = sheet.shape.shell(1.5)
    return shell, unfold(shell, sheet)


def rectangle(length: float, width: float) -> list[list[float]]:
    return [[0, 0], [length, 0], [length, width], [0, width]]


def hopper(top: tuple[float, float], bottom: tuple[float, float], height: float) -> dict[str, Any]:
    sump = {"length": bottom[0], "width": bottom[1]}
    return fall_tray(rectangle(*top), [top[0] / 2, top[1] / 2], height, sump=sump)


def test_the_moscow_papyrus() -> None:
    """Problem 14 (read): a frustum 4 below, 2 above, 6 high holds 56. Here a hundred times as large: 56e6 mm3 are 56 litres."""
    shell, _ = made(hopper((400, 400), (200, 200), 600))
    assert litres(shell) == pytest.approx(56, rel=1e-12)


def prismatoid(height: float, first: float, middle: float, last: float) -> float:
    """V = H/6 (A1 + 4 Am + A2): the prismatoid rule (geometry textbooks)."""
    return height / 6 * (first + 4 * middle + last)


# Rectangular hoppers whose ends are not similar: the sides of the mid section are the means of those of the ends.
@pytest.mark.parametrize(
    ("top", "bottom", "height"),
    [((600, 400), (300, 100), 250), ((900, 300), (120, 120), 180), ((500, 500), (250, 50), 90)],
)
def test_hoppers_by_the_prismatoid_rule(top: tuple[float, float], bottom: tuple[float, float], height: float) -> None:
    shell, _ = made(hopper(top, bottom, height))
    middle = (top[0] + bottom[0]) / 2 * (top[1] + bottom[1]) / 2
    exact = prismatoid(height, top[0] * top[1], middle, bottom[0] * bottom[1])
    assert litres(shell) == pytest.approx(exact * 1e-6, rel=1e-12)
    # The frustum rule H/3 (A1 + sqrt(A1 A2) + A2) is right for similar ends only (read): these are not.
    one, other = top[0] * top[1], bottom[0] * bottom[1]
    assert height / 3 * (one + math.sqrt(one * other) + other) * 1e-6 != pytest.approx(litres(shell), rel=1e-3)


def mid_section(shell: Shell, top: set[int]) -> float:
    """The area half-way down of a shell whose corners all lie at the rim or at one depth: in each face the line between the
    middles of its two edges from the one to the other, and these lines end to end."""
    pieces = []
    for face in shell.faces:
        ends = [
            (shell.points[start][:2] + shell.points[end][:2]) / 2
            for start, end in face.edges
            if (start in top) != (end in top)
        ]
        if ends:
            pieces.append(ends)
    lines = shapely.MultiLineString([[tuple(point) for point in ends] for ends in pieces])
    merged = shapely.line_merge(shapely.set_precision(lines, 1e-6))
    return float(shapely.Polygon(merged.coords).area)


@given(sump_trays())
def test_any_sump_is_a_prismatoid(shape: dict[str, Any]) -> None:
    try:
        shell, _ = made(shape)
    except ValueError:
        return
    floor = next(face for face in shell.faces if face.role == "sump")
    rim = set(range(len(shape["rim"])))
    ends = shapely.Polygon(shape["rim"]).area, shapely.Polygon(shell.corners(floor)[:, :2]).area
    exact = prismatoid(shape["depth"], ends[0], mid_section(shell, rim), ends[1])
    assert litres(shell) == pytest.approx(exact * 1e-6, rel=1e-5)


@given(valley_trays())
def test_a_level_valley_is_a_prismatoid(shape: dict[str, Any]) -> None:
    """Both ends at one depth: the lower end of the prismatoid is a line, of no area."""
    (x, y, depth), (x2, y2, _) = sorted(shape["valley"], key=lambda end: -end[2])
    first_is_deep = shape["valley"][0][2] > shape["valley"][1][2]
    ends = [[x, y, depth], [x2, y2, depth]] if first_is_deep else [[x2, y2, depth], [x, y, depth]]
    try:
        shell, _ = made({**shape, "valley": ends})
    except ValueError:
        return
    exact = prismatoid(depth, shapely.Polygon(shape["rim"]).area, mid_section(shell, {0, 1, 2, 3}), 0.0)
    assert litres(shell) == pytest.approx(exact * 1e-6, rel=1e-5)


@pytest.mark.parametrize(("length", "width", "edge", "depth"), [(900, 400, 500, 50), (600, 300, 100, 80)])
def test_the_wedge(length: float, width: float, edge: float, depth: float) -> None:
    """V = b h (2 a + c) / 6 of a wedge, base a by b, edge c parallel to a (from memory: geometry handbooks)."""
    start = (length - edge) / 2
    shell, blanks = made(
        valley_tray(rectangle(length, width), [[start, width / 2, depth], [start + edge, width / 2, depth]])
    )
    assert litres(shell) == pytest.approx(width * depth * (2 * length + edge) / 6 * 1e-6, rel=1e-12)
    # Trapezoids and triangles by their heights (school geometry).
    long_height, end_height = math.hypot(width / 2, depth), math.hypot(start, depth)
    areas = [(length + edge) / 2 * long_height, width * end_height / 2]
    assert [blank.area for blank in blanks] == pytest.approx(areas * 2, rel=1e-9)
    assert [(blank.same_as, blank.mirrored) for blank in blanks][2:] == [("A", False), ("B", False)]


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


def heights(blanks: tuple[Blank, ...], rim: int) -> list[float]:
    """How far each facet on the rim reaches square from its rim edge [mm]."""
    found = []
    for blank in blanks[:rim]:
        at = next(i for i, edge in enumerate(blank.edges) if edge.meets is None)
        corners = np.array(blank.net_outline)
        base = np.append(np.roll(corners, -1, axis=0)[at] - corners[at], 0.0)
        square = [np.cross(base, np.append(corner - corners[at], 0.0))[2] / np.linalg.norm(base) for corner in corners]
        found.append(max(square))
    return found


@pytest.mark.parametrize(("rise", "common", "hip", "dihedral"), FRAMING_SQUARE)
def test_a_hip_roof_upside_down(rise: float, common: float, hip: float, dihedral: float) -> None:
    """A building 24 wide and 60 long, hipped at both ends: the ridge runs from 12 to 48."""
    shell, blanks = made(valley_tray(rectangle(60, 24), [[12, 12, rise], [48, 12, rise]]))
    hips = [joint for joint in shell.joints if set(joint.edge) != {4, 5}]
    assert len(hips) == 4
    assert [joint.length for joint in hips] == pytest.approx([hip] * 4, abs=0.006)
    assert [joint.dihedral for joint in hips] == pytest.approx([dihedral] * 4, abs=6e-4)
    assert heights(blanks, 4) == pytest.approx([common] * 4, abs=0.006)
    (ridge,) = (joint for joint in shell.joints if set(joint.edge) == {4, 5})
    assert ridge.length == pytest.approx(36)
    assert ridge.dihedral == pytest.approx(180 - 2 * math.degrees(math.atan2(rise, 12)))  # two slopes that meet level


@pytest.mark.parametrize(("rise", "common", "hip", "dihedral"), FRAMING_SQUARE)
def test_the_corners_of_a_square_hopper(rise: float, common: float, hip: float, dihedral: float) -> None:
    shell, blanks = made(hopper((44, 54), (20, 30), rise))
    seams = [joint for joint in shell.joints if min(joint.edge) < 4]
    assert [joint.length for joint in seams] == pytest.approx([hip] * 4, abs=0.006)
    assert [joint.dihedral for joint in seams] == pytest.approx([dihedral] * 4, abs=6e-4)
    assert heights(blanks, 4) == pytest.approx([common] * 4, abs=0.006)
    floor = [joint for joint in shell.joints if min(joint.edge) >= 4]
    assert [joint.bend for joint in floor] == pytest.approx([math.degrees(math.atan2(rise, 12))] * 4)


def test_a_hopper_of_unequal_falls() -> None:
    """Runs 18.5 and 10.571428, depth 12.333333: hip 24.61943, its slope 30.063493 degrees (read: a worked irregular hip of roof
    carpentry); the dihedral 122.785 is arithmetic from its backing angles."""
    shell, _ = made(hopper((30 + 2 * 10.571428, 20 + 2 * 18.5), (30, 20), 12.333333))
    seams = [joint for joint in shell.joints if min(joint.edge) < 4]
    assert [joint.length for joint in seams] == pytest.approx([24.61943] * 4, abs=1e-5)
    assert [math.degrees(math.asin(12.333333 / joint.length)) for joint in seams] == pytest.approx(
        [30.063493] * 4, abs=1e-4
    )
    assert [joint.dihedral for joint in seams] == pytest.approx([122.785] * 4, abs=1e-3)


# Square pyramids, base x height: slant and edge by Pythagoras, sqrt(h^2 + (b/2)^2) and sqrt(h^2 + b^2/2) (school geometry).
PYRAMIDS = [(30, 55, 57.009, 58.949), (40, 60, 63.246, 66.332), (50, 70, 74.330, 78.422)]


@pytest.mark.parametrize(("base", "height", "slant", "edge"), PYRAMIDS)
def test_half_a_pyramid_is_a_frustum_of_half_its_lengths(base: float, height: float, slant: float, edge: float) -> None:
    """Cut half-way, a pyramid's frustum has half its slant and edge, and seven eighths of its volume."""
    shell, blanks = made(hopper((base, base), (base / 2, base / 2), height / 2))
    assert [joint.length for joint in shell.joints if min(joint.edge) < 4] == pytest.approx([edge / 2] * 4, abs=6e-4)
    assert heights(blanks, 4) == pytest.approx([slant / 2] * 4, abs=6e-4)
    assert litres(shell) == pytest.approx(7 / 8 * base**2 * height / 3 * 1e-6, rel=1e-9)
