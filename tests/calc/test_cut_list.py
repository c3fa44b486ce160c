"""The cut list: rectangles worked by hand, and every layout's cuts replayed with shapely on the piece in hand."""

import math
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from shapely.affinity import translate
from shapely.geometry import LineString, Point, Polygon

import calc
from calc.cut_list import Caution, CutInHand, cut_list, cuts_in_hand, least_width, letter_of
from calc.cut_words import cut_words, guide_words, mark_words
from calc.drawing import cut_drawing
from calc.laid import Cut, Offcut, Placed, SheetLayout
from calc.layout import Item, Piece, Stock, lay_out
from calc.making import Making, Saw
from calc.papers.cut_lines import cut_lines, cut_pictures
from calc.units import Display
from tests.calc.test_drawing import assert_legible, texts
from tests.shapes import FIVE, NAMED, REFLEX, SKEW, SUMPS, TWISTED, fall_trays, ring, sheet_of

MM = Display()
KERF, OFFSET, CLAMP = 2.0, 100.0, 60.0
NEAR = 1e-3  # [mm]
GRID = 1e-6
SHAPES = {**NAMED, "ring 12": ring(12), "sump": SUMPS["skew"], "twisted": TWISTED}


def listed(
    used: SheetLayout, kerf: float = KERF, offset: float = OFFSET, clamp: float = CLAMP
) -> tuple[CutInHand, ...]:
    return cut_list(used, kerf=kerf, guide_offset=offset, least_clamp=clamp)


def cut(start, end, left=(), right=(), frees=(), made=False) -> Cut:
    return Cut(start, end, tuple(frees), (), (tuple(left), tuple(right)), math.dist(start, end), made)


def blank(name: str, x0: float, y0: float, x1: float, y1: float) -> Placed:
    return Placed(name, 1, ((x0, y0), (x1, y0), (x1, y1), (x0, y1)), False, (x0, y0), 0.0)


# A sheet of 1000 x 600 in three: A 400 x 600 by a cut at 401, then B 598 x 298 under and C 598 x 300 over a cut at 299.
THREE = SheetLayout(
    "S",
    1000.0,
    600.0,
    (blank("A", 0, 0, 400, 600), blank("B", 402, 0, 1000, 298), blank("C", 402, 300, 1000, 600)),
    (
        cut((401.0, 0.0), (401.0, 600.0), ["A.1"], ["B.1", "C.1"], ["A.1"]),
        cut((1000.0, 299.0), (402.0, 299.0), ["B.1"], ["C.1"], ["B.1", "C.1"]),
    ),
    (),
)


def test_a_sheet_cut_across_by_hand() -> None:
    first, second = listed(THREE)
    assert first.piece.name == "piece 1"
    assert first.piece.corners == (("a", (0, 0)), ("b", (1000, 0)), ("c", (1000, 600)), ("d", (0, 600)))
    # the left part is the shorter to tape: 401 along the bottom and 401 along the top
    assert [mark_words(mark, MM) for mark in first.marks] == ["401 from a towards b", "401 from d towards c"]
    assert first.length == 600
    assert [half.name for half in first.halves] == ["A.1", "piece 2"]
    assert first.frees == ("A.1",)
    # the piece of 598 x 600 is the larger, and 100 off a kerf of 2 is 101 off its middle: x = 502
    assert (first.guide.side, first.guide.offset) == (1, 101)
    assert first.guide.marks is not None
    assert [(mark.corner, mark.distance) for mark in first.guide.marks] == [("b", 498), ("c", 498)]
    assert first.cautions == ()
    # piece 2 begins at x = 402: its lower left corner is a; the right half, over the cut, has 301 to tape, the left 299
    assert [mark_words(mark, MM) for mark in second.marks] == ["299 from b towards c", "299 from a towards d"]
    assert second.length == pytest.approx(598)
    assert cut_words(first, MM) == (
        "mark 401 from a towards b and 401 from d towards c; guide 101 off, on piece 2; 600 mm edge to edge; frees A.1."
    )


def test_a_slanted_cut_by_pythagoras() -> None:
    # from (300, 0) to (1000, 525): 700 along, 525 up, so 875 long (28 : 21 : 35); corner b is cut off
    used = replace(THREE, placed=(), cuts=(cut((300.0, 0.0), (1000.0, 525.0)),))
    (only,) = listed(used)
    assert only.length == pytest.approx(875)
    assert [mark_words(mark, MM) for mark in only.marks] == ["300 from a towards b", "75 from c towards b"]
    # parallel at 101 to the left, on the larger part: shifted along the bottom by 101 / sin = 101 x 875 / 525
    assert only.guide.side == 0
    assert only.guide.line[0] == pytest.approx((300 - 101 * 875 / 525, 0))


def test_a_piece_has_the_number_of_the_cut_that_is_made_in_it() -> None:
    cuts = (
        cut((501.0, 0.0), (501.0, 600.0)),
        cut((1000.0, 301.0), (502.0, 301.0)),
        cut((500.0, 201.0), (0.0, 201.0)),
        cut((750.0, 0.0), (750.0, 300.0)),
    )
    found = listed(replace(THREE, placed=(), cuts=cuts))
    assert [each.piece.number for each in found] == [1, 2, 3, 4]
    assert [half.name for each in found for half in each.halves] == [
        *("piece 3", "piece 2"),
        *("piece 4", "waste"),
        *("waste", "waste"),
        *("waste", "waste"),
    ]


def test_an_offcut_is_told_from_waste() -> None:
    rest = Offcut(((402.0, 0.0), (1000.0, 0.0), (1000.0, 600.0), (402.0, 600.0)))
    (only,) = listed(replace(THREE, placed=THREE.placed[:1], cuts=THREE.cuts[:1], offcuts=(rest,)))
    assert [half.name for half in only.halves] == ["A.1", "offcut"]


@pytest.mark.parametrize(
    ("at", "width"),
    # 1000 less the kerf's near side: the strip beyond a kerf of 2 whose middle is at x is 1000 - x - 1 wide
    [(994.5, 4.5), (999.0, 0.0)],
)
def test_a_strip_too_thin_to_guide_the_saw_along_is_cautioned(at: float, width: float) -> None:
    (only,) = listed(replace(THREE, placed=(blank("A", 0, 0, at - 1, 600),), cuts=(cut((at, 0.0), (at, 600.0)),)))
    assert only.cautions == (Caution("sliver", pytest.approx(width), "waste"),)


def test_waste_wide_enough_and_blanks_are_no_slivers() -> None:
    wide = replace(THREE, placed=(blank("A", 0, 0, 993, 600),), cuts=(cut((994.0, 0.0), (994.0, 600.0)),))
    thin = replace(
        wide, placed=(*wide.placed, blank("B", 997, 0, 1000, 600)), cuts=(cut((995.0, 0.0), (995.0, 600.0)),)
    )
    assert listed(wide)[0].cautions == ()
    assert listed(thin)[0].cautions == ()


def test_a_layout_that_leaves_a_thin_strip_says_so() -> None:
    # 1000 less 996 less a kerf of 2 leaves 2 mm, all along one side
    items = [Item("A", ((0, 0), (996, 0), (996, 500), (0, 500)))]
    (used,) = lay_out(
        items, [Stock("S", 1000, 500)], kerf=KERF, edge_trim=0, may_turn_over=True, grain=False, effort="quick"
    ).sheets
    (only,) = listed(used)
    assert only.frees == ("A.1",)
    assert [(caution.kind, round(caution.size, 6)) for caution in only.cautions] == [("sliver", 2)]


@pytest.mark.parametrize(("rise", "tip"), [(100.0, 5.7106), (220.0, None)])
def test_a_tip_is_sharp_under_twelve_degrees(rise: float, tip: float | None) -> None:
    # atan(100 / 1000) = 5.7106 degrees between the cut and the bottom, where it leaves corner a; atan(0.22) = 12.4
    (only,) = listed(replace(THREE, placed=(), cuts=(cut((0.0, 50.0), (1000.0, 50.0 + rise)),)))
    assert only.cautions == ()  # at the upright ends it is nearly square
    (tipped,) = listed(replace(THREE, placed=(), cuts=(cut((10.0, 0.0), (1000.0, 0.99 * rise)),)))
    found = [caution for caution in tipped.cautions if caution.kind == "tip"]
    assert [round(caution.size, 4) for caution in found] == ([tip] if tip else [])


def test_a_piece_narrower_than_the_clamps_and_a_guide_without_room() -> None:
    strip = replace(THREE, width=50.0, placed=(), cuts=(cut((500.0, 0.0), (500.0, 50.0)),))
    (across,) = listed(strip)
    assert [caution.kind for caution in across.cautions] == ["narrow"]
    assert across.cautions[0].size == 50
    (along,) = listed(replace(strip, cuts=(cut((0.0, 25.0), (1000.0, 25.0)),)))
    assert [caution.kind for caution in along.cautions] == ["narrow", "no-guide"]
    assert along.guide.marks is None
    assert guide_words(along, MM) == "101 off, packed up"
    assert least_width(((0, 0), (4, 0), (0, 3))) == pytest.approx(
        12 / 5
    )  # the height of a 3-4-5 triangle on its longest side


def test_the_guide_goes_to_the_other_half_where_the_kept_one_is_too_small() -> None:
    # A is 80 wide: no room for a guide 101 off the cut, so it goes on the waste
    used = replace(THREE, placed=(blank("A", 0, 0, 80, 600),), cuts=(cut((81.0, 0.0), (81.0, 600.0), ["A.1"]),))
    (only,) = listed(used)
    assert only.guide.side == 1
    assert guide_words(only, MM) == "101 off, on the waste"


def test_cuts_made_already_are_followed_but_are_no_work() -> None:
    made = replace(THREE, cuts=(replace(THREE.cuts[0], made=True), THREE.cuts[1]))
    assert [each.is_work for each in listed(made)] == [False, True]
    assert [each.piece for each in listed(made)] == [each.piece for each in listed(THREE)]


def test_copies_without_a_use_are_on_the_piece_but_their_cuts_no_work() -> None:
    unfit = replace(THREE, placed=(*THREE.placed[:1], *(replace(placed, fits=False) for placed in THREE.placed[1:])))
    first, second = listed(unfit)
    assert (first.is_work, second.is_work, second.frees) == (True, False, ())
    assert first.piece.copies == ("A.1", "B.1", "C.1")


@pytest.mark.parametrize(
    "odd",
    [
        cut((200.0, 100.0), (200.0, 600.0)),  # begins inside
        cut((1200.0, 0.0), (1200.0, 600.0)),  # beside the sheet
        cut((401.0, 0.0), (401.0, 0.0)),  # no line
        cut((401.0, 0.0), (700.0, 0.0)),  # along the edge
    ],
)
def test_a_cut_from_edge_to_edge_of_nothing_is_refused(odd: Cut) -> None:
    used = replace(THREE, cuts=(odd,))
    with pytest.raises(ValueError, match="cut 1 does not run from edge to edge"):
        listed(used)
    assert cuts_in_hand(used, Making()) is None


def test_a_second_cut_over_the_first_is_refused() -> None:
    with pytest.raises(ValueError, match="cut 2 does not run"):
        listed(replace(THREE, cuts=(THREE.cuts[0], cut((0.0, 300.0), (1000.0, 300.0)))))


def test_without_cuts_there_is_no_list() -> None:
    made = calc.plan(sheet_of(SKEW, making={"cutting": "contour"}))
    assert [cuts_in_hand(used, made.sheet.making) for used in made.layout.sheets] == [()]


def test_letters_never_run_out() -> None:
    letters = [letter_of(index) for index in range(200)]
    assert len(set(letters)) == 200


# Every layout


@cache
def planned(name: str) -> calc.Plan:
    return calc.plan(sheet_of(SHAPES[name]))


def check_sheet(used: SheetLayout, found: tuple[CutInHand, ...], kerf: float) -> None:
    """Each cut on its piece, by shapely: ends and guide on the piece's edges, the halves and the kerf make up the piece."""
    left_over = [Polygon(used.metal)]
    for one in found:
        piece = Polygon(one.piece.outline)
        known = min(left_over, key=lambda other: shapely.symmetric_difference(other, piece, grid_size=GRID).area)
        assert shapely.symmetric_difference(known, piece, grid_size=GRID).area < 0.05 * piece.length
        left_over.remove(known)
        check_marks(one, piece)
        check_guide(one, piece, kerf)
        halves = [Polygon(half.outline) for half in one.halves if half.outline]
        sawn = line_of(one).buffer(kerf / 2, cap_style="flat")
        # the kerf runs on past slanted edges at its ends, so it is met with the piece
        long = LineString([stretched(line_of(one), -kerf * 200), stretched(line_of(one), kerf * 200, at_end=True)])
        sawn = shapely.intersection(long.buffer(kerf / 2, cap_style="flat"), piece, grid_size=GRID) if kerf else sawn
        total = sum(half.area for half in halves) + sawn.area
        assert total == pytest.approx(piece.area, rel=1e-6, abs=0.1 * piece.length)
        left_over += halves
        for copy in one.frees:
            assert any(half.copies == (copy,) and half.number is None for half in one.halves)
    ends = [half for one in found for half in one.halves if half.number is None]
    assert all(len(half.copies) <= 1 for half in ends)
    assert sorted(copy for half in ends for copy in half.copies) == sorted(f"{p.blank}.{p.copy}" for p in used.placed)
    assert sum(half.is_offcut for half in ends) == len(used.offcuts)
    numbers = [one.piece.number for one in found]
    assert sorted(numbers) == list(range(1, len(found) + 1))


def line_of(one: CutInHand) -> LineString:
    return LineString([mark.at for mark in one.marks])


def stretched(line: LineString, by: float, *, at_end: bool = False) -> tuple[float, float]:
    (x0, y0), (x1, y1) = line.coords
    ux, uy = (x1 - x0) / line.length, (y1 - y0) / line.length
    x, y = (x1, y1) if at_end else (x0, y0)
    return (x + ux * by, y + uy * by)


def check_marks(one: CutInHand, piece: Polygon) -> None:
    """So far along the edge from the named corner, towards the named one, and on the line that the layout cuts."""
    corners = dict(one.piece.corners)
    for marks, on in ((one.marks, LineString([one.cut.start, one.cut.end])), (one.guide.marks or (), None)):
        for mark in marks:
            start, end = np.array(corners[mark.corner]), np.array(corners[mark.towards])
            there = start + (end - start) / np.linalg.norm(end - start) * mark.distance
            assert math.dist(there, mark.at) < NEAR
            assert 0 <= mark.distance <= np.linalg.norm(end - start) + NEAR
            assert piece.exterior.distance(Point(mark.at)) < NEAR
            assert on is None or on.distance(Point(mark.at)) < 0.1  # where corners nearer than 0.05 mm are taken as one
    names = [letter for letter, _ in one.piece.corners]
    assert all({mark.corner, mark.towards} in [{*pair} for pair in pairwise([*names, names[0]])] for mark in one.marks)
    assert one.length == pytest.approx(math.dist(one.marks[0].at, one.marks[1].at))


def check_guide(one: CutInHand, piece: Polygon, kerf: float) -> None:
    """Parallel to the cut, half the kerf and the saw's offset away, over the half it is said to be on."""
    line, guide = np.array(line_of(one).coords), np.array(one.guide.line)
    along = (line[1] - line[0]) / np.linalg.norm(line[1] - line[0])
    across = np.array([-along[1], along[0]])  # to the left
    away = (guide - line[0]) @ across
    wanted = (kerf / 2 + OFFSET) * (1 if one.guide.side == 0 else -1)
    assert away == pytest.approx([wanted, wanted])
    lies_on = shapely.intersection(LineString(guide), piece.buffer(NEAR), grid_size=GRID).length
    is_cautioned = any(caution.kind == "no-guide" for caution in one.cautions)
    assert is_cautioned == (one.guide.marks is None)
    if not is_cautioned:
        assert lies_on >= 0.5 * one.length - 2 * NEAR
    else:
        for way in (1, -1):  # neither side has half the cut's length of metal so far out
            ends = translate(
                LineString([stretched(line_of(one), -9e3), stretched(line_of(one), 9e3, at_end=True)]),
                *(across * (kerf / 2 + OFFSET) * way),
            )
            assert shapely.intersection(ends, piece, grid_size=GRID).length < 0.5 * one.length + NEAR


@pytest.mark.parametrize("name", list(SHAPES))
def test_the_cuts_of_a_layout_on_the_pieces_in_hand(name: str) -> None:
    plan = planned(name)
    for used in plan.layout.sheets:
        check_sheet(used, listed(used), KERF)


@pytest.mark.parametrize(("kerf", "trim"), [(0.5, 0), (0.5, 5), (3.2, 0), (3.2, 12)])
def test_any_kerf_and_trim(kerf: float, trim: float) -> None:
    plan = calc.plan(sheet_of(FIVE, quantity=3, making={"kerf": kerf, "edge_trim": trim}))
    for used in plan.layout.sheets:
        check_sheet(used, listed(used, kerf), kerf)


def test_a_piece_left_of_a_sheet_is_replayed_in_its_own_outline() -> None:
    rest = Piece("rest", 2440, 1220, ((1400, 0), (2440, 0), (2440, 1220), (1700, 1220)), (0, 1, 2))
    items = [Item("A", ((0, 0), (400, 0), (400, 400), (0, 400)), 3)]
    (used,) = lay_out(items, [rest], kerf=KERF, edge_trim=5, may_turn_over=True, grain=False, effort="quick").sheets
    found = listed(used)
    assert found[0].piece.outline == ((1400, 0), (2440, 0), (2440, 1220), (1700, 1220))
    check_sheet(used, found, KERF)


@settings(max_examples=8)
@given(fall_trays())
def test_the_cuts_of_any_tray(shape: dict[str, object]) -> None:
    plan = calc.plan(sheet_of(shape, stock=[{"length": 3600, "width": 2000}]))
    for used in plan.layout.sheets:
        check_sheet(used, listed(used), KERF)


# In the steps, the drawings and the papers


def test_every_cut_step_tells_the_piece_the_marks_the_guide_and_what_it_frees() -> None:
    plan = planned("five")
    (used,) = plan.layout.sheets
    told = [step.text for step in plan.steps if step.kind == "cut"]
    for one, text in zip(listed(used), told, strict=True):
        assert one.piece.number == one.number
        assert text.startswith(f"Sheet 1, cut {one.number}: mark ")
        for mark in one.marks:
            assert f"{MM.figure(mark.distance)} from {mark.corner} towards {mark.towards}" in text
        assert "guide 101 off" in text
        assert f"{MM.length(one.length)} edge to edge" in text
        assert ("frees" in text) == bool(one.frees)
        assert all(copy in text for copy in one.frees)


def test_a_frozen_sheet_whose_cuts_make_no_sense_is_told_by_its_places() -> None:
    plan = planned("skew")
    frozen = plan.as_json()["layout"]["sheets"][0]
    frozen["cuts"][0] |= {"from": [10, 10], "to": [500, 500]}
    again = calc.plan({**sheet_of(SKEW), "frozen": [frozen]})
    told = [step.text for step in again.steps if step.kind == "cut"]
    assert told[0].startswith("Sheet 1, cut 1: from (10; 10) to (500; 500) on the sheet, ")
    rows = cut_lines(again, 0, MM)
    assert (rows[0].leaves, rows[0].marks, rows[0].guide) == ("", "10; 10 to 500; 500", "")
    assert cut_pictures(again, 0, MM) == []


def test_one_warning_tells_all_cuts_that_are_hard_to_hold() -> None:
    plan = calc.plan(sheet_of(SKEW, making={"guide_offset": 400, "least_clamp": 300}))
    (used,) = plan.layout.sheets
    found = cut_list(used, kerf=KERF, guide_offset=400, least_clamp=300)
    told = {warning.code: warning.text for warning in plan.warnings}
    for kind, code in (("no-guide", "cut-no-guide"), ("narrow", "cut-narrow")):
        numbers = [str(one.number) for one in found if any(caution.kind == kind for caution in one.cautions)]
        assert numbers
        assert re.search(rf"cuts? {', '.join(numbers)} of sheet 1\b", told[code])
    assert [warning.code for warning in plan.warnings].count("cut-narrow") == 1


def test_a_saw_that_outruns_its_blade_is_warned_of() -> None:
    saws = [Saw(speed=5000, marked_speed=mark) for mark in (None, 5000, 4999)]
    codes = [
        [warning.code for warning in calc.plan(sheet_of(SKEW, making={"saw": vars_of(saw)})).warnings] for saw in saws
    ]
    assert ["blade-speed" in found for found in codes] == [False, False, True]


def vars_of(saw: Saw) -> dict[str, float | int | None]:
    return {
        "diameter": saw.diameter,
        "teeth": saw.teeth,
        "speed": saw.speed,
        "marked_speed": saw.marked_speed,
    }


@pytest.mark.parametrize("name", ["five", "reflex", "ring 12", "sump", "twisted"])
@pytest.mark.parametrize("width", [352.0, 440.0])
def test_pictures_are_legible_and_say_what_the_list_says(name: str, width: float) -> None:
    plan = planned(name)
    display = MM if width == 352 else Display("in")
    for used in plan.layout.sheets:
        for one in listed(used):
            svg = cut_drawing(used, one, display, width=width)
            assert_legible(f"{name} cut {one.number}", svg)
            lettered = texts(svg)
            words = " ".join(lettered)
            for letter, _ in one.piece.corners:
                assert letter in lettered or f"Corner {letter}:" in words
            for mark in one.marks:
                assert display.rounded(mark.distance) == 0 or display.figure(mark.distance) in words
            assert display.figure(one.guide.offset) in words
            assert str(one.number) in lettered
            for half in one.halves:
                assert (
                    not half.outline
                    or half.name in lettered
                    or f"{half.name[0].upper()}{half.name[1:]}: no room" in words
                )
            for caution in one.cautions:
                assert {"sliver": "waste", "tip": "tip", "narrow": "across", "no-guide": "pack up"}[
                    caution.kind
                ] in words


def test_the_picture_is_in_true_proportion_and_its_longest_edge_lies_level() -> None:
    (used,) = planned("five").layout.sheets
    for one in listed(used):
        svg = cut_drawing(used, one, MM)
        shape = re.search(r'class="outline in-hand"[^>]* d="M([^"]*)Z"', svg)
        assert shape is not None
        drawn = [tuple(float(part) for part in pair.split()) for pair in shape[1].split("L")]
        sizes = [math.dist(a, b) for a, b in pairwise([*drawn, drawn[0]])]
        corners = one.piece.outline
        true = [math.dist(a, b) for a, b in pairwise([*corners, corners[0]])]
        scale = max(sizes) / max(true)
        assert sizes == pytest.approx([size * scale for size in true], abs=0.05)
        longest = sizes.index(max(sizes))
        assert drawn[longest][1] == pytest.approx(drawn[(longest + 1) % len(drawn)][1], abs=0.02)


def test_an_upright_reflex_tray_is_listed_with_all_its_blanks() -> None:
    plan = calc.plan(sheet_of(REFLEX, quantity=2))
    copies = {copy for used in plan.layout.sheets for one in listed(used) for copy in one.frees}
    assert copies == {f"{placed.blank}.{placed.copy}" for used in plan.layout.sheets for placed in used.placed}
