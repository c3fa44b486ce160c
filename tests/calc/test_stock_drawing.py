"""The drawing of a piece of the rack, large with its dimensions and small to one scale."""

import math
import re
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from calc.drawing import stock_drawing, stock_outline
from calc.records import Outline
from calc.units import Display

RECTANGLE: Outline = ((0.0, 0.0), (2440.0, 0.0), (2440.0, 1220.0), (0.0, 1220.0))
STRIP: Outline = ((0.0, 0.0), (2440.0, 0.0), (2440.0, 90.0), (0.0, 90.0))
TRIANGLE: Outline = ((0.0, 0.0), (500.0, 0.0), (180.0, 240.0))  # 3-4-5: sides 500, 400, 300
HEXAGON: Outline = tuple(
    (300 + 300 * math.cos(math.radians(60 * k)), 260 + 300 * math.sin(math.radians(60 * k))) for k in range(6)
)
SLIVER: Outline = ((0.0, 0.0), (2000.0, 0.0), (2000.0, 12.0), (0.0, 10.0))
NS = "{http://www.w3.org/2000/svg}"


def read(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)  # noqa: S314 - our own drawing


def texts(svg: str) -> list[str]:
    return [str(node.text) for node in read(svg).iter(f"{NS}text")]


@pytest.mark.parametrize(
    ("outline", "figures"),
    [
        (RECTANGLE, {"2440", "1220"}),
        (STRIP, {"2440", "90"}),
        (TRIANGLE, {"500", "400", "300", "1", "2", "3"}),
        # side 300; diagonals 300 root 3 = 519.6, on a half-millimetre rule 519.5, and 600
        (HEXAGON, {"300", "519.5", "600", "1", "2", "3", "4", "5", "6"}),
    ],
)
def test_its_sides_and_diagonals_are_dimensioned(outline: Outline, figures: set[str]) -> None:
    assert set(texts(stock_drawing(outline, Display(), "R1"))) == figures


def test_figures_that_find_no_room_go_to_the_key() -> None:
    said = " ".join(texts(stock_drawing(SLIVER, Display(), "R1")))
    for figure in ("2000", "12", "10"):
        assert figure in said


def test_it_is_drawn_in_true_proportion() -> None:
    data = re.search(r'class="outline"[^>]* d="M([^"]*)Z"', stock_drawing(RECTANGLE, Display(), "R1"))
    assert data
    points = [tuple(map(float, pair.split())) for pair in data[1].split("L")]
    assert math.dist(points[0], points[1]) / math.dist(points[1], points[2]) == pytest.approx(2, abs=1e-3)


def test_lengths_read_as_the_shop_reads_them() -> None:
    outline: Outline = ((0.0, 0.0), (927.1, 0.0), (927.1, 254.0), (0.0, 254.0))
    assert set(texts(stock_drawing(outline, Display("in", Fraction(1, 16)), "R1"))) == {"36 1/2", "10"}


def test_a_title_is_text() -> None:
    for svg in (stock_drawing(RECTANGLE, Display(), "<R1>"), stock_outline(RECTANGLE, 2440, "<R1>")):
        assert read(svg).findtext(f"{NS}title") == "<R1>"


def test_small_pieces_are_to_one_scale() -> None:
    widths = []
    for outline in (RECTANGLE, TRIANGLE):
        data = re.search(r' d="M([^"]*)Z"', stock_outline(outline, 2440, "R1"))
        assert data
        xs = [float(pair.split()[0]) for pair in data[1].split("L")]
        widths.append(max(xs) - min(xs))
    assert widths[0] / widths[1] == pytest.approx(2440 / 500, rel=1e-3)
