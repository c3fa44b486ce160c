"""Sheets that were cut into: what is left of them is laid out anew, and what is cut or still good stays."""

import copy
import json
from collections import Counter
from itertools import combinations
from typing import Any

import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc import Plan, SheetFaults, plan
from calc.advice import edges_left
from calc.laid import SheetLayout
from calc.layout.job import is_copy_of
from calc.steps import cut_keys
from tests.calc.replay import check_offcuts, replay
from tests.shapes import SKEW, fall_tray, fall_trays, sheet_of

KERF = 2.0
NEAR = 1e-4  # mm
GRID = 1e-6
STOCK = [{"label": "S1", "length": 2440, "width": 1220, "price": "118.00"}]
MOVED = fall_tray([[0, 0], [742, 9], [725, 410], [-12, 371]], [512, 148], 46, outlet={"bore": 40})  # B and C change
DEEPER = {**SKEW, "depth": 56}


def cut_into(made: Plan, *ticked: int | set[int] | None) -> list[dict[str, Any]]:
    """Sheets of a plan as the next one is handed them: of each so many of its first cuts made, or these; None leaves it out."""
    sheets = []
    for used, cuts in zip(copy.deepcopy(made.as_json()["layout"]["sheets"]), ticked, strict=False):
        if cuts is not None:
            for number, cut in enumerate(used["cuts"]):
                cut["made"] = number < cuts if isinstance(cuts, int) else number in cuts
            sheets.append(used)
    return sheets


def after(frozen: list[dict[str, Any]], shape: dict[str, Any], **keys: Any) -> Plan:
    return plan({**sheet_of(shape, stock=STOCK, **keys), "frozen": frozen})


def pieces_in_hand(used: SheetLayout) -> list[shapely.Polygon]:
    """What lies on the bench: the cuts that were made, and those they hang on, replayed with shapely."""
    tree: list[tuple[shapely.Polygon, int | None]] = [
        (shapely.Polygon(used.metal), None)
    ]  # each with the cut it came of
    above: dict[int, int | None] = {}
    of_cut: dict[int, list[shapely.Polygon]] = {}
    wholes: dict[int, shapely.Polygon] = {}
    for number, cut in enumerate(used.cuts):
        middle = shapely.Point((cut.start[0] + cut.end[0]) / 2, (cut.start[1] + cut.end[1]) / 2)
        (place,) = [i for i, (piece, _) in enumerate(tree) if piece.contains(middle)]
        piece, came_of = tree.pop(place)
        kerf = shapely.LineString([cut.start, cut.end]).buffer(KERF / 2, cap_style="square")
        halves = [
            half for half in shapely.get_parts(shapely.difference(piece, kerf, grid_size=GRID)) if half.area > 1e-3
        ]
        above[number], of_cut[number], wholes[number] = came_of, halves, piece
        tree += [(half, number) for half in halves]
    stands = set()
    for number, cut in enumerate(used.cuts):
        place = number if cut.made else None
        while place is not None:
            stands.add(place)
            place = above[place]
    leaves = [] if stands else [shapely.Polygon(used.metal)]
    for number in stands:
        for half in of_cut[number]:
            if not any(wholes[other].equals(half) for other in stands):
                leaves.append(half)
    return leaves


def check_frozen(before: list[SheetLayout], then: Plan) -> None:
    """What must hold of the frozen sheets of any plan."""
    making = then.sheet.making
    wanted = {blank.name: blank.count * then.sheet.quantity for blank in then.blanks}
    outlines = {blank.name: blank.cut_outline for blank in then.blanks}
    named = [placed.name for used in then.layout.sheets for placed in used.placed]
    assert len(set(named)) == len(named)
    counted = Counter(placed.blank for used in then.layout.sheets for placed in used.fitting)
    counted.update(name.rpartition(".")[0] for name in then.layout.unplaced)
    assert counted == Counter({name: count for name, count in wanted.items() if count})
    keys = cut_keys(then.layout)
    flat = [key for of_sheet in keys for key in of_sheet]
    assert len(set(flat)) == len(flat)
    assert len({step.key for step in then.steps}) == len(then.steps)
    for was, used in zip(before, then.layout.sheets, strict=False):
        old = {placed.name: placed for placed in was.placed}
        in_hand = [piece.buffer(NEAR) for piece in pieces_in_hand(was)]
        hulls = {placed.name: shapely.Polygon(placed.outline).convex_hull for placed in used.placed}
        for placed in used.placed:
            if placed.name in old:
                assert placed.outline == old[placed.name].outline
                continue
            assert placed.fits
            assert is_copy_of(placed, outlines[placed.blank])
            assert sum(piece.covers(hulls[placed.name]) for piece in in_hand) == 1
        for one, other in combinations(hulls.values(), 2):
            assert one.distance(other) > KERF - 1e-3
        pieces = replay(used, outlines, KERF)
        check_offcuts(used, pieces, KERF, making.least_offcut)
        assert edges_left(used) == []
        made = [cut for cut in used.cuts if cut.made]
        assert [(cut.start, cut.end) for cut in made] == [(cut.start, cut.end) for cut in was.cuts if cut.made]
    for was, used, had, has in zip(before, then.layout.sheets, _keys(before), keys, strict=False):
        key_at = {(cut.start, cut.end): key for cut, key in zip(was.cuts, had, strict=True)}
        for cut, key in zip(used.cuts, has, strict=True):
            assert key_at.get((cut.start, cut.end), key) == key


def _keys(sheets: list[SheetLayout]) -> Any:
    from calc.laid import Layout

    return cut_keys(Layout(tuple(sheets), (), 0.0))


@st.composite
def jobs(draw: st.DrawFn) -> Any:
    shape = draw(fall_trays(3, 6))
    quantity = draw(st.integers(1, 3))
    change = draw(st.sampled_from(["depth", "more", "fewer", "corner"]))
    return shape, quantity, change


@settings(max_examples=40, deadline=None)
@given(jobs(), st.data())
def test_new_blanks_lie_on_pieces_in_hand_and_what_is_good_stays(job: Any, data: st.DataObject) -> None:
    shape, quantity, change = job
    try:
        first = plan(sheet_of(shape, stock=STOCK, quantity=quantity))
        if "hand-trim" in [warning.code for warning in first.warnings]:
            assume(False)
        if data.draw(st.booleans()):
            ticked: list[Any] = [data.draw(st.integers(1, len(used.cuts))) for used in first.layout.sheets if used.cuts]
        else:  # in an order of the person's own, some ticks forgotten
            ticked = [
                data.draw(st.sets(st.integers(0, len(used.cuts) - 1), min_size=1))
                for used in first.layout.sheets
                if used.cuts
            ]
        assume(len(ticked) == len(first.layout.sheets))
        frozen = cut_into(first, *ticked)
        second_shape, more = shape, quantity
        if change == "depth":
            second_shape = {**shape, "depth": shape["depth"] * 0.9}
        elif change == "corner":
            (x, y), *rest = shape["rim"]
            low = shape["low_point"]
            second_shape = {**shape, "rim": [[x + (x - low[0]) * 0.02, y + (y - low[1]) * 0.02], *rest]}
        else:
            more = quantity + 1 if change == "more" else max(1, quantity - 1)
        then = after(frozen, second_shape, quantity=more)
    except SheetFaults:
        assume(False)
        raise
    assume("hand-trim" not in [warning.code for warning in then.warnings])
    check_frozen(list(then.sheet.frozen), then)
    again = plan({**sheet_of(second_shape, stock=STOCK, quantity=more), "frozen": as_they_lie(then)})
    assert json.dumps(again.as_json()["layout"]) == json.dumps(then.as_json()["layout"])


def as_they_lie(made: Plan) -> list[dict[str, Any]]:
    """Every sheet of a plan, its cuts made as the plan says."""
    return copy.deepcopy(made.as_json()["layout"]["sheets"])
