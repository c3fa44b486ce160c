"""The drawings of trays as built and of openings, read back: legible, and saying what was computed."""

import math
import re
from functools import cache
from typing import Any

import numpy as np
import pytest

from calc import Plan
from calc.aperture import Aperture, Cutting, Place, SetOut, open_up, set_out
from calc.drawing import aperture_view, as_built_view
from calc.drawing.as_built_view import TIMES, times_as_large
from calc.fitup import AsBuilt, fit, wanted
from tests.calc.test_drawing import FOLDED, INCH, MM, SHAPES, SVG, assert_legible, planned, read, texts

NAMES = ["skew", "five", "reflex", "triangle", "ring 12", "ring 24", "long", "tall", "tiny", "twisted", "sump upstand"]
NAMES += ["lapped", "lapped reflex", "pan", "falling pan"]
LET_IN = [name for name in NAMES if "pan" not in name]


def taped(plan: Plan, moved: float, seed: int = 1) -> dict[str, float]:
    """What a tape gives of a thing whose corners have moved so much or so."""
    chance = np.random.default_rng(seed)
    corners = np.array(plan.sheet.shape.corners)
    corners = corners + chance.normal(0, moved, corners.shape)
    return {
        line.key: math.dist(*corners[list(line.between)]) if line.between else line.nominal for line in wanted(plan)
    }


@cache
def built(name: str, moved: float = 1.0, wrong: str = "") -> AsBuilt:
    lengths = taped(planned(name), moved if name != "tiny" else 0.2)
    if wrong:
        lengths[wrong] += 10.0
    return fit(planned(name), lengths)


@cache
def opened(name: str, clearance: float = 1.0, cutter: float = 3.0) -> Aperture:
    found = open_up(planned(name), built(name).outline, Cutting(clearance, cutter))
    assert found is not None
    return found


def points(aperture: Aperture, end: Any = "left") -> tuple[SetOut, ...]:
    """Set out far enough in that no corner of any rim lies past the edge or the end."""
    size = max(math.dist((0, 0), corner) for corner in aperture.rim)
    return set_out(aperture, Place(1, 300 + 2 * size, 80 + 2 * size, 90 + 2 * size, end))


def path_of(svg: str, kind: str) -> list[tuple[float, float]]:
    """The corners of the line of this class."""
    item = next(item for item in read(svg).iter(f"{SVG}path") if kind in item.get("class", "").split())
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", item.get("d", ""))]


@pytest.mark.parametrize("display", [MM, INCH])
@pytest.mark.parametrize("name", NAMES)
def test_as_built_is_legible(name: str, display: Any) -> None:
    for moved in (0.0, 1.0):
        assert_legible(name, as_built_view(planned(name), built(name, moved), display))


@pytest.mark.parametrize("display", [MM, INCH])
@pytest.mark.parametrize("name", LET_IN)
def test_an_opening_is_legible(name: str, display: Any) -> None:
    for found in (opened(name), opened(name, 0.3, 5.0)):
        for spots in ((), points(found), points(found, "right")):
            assert_legible(name, aperture_view(found, spots, display))


@pytest.mark.parametrize("width", [340.0, 480.0])
def test_both_hold_on_narrow_drawings(width: float) -> None:
    for name in ("skew", "reflex", "lapped"):
        assert_legible(name, as_built_view(planned(name), built(name), MM, width=width))
        assert_legible(name, aperture_view(opened(name), points(opened(name)), MM, width=width))


def test_deviations_are_drawn_as_many_times_as_large_as_is_said() -> None:
    found, plan = built("skew"), planned("skew")
    svg = as_built_view(plan, found, MM)
    times = int(re.search(r"deviations drawn (\d+) times as large\.", " ".join(texts(svg)))[1])  # type: ignore[index]
    assert times in TIMES
    rim, shown = np.array(path_of(svg, "planned")), np.array(path_of(svg, "built"))
    corners = np.array(plan.sheet.shape.corners)
    scale = np.linalg.norm(rim[1] - rim[0]) / np.linalg.norm(corners[1] - corners[0])
    moved = np.linalg.norm(shown - rim, axis=1) / scale / times
    assert moved == pytest.approx(found.moved, abs=0.02)


def test_the_factor_leaves_the_outline_one() -> None:
    assert times_as_large(planned("skew").sheet.shape.corners, built("skew", 0.0)) == max(TIMES)
    for name in ("dented 24", "reflex"):
        plan = planned(name)
        assert times_as_large(plan.sheet.shape.corners, fit(plan, taped(plan, 0.5))) >= 1


def test_as_built_tells_every_size_and_its_deviation() -> None:
    words = " ".join(texts(as_built_view(planned("five"), built("five"), MM)))
    for line in built("five").lines:
        sign = "+" if line.deviation > 0.05 else "−" if line.deviation < -0.05 else ""
        off = f"{abs(line.deviation):.1f}".removesuffix(".0")
        assert f"{MM.figure(line.measured)} ({sign}{off})" in words


def test_as_built_tells_what_looks_wrong() -> None:
    svg = as_built_view(planned("skew"), built("skew", 1.0, "diagonal-1-3"), MM)
    assert "?" in texts(svg)
    assert any(text.startswith("? Diagonal 1–3 looks ") for text in texts(svg))
    assert [item.get("class") for item in read(svg).iter(f"{SVG}circle")] == ["ring suspect"]


def test_a_size_out_of_tolerance_is_bold_and_told_in_words() -> None:
    # 3 mm allowed on 742 (ISO 13920 class B, over 400 to 1000)
    plan = planned("skew")
    lengths = taped(plan, 0.0)
    lengths["side-1-2"] += 3.4
    svg = as_built_view(plan, fit(plan, lengths), MM)
    bold = [item.text for item in read(svg).iter(f"{SVG}text") if item.get("class") == "warn"]
    assert bold == ["745.5 (+3.4)"]
    assert any("Side 1–2 is out of tolerance: +3.4, ± 3 mm allowed" in text for text in texts(svg))


def test_an_opening_is_drawn_where_it_is_set_out() -> None:
    for end in ("left", "right"):
        found = opened("five")
        spots = points(found, end)
        svg = aperture_view(found, spots, MM)
        outline, bench = path_of(svg, "cut-line"), path_of(svg, "bench")
        corner = bench[1]  # where the bench's end meets its edge
        scale = math.dist(outline[0], outline[1]) / found.sides[0]
        for (x, y), spot in zip(outline, spots, strict=True):
            assert abs(x - corner[0]) / scale == pytest.approx(spot.along, abs=0.1)
            assert (corner[1] - y) / scale == pytest.approx(spot.square, abs=0.1)
        assert (outline[0][0] > corner[0]) is (end == "left")


def test_an_opening_tells_its_sides_its_diagonals_and_each_corner() -> None:
    found = opened("lapped")
    spots = points(found)
    words = texts(aperture_view(found, spots, MM))
    for length in (*found.sides, *found.diagonals):
        assert any(MM.figure(length) in text for text in words)
    assert sum(text == "radius 3 mm" for text in words) == 4
    assert any("lap lies on the bench by 2" in text for text in words)
    by_edge = sorted(spots, key=lambda spot: spot.square)[:2]
    for spot in by_edge:
        assert any(MM.figure(spot.square) in text for text in words)
    assert any(MM.figure(min(spot.along for spot in by_edge)) in text for text in words)


def test_reliefs_are_drawn_with_their_diameter() -> None:
    found = opened("triangle")
    svg = aperture_view(found, points(found), MM)
    circles = [item for item in read(svg).iter(f"{SVG}circle") if "relief" in item.get("class", "")]
    assert len(circles) == sum(corner.relieved for corner in found.corners) == 3
    assert sum(text.startswith("hole ø") for text in texts(svg)) == 3


def test_the_shapes_are_there() -> None:
    assert set(NAMES) <= set(SHAPES)
    assert "lapped" in FOLDED
