"""The shrinkage formulas against their sources, and the trap of their units.

Across a butt weld: 0.10 A/t (O. W. Blodgett, Design of Weldments, Lincoln Arc Welding Foundation: "0.10 times the average
width of the weld", from memory), and 0.2 A/t + 0.05 d, d the root opening (later handbooks, from memory). A is an area and t
a length, so A/t is a length and both constants are bare numbers: they hold in mm and in inches alike. Pages that print
5.08 A/t + 1.27 d "for mm" have turned 0.2 and 0.05 into mm (0.2 x 25.4 = 5.08, 0.05 x 25.4 = 1.27) as if they were inches.
"""

import math
from dataclasses import replace

import pytest

from calc import read_sheet
from calc.making import Making
from calc.seams import seam_section
from calc.sheet import JobSheet
from calc.shrinkage import published_across, published_along
from tests.shapes import SKEW, sheet_of

INCH = 25.4


def sheet_with(thickness: float, gap: float) -> JobSheet:
    return read_sheet(
        {**sheet_of(SKEW, making={"seam_gap": gap}), "material": {"alloy": "304", "thickness": thickness}}
    )


@pytest.mark.parametrize("groove", [0.0, 30.0, 90.0])
@pytest.mark.parametrize(("thickness", "gap"), [(1.5, 0.5), (3.0, 1.0), (6.35, 1.5875)])
def test_inches_give_the_same_seam(thickness: float, gap: float, groove: float) -> None:
    """Worked in inches from end to end, and only then turned into mm."""
    t, d = thickness / INCH, gap / INCH
    area = t**2 * math.tan(math.radians(groove) / 2) + d * t + 2 / 3 * 0.3 * t * (3 * t + d)  # [sq in]
    in_inches = 0.10 * area / t, 0.2 * area / t + 0.05 * d
    found = published_across(sheet_with(thickness, gap), groove)
    assert (found.low / INCH, found.high / INCH) == pytest.approx(in_inches)


def test_everything_larger_shrinks_as_much_more() -> None:
    """A length, like every other of the seam: twice the sheet and twice the gap, twice the shrinkage."""
    one, twice = published_across(sheet_with(2.0, 0.8), 45.0), published_across(sheet_with(4.0, 1.6), 45.0)
    assert (twice.low, twice.likely, twice.high) == pytest.approx((2 * one.low, 2 * one.likely, 2 * one.high))


def test_the_pages_in_mm_are_an_inch_too_much() -> None:
    sheet = sheet_with(3.0, 1.0)
    average_width = seam_section(sheet, 60.0) / 3.0
    trap = 5.08 * average_width + 1.27 * 1.0
    assert trap / published_across(sheet, 60.0).high == pytest.approx(25.4)
    assert trap > 9.0  # [mm] a seam in 3 mm sheet that pulled its faces so far together would have eaten them


def test_the_least_is_a_tenth_of_the_average_width() -> None:
    """Blodgett's rule in words: a seam 5 mm wide on average draws in by half a millimetre."""
    sheet = sheet_with(3.0, 1.0)
    width = seam_section(sheet, 60.0) / 3.0
    assert published_across(sheet, 60.0).low == pytest.approx(width / 10)


def test_no_metal_in_the_gap_no_shrinkage_of_it() -> None:
    """0.05 of the root opening is all that the gap adds over what it adds to the section."""
    sheet = sheet_with(3.0, 1.0)
    shut = JobSheet(**{**_fields(sheet), "making": replace(sheet.making, seam_gap=0.0)})
    more = (seam_section(sheet, 0.0) - seam_section(shut, 0.0)) / 3.0
    assert published_across(sheet, 0.0).high - published_across(shut, 0.0).high == pytest.approx(0.2 * more + 0.05)


def _fields(sheet: JobSheet) -> dict[str, object]:
    return {name: getattr(sheet, name) for name in sheet.__slots__}


def test_along_is_a_millimetre_a_metre_at_the_most() -> None:
    """Allowances of welding handbooks (from memory): 0.8 mm in 3 m for a fillet, 3 mm in 3 m for a butt."""
    found = published_along()
    assert (found.low * 3, found.high * 3) == pytest.approx((0.8, 3.0))
    assert Making().allow_shrinkage is False  # it is put on the blanks only where it is asked for
