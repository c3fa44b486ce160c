"""No line runs through a figure: neither the arrows of a strip's width, nor a diagonal of the picture beside the form."""

import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

import pytest
import shapely

import calc
from calc.drawing import plan_view, rim_picture
from calc.drawing.lettering import text_width
from calc.units import Display
from tests import shapes

SVG = "{http://www.w3.org/2000/svg}"
RIM = [[0, 0], [1236, 4], [1229, 548], [-7, 541]]


def level_figures(svg: ET.Element) -> Iterator[tuple[str, shapely.Polygon]]:
    """The lettering that stands level, each with the least room that its figures take."""
    for text in svg.iter(f"{SVG}text"):
        if "transform" not in text.attrib and text.text and re.search(r"\d", text.text):
            size, x, y = (float(text.get(key, "")) for key in ("font-size", "x", "y"))
            half = 0.4 * text_width(text.text, size)
            yield text.text, shapely.box(x - half, y - 0.6 * size, x + half, y - 0.1 * size)


def drawn_lines(svg: ET.Element, style: str) -> list[shapely.LineString]:
    paths = [path.get("d", "") for path in svg.iter(f"{SVG}path") if path.get("class") == style]
    ends = re.findall(r"M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)", "".join(paths))
    return [shapely.LineString([(float(x1), float(y1)), (float(x2), float(y2))]) for x1, y1, x2, y2 in ends]


@pytest.mark.parametrize("along", range(300, 1000, 100))
def test_the_arrows_of_a_lap_s_width_run_through_no_figure(along: int) -> None:
    finish = {"kind": "lap", "width": 25}
    plan = calc.plan(shapes.sheet_of(shapes.fall_tray(RIM, [along, 250], 64, rim_finish=finish)))
    svg = ET.fromstring(plan_view(plan, Display(), width=440.0))  # noqa: S314 - our own
    lines = drawn_lines(svg, "dim")
    assert lines
    for text, room in level_figures(svg):
        assert not any(room.intersects(line) for line in lines), text


@pytest.mark.parametrize("share", [0.2, 0.35, 0.5, 0.65, 0.8])
@pytest.mark.parametrize("up", [0.3, 0.5, 0.7])
@pytest.mark.parametrize("high", [380.0, 560.0, 870.0])
def test_no_diagonal_is_seen_through_the_low_point_s_figures(share: float, up: float, high: float) -> None:
    """Where there is no place off the diagonals one is broken for them: paper lies between."""
    rim, low = [(0.0, 0.0), (1580.0, 6.0), (1574.0, high + 11), (-4.0, high)], (1580 * share, high * up)
    picture = rim_picture(rim, low, Display(), entry="sides", depth=70.0, bore=38.0, width=400.0)
    svg = ET.fromstring(picture)  # noqa: S314 - our own
    diagonals = drawn_lines(svg, "hidden diagonal")
    assert len(diagonals) == 2
    sheets = [[float(rect.get(key, "")) for key in ("x", "y", "width", "height")] for rect in svg.iter(f"{SVG}rect")]
    cleared = shapely.union_all([shapely.box(x, y, x + wide, y + tall) for x, y, wide, tall in sheets])
    figures = [room for text, room in level_figures(svg) if re.match(r"low point|y |depth|outlet", text)]
    assert len(figures) == 4
    for room in figures:
        assert cleared.covers(room) or not any(room.intersects(line) for line in diagonals)
