"""The picture beside the form: a label for every field, whatever has been typed so far."""

import math
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.drawing import rim_picture
from calc.units import Display

SVG = "{http://www.w3.org/2000/svg}"
MM = Display()
SQUARE = [(0.0, 0.0), (400.0, 0.0), (400.0, 300.0), (0.0, 300.0)]


def fields(svg: str) -> dict[str, str]:
    """What each field's label says; a field labelled twice is a fault."""
    found: dict[str, str] = {}
    for group in ElementTree.fromstring(svg).iter(f"{SVG}g"):  # noqa: S314 - our own text
        if group.get("class") == "field":
            name = group.get("data-field", "")
            assert name not in found
            found[name] = "".join(group.itertext())
    return found


def corner_fields(count: int) -> set[str]:
    return {f"corner-{number}-{axis}" for number in range(1, count + 1) for axis in "xy"}


def circle(count: int, reach: float = 400.0) -> list[tuple[float, float]]:
    turns = [2 * math.pi * index / count for index in range(count)]
    return [(reach * math.cos(turn), reach * 0.6 * math.sin(turn)) for turn in turns]


@pytest.mark.parametrize("count", [3, 4, 8, 24])
@pytest.mark.parametrize("width", [320.0, 480.0])
def test_every_corner_has_its_two_fields(count: int, width: float) -> None:
    rim = circle(count)
    for corners in (rim, rim[::-1]):
        shown = fields(rim_picture(corners, (10.0, 5.0), MM, width=width, depth=57, bore=32))
        assert set(shown) == corner_fields(count) | {"low-x", "low-y", "depth", "bore"}
        for number, (x, y) in enumerate(corners, 1):
            assert re.search(rf"x {re.escape(MM.figure(x))}$", shown[f"corner-{number}-x"])
            assert re.search(rf"y {re.escape(MM.figure(y))}$", shown[f"corner-{number}-y"])
        assert "57" in shown["depth"]
        assert "32" in shown["bore"]


def test_sides_and_diagonals_have_their_fields() -> None:
    shown = fields(rim_picture(SQUARE, (100.0, 80.0), MM, entry="sides"))
    sides = {f"side-{number}" for number in (1, 2, 3, 4)} | {"diagonal-1", "diagonal-2"}
    assert set(shown) == sides | {"low-x", "low-y", "depth", "bore"}
    # a 3-4-5 triangle: both diagonals are 500
    assert [shown[f"side-{n}"].split()[-1] for n in (1, 2, 3, 4)] == ["400", "300", "400", "300"]
    assert shown["diagonal-1"].split()[-1] == shown["diagonal-2"].split()[-1] == "500"


@pytest.mark.parametrize("entry", ["corners", "sides"])
@pytest.mark.parametrize("corners", [[], [None] * 4, [(0.0, 0.0), (1.0, 1.0)], [(math.nan, 0.0)] * 4])
def test_too_few_corners_show_a_pale_example(entry: Any, corners: list[Any]) -> None:
    svg = rim_picture(corners, None, MM, entry=entry)
    assert "example" in (ElementTree.fromstring(svg).get("class") or "")  # noqa: S314 - our own text
    names = corner_fields(4) if entry == "corners" else {"side-1", "side-4", "diagonal-1", "diagonal-2"}
    assert names <= set(fields(svg))


def test_a_missing_corner_keeps_its_label_without_a_figure() -> None:
    shown = fields(rim_picture([SQUARE[0], SQUARE[1], None, SQUARE[3]], None, MM))
    assert corner_fields(4) <= set(shown)
    assert shown["corner-3-x"].endswith("?")
    assert "low-x" not in shown


number = st.none() | st.floats(-20_000, 20_000) | st.sampled_from([math.nan, math.inf, -math.inf, 1e308])


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.none() | st.tuples(number, number), max_size=26),
    st.none() | st.tuples(number, number),
    st.sampled_from(["corners", "sides"]),
    number,
    number,
)
def test_nothing_typed_upsets_the_picture(corners: Any, low: Any, entry: Any, depth: Any, bore: Any) -> None:
    svg = rim_picture(corners, low, MM, entry=entry, depth=depth, bore=bore)
    assert "nan" not in svg
    assert "inf" not in svg
    fields(svg)


@pytest.mark.parametrize(
    "corners",
    [
        [(0.0, 0.0), (400.0, 300.0), (400.0, 0.0), (0.0, 300.0)],  # crosses itself
        [(0.0, 0.0)] * 4,  # all one point
        [(0.0, 0.0), (100.0, 0.0), (200.0, 0.0), (300.0, 0.0)],  # in one line
    ],
)
def test_a_faulty_rim_is_drawn_as_it_is(corners: list[Any]) -> None:
    for entry in ("corners", "sides"):
        svg = rim_picture(corners, (10.0, 10.0), MM, entry=entry)  # type: ignore[arg-type]
        assert fields(svg)
