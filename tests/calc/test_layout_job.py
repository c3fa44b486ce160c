"""A job's layout: replayed cut by cut for whole plans, mirrored sheets, sheets that were cut into."""

import re
from dataclasses import replace
from typing import Any

import pytest
import shapely
from hypothesis import assume, given, settings

from calc import Plan, SheetFaults, plan, read_sheet
from calc.advice import edges_left
from calc.alike import lying
from calc.drawing import sheet_drawing
from calc.drawing.no_use import hatched
from calc.laid import Cut, Placed, SheetLayout
from calc.layout import Item, Stock, lay_out
from calc.layout.facing import mirrored
from calc.papers.cut_lines import cut_lines
from calc.records import as_json
from calc.steps import cut_key
from calc.tables.minutes import STANDARD
from tests.calc.replay import check_layout, replay
from tests.shapes import FLAT, NAMED, SKEW, fall_tray, fall_trays, ring, sheet_of

KERF = 2.0


def check_plan(made: Plan) -> None:
    making = made.sheet.making
    items = [Item(blank.name, blank.cut_outline, blank.count * made.sheet.quantity) for blank in made.blanks]
    check_layout(
        made.layout,
        items,
        made.sheet.stock,
        kerf=making.kerf,
        edge_trim=making.edge_trim,
        may_turn_over=not made.sheet.material.finished_face,
        grain=made.sheet.material.grain,
        least_offcut=making.least_offcut,
    )


@pytest.mark.parametrize("name", [*NAMED, *FLAT])
@pytest.mark.parametrize("trim", [0, 5])
def test_every_blank_of_a_plan_comes_free(name: str, trim: float) -> None:
    made = plan(sheet_of((NAMED | FLAT)[name], quantity=2, making={"edge_trim": trim}))
    check_plan(made)
    assert not made.layout.unplaced
    assert "hand-trim" not in [warning.code for warning in made.warnings]


@pytest.mark.parametrize("count", [12, 24])
def test_many_facets_come_free(count: int) -> None:
    check_plan(plan(sheet_of(ring(count, dent=0.3))))


@settings(max_examples=25)
@given(fall_trays())
def test_any_tray_comes_free_or_says_what_does_not(shape: dict[str, Any]) -> None:
    try:
        made = plan(sheet_of(shape))
    except SheetFaults:
        assume(False)
        raise
    if "hand-trim" in [warning.code for warning in made.warnings]:
        assert any(edges_left(used, made.sheet.making) for used in made.layout.sheets)
    else:
        check_plan(made)


def test_a_mirrored_sheet_comes_apart_as_well() -> None:
    shape = plan(sheet_of(SKEW))
    items = [Item(blank.name, blank.cut_outline) for blank in shape.blanks]
    stock = [Stock("S1", 1250, 1000)]
    laid = lay_out(items, stock, kerf=KERF, edge_trim=5, may_turn_over=True, grain=False, effort="quick")
    outlines = {item.name: item.outline for item in items}
    over = mirrored(laid.sheets[0], outlines)
    assert [one.turned_over for one in over.placed] == [not one.turned_over for one in laid.sheets[0].placed]
    check_layout(replace(laid, sheets=(over,)), items, stock, kerf=KERF, edge_trim=5)
    back = mirrored(over, outlines)
    for one, other in zip(back.placed, laid.sheets[0].placed, strict=True):
        for point, was in zip(one.outline, other.outline, strict=True):
            assert point == pytest.approx(was, abs=1e-9)


@pytest.mark.parametrize("name", NAMED)
def test_most_blanks_lie_wet_face_up(name: str) -> None:
    for used in plan(sheet_of(NAMED[name])).layout.sheets:
        assert 2 * sum(placed.turned_over for placed in used.placed) <= len(used.placed)


NO_PIECE = {"least_offcut": 3000}  # longer than any sheet here: no piece that is left is worth using


def frozen_from(made: Plan, shape: dict[str, Any], **keys: Any) -> Plan:
    """The plan of a shape once the first plan's sheets have been cut up; what is left of them is too small to use."""
    frozen = made.as_json()["layout"]["sheets"]
    for cut in (cut for used in frozen for cut in used["cuts"]):
        cut["made"] = True
    keys["making"] = NO_PIECE | keys.get("making", {})
    return plan({**sheet_of(shape, **keys), "frozen": frozen})


def test_frozen_sheets_stay_and_nothing_is_laid_out_twice() -> None:
    before = plan(sheet_of(SKEW))
    after = frozen_from(before, SKEW)
    assert all(cut.made for used in after.layout.sheets for cut in used.cuts)
    not_made = [
        replace(used, cuts=tuple(replace(cut, made=False) for cut in used.cuts)) for used in after.layout.sheets
    ]
    assert as_json(not_made) == before.as_json()["layout"]["sheets"]
    assert [step.key for step in after.steps] == [step.key for step in before.steps]
    assert after.takeoff.scrap_mass == pytest.approx(before.takeoff.scrap_mass, abs=1e-6)


def test_one_more_tray_is_laid_out_beside_what_is_cut() -> None:
    before = plan(sheet_of(SKEW))
    after = frozen_from(before, SKEW, quantity=2)
    first, second = after.layout.sheets
    assert {f"{placed.blank}.{placed.copy}" for placed in first.placed} == {"A.1", "B.1", "C.1", "D.1"}
    assert {f"{placed.blank}.{placed.copy}" for placed in second.placed} == {"A.2", "B.2", "C.2", "D.2"}
    outlines = {blank.name: blank.cut_outline for blank in after.blanks}
    replay(second, outlines, KERF)
    kept = {step.key for step in before.steps if step.kind == "cut"}
    assert kept < {step.key for step in after.steps if step.kind == "cut"}


def test_blanks_that_changed_are_laid_out_anew() -> None:
    """Corner 3 moves: B and C change, A and D stay. What is cut of A and D still counts."""
    before = plan(sheet_of(SKEW))
    after = frozen_from(before, MOVED)
    first, second = after.layout.sheets
    assert {placed.blank: placed.fits for placed in first.placed} == {"A": True, "B": False, "C": False, "D": True}
    assert all(placed.fits for placed in second.placed)
    assert sorted(f"{placed.blank}.{placed.copy}" for placed in second.placed) == ["B.2", "C.2"]
    metal = after.takeoff
    assert metal.sheet_mass == pytest.approx(metal.net_mass + metal.offcut_mass + metal.scrap_mass)
    keys = [step.key for step in after.steps]
    assert len(set(keys)) == len(keys)


MOVED = fall_tray([[0, 0], [742, 9], [725, 410], [-12, 371]], [512, 148], 46, outlet={"bore": 40})  # B and C change


def test_only_cuts_on_the_way_to_a_copy_with_a_use_are_work() -> None:
    before = plan(sheet_of(SKEW))
    after = frozen_from(before, MOVED)
    old = after.layout.sheets[0]
    keys = {step.key for step in after.steps}
    for cut in old.cuts:
        # counted by hand from the cut itself: A and D are wanted, B and C are not
        named = {*cut.parts[0], *cut.parts[1], *cut.frees, *(edge.partition(":")[0] for edge in cut.finishes)}
        assert (cut_key(cut) in keys) == bool(named & {"A.1", "D.1"})
        assert old.needs(cut) == bool(named & {"A.1", "D.1"})
    assert 0 < sum(old.needs(cut) for cut in old.cuts) < len(old.cuts)
    words = [step.text for step in after.steps if step.kind == "cut" and step.text.startswith("Sheet 1, ")]
    assert not any("B.1" in text or "C.1" in text for text in words)
    hours = sum(step.minutes for step in after.steps if step.kind == "cut")
    needed = [cut for used in after.layout.sheets for cut in used.cuts if used.needs(cut)]
    assert hours == pytest.approx(sum(STANDARD["cut"].minutes(cut.length / 1000) for cut in needed))
    rows = cut_lines(after, after.layout.sheets.index(old), after.sheet.making.display)
    assert [row.is_work for row in rows] == [old.needs(cut) and not cut.made for cut in old.cuts]
    assert not any("B.1" in row.frees or "C.1" in row.frees for row in rows)


def test_when_nothing_on_it_fits_no_cut_of_a_frozen_sheet_is_work() -> None:
    before = plan(sheet_of(SKEW))
    deeper = {**SKEW, "depth": SKEW["depth"] + 10}
    after = frozen_from(before, deeper)
    assert not after.layout.sheets[0].fitting
    assert not {step.key for step in after.steps} & {cut_key(cut) for cut in before.layout.sheets[0].cuts}
    back = frozen_from(after, SKEW)  # the first sheet serves again; what was laid out for the deeper tray doesn't
    assert [bool(used.fitting) for used in back.layout.sheets] == [True, False]
    assert {step.key for step in back.steps if step.kind == "cut"} == {
        step.key for step in before.steps if step.kind == "cut"
    }


def test_copies_of_an_earlier_shape_are_named() -> None:
    after = frozen_from(plan(sheet_of(SKEW)), MOVED)
    told = {warning.code: warning.text for warning in after.warnings}
    assert told["old-shapes"] == "On sheet 1: B.1, C.1 are of an earlier shape, not for this tray."
    assert "spare-copies" not in told
    assert not any(
        copy in ("B.1", "C.1")
        for blank in after.blanks
        for one in lying(blank, [], after.layout)
        for copy in one.copies
    )


def test_copies_of_which_fewer_are_wanted_are_spare_and_no_earlier_shape() -> None:
    after = frozen_from(plan(sheet_of(SKEW, quantity=2)), SKEW)
    told = {warning.code: warning.text for warning in after.warnings}
    assert "A.2, B.2, C.2, D.2 are spare, more than the job needs." in told["spare-copies"]
    assert "old-shapes" not in told
    assert sorted(f"{one.blank}.{one.copy}" for used in after.layout.sheets for one in used.fitting) == [
        "A.1",
        "B.1",
        "C.1",
        "D.1",
    ]


def test_cut_by_outline_an_earlier_shape_is_no_work() -> None:
    contour = {"cutting": "contour"}
    after = frozen_from(plan(sheet_of(SKEW, making=contour)), MOVED, making=contour)
    cut = {step.key: step.text for step in after.steps if step.kind == "cut"}
    assert set(cut) == {"cut:A", "cut:B", "cut:C", "cut:D"}
    assert all("1 off" in text for text in cut.values())


def test_a_plan_of_before_copies_fitted_or_not_reads_as_one_whose_copies_fit() -> None:
    data = plan(sheet_of(SKEW)).as_json()
    for placed in data["layout"]["sheets"][0]["placed"]:
        del placed["fits"]
    assert all(placed.fits for placed in Plan.from_json(data).layout.sheets[0].placed)
    read = read_sheet({**sheet_of(SKEW), "frozen": data["layout"]["sheets"]})
    assert all(placed.fits for placed in read.frozen[0].placed)


def test_which_copies_fit_is_for_the_plan_to_say() -> None:
    data = plan(sheet_of(SKEW)).as_json()["layout"]["sheets"]
    for placed in data[0]["placed"]:
        placed["fits"] = False
    after = plan({**sheet_of(SKEW), "frozen": data})
    assert len(after.layout.sheets) == 1
    assert all(placed.fits for placed in after.layout.sheets[0].placed)


@pytest.mark.parametrize("width", [720.0, 440.0])
def test_a_sheet_drawing_hatches_and_names_what_has_no_use(width: float) -> None:
    after = frozen_from(plan(sheet_of(SKEW)), MOVED)
    svg = sheet_drawing(after, 0, after.sheet.making.display, width=width)
    assert set(re.findall(r'data-no-use="([^"]+)"', svg)) == {"B.1", "C.1"}
    words = set(re.findall(r">([^<>]+)</text>", svg))
    assert {"B.1 old shape", "C.1 old shape"} <= words
    assert not {"B.1", "C.1", "B.1 over", "C.1 over"} & words


def test_hatch_stays_within_an_outline_that_is_not_convex() -> None:
    dented = shapely.Polygon([(0, 0), (120, 0), (120, 90), (60, 20), (0, 90)])
    lines = shapely.MultiLineString(hatched(dented))
    assert lines.length > 10
    assert lines.difference(dented.buffer(1e-6)).length == pytest.approx(0, abs=1e-6)


def test_frozen_sheets_come_off_a_limited_stock() -> None:
    stock = [{"label": "S1", "length": 1250, "width": 1000, "count": 1}]
    before = plan(sheet_of(SKEW, stock=stock))
    after = frozen_from(before, SKEW, stock=stock, quantity=2)
    assert sorted(after.layout.unplaced) == ["A.2", "B.2", "C.2", "D.2"]


@pytest.mark.parametrize(
    ("spoil", "where"),
    [
        (lambda used: used.pop("cuts"), "sheet.frozen[0].cuts"),
        (lambda used: used.update(stock="S9"), "sheet.frozen[0].stock"),
        (lambda used: used.update(length="wide"), "sheet.frozen[0].length"),
        (lambda used: used["placed"][0].update(outline=[[0, 0]]), "sheet.frozen[0].placed[0].outline"),
        (lambda used: used["placed"][0].update(outline=[[0, 0]] * 3), "sheet.frozen[0].placed[0].outline"),
        (
            lambda used: used["placed"][0].update(outline=[[0, 0], [9000, 0], [0, 9]]),
            "sheet.frozen[0].placed[0].outline",
        ),
        (lambda used: used["placed"][1].update(blank="A", copy=1), "sheet.frozen[0].placed[1]"),
        (lambda used: used.update(length=9000), "sheet.frozen[0]"),
        (lambda used: used["placed"][0].update(copy=0), "sheet.frozen[0].placed[0].copy"),
        (lambda used: used["placed"][0].update(fits="yes"), "sheet.frozen[0].placed[0].fits"),
        (lambda used: used["placed"][0].update(blank=7), "sheet.frozen[0].placed[0].blank"),
        (lambda used: used["cuts"][0].update({"from": [0]}), "sheet.frozen[0].cuts[0].from"),
        (lambda used: used["cuts"][0].update(finishes=["the left one"]), "sheet.frozen[0].cuts[0].finishes[0]"),
        (lambda used: used["cuts"][0].update(frees=["A"]), "sheet.frozen[0].cuts[0].frees[0]"),
        (lambda used: used["cuts"][0].update(parts=[]), "sheet.frozen[0].cuts[0].parts"),
        (lambda used: used["offcuts"][0].update(colour="red"), "sheet.frozen[0].offcuts[0].colour"),
    ],
)
def test_a_frozen_sheet_that_is_none_is_a_fault(spoil: Any, where: str) -> None:
    data = {**sheet_of(SKEW), "frozen": plan(sheet_of(SKEW)).as_json()["layout"]["sheets"]}
    spoil(data["frozen"][0])
    with pytest.raises(SheetFaults) as caught:
        read_sheet(data)
    assert where in [fault.path for fault in caught.value.faults]


def test_cuts_of_a_frozen_sheet_stay_steps_where_the_rest_is_cut_by_outline() -> None:
    before = plan(sheet_of(SKEW))
    after = frozen_from(before, SKEW, quantity=2, making={"cutting": "contour"})
    cut = [step for step in after.steps if step.kind == "cut"]
    sawn = {step.key for step in before.steps if step.kind == "cut"}
    assert {step.key for step in cut} == sawn | {f"cut:{name}" for name in "ABCD"}
    assert all("1 off" in step.text for step in cut if step.key not in sawn)


def test_a_paper_names_the_edges_of_blanks_that_are_gone() -> None:
    """Five corners cut, then a rim of four: the fifth blank is still named on the frozen sheet's cut list."""
    before = plan(sheet_of(NAMED["five"]))
    after = frozen_from(before, SKEW)
    rows = cut_lines(after, 0, after.sheet.making.display)
    assert any("E.1" in row.finishes for row in rows)


def test_what_dressing_takes_off_is_no_edge_to_file() -> None:
    """Beside a relief a blank's outline turns in by a hair: the cut runs along its hull, 0.2 mm off the edge at that end."""
    outline = ((100.0, 50.0), (500.0, 50.2), (900.0, 50.0), (900.0, 450.0), (100.0, 450.0))
    placed = Placed("A", 1, outline, turned_over=False, at=(0.0, 0.0), angle=0.0)
    cut = Cut((0.0, 49.0), (1000.0, 49.0), ("A.1",), (), (("A.1",), ()), 1000.0)
    used = SheetLayout("S", 1000.0, 500.0, (placed,), (cut,), ())
    making = plan(sheet_of(SKEW)).sheet.making
    along = {"A.1:0", "A.1:1"}
    assert along <= set(edges_left(used, replace(making, kerf=2.0, cutting_error=0.1)))
    assert not along & set(edges_left(used, replace(making, kerf=2.0, cutting_error=0.5)))
