"""The templates, measured in the PDF: check bars, lines, and a blank joined again from its pages by their crosses."""

import io
import itertools
import logging
import math
from functools import cache
from typing import Any

import pdfplumber
import pytest
import shapely

import calc
from calc.papers.templates import MOST_PAGES, templates_html, templates_pdf
from calc.papers.tiling import PAPERS, tile
from calc.papers.traveller import Heading
from calc.records import Outline, Point
from tests.calc.joined_pages import (
    BAR,
    BEND,
    HOLE,
    MM,
    TICK,
    TRUE,
    assembled,
    joined,
    joins,
    lengths,
    number_of,
    of_pattern,
    spans,
    strokes,
    window_of,
    window_words,
)
from tests.calc.made_patterns import PAN, RECTANGLE, blank_of, pan, plan_of, render
from tests.calc.test_traveller import runs
from tests.shapes import FIVE, MIRROR, REFLEX, SUMPS, TWISTED, fall_tray, ring, sheet_of

weasyprint = pytest.importorskip("weasyprint", reason="papers need Pango", exc_type=OSError)

HEADING = Heading("Mill Lane", "42", "3", "K7QF", "25 November 2026")
# [mm] ISO 216 and 8 1/2 x 11 in
SIZES = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}
TRAY = fall_tray([[0, 0], [900, 0], [900, 450], [0, 450]], [610, 170], 57, outlet={"bore": 32})


FOLDED_PAN = {"family": "pan", "length": 420, "width": 260, "height": 60, "inside_radius": 2}


@cache
def planned(name: str) -> calc.Plan:
    shapes = {
        "tray": TRAY,
        "five": FIVE,
        "reflex": REFLEX,
        "ring": ring(24),
        "mirror": MIRROR,
        "folded pan": FOLDED_PAN,
        "valley": {**TWISTED, "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}},
        "sump": SUMPS["five"],
    }
    if name == "upstand":
        shape = {**FIVE, "rim_finish": {"kind": "upstand", "height": 30, "inside_radius": 2}}
        return calc.plan(sheet_of(shape, making={"joins": "fewest-welds"}))
    if name == "pan":
        return pan()
    if name == "inch pan":
        return pan(making={"units": "in", "rule": 25.4 / 32})
    if name == "rectangle":
        return plan_of(blank_of(RECTANGLE))
    return calc.plan(sheet_of(shapes[name], making={"seam_gap": 0}))


@cache
def paper(name: str, size: str = "A4") -> list[Any]:
    plan = planned(name)
    pdf = templates_pdf(plan, HEADING, plan.sheet.making.display, render, paper=PAPERS[size])
    return list(pdfplumber.open(io.BytesIO(pdf)).pages)


def tiles(name: str, size: str = "A4") -> list[Any]:
    return [page for page in paper(name, size) if "Page map" not in page.extract_text()]


@pytest.mark.parametrize("size", SIZES)
def test_a_diagonal_across_the_joined_pages(size: str) -> None:
    pages = tiles("rectangle", size)
    assert len(pages) > 2
    corners = assembled(pages)
    assert len(corners) == 4
    # 900 x 450: Pythagoras, sqrt(900^2 + 450^2) = 1006.2306
    assert spans(corners) == pytest.approx([450, 450, 900, 900, 1006.2306, 1006.2306], abs=TRUE)


def test_a_tray_measured_on_its_joined_pages() -> None:
    pages = tiles("tray")
    # From each corner of the rim to the low point (610, 170, -57), by Pythagoras in space; no gap is taken off here
    low = (610.0, 170.0, -57.0)
    rim = [(0.0, 0.0, 0.0), (900.0, 0.0, 0.0), (900.0, 450.0, 0.0), (0.0, 450.0, 0.0)]
    for index, name in enumerate("ABCD"):
        ends = [rim[index], rim[(index + 1) % 4]]
        true = sorted([math.dist(*ends), math.dist(ends[0], low), math.dist(ends[1], low)])
        assert spans(assembled(of_pattern(pages, name))) == pytest.approx(true, abs=TRUE)


@pytest.mark.parametrize("name", ["five", "reflex", "pan", "folded pan"])
def test_every_outline_comes_together_from_its_pages(name: str) -> None:
    for blank in planned(name).blanks:
        corners = assembled(of_pattern(tiles(name), blank.name))
        assert spans(corners) == pytest.approx(spans(blank.cut_outline), abs=TRUE)


@pytest.mark.parametrize(("name", "length", "words"), [("pan", 100.0, "100 mm"), ("inch pan", 4 * 25.4, "4 in")])
@pytest.mark.parametrize("size", SIZES)
def test_check_bars_both_ways_on_every_page(name: str, length: float, words: str, size: str) -> None:
    for page in tiles(name, size):
        level, upright = ([span for span in lengths(page, BAR, way) if span > 50] for way in (True, False))
        assert level == pytest.approx([length], abs=TRUE)
        assert upright == pytest.approx([length], abs=TRUE)
        assert words in page.extract_text()
        # set upright it is read back from the top down
        turned = "".join(char["text"] for char in page.chars if not char["upright"]).replace(" ", "")
        assert words.replace(" ", "") in (turned + turned[::-1])
    assert words in paper(name, size)[0].extract_text()


@pytest.mark.parametrize("size", SIZES)
def test_pages_are_of_the_paper_asked_for(size: str) -> None:
    for page in paper("pan", size):
        assert (page.width * MM, page.height * MM) == pytest.approx(SIZES[size], abs=0.01)


@pytest.mark.parametrize(
    ("name", "size"),
    [("tray", "A4"), ("ring", "A4"), ("reflex", "A3"), ("pan", "Letter"), ("mirror", "A4"), ("upstand", "A4")],
)
def test_nothing_stands_where_printers_leave_blank(name: str, size: str) -> None:
    width, height = SIZES[size]
    for page in paper(name, size):
        for item in (*page.chars, *page.lines, *page.curves, *page.rects):
            left, right = item["x0"] * MM, item["x1"] * MM
            top, bottom = item["top"] * MM, item["bottom"] * MM
            # common practice: printers leave up to 7 mm blank
            assert left >= 7
            assert right <= width - 7
            assert top >= 7
            assert bottom <= height - 7, item


@pytest.mark.parametrize("name", ["tray", "five", "reflex", "ring", "pan", "folded pan", "upstand", "valley", "sump"])
def test_no_lettering_stands_on_other_lettering(name: str) -> None:
    for page in paper(name):
        written = [run for run in runs(page) if run.text.strip()]
        for one, other in itertools.combinations(written, 2):
            # two lines of one paragraph may share a hair between a descender's room and an ascender's
            assert one.box.intersection(other.box).area < 0.5, (page.page_number, one.text, other.text)


def test_ticks_show_where_the_next_page_comes() -> None:
    pages = tiles("rectangle")
    by_number, moved = {number_of(page): page for page in pages}, joined(pages)
    seen = 0
    for number, page in by_number.items():
        window = window_of(page)
        for side, other in joins(page).items():
            its = window_of(by_number[other])
            dx, dy = (moved[other][axis] - moved[number][axis] for axis in (0, 1))
            place = {"right": its[0] + dx, "left": its[2] + dx, "above": its[3] + dy, "below": its[1] + dy}[side]
            axis = 0 if side in ("left", "right") else 1
            marks = [points for points in strokes(page, TICK) if abs(points[0][axis] - place) < TRUE]
            marks = [points for points in marks if abs(points[0][axis] - points[1][axis]) < 1e-3]
            assert len(marks) == 2, (number, side)
            for points in marks:
                assert not shapely.box(*window).buffer(-0.01).intersects(shapely.LineString(points))
            seen += 1
    assert seen > 4


@pytest.mark.parametrize("name", ["tray", "pan", "ring", "reflex", "folded pan", "upstand", "valley", "sump"])
def test_pages_say_what_they_are(name: str) -> None:
    plan, pages = planned(name), tiles(name)
    assert [number_of(page) for page in pages] == list(range(1, len(pages) + 1))
    for page in pages:
        text = page.extract_text()
        assert "wet face up" in text
        for words in ("Job 42", "revision 3", "check code K7QF", "5052-H32", "1.5 mm", f"of {len(pages)}"):
            assert words in text
    for blank in plan.blanks:
        own = of_pattern(pages, blank.name)
        bold = [word for page in own for word in window_words(page)]
        for corner in blank.marked_corners:
            assert str(corner + 1) in bold, (blank.name, corner)


def test_bends_and_holes() -> None:
    pages = tiles("pan")
    moved = joined(pages)
    bends: list[tuple[Point, Point]] = []
    radii = []
    for page in pages:
        dx, dy = moved[number_of(page)]
        bends += [tuple((x + dx, y + dy) for x, y in points) for points in strokes(page, BEND)]  # type: ignore[misc]
        for points in strokes(page, HOLE):
            if math.dist(points[0], points[-1]) < 1e-3:
                radii.append((max(x for x, _ in points) - min(x for x, _ in points)) / 2)
    whole = [shapely.LineString(line) for line in bends]
    merged = shapely.line_merge(shapely.union_all(shapely.set_precision(whole, 0.01)))
    assert merged.length == pytest.approx(2 * (298 - 22) + 2 * (188 - 22), abs=4 * TRUE)  # the floor's four sides
    assert 16.0 in [pytest.approx(radius, abs=TRUE) for radius in radii]  # the hole of 32 mm, whole on one page
    letters = ["".join(char["text"] for char in page.chars).replace(" ", "") for page in pages]
    for words in ("UP90.0°", "UP87.5°", "DOWN45.0°", "outletø32mm", "outletø60mm"):
        assert any(words in text for text in letters), words


def test_every_bend_is_told_on_a_page_at_least() -> None:
    for name in ("folded pan", "upstand"):
        letters = "".join(char["text"] for page in tiles(name) for char in page.chars).replace(" ", "")
        for blank in planned(name).blanks:
            for words in {fold.words.replace(" ", "") for fold in blank.folds}:
                told = letters.count(words)
                assert told >= len([fold for fold in blank.folds if fold.words.replace(" ", "") == words]), words


def test_a_hole_across_two_pages_is_round() -> None:
    pages = tiles("pan")
    moved = joined(pages)
    points = [
        (x + moved[number_of(page)][0], y + moved[number_of(page)][1])
        for page in pages
        for line in strokes(page, HOLE)
        if len(line) > 20  # drawn as many short lines where it runs off the page
        for x, y in line
    ]
    assert points
    centre = shapely.minimum_bounding_circle(shapely.MultiPoint(points)).centroid
    for point in points:
        assert centre.distance(shapely.Point(point)) == pytest.approx(30.0, abs=TRUE)


def test_the_map_shows_every_page() -> None:
    first = paper("tray")[0]
    text = first.extract_text()
    count = len(tiles("tray"))
    assert f"A4, {count} pages and this map" in text
    words = [word["text"] for word in first.extract_words()]
    for number in range(1, count + 1):
        assert str(number) in words
    # a box a page on the map, and each page's own map has the same boxes with one filled in
    assert len([item for item in first.rects if item["stroke"]]) == count
    for page in tiles("tray"):
        filled = [item for item in page.rects if item["fill"] and item["non_stroking_color"] in ((0, 0, 0), [0, 0, 0])]
        assert len(filled) == 1


def test_patterns_that_take_too_many_pages_are_named() -> None:
    huge = ((0.0, 0.0), (19_000.0, 0.0), (19_000.0, 19_000.0), (0.0, 19_000.0))
    plan = plan_of(blank_of(huge, "Huge"), blank_of(PAN, "Small"))
    page = templates_html(plan, HEADING, plan.sheet.making.display, render, paper=PAPERS["A4"])
    assert "Too many pages, so not here: Huge." in page
    assert page.count('class="tile"') == len(tiles("pan"))
    many = plan_of(*(blank_of(RECTANGLE, f"R{index}") for index in range(40)))
    page = templates_html(many, HEADING, many.sheet.making.display, render, paper=PAPERS["A4"])
    assert page.count('class="tile"') <= MOST_PAGES
    assert "R39" in page


def test_a_small_blank_is_whole_on_one_page() -> None:
    outline = ((0.0, 0.0), (140.0, 0.0), (60.0, 170.0))
    tiling = tile(outline, PAPERS["A4"])
    assert len(tiling.tiles) == 1
    plan = plan_of(blank_of(outline))
    page = templates_html(plan, Heading(), plan.sheet.making.display, render, paper=PAPERS["A4"])
    assert "the whole blank" in page


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize(
    "outline",
    [RECTANGLE, PAN, ((0.0, 0.0), (2990.0, 0.0), (1400.0, 80.0)), ((0.0, 0.0), (30.0, 0.0), (30.0, 1900.0))],
)
def test_windows_cover_the_blank_and_overlap_by_a_centimetre(outline: Outline, size: str) -> None:
    tiling = tile(outline, PAPERS[size])
    body = shapely.Polygon(tiling.turn_all(outline))
    windows = [tiling.window(each) for each in tiling.tiles]
    assert shapely.union_all(windows).buffer(1e-6).contains(body)
    for each in tiling.tiles:
        right, above = tiling.beside(each, 1, 0), tiling.beside(each, 0, 1)
        if right:
            assert tiling.window(each).intersection(tiling.window(right)).bounds[2] == pytest.approx(
                tiling.window(each).bounds[2]
            )
            assert tiling.window(each).intersection(tiling.window(right)).area == pytest.approx(
                10 * PAPERS[size].window[1]
            )
        if above:
            assert tiling.window(each).intersection(tiling.window(above)).area == pytest.approx(
                10 * PAPERS[size].window[0]
            )
    assert all(window.intersects(body) for window in windows)


def test_blanks_alike_are_on_one_template_and_say_so() -> None:
    text = paper("mirror")[0].extract_text()
    assert "C alike, turned over" in text
    assert "lay the pattern printed side down" in text
    assert not of_pattern(tiles("mirror"), "C")


@pytest.mark.parametrize(
    "words",
    ["<script>alert(1)</script>]]>&\x00", "W" * 200, "</svg><img src=file:///etc/passwd>"],
    ids=["script", "long", "image"],
)
def test_hostile_words_are_only_words(words: str, caplog: pytest.LogCaptureFixture) -> None:
    plan = plan_of(blank_of(PAN, words), title=words)
    page = templates_html(plan, Heading(*[words] * 6), plan.sheet.making.display, render, paper=PAPERS["A4"])
    assert "<script" not in page
    assert "<img" not in page
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        pdf = templates_pdf(plan, Heading(*[words] * 6), plan.sheet.making.display, render)
    assert not caplog.records
    for sheet in pdfplumber.open(io.BytesIO(pdf)).pages:
        for char in sheet.chars:
            assert char["x0"] * MM >= 7
            assert char["x1"] * MM <= 203


def test_the_same_plan_gives_the_same_bytes() -> None:
    plan = planned("pan")
    one, other = (templates_pdf(plan, HEADING, plan.sheet.making.display, render) for _ in range(2))
    assert one == other
