"""The label placer, lettering and SVG writing by themselves."""

import io
import math
from xml.etree import ElementTree

import numpy as np
import pdfplumber
import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from calc.drawing.boxes import Box, boxes_meet, meets_boxes, rows_of
from calc.drawing.labels import FLOOR, Labels
from calc.drawing.lettering import clean, elide, text_width
from calc.drawing.places import anywhere, beside, readable_angle, ring, within
from calc.drawing.svg import Drawing, escape
from calc.records import Point

box = st.builds(
    Box,
    x=st.floats(0, 100),
    y=st.floats(0, 100),
    width=st.floats(1, 60),
    height=st.floats(1, 30),
    angle=st.floats(-90, 90),
)


def polygon(item: Box) -> shapely.Polygon:
    level = shapely.box(
        item.x - item.width / 2, item.y - item.height / 2, item.x + item.width / 2, item.y + item.height / 2
    )
    turned = shapely.affinity.rotate(level, item.angle, origin=(item.x, item.y))
    assert isinstance(turned, shapely.Polygon)
    return turned


@settings(max_examples=200, deadline=None)
@given(box, box)
def test_boxes_meet_as_shapely_says(one: Box, other: Box) -> None:
    found = bool(boxes_meet(rows_of([one]), rows_of([other]))[0, 0])
    shared = polygon(one).intersection(polygon(other)).area
    if shared > 1e-6:
        assert found
    if polygon(one).distance(polygon(other)) > 1e-6:
        assert not found


@settings(max_examples=200, deadline=None)
@given(box, st.tuples(*[st.floats(0, 100)] * 4))
def test_lines_meet_boxes_as_shapely_says(one: Box, line: tuple[float, float, float, float]) -> None:
    found = bool(meets_boxes(np.array([line]), rows_of([one]))[0, 0])
    away = polygon(one).distance(shapely.LineString([line[:2], line[2:]]))
    inside = polygon(one).buffer(-1e-6).intersects(shapely.LineString([line[:2], line[2:]]))
    assert found or not inside
    assert not found or away < 1e-6


def test_labels_at_one_point_spread_out_and_the_rest_go_to_the_key() -> None:
    labels = Labels(Drawing(), 200.0, 120.0)
    target: Point = (100.0, 60.0)
    placed = 0
    for index in range(60):
        words = f"label {index}"
        places = [ring(target, (3.0, 20.0), leader=True), anywhere(200.0, 120.0, target)]
        placed += labels.put(((words, 12.0, False),), places, key=words)
    assert 4 < placed < 60
    assert len(labels.keyed) == 60 - placed
    kept = rows_of(labels.boxes)
    meeting = boxes_meet(kept, kept)
    assert meeting.sum() == len(labels.boxes)  # each only itself
    svg = labels.finish("Crowd", "test")
    written = ["".join(item.itertext()) for item in ElementTree.fromstring(svg)]  # noqa: S314 - our own text
    assert all(written.count(f"label {index}") == 1 for index in range(60))


def test_a_label_shrinks_before_it_leaves_its_outline_but_never_below_the_floor() -> None:
    labels = Labels(Drawing(), 300.0, 100.0)
    narrow = ((100.0, 40.0), (153.0, 40.0), (153.0, 54.5), (100.0, 54.5))
    labels.avoid(narrow, "outline", closed=True)
    found = labels.find((("927.5", 14.0, False),), [within(narrow)], 10.0)
    assert found is not None
    (_, size, _), *_ = found[0]
    assert FLOOR <= size < 14.0
    assert labels.find((("927.5 mm long", FLOOR, False),), [within(narrow)], 10.0) is None


def test_lettering_along_a_line_stands_above_it() -> None:
    spots = beside((0.0, 100.0), (100.0, 100.0), 3.0, side=1)(20.0, 10.0)
    assert spots[0].y == pytest.approx(100.0 - 3.0 - 5.0)
    upright = beside((50.0, 100.0), (50.0, 0.0), 3.0, side=1)(20.0, 10.0)
    assert upright[0].angle == pytest.approx(-90.0)
    assert upright[0].x < 50.0  # read from the right, above is to the left


@given(st.floats(-100, 100), st.floats(-100, 100))
def test_lettering_is_read_from_below_or_from_the_right(x: float, y: float) -> None:
    angle = readable_angle((0.0, 0.0), (x, y))
    assert -110.0 <= angle < 70.0
    # the line itself, either way along it
    assert math.isclose(math.sin(math.radians(angle)) * x, math.cos(math.radians(angle)) * y, abs_tol=1e-9)


@pytest.mark.parametrize("lean", [-19.0, -3.0, -0.5, 0.0, 0.5, 3.0, 19.0])
def test_a_side_out_of_upright_either_way_is_read_from_the_right(lean: float) -> None:
    turn = math.radians(90.0 + lean)
    for way in (1.0, -1.0):
        end = (way * math.cos(turn), way * math.sin(turn))
        # read from the right the letters run upward: y is down
        assert math.sin(math.radians(readable_angle((0.0, 0.0), end))) < -0.9


def test_the_width_estimate_is_no_less_than_a_wide_face() -> None:
    # against Pango's own measure of the system's sans face (DejaVu Sans here: the widest of the common ones)
    weasyprint = pytest.importorskip("weasyprint", exc_type=OSError)
    samples = [
        "0123456789",
        "927.5 mm",
        '36 1/2"',
        "weld to B",
        "A.12 over",
        "1 in 48.3",
        "Seam A-B",
        "keep 1986 × 1220",
        "ø32",
    ]
    for weight in ("normal", "bold"):
        lines = "".join(f'<p style="font:{weight} 20pt sans-serif;white-space:pre">{text}</p>' for text in samples)
        with pdfplumber.open(io.BytesIO(weasyprint.HTML(string=lines).write_pdf())) as book:
            for line, text in zip(book.pages[0].extract_text_lines(), samples, strict=True):
                assert line["x1"] - line["x0"] <= text_width(text, 20.0, weight == "bold") + 0.01, text


def test_no_character_that_xml_forbids_survives() -> None:
    everything = "".join(chr(code) for code in (*range(0x300), 0xD800, 0xDFFF, 0xFFFE, 0xFFFF, 0x1FFFE, 0x1F600))
    top = ElementTree.fromstring(f'<a b="{escape(everything)}">{escape(everything)}</a>')  # noqa: S314 - our own text
    assert top.text == top.get("b") == clean(everything)
    assert "<b>&\"'" in clean("<b>&\"'")


@given(st.text(max_size=60), st.floats(20, 300))
def test_elided_text_fits_and_begins_as_typed(text: str, room: float) -> None:
    short = elide(text, 10.0, room)
    assert text_width(short, 10.0) <= room or short == "…"
    assert short == text or text.startswith(short.removesuffix("…"))
