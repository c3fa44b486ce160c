"""A step at the bench: its figures are those of the plan, and no step is without words of its own."""

import math
from typing import Any

import pytest

import calc
from calc.at_work import AtWork, Figure, at_work
from calc.blank import patterns
from calc.cut_list import cuts_in_hand
from calc.papers.lines import lying_lines
from calc.steps import cut_keys
from calc.welding.records import Weld
from tests import shapes
from tests.calc.test_spoiled import job, lying

TRAYS: dict[str, dict[str, Any]] = {**shapes.NAMED, "pan": shapes.pan(400, 250, 60)}


@pytest.fixture(scope="module", params=TRAYS, ids=str)
def plan(request: pytest.FixtureRequest) -> calc.Plan:
    return calc.plan(shapes.sheet_of(TRAYS[request.param]))


def figure(said: AtWork, label: str) -> Figure:
    return next(line for line in said.figures if line.label == label)


def test_every_step_is_said_in_few_words(plan: calc.Plan) -> None:
    for step in plan.steps:
        words = at_work(plan, step.key).words
        assert 0 < len(words) < len(step.text), step.key
        assert len(words.split()) <= 14, words


def test_marks_are_as_far_from_their_corners_as_the_cut_is(plan: calc.Plan) -> None:
    """Both ends of a cut by their distance, Pythagoras, from the corners of the piece that they are taped from."""
    display, told = plan.sheet.making.display, 0
    for used, keys in zip(plan.layout.sheets, cut_keys(plan.layout), strict=True):
        for key, cut in zip(keys, cuts_in_hand(used, plan.sheet.making) or (), strict=True):
            said = at_work(plan, key)
            corners = dict(cut.piece.corners)
            for label, mark in zip(("Mark", "And mark"), cut.marks, strict=True):
                distance = math.dist(corners[mark.corner], mark.at)
                if display.rounded(distance):
                    assert figure(said, label).figure == display.length(distance)
                    told += 1
            assert figure(said, "Guide").figure == display.length(
                plan.sheet.making.guide_offset + plan.sheet.making.kerf / 2
            )
    assert told > 4


@pytest.mark.parametrize("shape", [shapes.SKEW, shapes.pan(400, 250, 60)], ids=["tray", "pan"])
def test_what_is_done_to_each_of_several_says_so(shape: dict[str, Any]) -> None:
    """All but the place on the machine, which is measured once, blanks, which say "3 off", and cuts, one by one."""
    plan, told = calc.plan(shapes.sheet_of(shape, quantity=3)), set()
    for step in plan.steps:
        words, kind = at_work(plan, step.key).words, step.key.partition(":")[0]
        counted = kind == "measure" or " off" in words or step.key in cut_keys(plan.layout)[0]
        assert words.endswith(": each of the 3") != counted, (step.key, words)
        told |= set() if counted else {kind}
    assert {"tack", "weld", "check", "test"} <= told


def test_what_weighs_much_is_told_in_kilograms() -> None:
    """4 m by 2 m of 20 mm steel: 8 m2 x 20 mm x 7.85 kg/l, 1256 kg, and its walls on top."""
    heavy = {"alloy": "S235JR", "thickness": 20}
    stock = [{"length": 6000, "width": 3000, "price": "0"}]
    plan = calc.plan(shapes.sheet_of(shapes.pan(4000, 2000, 100, inside_radius=40), material=heavy, stock=stock))
    lift = figure(at_work(plan, "install:stand"), "To lift").figure
    assert 1256 < float(lift.removesuffix(" kg")) < 1600


def test_the_cut_of_a_stack_of_sheets_names_its_sheet() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.SKEW, quantity=3, stock=[{"length": 900, "width": 600, "price": "40.00"}]))
    assert len(plan.layout.sheets) > 1
    for number, keys in enumerate(cut_keys(plan.layout), 1):
        assert at_work(plan, keys[0]).words.startswith(f"Sheet {number}, cut 1")


def test_a_seam_tells_its_setting_and_its_runs(plan: calc.Plan) -> None:
    assert plan.weld_plan is not None
    seams: list[Weld] = [weld for weld in plan.weld_plan.welds if weld.kind == "seam"]
    for weld in seams:
        said = at_work(plan, weld.key)
        low, high = weld.setting.amps
        assert figure(said, "TIG").figure == f"{low:.0f} to {high:.0f} A"
        label = "Run" if len(weld.runs) == 1 else "Runs"
        assert [int(turn) for turn in figure(said, label).figure.split(", ")] == sorted(run.turn for run in weld.runs)
        tacked = at_work(plan, f"tack:{weld.name}")
        assert figure(tacked, "Tacks").figure == str(len(weld.tacks))


def test_bends_are_told_in_the_order_they_are_made() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.pan(400, 250, 60)))
    bends = [step.key for step in plan.steps if step.kind == "fold"]
    assert bends
    turns = [figure(at_work(plan, key), "Bend").figure for key in bends]
    assert turns == [f"{turn} of {len(bends)}" for turn in range(1, len(bends) + 1)]
    # walls of a pan stand square on its floor where that is level across
    assert all(figure(at_work(plan, key), "Fold").figure.startswith("UP ") for key in bends)


def test_offsets_leave_out_the_base_which_stands_by_itself() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.TRIANGLE))
    key = next(step.key for step in plan.steps if step.kind == "mark")
    said = at_work(plan, key)
    blank = next(blank for blank in plan.blanks if key == f"mark:{blank.name}")
    (x1, y1), (x2, y2) = blank.cut_outline[:2]
    base = plan.sheet.making.display.rounded(math.hypot(x2 - x1, y2 - y1))
    assert figure(said, "Base").figure == f"{float(base):g} mm"
    assert [row[0] for row in said.tables[0].rows] == [str(n) for n in range(3, len(blank.cut_outline) + 1)]


def test_work_at_the_machine_says_first_that_it_is_locked_off(plan: calc.Plan) -> None:
    for step in plan.steps:
        is_there = step.kind in {"measure", "aperture", "install", "stand", "seal"} or step.key == "clean:rim"
        first = " ".join(at_work(plan, step.key).first)
        assert first.startswith("Machine isolated and locked off.") == is_there, step.key


def test_a_step_that_the_plan_has_not(plan: calc.Plan) -> None:
    with pytest.raises(KeyError, match="no step 'weld:nowhere'"):
        at_work(plan, "weld:nowhere")


def on_paper(plan: calc.Plan, key: str) -> list[str]:
    """What the traveller and the job's page say of copies that don't lie as drawn, of the pattern of a step."""
    blank, alike = next((blank, alike) for blank, alike in patterns(plan.blanks) if key == f"mark:{blank.name}")
    return lying_lines(plan, blank, alike)


def turned_over(plan: calc.Plan) -> list[str]:
    return [placed.name for used in plan.layout.sheets for placed in used.fitting if placed.turned_over]


def test_marking_out_says_first_which_copies_lie_turned_over(plan: calc.Plan) -> None:
    """In the words of the papers; of a step on other work nothing of it."""
    for step in plan.steps:
        if step.kind == "mark":
            assert list(at_work(plan, step.key).first) == on_paper(plan, step.key)
        elif step.kind in {"dress", "drill", "fold"}:
            assert at_work(plan, step.key).first == ()


def test_every_copy_that_lies_turned_over_is_named() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.SKEW, quantity=3))
    assert turned_over(plan)
    said = " ".join(words for step in plan.steps if step.kind == "mark" for words in at_work(plan, step.key).first)
    assert all(name in said for name in turned_over(plan) if not mirrored(plan, name))


def mirrored(plan: calc.Plan, copy: str) -> bool:
    """Whether a copy's blank is its pattern turned over, so that turned over it lies as the pattern is drawn."""
    return any(blank.mirrored for blank in plan.blanks if blank.name == copy.rpartition(".")[0])


@pytest.mark.parametrize("shape", [shapes.SKEW, shapes.pan(400, 250, 60)], ids=["skew", "pan"])
def test_it_says_where_both_ends_of_the_base_lie(shape: dict[str, Any]) -> None:
    """By the formula of a placed copy, at + R(angle) (x, y) with y turned over; of a blank alike its base lies along the
    edge that is the pattern's, which is as long."""
    plan, told = calc.plan(shapes.sheet_of(shape, quantity=2)), 0
    display = plan.sheet.making.display
    rows = {
        row[0]: row[1:]
        for step in plan.steps
        if step.kind == "mark"
        for table in at_work(plan, step.key).tables
        if table.caption.startswith("On sheet 1, in mm from its lower left corner")
        for row in table.rows
    }
    by_name = {blank.name: blank for blank in plan.blanks}
    for placed in plan.layout.sheets[0].fitting:
        one, other = rows[f"{placed.name}: 1"], rows[f"{placed.name}: 2"]
        blank = by_name[placed.blank]
        if blank.same_as is None:
            turn, side = math.radians(placed.angle), -1 if placed.turned_over else 1
            for (x, y), row in zip(blank.cut_outline[:2], (one, other), strict=True):
                along = placed.at[0] + math.cos(turn) * x - math.sin(turn) * side * y
                square = placed.at[1] + math.sin(turn) * x + math.cos(turn) * side * y
                assert row == (display.figure(along), display.figure(square))
                told += 1
        base = math.dist(*by_name[blank.same_as or blank.name].cut_outline[:2])
        ends = [tuple(map(float, row)) for row in (one, other)]
        assert math.dist(*ends) == pytest.approx(base, abs=1.0)  # each end is read off a rule of 0.5 mm
    assert told


# In place of a spoiled copy


@pytest.fixture(scope="module")
def spoiled() -> calc.Plan:
    """A tray, A to D cut from one sheet, on which C.1 was spoiled: C.2 is in its place."""
    one = calc.plan(job())
    return calc.plan({**job(), "frozen": lying(one, "C.1")})


def test_another_in_place_of_a_spoiled_one_shows_what_the_first_did(spoiled: calc.Plan) -> None:
    first, again = (at_work(spoiled, key) for key in ("mark:C", "mark:C.1:again"))
    assert again.words == "Mark out another C in place of C.1"
    assert again.figures == first.figures
    assert len(again.tables) > 2
    assert again.tables[:2] == first.tables[:2]
    assert at_work(spoiled, "dress:C.1:again").tables == at_work(spoiled, "dress:C").tables
    assert at_work(spoiled, "dress:C.1:again").words == "Dress every edge of another C in place of C.1"


def test_each_says_only_of_its_own_copy_how_it_lies(spoiled: calc.Plan) -> None:
    rows = {
        key: [row[0] for table in at_work(spoiled, key).tables if table.caption.startswith("On ") for row in table.rows]
        for key in ("mark:C", "mark:C.1:again")
    }
    assert rows == {"mark:C": [], "mark:C.1:again": ["C.2: 1", "C.2: 2"]}
    assert at_work(spoiled, "mark:C").first == ()
    said = at_work(spoiled, "mark:C.1:again").first
    assert bool(said) == ("C.2" in turned_over(spoiled))
    assert all(words.startswith("C.2 lies turned over on sheet 1") for words in said)


def test_of_what_is_not_done_twice_the_one_step_says_how_the_copy_lies() -> None:
    """C.1 was not marked out yet when it was spoiled, such as by a wrong cut: the one step is done on C.2."""
    plan = calc.plan({**job(), "frozen": lying(calc.plan(job()), "C.1", work=["dress"])})
    places = [table for table in at_work(plan, "mark:C").tables if table.caption.startswith("On ")]
    assert [row[0] for table in places for row in table.rows] == ["C.2: 1", "C.2: 2"]


def test_a_bend_and_a_relief_are_done_again_with_their_figures() -> None:
    folded = job(shapes.pan(300, 200, 50))
    one = calc.plan(folded)
    work = [
        "mark",
        "drill",
        *(step.key.split(":", 2)[0] + ":" + step.key.split(":", 2)[2] for step in one.steps if step.kind == "fold"),
    ]
    name = next(blank.name for blank in one.blanks)
    plan = calc.plan({**folded, "frozen": lying(one, f"{name}.1", work=work)})
    again = [step.key for step in plan.steps if ":again" in step.key]
    assert {key.partition(":")[0] for key in again} >= {"mark", "fold"}
    for key in again:
        first, said = at_work(plan, key.replace(f"{name}.1:again", name)), at_work(plan, key)
        assert said.figures == first.figures, key
        assert len(said.words.split()) <= 14
        if said.figures == ():
            assert said.tables, key
