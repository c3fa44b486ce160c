"""Where the papers and pages say that each blank is marked out on its sheet."""

import math

from calc import plan
from calc.papers.place_lines import bases_on, place_lines
from calc.units import Display
from tests.shapes import SKEW, sheet_of


def test_both_ends_of_the_base_lie_as_the_copy_does() -> None:
    """A point (x, y) of a blank lies at `at` + R(angle) (x, y), its base being from (0, 0) along x: turned over it is the same
    for the base, of which y is 0."""
    made = plan(sheet_of(SKEW, quantity=2))
    blanks = {blank.name: blank for blank in made.blanks}
    seen = 0
    for used in made.layout.sheets:
        for placed, (first, second) in bases_on(used, made.blanks):
            blank = blanks[placed.blank]
            if blank.same_as is not None:
                continue
            (x, y), (end_x, end_y), *_ = blank.cut_outline
            assert (x, y, end_y) == (0, 0, 0)
            turn = math.radians(placed.angle)
            assert math.dist(first, placed.at) < 1e-3
            assert (
                math.dist(second, (placed.at[0] + end_x * math.cos(turn), placed.at[1] + end_x * math.sin(turn))) < 1e-3
            )
            seen += 1
    assert seen == 8


def test_they_are_told_by_the_rule() -> None:
    made = plan(sheet_of(SKEW))
    (line, *_) = place_lines(made, 0, Display())
    placed = made.layout.sheets[0].placed[0]
    assert line.copy == placed.name
    assert all(abs(float(told) - true) <= 0.25 for told, true in zip(line.first, placed.at, strict=True))
