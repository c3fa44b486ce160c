"""The opening on paper: the sheet's figures, and its template measured in the PDF."""

import io
import logging
import re
from functools import cache
from typing import Any

import pdfplumber
import pytest

from calc import Plan, plan
from calc.aperture import Aperture, Cutting, Place, SetOut, open_up, set_out
from calc.papers.aperture_paper import NotToBeCutError, opening_html, opening_pdf, opening_template_pdf
from calc.papers.tiling import PAPERS
from calc.papers.traveller import Heading
from tests.calc.joined_pages import BAR, TRUE, assembled, lengths, spans
from tests.calc.made_patterns import render
from tests.shapes import FIVE, SKEW, TRIANGLE, fall_tray, ring, sheet_of

weasyprint = pytest.importorskip("weasyprint", reason="papers need Pango", exc_type=OSError)

HEADING = Heading("Mill Lane", "42", "3", "K7QF", "25 November 2026")
LAP = {"kind": "lap", "width": 25, "inside_radius": 2}
SHAPES: dict[str, Any] = {
    "skew": SKEW,
    "five": {**FIVE, "rim_finish": LAP},
    "triangle": TRIANGLE,
    "narrow lap": {**SKEW, "rim_finish": {"kind": "lap", "width": 10}},
    "ring": {**ring(24), "rim_finish": LAP},
}


@cache
def made(name: str, **making: Any) -> tuple[Plan, Aperture, tuple[SetOut, ...]]:
    planned = plan(sheet_of(SHAPES[name], making=making))
    opening = open_up(planned, planned.sheet.shape.corners, Cutting())
    assert opening is not None
    return planned, opening, set_out(opening, Place(1, 900, 600, 610))


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pdfplumber.open(io.BytesIO(pdf)).pages)


def sheet(name: str, **keys: Any) -> bytes:
    planned, opening, points = made(name)
    return opening_pdf(planned, opening, points, HEADING, planned.sheet.making.display, render, **keys)


@pytest.mark.parametrize("name", ["skew", "five", "triangle"])
def test_it_is_one_page_with_every_figure(name: str) -> None:
    planned, opening, points = made(name)
    pages = pdfplumber.open(io.BytesIO(sheet(name))).pages
    assert len(pages) == 1
    text, show = pages[0].extract_text(), planned.sheet.making.display.figure
    for point in points:
        assert re.search(
            rf"^{point.number} {re.escape(show(point.along))} {re.escape(show(point.square))} ", text, re.MULTILINE
        )
    for length in (*opening.sides, *opening.diagonals):
        assert re.search(rf"\b{re.escape(show(length))}\b", text)
    assert show(sum(map(planned.sheet.making.display.rounded, opening.sides))) in text


def test_it_says_what_can_hurt_and_whose_it_is() -> None:
    text = re.sub(r"\s+", " ", text_of(sheet("five", which="tray 2 of 3")))
    for words in (
        "Isolate and lock off",
        "coolant residue",
        "fire watch",
        "competent person",
        "as it was measured, not as drawn",
    ):
        assert words in text
    for words in ("Mill Lane", "42", "K7QF", "25 November 2026", "tray 2 of 3"):
        assert words in text


def test_what_proves_it_is_said_by_how_many_corners_it_has() -> None:
    told = {name: re.sub(r"\s+", " ", text_of(sheet(name))) for name in ("triangle", "skew", "five")}
    assert "Measure the sides of the opening" in told["triangle"]
    assert "Measure both diagonals of the opening" in told["skew"]
    assert "Measure the diagonals of the opening" in told["five"]


def test_an_opening_that_must_not_be_cut_is_on_no_paper() -> None:
    planned, opening, _ = made_narrow()
    for make in (
        lambda: opening_html(planned, opening, (), HEADING, planned.sheet.making.display, render),
        lambda: opening_template_pdf(planned, opening, HEADING, planned.sheet.making.display, render),
    ):
        with pytest.raises(NotToBeCutError, match="at least 10 mm is wanted"):
            make()


def made_narrow() -> tuple[Plan, Aperture, tuple[SetOut, ...]]:
    return made("narrow lap")


def test_many_corners_take_more_pages_and_warn_of_nothing(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        text = text_of(sheet("ring"))
    assert not caplog.records
    assert "Diagonal" in text


def test_the_same_opening_gives_the_same_bytes() -> None:
    assert sheet("skew") == sheet("skew")


def test_typed_words_do_nothing() -> None:
    planned = plan({**sheet_of(SKEW), "title": "<script>alert(1)</script>", "customer": "A & B <b>"})
    opening = open_up(planned, planned.sheet.shape.corners, Cutting())
    assert opening is not None
    points = set_out(opening, Place(1, 200, 100, 100))
    page = opening_html(planned, opening, points, HEADING, planned.sheet.making.display, render)
    assert "<script" not in page
    assert "A &amp; B &lt;b&gt;" in page or "A &amp; B" in page


# The template


@cache
def template(name: str, size: str) -> list[Any]:
    planned, opening, _ = made(name)
    pdf = opening_template_pdf(planned, opening, HEADING, planned.sheet.making.display, render, paper=PAPERS[size])
    return list(pdfplumber.open(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize("size", ["A4", "A3", "Letter"])
@pytest.mark.parametrize("name", ["skew", "triangle"])
def test_the_opening_comes_together_from_its_pages(name: str, size: str) -> None:
    first, *tiles = template(name, size)
    corners = assembled(tiles)
    assert spans(corners) == pytest.approx(spans(made(name)[1].outline), abs=TRUE)
    assert "cut inside it" in re.sub(r"\s+", " ", first.extract_text())
    for page in tiles:
        assert [span for span in lengths(page, BAR, True) if span > 50] == pytest.approx([100.0], abs=TRUE)
        assert "Pattern Opening" in page.extract_text()


def test_each_page_of_a_template_tells_which_tray_it_is_for() -> None:
    planned, opening, _ = made("triangle")
    given = (planned, opening, HEADING, planned.sheet.making.display, render)
    pdf = opening_template_pdf(*given, paper=PAPERS["A3"], which="tray 2 of 3")
    assert all("tray 2 of 3" in page.extract_text() for page in pdfplumber.open(io.BytesIO(pdf)).pages)


def test_a_template_tells_its_holes() -> None:
    text = "\n".join(page.extract_text() for page in template("triangle", "A3"))
    assert set(re.findall(r"ø ?(\d) ?mm", text)) == {"6", "7"}


def test_too_large_an_opening_is_set_out_by_its_figures() -> None:
    planned = plan(sheet_of(fall_tray([[0, 0], [5000, 0], [5000, 3000], [0, 3000]], [2000, 1500], 200)))
    opening = open_up(planned, planned.sheet.shape.corners, Cutting())
    assert opening is not None
    pdf = opening_template_pdf(planned, opening, HEADING, planned.sheet.making.display, render)
    assert "Set it out by the figures of the sheet for the bench" in re.sub(r"\s+", " ", text_of(pdf))
