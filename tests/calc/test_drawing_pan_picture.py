"""The picture of a pan beside the form: a label for every field, whatever has been typed so far."""

import math
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.drawing import PanSizes, pan_picture
from tests.calc.test_drawing import MM, SVG, assert_legible, read, texts
from tests.calc.test_drawing_meaning import lines, points_of
from tests.calc.test_drawing_rim_picture import fields

NAMES = {"length", "width", "height", "inside-radius", "fall", "return-width"}


@pytest.mark.parametrize("width", [320.0, 480.0])
def test_every_size_has_its_field(width: float) -> None:
    svg = pan_picture(PanSizes(600, 400, 60, 2.5, 10, 20), MM, width=width)
    assert_legible("pan", svg)
    assert fields(svg) == {
        "length": "length 600",
        "width": "width 400",
        "height": "height 60",
        "inside-radius": "inside radius 2.5",
        "fall": "fall 10",
        "return-width": "return 20",
    }


def test_what_is_not_typed_has_its_field_all_the_same() -> None:
    shown = fields(pan_picture(PanSizes(length=600), MM))
    assert set(shown) == NAMES
    assert shown["width"] == "width ?"
    assert (shown["fall"], shown["return-width"]) == ("no fall", "no return")


@pytest.mark.parametrize("missing", ["length", "width", "height"])
def test_a_pan_without_its_sizes_is_a_pale_example(missing: str) -> None:
    sizes = {"length": 600.0, "width": 400.0, "height": 60.0}
    whole = read(pan_picture(PanSizes(**sizes), MM)).get("class") or ""
    assert "example" not in whole
    svg = pan_picture(PanSizes(**{**sizes, missing: None}), MM)
    assert "example" in (read(svg).get("class") or "")
    assert not list(lines(svg, "outline rim"))


def test_plan_and_section_are_in_true_proportion() -> None:
    svg = pan_picture(PanSizes(600, 400, 60, 2, 30, 20), MM)
    drawn = list(lines(svg, "outline rim"))
    lengths = sorted(line.length for line in drawn)
    # plan: 600 and 400 twice; section: walls 60 and 90, a floor of hypot(600, 30), two returns of 20
    wanted = sorted([600, 400, 600, 400, 60, 90, math.hypot(600, 30), 20, 20])
    scale = lengths[-1] / wanted[-1]
    assert [length / scale for length in lengths] == pytest.approx(wanted, rel=0.01)
    (returns,) = [item for item in read(svg).iter(f"{SVG}path") if item.get("class") == "thin"]
    xs = [x for x, _ in points_of(returns)]
    assert (max(xs) - min(xs)) / scale == pytest.approx(640, rel=0.01)


def test_the_fall_runs_to_the_far_end() -> None:
    (arrow,) = lines(pan_picture(PanSizes(600, 400, 60, 2, 10), MM), "thin fall")
    (x, _), (end_x, _) = arrow.coords
    assert end_x > x
    assert not list(lines(pan_picture(PanSizes(600, 400, 60, 2), MM), "thin fall"))


size = st.none() | st.floats(-20_000, 20_000) | st.sampled_from([math.nan, math.inf, -math.inf, 1e308, 0.0, 1e-9])


@settings(max_examples=60, deadline=None)
@given(st.tuples(size, size, size, size, size, size))
def test_nothing_typed_upsets_the_picture(sizes: Any) -> None:
    svg = pan_picture(PanSizes(*sizes), MM)
    assert "nan" not in svg
    assert "inf" not in svg
    assert set(fields(svg)) == NAMES
    ElementTree.fromstring(svg)  # noqa: S314 - our own text


def test_sizes_are_said_to_be_outside() -> None:
    assert "Sizes are outside. Below: cut along its length" in texts(pan_picture(PanSizes(), MM))
