"""Which edge of one blank lies on which of another that is cut alike, and which copies lie otherwise than they are drawn."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import calc
from calc.alike import Lying, corner_matches, corner_numbers, edge_matches, lying
from calc.blank import Blank
from calc.laid import Layout, Placed, SheetLayout
from calc.records import Outline
from tests.shapes import MIRROR, sheet_of

# 3-4-5: the sides from corner 1 round are 4, 5, 3 long
TRIANGLE: Outline = ((0.0, 0.0), (400.0, 0.0), (0.0, 300.0))
PLAN = calc.plan(sheet_of(MIRROR))


def blank_of(outline: Outline, name: str = "A", *, mirrored: bool = False) -> Blank:
    same_as = None if name == "A" else "A"
    return replace(
        PLAN.blanks[0], name=name, cut_outline=outline, net_outline=outline, mirrored=mirrored, same_as=same_as
    )


def side(outline: Outline, edge: int) -> float:
    return math.dist(outline[edge], outline[(edge + 1) % len(outline)])


def test_the_same_blank_lies_on_itself() -> None:
    assert edge_matches(blank_of(TRIANGLE), blank_of(TRIANGLE, "B")) == (0, 1, 2)
    assert corner_matches(blank_of(TRIANGLE), blank_of(TRIANGLE, "B")) == (0, 1, 2)


def test_a_blank_that_begins_at_another_corner() -> None:
    # this one's sides are 5, 3, 4: the first's 4 is its last
    begun = blank_of(((0.0, 0.0), (500.0, 0.0), (320.0, 240.0)), "B")
    assert [side(begun.cut_outline, edge) for edge in range(3)] == pytest.approx([500, 300, 400])
    assert edge_matches(blank_of(TRIANGLE), begun) == (2, 0, 1)
    assert corner_matches(blank_of(TRIANGLE), begun) == (2, 0, 1)


def test_a_blank_turned_over() -> None:
    # seen from its other side: right angle at (400, 0), so the sides are 4, 3, 5; corner 1 of the first, where the right
    # angle is, lies on its corner 2
    over = blank_of(((0.0, 0.0), (400.0, 0.0), (400.0, 300.0)), "B", mirrored=True)
    assert edge_matches(blank_of(TRIANGLE), over) == (0, 2, 1)
    assert corner_matches(blank_of(TRIANGLE), over) == (1, 0, 2)


def test_facets_either_side_of_a_line_of_symmetry() -> None:
    # the low point lies half-way up: C is A seen in a mirror, so rim corner 1 answers to 4 and 2 to 3 (vertices 0, 3, 1, 2)
    pattern, other = PLAN.blanks[0], PLAN.blanks[2]
    assert (other.same_as, other.mirrored) == ("A", True)
    answers = {0: 3, 1: 2, 4: 4}
    for corner, match in enumerate(corner_matches(pattern, other)):
        assert other.edges[match].edge[0] == answers[pattern.edges[corner].edge[0]]
    # D meets A where D meets C, B likewise
    for edge, match in enumerate(edge_matches(pattern, other)):
        assert other.edges[match].meets == pattern.edges[edge].meets


@given(
    st.lists(st.floats(40.0, 400.0), min_size=3, max_size=7).filter(
        lambda radii: len({round(r) for r in radii}) == len(radii)
    ),
    st.integers(0, 6),
    st.booleans(),
)
def test_matches_undo_a_new_beginning_and_a_turning_over(radii: list[float], first: int, over: bool) -> None:
    count = len(radii)
    turns = [2 * math.pi * index / count for index in range(count)]
    outline = tuple((r * math.cos(turn), r * math.sin(turn)) for r, turn in zip(radii, turns, strict=True))
    order = [(first + index) % count for index in range(count)]  # the corner of `outline` at each place of the other
    if over:
        order.reverse()
    moved = tuple((outline[corner][0] + 70.0, (-1 if over else 1) * outline[corner][1]) for corner in order)
    one, other = blank_of(outline), blank_of(moved, "B", mirrored=over)
    assert [order[corner] for corner in corner_matches(one, other)] == list(range(count))
    for edge, match in enumerate(edge_matches(one, other)):
        ends = {order[match], order[(match + 1) % count]}
        assert ends == {edge, (edge + 1) % count}
    numbers = corner_numbers((one, other))
    assert numbers["A"] == tuple(range(1, count + 1))
    assert [order[place] + 1 for place in range(count)] == list(numbers["B"])


def test_blanks_of_different_corners_are_not_alike() -> None:
    square = blank_of(((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)), "B")
    with pytest.raises(ValueError, match="3 and 4 corners"):
        edge_matches(blank_of(TRIANGLE), square)


def test_copies_that_lie_otherwise_than_drawn_are_told() -> None:
    def placed(name: str, copy: int, *, over: bool, fits: bool = True) -> Placed:
        return Placed(name, copy, TRIANGLE, over, (0.0, 0.0), 0.0, fits)

    pattern, mirrored = blank_of(TRIANGLE), blank_of(TRIANGLE, "C", mirrored=True)
    sheet = SheetLayout("S1", 2440.0, 1220.0, (), (), ())
    first = replace(sheet, placed=(placed("A", 1, over=False), placed("A", 2, over=True), placed("C", 1, over=True)))
    old = (placed("A", 3, over=True, fits=False), placed("C", 3, over=False, fits=False))  # not to be marked out at all
    second = replace(sheet, placed=(placed("C", 2, over=False), placed("B", 1, over=True), *old))
    told = list(lying(pattern, [mirrored], Layout((first, second), (), 0.5)))
    assert told == [
        Lying(1, ("A.2",), turned_over=True, mirrored=True),
        Lying(1, ("C.1",), turned_over=True, mirrored=False),  # the mirror image of the mirror image
        Lying(2, ("C.2",), turned_over=False, mirrored=True),
    ]
