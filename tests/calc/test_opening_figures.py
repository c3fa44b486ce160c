"""The sheet for the bench: sums of the figures it tells, each hole's middle, and one name for a hole on every paper."""

import io
import math
import re

import pdfplumber
import pytest

from calc import Plan, plan
from calc.aperture import Aperture, Cutting, Place, SetOut, open_up, set_out
from calc.papers.aperture_paper import opening_html, opening_pdf, opening_template_pdf
from calc.papers.lines import key_figures
from calc.papers.tiling import PAPERS
from calc.papers.traveller import Heading
from tests.calc.made_patterns import render
from tests.calc.test_together import STOCK, together
from tests.shapes import FIVE, SKEW, TRIANGLE, sheet_of

HEADING = Heading(job_number="7")


def made(shape: object) -> tuple[Plan, Aperture, tuple[SetOut, ...]]:
    planned = plan(sheet_of(shape))  # type: ignore[arg-type]
    opening = open_up(planned, planned.sheet.shape.corners, Cutting())
    assert opening is not None
    return planned, opening, set_out(opening, Place(1, 900, 600, 610))


def text_of(shape: object) -> str:
    planned, opening, points = made(shape)
    pdf = opening_pdf(planned, opening, points, HEADING, planned.sheet.making.display, render)
    return "\n".join(page.extract_text() for page in pdfplumber.open(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize("shape", [SKEW, FIVE], ids=["skew", "five"])
def test_the_sums_are_those_of_the_figures_told(shape: object) -> None:
    text = text_of(shape)
    (sides,) = re.findall(r"All sides together: ([\d.]+)", text)
    (across,) = re.findall(r"the diagonals: ([\d.]+) mm", re.sub(r"\s+", " ", text))
    assert float(sides) == sum(float(figure) for figure in re.findall(r"Side \d–\d ([\d.]+)", text))
    assert float(across) == sum(float(figure) for figure in re.findall(r"Diagonal \d–\d ([\d.]+)", text))


def test_the_middle_of_a_hole_lies_half_its_size_from_its_corner() -> None:
    """It goes through the corner: from the corner as set out to the middle is its radius, to the shop's half a millimetre."""
    planned, opening, points = made(TRIANGLE)
    page = opening_html(planned, opening, points, HEADING, planned.sheet.making.display, render)
    cells = " ".join(re.findall(r'<td class="right">([^<]*)</td>', page))
    told = re.findall(r"at ([\d.]+); ([\d.]+)", cells)
    drilled = [(point, corner.relief) for point, corner in zip(points, opening.corners, strict=True) if corner.relief]
    assert len(told) == len(drilled) > 0
    for (along, square), (point, relief) in zip(told, drilled, strict=True):
        away = math.dist((float(along), float(square)), (point.along, point.square))
        assert relief is not None
        assert away == pytest.approx(relief.diameter / 2, abs=0.25 * math.sqrt(2) + 1e-6)


def test_a_hole_has_one_name_on_sheet_and_template() -> None:
    planned, opening, _ = made(TRIANGLE)
    display = planned.sheet.making.display
    pdf = opening_template_pdf(planned, opening, HEADING, display, render, paper=PAPERS["A3"])
    text = "\n".join(page.extract_text() for page in pdfplumber.open(io.BytesIO(pdf)).pages)
    assert "relief" not in text
    sizes = set(re.findall(r"hole ?ø(\d) ?mm", text))
    assert sizes == {f"{corner.relief.diameter:g}" for corner in opening.corners if corner.relief}
    assert sizes == set(re.findall(r"ø(\d) ?mm at", text_of(TRIANGLE)))


def test_what_another_job_saws_is_no_cut_of_this_one() -> None:
    host, guest = together(sheet_of(SKEW, stock=STOCK), sheet_of(TRIANGLE, stock=STOCK))
    assert int(dict(key_figures(host, host.sheet.making.display))["Cutting"].split()[0]) > 0
    assert not guest.layout.sheets
    figures = dict(key_figures(guest, guest.sheet.making.display))
    assert figures["Laid out on"] == f"job 12, sheet 1 ({len(guest.blanks)} of this job's blanks)"
    assert "Cutting" not in figures
