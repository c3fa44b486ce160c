"""Labels for the rack: every label on its sheet, every word on its label."""

import io
import logging
import re
from collections.abc import Mapping

import pdfplumber
import pytest
from django.template.loader import render_to_string

from calc.papers.labels import MOST, Label, labels_html, labels_pdf
from calc.tables.label_sheets import LABEL_SHEETS, LabelSheet

pytest.importorskip("weasyprint", reason="papers need Pango", exc_type=OSError)

POINT = 25.4 / 72  # [mm]
ADDRESS = "http://workshop-computer.example:8000/rack/12345/"
USUAL = Label("R12", "5052-H32, 1.5 mm", "1200 × 640 mm", "Shelf 2, left", "of job 14", ADDRESS)
LONG = Label("R1234567", "DX51D+Z, 1.5875 mm", "12000.5 × 12000.5 mm", "W" * 80, "of job 1234567", ADDRESS)
STRANGE = Label("R3", "<b>&amp;", "1 × 1 mm", "\u0645\u0643\u0627\u0646")
SHEETS = list(LABEL_SHEETS.values())


def render(template: str, context: Mapping[str, object]) -> str:
    return render_to_string(template, dict(context))


def boxes(sheet: LabelSheet) -> list[tuple[float, float, float, float]]:
    corners = [sheet.corner(place) for place in range(sheet.count)]
    return [(left, top, left + sheet.width, top + sheet.height) for left, top in corners]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_labels_lie_on_the_paper_and_not_on_each_other(sheet: LabelSheet) -> None:
    found = boxes(sheet)
    for place, (left, top, right, bottom) in enumerate(found):
        assert min(left, top) >= 0
        assert right <= sheet.paper[0] + 0.01
        assert bottom <= sheet.paper[1] + 0.01
        for other in found[:place]:
            assert right <= other[0] or other[2] <= left or other[3] <= top + 1e-3


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_a_sheet_of_labels_is_even_about_the_middle_of_its_paper(sheet: LabelSheet) -> None:
    # what is left of the paper is shared out alike on both sides, to a millimetre (common practice)
    found = boxes(sheet)
    assert found[0][0] == pytest.approx(sheet.paper[0] - found[-1][2], abs=1.0)
    assert found[0][1] == pytest.approx(sheet.paper[1] - found[-1][3], abs=1.0)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_no_word_leaves_its_label(sheet: LabelSheet, caplog: pytest.LogCaptureFixture) -> None:
    labels = [USUAL, LONG, STRANGE] * 6
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        made = labels_pdf(labels, sheet, render, first=2)
    assert not caplog.records
    with pdfplumber.open(io.BytesIO(made)) as pdf:
        assert len(pdf.pages) == -(-(len(labels) + 1) // sheet.count)
        for page in pdf.pages:
            assert (page.width * POINT, page.height * POINT) == pytest.approx(sheet.paper, abs=0.05)
            assert page.chars
            for sign in page.chars:
                box = tuple(sign[side] * POINT for side in ("x0", "top", "x1", "bottom"))
                assert any(
                    left <= box[0] and top <= box[1] and box[2] <= right and box[3] <= bottom
                    for left, top, right, bottom in boxes(sheet)
                ), sign["text"]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_number_size_and_metal_are_whole_and_the_place_is_there(sheet: LabelSheet) -> None:
    with pdfplumber.open(io.BytesIO(labels_pdf([USUAL], sheet, render))) as pdf:
        lines = pdf.pages[0].extract_text().splitlines()
    assert [line.strip() for line in lines][:4] == ["R12", "1200 × 640 mm", "5052-H32, 1.5 mm", "Shelf 2, left"]


def test_the_number_is_the_largest_lettering() -> None:
    with pdfplumber.open(io.BytesIO(labels_pdf([USUAL], SHEETS[0], render))) as pdf:
        sizes = {sign["text"]: sign["size"] for sign in pdf.pages[0].chars}
    assert sizes["R"] > 2 * sizes["×"]


def test_a_code_is_there_where_there_is_an_address() -> None:
    page = labels_html([USUAL, STRANGE], SHEETS[0], render)
    assert page.count('<div class="code">') == 1
    assert "Scan to open the piece" in page


def test_words_are_text() -> None:
    assert "&lt;b&gt;&amp;amp;" in labels_html([STRANGE], SHEETS[0], render)


def test_the_first_free_label_may_be_any_of_the_sheet() -> None:
    sheet = LABEL_SHEETS["A4, 3 x 7"]
    places = re.findall(r'class="label (c\d r\d)"', labels_html([USUAL] * 3, sheet, render, first=21))
    assert places == ["c2 r6", "c0 r0", "c1 r0"]  # the last of the sheet, then the next sheet from its beginning
    for first in (0, 22):
        with pytest.raises(ValueError, match="a sheet A4, 3 x 7 has labels 1 to 21"):
            labels_html([USUAL], sheet, render, first=first)


def test_no_file_is_endless() -> None:
    assert labels_html([STRANGE] * (MOST + 9), SHEETS[0], render).count('class="number"') == MOST
