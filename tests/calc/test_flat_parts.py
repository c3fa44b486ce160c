"""Flat parts: how their outlines are read, what is made of them, and that nothing of a tray is said of them."""

import math
from itertools import combinations
from typing import Any

import pytest
import shapely
from hypothesis import assume, given, settings

from calc import Plan, SheetFaults, plan
from calc.comparing import compare
from calc.drainage import drain, times_deeper
from calc.drawing import FlatPart, flat_picture
from calc.families.flat_parts import in_rows, laid_round
from calc.papers.drawing_files import drawing_files
from calc.papers.lines import check_lines, key_figures, takeoff_lines
from calc.papers.pattern import patterns_of
from calc.papers.takeoff_table import takeoff_rows
from calc.records import Outline
from calc.units import Display
from tests.calc.asking import faults_of, planned, shell_of
from tests.calc.test_drawing import MM, assert_legible, texts
from tests.calc.test_drawing_rim_picture import fields
from tests.shapes import COVER, FLAT, GUSSET, PLATES, SKEW, STIFFENER, flat_part_sets, flat_parts, part, sheet_of

SQUARE = [[0, 0], [90, 0], [90, 90], [0, 90]]


def area(outline: Outline) -> float:
    return float(shapely.Polygon(outline).area)


def spans(outline: Outline) -> list[float]:
    """All distances between corners: they fix an outline but for moving, turning and mirroring it."""
    return sorted(math.dist(one, other) for one, other in combinations(outline, 2))


def faults_with(**changed: Any) -> list[str]:
    """What is wrong with a good part once some of it is changed."""
    return faults_of(flat_parts({**part("plate", SQUARE, 2), **changed}))


# Sides and angles


@pytest.mark.parametrize(
    ("sides", "angles", "last", "enclosed"),
    [
        ((3, 4), (90,), 5.0, 6.0),  # Euclid, Elements I.47: 3, 4, 5 at a right angle
        (
            (50,) * 5,
            (120,) * 4,
            50.0,
            3 * math.sqrt(3) / 2 * 50**2,
        ),  # Euclid IV.15: a regular hexagon's sides are equal
        ((60, 30, 60), (90, 90), 30.0, 1800.0),  # a rectangle
        (
            (100, 100),
            (60,),
            100.0,
            math.sqrt(3) / 4 * 100**2,
        ),  # Euclid I.1 and I.32: equilateral, each angle 60 degrees
        # an L: 80 x 60 less a corner of 50 x 40, its inner corner 270 degrees
        ((80, 20, 50, 40, 30), (90, 90, 270, 90), 60.0, 80 * 60 - 50 * 40),
    ],
)
def test_sides_and_angles_lead_round(
    sides: tuple[float, ...], angles: tuple[float, ...], last: float, enclosed: float
) -> None:
    corners = laid_round(sides, angles)
    assert math.dist(corners[-1], corners[0]) == pytest.approx(last, abs=1e-9)
    assert area(corners) == pytest.approx(enclosed)
    assert shapely.Polygon(corners).exterior.is_ccw
    for place, side in enumerate(sides):
        assert math.dist(corners[place], corners[place + 1]) == pytest.approx(side)


def test_a_triangle_closes_by_the_law_of_cosines() -> None:
    """Euclid II.12: c2 = a2 + b2 - 2 a b cos C."""
    corners = laid_round((230, 170), (112.5,))
    wanted = math.sqrt(230**2 + 170**2 - 2 * 230 * 170 * math.cos(math.radians(112.5)))
    assert math.dist(corners[-1], corners[0]) == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("outline", "words"),
    [
        ({"sides": [40, 30, 40, 30], "angles": [90, 90, 90, 90]}, ".angles: must hold 3, one between each side"),
        ({"sides": [40, 30, 40], "angles": [90]}, ".angles: must hold 2, one between each side"),
        ({"sides": [40, 30, 40], "angles": [90, 180]}, ".angles[1]: must not be 180, which is no corner"),
        ({"sides": [40, 30, 40], "angles": [90, 360]}, ".angles[1]: must be at most 359.99 degrees"),
        ({"sides": [40, -3, 40], "angles": [90, 90]}, ".sides[1]: must be more than 0 mm"),
        ({"sides": [40, 30, 40], "angles": [270, 270]}, ": these angles run round the outside"),
        (
            {"sides": [40, 40, 40], "angles": [60, 60]},
            ": its last side, from corner 4 back to corner 1, comes out 0.00 mm",
        ),
        ({"sides": [40, 30, 60], "angles": [90, 20]}, ": crosses or touches itself"),
        ({"sides": [40, 30, 40, 20], "angles": [90, 90, 90]}, ": its last side comes out in one straight line"),
        ({"sides": [40], "angles": [90]}, ".sides: must hold 2 to 199 sides"),
        ({"sides": [40, 30]}, ".angles: missing"),
        ({"sides": [40, 30], "angles": [90], "close": True}, ".close: unknown key"),
    ],
)
def test_sides_and_angles_that_make_no_outline(outline: dict[str, Any], words: str) -> None:
    (fault,) = faults_with(outline=outline)
    assert fault.startswith(f"sheet.shape.parts[0].outline{words}")


# Reading


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"name": ""}, ".name: must be a short name without spaces"),
        ({"name": "end plate"}, ".name: must be a short name without spaces"),
        ({"name": "a:b"}, ".name: must be a short name without spaces"),
        ({"name": "x" * 17}, ".name: must be at most 16 characters long"),
        ({"name": 7}, ".name: must be text in quotes"),
        ({"count": 0}, ".count: must be from 1 to 2000"),
        ({"count": 1.5}, ".count: must be a whole number from 1 to 2000"),
        ({"count": True}, ".count: must be a whole number"),
        ({"outline": [[0, 0], [9, 0]]}, ".outline: must hold 3 to 200 corners (got 2)"),
        ({"outline": [[0, 0], [9, 0], [9, 9], [0, 0]]}, ".outline[3]: is the same point as corner 1"),
        ({"outline": [[0, 0], [9, 0], [18, 0], [0, 9]]}, ".outline[1]: corner 2 lies in one straight line"),
        ({"outline": [[0, 0], [90, 90], [90, 0], [0, 90]]}, ".outline: crosses itself: side 1"),
        ({"outline": [[0, 0], [30000, 0], [0, 9]]}, ".outline[1][0]: must be at most 20000 mm"),
        ({"outline": [[0, 0], [90, 0.3], [180, 0]]}, ".outline: must be more than 1 mm wide somewhere"),
        ({"outline": 5}, ".outline: must be a list of corners"),
        ({"bore": 3}, ".bore: unknown key; known here are name, outline, count"),
    ],
)
def test_a_part_at_fault_is_named_with_its_field(changed: dict[str, Any], words: str) -> None:
    (fault,) = faults_with(**changed)
    assert fault.startswith(f"sheet.shape.parts[0]{words}")


def test_a_list_of_parts_at_fault() -> None:
    assert faults_of(flat_parts()) == ["sheet.shape.parts: must hold 1 to 200 parts (got 0)"]
    (fault,) = faults_of(flat_parts(part("Lug", SQUARE), part("lug", COVER)))
    assert fault == "sheet.shape.parts[1].name: lug is the name of an earlier part; give each its own"
    (fault,) = faults_of(flat_parts(part("a", SQUARE, 1200), part("b", COVER, 900)))
    assert fault == "sheet.shape.parts: must come to at most 2000 blanks in all (got 2100)"
    (fault,) = faults_of({"family": "flat-parts"})
    assert fault.startswith("sheet.shape.parts: missing")


def test_every_fault_of_every_part_is_told_at_once() -> None:
    told = faults_of(flat_parts(part("a b", SQUARE), part("b", SQUARE, 0), part("c", [[0, 0]])))
    assert [fault.partition(": ")[0].rpartition("parts")[2] for fault in told] == [
        "[0].name",
        "[1].count",
        "[2].outline",
    ]


def test_sets_times_parts_are_bounded() -> None:
    with pytest.raises(
        SheetFaults, match=r"sheet\.quantity: must be at most 400: 5 blanks each, 2000 in all \(got 401\)"
    ):
        plan(sheet_of(flat_parts(part("a", SQUARE, 2), part("b", COVER, 3)), quantity=401))


def test_either_direction_makes_the_same_blank_and_lengths_have_units() -> None:
    one = planned(flat_parts(part("g", GUSSET))).blanks[0]
    other = planned(flat_parts(part("g", [["0 cm", "0 in"], *GUSSET[:0:-1]]))).blanks[0]
    for corner, same in zip(one.cut_outline, other.cut_outline, strict=True):
        assert corner == pytest.approx(same)
    assert shapely.Polygon(one.cut_outline).exterior.is_ccw


# The plan


@pytest.fixture(scope="module")
def plates() -> Plan:
    return plan(sheet_of(PLATES, quantity=3))


def test_no_gap_comes_off_and_every_part_is_what_it_was_given_as(plates: Plan) -> None:
    given = (GUSSET, laid_round(STIFFENER["sides"], STIFFENER["angles"]), COVER)
    assert [(blank.name, blank.count) for blank in plates.blanks] == [("gusset", 4), ("stiffener", 2), ("cover", 1)]
    for blank, outline in zip(plates.blanks, given, strict=True):
        assert blank.area == pytest.approx(area(outline))
        assert area(blank.cut_outline) == pytest.approx(area(outline))
        assert spans(blank.cut_outline) == pytest.approx(spans(outline), abs=1e-6)
        assert {edge.kind for edge in blank.edges} == {"free"}


def test_the_layout_holds_every_part_as_often_as_it_is_wanted(plates: Plan) -> None:
    placed = [one.blank for used in plates.layout.sheets for one in used.placed]
    assert {name: placed.count(name) for name in set(placed)} == {"gusset": 12, "stiffener": 6, "cover": 3}
    assert not plates.layout.unplaced


def test_the_takeoff_is_of_all_of_them(plates: Plan) -> None:
    stiffener = (420 + 300) / 2 * 60  # a trapezium
    wanted = 3 * (4 * (140 * 140 - 120 * 120 / 2) + 2 * stiffener + 360 * 240 - 90 * 60)
    assert plates.takeoff.net_area == pytest.approx(wanted)
    density = plates.sheet.material.properties.density
    assert plates.takeoff.net_mass == pytest.approx(wanted * 1.5 * density * 1e-9)
    assert plates.takeoff.hand_cut_length == pytest.approx(3 * (60 + 90 + 60))
    welded = (plates.takeoff.weld_length, plates.takeoff.seam_length, plates.takeoff.filler_mass)
    assert welded == (0, 0, 0)


def test_steps_end_when_the_parts_are_dressed(plates: Plan) -> None:
    assert list(dict.fromkeys(step.kind for step in plates.steps)) == ["measure", "mark", "cut", "hand-cut", "dress"]
    assert "wet" not in " ".join(step.text for step in plates.steps)
    dressed = {step.key: step.text for step in plates.steps if step.kind == "dress"}
    assert "gusset, 12 off" in dressed["dress:gusset"]


def test_nothing_of_a_tray_is_said_of_them(plates: Plan) -> None:
    assert plates.drainage is None
    assert plates.as_json()["drainage"] is None
    assert plates.shell.joints == ()
    assert {line.what for line in plates.cost.lines if line.kind == "supplies"} == set()
    codes = {warning.code for warning in plates.warnings}
    assert codes - {"cut-no-guide", "cut-narrow"} == {"hand-cuts", "no-price", "usual-rates"}
    words = [*key_figures(plates, MM), *takeoff_lines(plates, MM), *takeoff_rows(plates, MM)]
    said = " ".join(str(word) for row in words for word in row)
    for word in ("itre", "fall", "Weld", "Filler", "rim", "wet"):
        assert word not in said
    assert all("wet" not in pattern.words for pattern in patterns_of(plates))
    names = [name for name, _ in drawing_files(plates, MM)]
    assert names[0] == "drawing-parts.svg"
    assert not {"drawing-welds.svg", "drawing-tray.svg"} & set(names)
    assert all("wet" not in " ".join(texts(svg)) for _, svg in drawing_files(plates, MM))


def test_cut_to_their_outlines_concave_ones_need_no_hand_cut() -> None:
    made = planned(PLATES, cutting="contour")
    assert not any(used.cuts for used in made.layout.sheets)
    assert {step.kind for step in made.steps} == {"measure", "mark", "cut", "dress"}


def test_parts_that_are_alike_are_marked_out_once() -> None:
    made = planned(FLAT["alike"])
    _, right, lug = made.blanks
    assert (right.same_as, lug.same_as) == ("left", None)
    assert "left (and right), 4 off" in next(step.text for step in made.steps if step.kind == "mark")


def test_a_proof_says_which_side_as_given_it_is() -> None:
    made = planned(flat_parts(part("g", GUSSET)))
    rows = check_lines(made, made.blanks[0], Display())
    sides = {words: length for _, length, words in rows if words != "across"}
    # as typed: 140 along the bottom, up 20, the slope, 20 back, 140 down
    assert sides == {"side 1": "140", "side 2": "20", "side 3": "169.5", "side 4": "20", "side 5": "140"}


def test_loose_parts_have_no_fall_to_ask_for() -> None:
    shell = shell_of(PLATES)
    assert shell.is_loose
    assert not shell_of(SKEW).is_loose
    assert drain(shell) is None
    with pytest.raises(ValueError, match="nothing that could drain"):
        times_deeper(shell, 0.02)


def test_a_heavy_part_is_told_by_its_name() -> None:
    plate = part("bed-plate", [[0, 0], [1200, 0], [1200, 900], [0, 900]])
    made = plan({**sheet_of(flat_parts(plate)), "material": {"alloy": "DC01", "thickness": 4}})
    (told,) = [warning.text for warning in made.warnings if warning.code == "heavy"]
    assert "bed-plate" in told  # 1.2 x 0.9 m x 4 mm of steel: some 34 kg


@settings(max_examples=20, deadline=None)
@given(flat_part_sets())
def test_any_parts_lie_apart_and_keep_their_outlines(shape: dict[str, Any]) -> None:
    try:
        shell = shell_of(shape)
    except SheetFaults:
        assume(False)
        raise
    bodies = [shapely.Polygon([shell.vertices[index][:2] for index in face.loop]) for face in shell.faces]
    assert all(not one.intersects(other) for one, other in combinations(bodies, 2))
    for made, face, body in zip(shape["parts"], shell.faces, bodies, strict=True):
        outline = made["outline"]
        wanted = area(laid_round(outline["sides"], outline["angles"]) if isinstance(outline, dict) else outline)
        assert body.exterior.is_ccw
        assert (face.name, face.count) == (made["name"], made["count"])
        assert body.area == pytest.approx(wanted)


def test_rows_keep_their_order_and_lie_from_the_top() -> None:
    shifts = in_rows([((0, 0), (10, 0), (10, 10), (0, 10))] * 6)
    assert shifts == sorted(shifts, key=lambda shift: (-shift[1], shift[0]))
    assert len({y for _, y in shifts}) > 1


# Two plans side by side


def test_what_changed_is_named_by_part_and_side() -> None:
    before = planned(flat_parts(part("plate", SQUARE, 2), part("cover", COVER)))
    wider = [[0, 0], [120, 0], [120, 90], [0, 90]]
    result = compare(before, planned(flat_parts(part("plate", wider, 5), part("cover", COVER))))
    assert [point.what for point in result.points] == ["plate, corner 2", "plate, corner 3"]
    assert [(moved.what, moved.by) for moved in result.lengths] == [("plate, side 1", 30), ("plate, side 3", 30)]
    assert [(reset.what, reset.was, reset.now) for reset in result.resets] == [("plate, how many in a set", "2", "5")]
    assert {blank.name: blank.verdict for blank in result.blanks} == {"plate": "changed", "cover": "same"}
    assert (result.litres, result.least_fall) == (None, None)


def test_beside_a_tray_litres_are_not_compared() -> None:
    result = compare(planned(SKEW), planned(PLATES))
    assert (result.litres, result.least_fall) == (None, None)
    assert {blank.verdict for blank in result.blanks} == {"new", "gone"}


# The picture beside the form


def test_the_picture_has_a_label_for_every_field() -> None:
    corners = FlatPart("lug", [(0.0, 0.0), (90.0, 0.0), (0.0, 60.0)], 3, field="part-1")
    sides = FlatPart("stay", laid_round((300, 400), (90,)), 1, angles=(90.0,), field="part-2", by_sides=True)
    svg = flat_picture([corners, sides], MM, width=480)
    assert_legible("flat", svg)
    assert fields(svg) == {
        "part-1-name": "lug", "part-1-count": "3 off",
        "part-1-corner-1": "1", "part-1-corner-2": "2", "part-1-corner-3": "3",
        "part-2-name": "stay", "part-2-count": "1 off", "part-2-side-1": "300", "part-2-side-2": "400",
        "part-2-angle-1": "90°",
    }  # fmt: skip
    assert "500" in texts(svg)  # the side that follows: 3, 4, 5
    assert "108" in texts(svg)  # of the lug: the root of 90 and 60 squared is 108.17


@pytest.mark.parametrize(
    "corners",
    [
        [], [None] * 4, [(0.0, 0.0), None, None], [(0.0, 0.0), (5.0, 0.0), (9.0, 0.0)], [(0.0, 0.0)] * 3,
        [(0.0, 0.0), (50.0, 50.0), (50.0, 0.0), (0.0, 50.0)], [(0.0, 0.0), None, (90.0, 90.0), (0.0, 90.0)],
        [(0.0, 0.0), (2e4, 0.0), (2e4, 0.01)],
    ],
)  # fmt: skip
def test_nothing_typed_upsets_the_picture(corners: list[Any]) -> None:
    for is_open in (False, True):
        svg = flat_picture([FlatPart("", corners, open=is_open, field="part-1")] * 2, MM, width=320)
        assert "nan" not in svg
        assert "inf" not in svg
        assert_legible("flat", svg)
