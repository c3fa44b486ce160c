"""Spoiled copies on sheets that were cut into: one in its place is looked for on what is left, and what was done comes back."""

import copy
from collections.abc import Sequence
from typing import Any

import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from calc import Plan, SheetFaults, plan
from calc.cut_list import cuts_in_hand
from calc.laid import SheetLayout
from calc.layout.became import what_became
from calc.layout.job import in_place_of
from calc.making import Making
from calc.steps.again import keys_on
from tests.calc.test_left_metal import KERF, STOCK, check_frozen
from tests.shapes import SKEW, fall_trays, pan, sheet_of

RACKED = {"label": "R7", "length": 900.0, "width": 500.0, "count": 1, "price": "21.00", "rack": 7}
AGAIN = ("mark", "dress")


def lying(made: Plan, *spoiled: str, work: Sequence[str] = AGAIN, cuts: int = 1000) -> list[dict[str, Any]]:
    """The sheets of a plan as the next is handed them, so many of the first cuts of each made, these copies spoiled."""
    sheets: list[dict[str, Any]] = copy.deepcopy(made.as_json()["layout"]["sheets"])
    for used in sheets:
        for number, cut in enumerate(used["cuts"]):
            cut["made"] = number < cuts
    names = [f"{placed['blank']}.{placed['copy']}" for used in sheets for placed in used["placed"]]
    for placed in (placed for used in sheets for placed in used["placed"]):
        name, blank = f"{placed['blank']}.{placed['copy']}", placed["blank"]
        if name in spoiled:
            earlier = [each for each in spoiled if each.rpartition(".")[0] == blank].index(name)
            last = max(int(each.rpartition(".")[2]) for each in names if each.rpartition(".")[0] == blank)
            placed["spoiled"] = {"again": list(work), "by": last + 1 + earlier}
    return sheets


def job(shape: Any = SKEW, stock: Any = STOCK, **keys: Any) -> dict[str, Any]:
    return sheet_of(shape, stock=stock, **keys)


@pytest.fixture(scope="module")
def one() -> Plan:
    """One tray: A to D on one sheet, of which most is left."""
    return plan(job())


def where(made: Plan, name: str) -> tuple[int, str]:
    """On which sheet of the layout, from 0, a copy lies, and the stock of that."""
    ((number, used),) = [
        (number, used)
        for number, used in enumerate(made.layout.sheets)
        if any(placed.name == name and placed.fits for placed in used.placed)
    ]
    return number, used.stock


def test_another_is_laid_out_on_what_is_left_of_the_same_sheet(one: Plan) -> None:
    then = plan({**job(), "frozen": lying(one, "C.1")})
    assert len(then.layout.sheets) == 1
    assert where(then, "C.2") == (0, "S1")
    check_frozen(list(then.sheet.frozen), then)
    (lost,) = then.layout.sheets[0].spoiled
    assert (lost.name, lost.fits) == ("C.1", False)
    assert in_place_of(then.blanks, then.layout) == {"C.2": "C.1"}
    assert then.layout.unplaced == ()
    assert "C.2 is in place of C.1" in next(told.text for told in then.warnings if told.code == "spoiled")
    assert not [told for told in then.warnings if told.code in {"old-shapes", "spare-copies"}]
    became = what_became(then.sheet.frozen[0], then.layout.sheets[0], KERF)
    assert (became.idle, became.spoiled, [new.copies for new in became.new]) == ((), ("C.1",), [("C.2",)])


def test_what_was_done_keeps_its_steps_and_what_comes_back_has_its_own(one: Plan) -> None:
    then = plan({**job(), "frozen": lying(one, "C.1")})
    before, after = ({step.key: step for step in made.steps} for made in (one, then))
    for key in ("mark:C", "dress:C", "mark:A"):
        assert after[key] == before[key]
    new = after.keys() - before.keys()
    cuts = {key for key in new if key.startswith("cut:")}
    assert new == {"mark:C.1:again", "dress:C.1:again", *cuts}
    assert cuts
    assert all("C.2" in key for key in cuts)
    again, first = after["mark:C.1:again"], before["mark:C"]
    assert (again.kind, again.driver, again.minutes) == ("mark", first.driver, first.minutes)  # one of it either time
    assert again.text.startswith("Mark out another C in place of C.1, which is spoiled: base ")
    places = list(after)
    assert places.index("mark:C") < places.index("mark:C.1:again") < places.index("mark:D")


def test_what_was_not_done_yet_is_not_done_twice(one: Plan) -> None:
    """Marked and cut, not dressed: the one step of dressing is still to do, for the copy in its place."""
    then = plan({**job(), "frozen": lying(one, "C.1", work=["mark"])})
    keys = [step.key for step in then.steps if ":C" in step.key and step.kind in {"mark", "dress"}]
    assert keys == ["mark:C", "mark:C.1:again", "dress:C"]


def test_the_same_sheet_gives_the_same_plan_again(one: Plan) -> None:
    then = plan({**job(), "frozen": lying(one, "C.1")})
    assert plan(then.as_json()["sheet"]).as_json() == then.as_json()
    assert Plan.from_json(then.as_json()).as_json() == then.as_json()


@pytest.mark.parametrize("made", [3, 5, 1000])
def test_what_was_written_on_the_pieces_still_tells_them_apart(one: Plan, made: int) -> None:
    """The number of a cut that was made is on the piece that it was made in; what is laid out anew takes others."""
    then = plan({**job(), "frozen": lying(one, "C.1", cuts=made)})
    was, now = (
        {
            tuple(round(x, 3) for corner in cut.piece.outline for x in corner): cut
            for cut in cuts_in_hand(*of_first(each)) or ()
        }
        for each in (one, then)
    )
    stayed = [(cut, now[outline]) for outline, cut in was.items() if outline in now]
    assert len(stayed) >= min(made, len(was))
    assert {cut.piece.name for cut, _ in stayed} == {f"piece {cut.number}" for cut, _ in stayed}
    assert [again.piece.name for _, again in stayed] == [cut.piece.name for cut, _ in stayed]
    assert len({cut.piece.name for cut in now.values()}) == len(now) > len(stayed)


def of_first(made: Plan) -> tuple[SheetLayout, Making]:
    """The first sheet of a plan, and how it is made."""
    return made.layout.sheets[0], made.sheet.making


def all_gone(sheets: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The offcuts of these sheets are on the rack, and what is left is waste."""
    for used in sheets:
        for piece in used["offcuts"]:
            piece["away"] = True
    return sheets


@pytest.mark.parametrize(
    ("racked", "stock"),
    [([RACKED], "R7"), ([{**RACKED, "length": 400.0, "width": 300.0}], "S1"), ([], "S1")],
    ids=["on the rack", "too small a piece on the rack", "a new sheet"],
)
def test_failing_that_the_rack_then_a_new_sheet(one: Plan, racked: list[Any], stock: str) -> None:
    """C is 742.5 long and 246 wide: it fits 900 x 500 whichever way, and 400 x 300 in none (its diagonal is 500)."""
    then = plan({**job(stock=[*STOCK, *racked]), "frozen": all_gone(lying(one, "C.1"))})
    assert where(then, "C.2") == (1, stock)
    assert len(then.layout.sheets) == 2
    check_frozen(list(then.sheet.frozen), then)


def test_what_is_left_comes_before_the_rack(one: Plan) -> None:
    then = plan({**job(stock=[*STOCK, RACKED]), "frozen": lying(one, "C.1")})
    assert where(then, "C.2") == (0, "S1")


def test_the_sheet_that_it_was_spoiled_on_comes_first() -> None:
    """Two sheets with room, the smaller piece on the first: what was spoiled on the second is made anew on the second."""
    size = {"label": "S1", "length": 1250.0, "width": 1000.0, "price": "40.00"}
    first, second = plan(job(stock=[size])), plan(job(stock=[size]))
    sheets = lying(first) + lying(second, "B.2")
    for placed in sheets[1]["placed"]:
        placed["copy"] = 2
        if placed["blank"] == "B":
            placed["spoiled"] = {"again": list(AGAIN), "by": 3}
    for cut in sheets[1]["cuts"]:
        for key in ("frees", "finishes"):
            cut[key] = [name.replace(".1", ".2") for name in cut[key]]
        cut["parts"] = [[name.replace(".1", ".2") for name in side] for side in cut["parts"]]
    for order in (sheets, sheets[::-1]):
        then = plan({**job(stock=[size], quantity=2), "frozen": order})
        assert where(then, "B.3")[0] == next(
            number for number, used in enumerate(order) if any(placed.get("spoiled") for placed in used["placed"])
        )
        check_frozen(list(then.sheet.frozen), then)


def test_one_in_place_of_a_spoiled_one_may_be_spoiled_too(one: Plan) -> None:
    second = plan({**job(), "frozen": lying(one, "C.1")})
    third = plan({**job(), "frozen": lying(second, "C.2")})
    assert in_place_of(third.blanks, third.layout) == {"C.2": "C.1", "C.3": "C.2"}
    was, now = ({step.key: step for step in made.steps if step.kind != "cut"} for made in (second, third))
    assert now.keys() - was.keys() == {"mark:C.2:again", "dress:C.2:again"}
    assert was.items() <= now.items()
    assert len(third.layout.sheets[0].spoiled) == 2
    check_frozen(list(third.sheet.frozen), third)


def test_who_is_in_place_of_whom_stays_so_whatever_is_spoiled_and_cut_in_which_order() -> None:
    """A.3 is spoiled before A.1, and what is in place of A.1 is cut first: it keeps its number, the other one its own."""
    first = plan(job(quantity=3))
    second = plan({**job(quantity=3), "frozen": lying(first, "A.3", "A.1")})
    both = {"A.4": "A.3", "A.5": "A.1"}
    assert in_place_of(second.blanks, second.layout) == both
    names = sorted(placed.name for used in second.layout.sheets for placed in used.fitting if placed.blank == "A")
    assert names == ["A.2", "A.4", "A.5"]
    frozen = lying(second)
    for used in frozen:  # A.4 is not on it: not cut, it is to be laid out anew
        used["placed"] = [one for one in used["placed"] if (one["blank"], one["copy"]) != ("A", 4)]
        for cut in used["cuts"]:
            for key in ("frees", "finishes"):
                cut[key] = [name for name in cut[key] if not name.startswith("A.4")]
            cut["parts"] = [[name for name in side if name != "A.4"] for side in cut["parts"]]
    third = plan({**job(quantity=3), "frozen": frozen})
    assert in_place_of(third.blanks, third.layout) == both
    assert (
        sorted(placed.name for used in third.layout.sheets for placed in used.fitting if placed.blank == "A") == names
    )


def test_two_spoiled_copies_can_t_have_one_in_their_place(one: Plan) -> None:
    frozen = lying(plan(job(quantity=2)), "A.1", "A.2")
    for placed in frozen[0]["placed"]:
        if placed["blank"] == "A":
            placed["spoiled"]["by"] = 3
    with pytest.raises(SheetFaults, match=r"A\.3 is in place of another spoiled copy already"):
        plan({**job(quantity=2), "frozen": frozen})


def test_the_steps_that_were_done_on_a_copy(one: Plan) -> None:
    assert keys_on(one.blanks, one.layout, "C.1")["mark"] == ("mark:C",)
    then = plan({**job(), "frozen": lying(one, "C.1")})
    assert keys_on(then.blanks, then.layout, "C.2")["dress"] == ("dress:C.1:again", "dress:C")
    assert keys_on(then.blanks, then.layout, "A.1")["dress"] == ("dress:A",)


def test_what_was_spoiled_is_of_the_scrap_and_nothing_is_lost(one: Plan) -> None:
    """Mass of C: its cut outline, as it lies on the sheet, x 1.5 mm x 2.68 g/cm3 (5052, Aluminum Association)."""
    then = plan({**job(), "frozen": lying(one, "C.1")})
    takeoff = then.takeoff
    (lost,) = then.layout.sheets[0].spoiled
    assert takeoff.spoiled_mass == pytest.approx(shapely.Polygon(lost.outline).area * 1.5 * 2.68e-6, rel=1e-6)
    assert takeoff.net_mass == pytest.approx(one.takeoff.net_mass, abs=1e-9)
    assert takeoff.sheet_mass == pytest.approx(takeoff.net_mass + takeoff.offcut_mass + takeoff.scrap_mass, abs=1e-9)
    assert takeoff.scrap_mass > takeoff.spoiled_mass
    assert one.takeoff.spoiled_mass == 0


def test_of_another_shape_since_nothing_comes_back(one: Plan) -> None:
    """A deeper tray: every blank is made anew anyway; what was spoiled still lies there, and weighs what it did."""
    spoiled = lying(one, "C.1")
    then = plan({**job({**SKEW, "depth": 56}), "frozen": spoiled})
    assert not [step.key for step in then.steps if ":again" in step.key]
    assert in_place_of(then.blanks, then.layout) == {}
    same = plan({**job(), "frozen": spoiled})
    assert then.takeoff.spoiled_mass == pytest.approx(same.takeoff.spoiled_mass, abs=1e-7)
    check_frozen(list(then.sheet.frozen), then)


def test_folds_come_back_bend_by_bend() -> None:
    folded = job(pan(400, 300, 50, inside_radius=2))
    first = plan(folded)
    bends = [step.key.rpartition(":")[2] for step in first.steps if step.kind == "fold"]
    name = first.blanks[0].name
    work = ["mark", *(f"fold:{bend}" for bend in bends[:2])]
    then = plan({**folded, "frozen": lying(first, f"{name}.1", work=work)})
    again = [step.key for step in then.steps if ":again" in step.key]
    assert again == [f"mark:{name}.1:again", *(f"fold:{name}.1:again:{bend}" for bend in bends[:2])]


def test_cut_along_their_outlines_another_is_cut_out_of_new_metal() -> None:
    contour = job(making={"cutting": "contour"})
    first = plan(contour)
    then = plan({**contour, "frozen": lying(first, "C.1", work=["mark", "cut"])})
    assert where(then, "C.2")[0] == 1
    steps = {step.key: step for step in then.steps}
    assert steps["cut:C.1:again"].driver == steps["cut:C"].driver
    assert steps["cut:C"] == next(step for step in first.steps if step.key == "cut:C")


@pytest.mark.parametrize(
    ("spoiled", "told"),
    [
        ("mark", "sheet.frozen[0].placed[0].spoiled: must be"),
        ({"again": []}, "sheet.frozen[0].placed[0].spoiled.by: missing"),
        ({"again": "mark", "by": 2}, "sheet.frozen[0].placed[0].spoiled.again: must be a list"),
        ({"again": [4], "by": 2}, "sheet.frozen[0].placed[0].spoiled.again[0]: must be"),
        ({"again": ["paint"], "by": 2}, 'sheet.frozen[0].placed[0].spoiled.again[0]: must be work such as "mark"'),
        ({"again": ["fold:"], "by": 2}, "sheet.frozen[0].placed[0].spoiled.again[0]: must be work"),
        ({"again": [], "by": 0}, "sheet.frozen[0].placed[0].spoiled.by: must be"),
        ({"again": [], "by": 1}, "sheet.frozen[0].placed[0].spoiled.by: must be the number of another copy"),
    ],
)
def test_what_says_no_work_is_a_fault(one: Plan, spoiled: Any, told: str) -> None:
    frozen = lying(one)
    frozen[0]["placed"][0]["spoiled"] = spoiled
    with pytest.raises(SheetFaults) as faults:
        plan({**job(), "frozen": frozen})
    assert str(faults.value.faults[0]).startswith(told)


def test_a_guests_blank_is_for_its_own_job_to_say(one: Plan) -> None:
    frozen = lying(one)
    frozen[0]["placed"][0] |= {"blank": "14/A", "spoiled": {"again": ["mark"], "by": 2}}
    with pytest.raises(SheetFaults, match="another job's blank"):
        plan({**job(), "frozen": frozen})


# a failing example is shown as it was drawn: to shrink one takes minutes
@settings(max_examples=25, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(fall_trays(3, 6), st.integers(1, 3), st.data())
def test_whatever_is_spoiled_as_many_good_ones_are_made(shape: Any, quantity: int, data: st.DataObject) -> None:
    first = plan(job(shape, quantity=quantity))
    names = [placed.name for used in first.layout.sheets for placed in used.placed]
    spoiled = data.draw(st.lists(st.sampled_from(names), max_size=3, unique=True)) if names else []
    frozen = lying(first, *spoiled, cuts=data.draw(st.integers(1, 30)))
    then = plan({**job(shape, quantity=quantity), "frozen": frozen})
    check_frozen(list(then.sheet.frozen), then)
    lost = {placed.name: placed.outline for used in then.layout.sheets for placed in used.spoiled}
    was = {placed.name: placed.outline for used in first.layout.sheets for placed in used.placed}
    for name in spoiled:
        assert shapely.Polygon(lost[name]).equals_exact(shapely.Polygon(was[name]), 1e-6)  # stored figures are rounded
    assert len(lost) == len(spoiled)
    assert {step.key for step in then.steps if step.key.startswith("mark") and ":again" in step.key} == {
        f"mark:{name}:again" for name in spoiled
    }
