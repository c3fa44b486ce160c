"""Two jobs on one sheet: a host's sheets hold a guest's blanks, and each takes its share of the metal."""

import json
import math
import re
from decimal import Decimal
from typing import Any

import pytest
import shapely
from hypothesis import assume, given, settings

from calc import Plan, SheetFaults, plan, read_sheet
from calc.blank import patterns
from calc.drawing import sheet_drawing
from calc.laid import Placed
from calc.layout import Item
from calc.layout.job import items_of
from calc.outlines import is_alike
from calc.papers.cut_lines import cut_lines
from calc.papers.lines import key_figures, lying_lines
from calc.records import as_json
from calc.sharing import Share, shares_of
from tests.calc.replay import check_layout
from tests.shapes import FIVE, METAL, MIRROR, REFLEX, SKEW, fall_trays, sheet_of

STOCK = [{"label": "S1", "length": 2500, "width": 1250, "price": "96.35"}]
DENSITY = 2680.0  # [kg/m3] 5052, handbooks


def guest_of(made: Plan, job: str) -> dict[str, Any]:
    """A job's blanks as a host's sheet holds them."""
    parts = [
        {
            "name": blank.name,
            "outline": as_json(blank.cut_outline),
            "count": blank.count * made.sheet.quantity,
            "by_hand": [start for start, _ in blank.hand_cuts],
        }
        for blank in made.blanks
    ]
    return {"job": job, "parts": parts}


def elsewhere_of(guest: Plan, host: Plan) -> list[dict[str, Any]]:
    """Where the guest's copies lie on the host's sheets, and what it takes of each."""
    return [
        {
            "job": "12",
            "sheet": share.sheet,
            "area": share.area,
            "price": share.price,
            "copies": [
                {
                    "blank": blank.name,
                    "copies": [one.copy for one in copies],
                    "outline": as_json(blank.cut_outline),
                    "turned_over": [one.copy for one in copies if one.turned_over],
                }
                for blank in guest.blanks
                if (copies := _copies(host, share, blank.name))
            ],
        }
        for share in shares_of(host.sheet, host.layout)
    ]


def _copies(host: Plan, share: Share, blank: str) -> list[Placed]:
    placed = host.layout.sheets[share.sheet - 1].placed
    return [one for one in placed if one.blank == f"{share.job}/{blank}"]


def together(one: dict[str, Any], other: dict[str, Any]) -> tuple[Plan, Plan]:
    """Host and guest, job 14, of two sheets."""
    guest = plan(other)
    host = plan({**read_sheet(one).as_json(), "guests": [guest_of(guest, "14")]})
    return host, plan({**guest.sheet.as_json(), "elsewhere": elsewhere_of(guest, host)})


def pair() -> tuple[Plan, Plan]:
    return together(sheet_of(SKEW, stock=STOCK), sheet_of(REFLEX, stock=STOCK, quantity=2))


def check_comes_free(host: Plan) -> None:
    making, material = host.sheet.making, host.sheet.material
    check_layout(
        host.layout,
        items_of(host.blanks, host.sheet),
        host.sheet.stock,
        kerf=making.kerf,
        edge_trim=making.edge_trim,
        may_turn_over=not material.finished_face,
        grain=material.grain,
        least_offcut=making.least_offcut,
    )


def check_shares(host: Plan, guest: Plan) -> None:
    """Mass, area and money of the two are those of the whole sheets; each one's metal is in blanks, offcuts or scrap."""
    whole = math.fsum(used.area for used in host.layout.sheets)
    assert host.takeoff.sheet_area + guest.takeoff.sheet_area == pytest.approx(whole, abs=1e-3)
    mass = whole * host.sheet.material.thickness * DENSITY * 1e-9
    assert host.takeoff.sheet_mass + guest.takeoff.sheet_mass == pytest.approx(mass, abs=5e-4)
    for made in (host, guest):
        off = made.takeoff
        assert off.net_mass + off.offcut_mass + off.scrap_mass == pytest.approx(off.sheet_mass, abs=1e-9)
        assert off.scrap_mass > 0
    paid = [Decimal(line.amount) for made in (host, guest) for line in made.cost.lines if line.kind == "metal"]
    prices = {size.label: Decimal(size.price) for size in host.sheet.stock}
    assert sum(paid) == sum(prices[used.stock] for used in host.layout.sheets)


def test_the_blanks_of_both_come_free_on_the_host() -> None:
    host, guest = pair()
    check_comes_free(host)
    assert not host.layout.unplaced
    assert guest.layout.sheets == ()
    names = {placed.name for used in host.layout.sheets for placed in used.placed if "/" in placed.blank}
    assert names == {f"14/{name}" for entry in guest.sheet.elsewhere for name in entry.names}
    assert len(names) == 2 * len(guest.blanks)


@settings(max_examples=12)
@given(fall_trays(most=6), fall_trays(most=6))
def test_any_two_share_what_they_lie_on(one: dict[str, Any], other: dict[str, Any]) -> None:
    try:
        host, guest = together(sheet_of(one, stock=STOCK), sheet_of(other, stock=STOCK))
    except SheetFaults:
        assume(False)
    assume(not host.layout.unplaced)
    check_shares(host, guest)
    check_comes_free(host)


def test_a_share_goes_by_the_area_of_the_blanks() -> None:
    """Area and price of the sheet, offcuts aside, in the proportion of the blanks, which are measured here anew."""
    host, _ = pair()
    (share,) = shares_of(host.sheet, host.layout)
    (used,) = host.layout.sheets
    own = sum(shapely.Polygon(placed.outline).area for placed in used.placed if placed.blank.startswith("14/"))
    every = sum(shapely.Polygon(placed.outline).area for placed in used.placed)
    kept = sum(shapely.Polygon(piece.outline).area for piece in used.offcuts)
    assert kept
    assert share.area == pytest.approx((2500 * 1250 - kept) * own / every, abs=1e-3)
    assert float(share.price) == pytest.approx(96.35 * share.area / (2500 * 1250), abs=0.005)


def test_a_sheet_of_the_guest_alone_leaves_the_host_its_offcuts() -> None:
    """So small a host that a second sheet is the guest's only: the host keeps what is left of it, and no more."""
    host, guest = together(
        sheet_of(MIRROR, stock=[{"label": "S1", "length": 640, "width": 450, "price": "20.00"}]),
        sheet_of(MIRROR, stock=[{"label": "S1", "length": 640, "width": 450, "price": "20.00"}], quantity=3),
    )
    check_shares(host, guest)
    shared = [(share, host.layout.sheets[share.sheet - 1]) for share in shares_of(host.sheet, host.layout)]
    last, used = next(pair for pair in shared if all("/" in placed.blank for placed in pair[1].placed))
    kept = sum(shapely.Polygon(piece.outline).area for piece in used.offcuts)
    assert last.area == pytest.approx(used.area - kept, abs=1e-3)


def test_the_stored_sheets_alone_make_both_plans_again() -> None:
    for made in pair():
        stored = json.loads(json.dumps(made.as_json()))
        assert json.dumps(plan(stored["sheet"]).as_json()) == json.dumps(stored)


def test_the_same_pair_is_laid_out_the_same() -> None:
    assert [made.as_json() for made in pair()] == [made.as_json() for made in pair()]


def test_the_host_saws_and_the_guest_is_told_where() -> None:
    host, guest = pair()
    assert not [step for step in guest.steps if step.kind == "cut"]
    assert guest.takeoff.cut_length == 0
    told = [step.text for step in guest.steps if step.kind == "mark"]
    assert told
    assert all("on job 12, sheet 1" in text for text in told)
    assert any("frees 14/" in step.text or "14/A" in step.text for step in host.steps if step.kind == "cut")
    assert not any("14/" in step.text for step in host.steps if step.kind != "cut")


@pytest.mark.parametrize("shape", [REFLEX, MIRROR])
def test_the_guest_is_told_which_of_its_copies_lie_mirrored_on_the_hosts_sheet(shape: dict[str, Any]) -> None:
    """Against what lies there: an outline that no moving and turning brings onto the drawing is its mirror image."""
    host, guest = together(sheet_of(SKEW, stock=STOCK), sheet_of(shape, stock=STOCK, quantity=2))
    blanks = {blank.name: blank for blank in guest.blanks}
    lies = {
        placed.name.removeprefix("14/"): not is_alike(
            placed.outline, blanks[blanks[placed.blank[3:]].same_as or placed.blank[3:]].cut_outline
        )
        for used in host.layout.sheets
        for placed in used.placed
        if placed.blank.startswith("14/")
    }
    marked = " ".join(step.text for step in guest.steps if step.kind == "mark")
    papers = " ".join(
        f"{line}." for blank, alike in patterns(guest.blanks) for line in lying_lines(guest, blank, alike)
    )
    found = r"((?:[A-Z]\.\d+(?:, )?)+) lies? (?:turned over|wet face up) on job 12, sheet 1: mark (?:it|them) out (\w+)"
    for text in (marked, papers):
        told = {copy: way for copies, way in re.findall(found, text) for copy in copies.split(", ")}
        assert told
        assert {copy for copy, way in told.items() if way == "mirrored"} == {
            copy for copy, is_so in lies.items() if is_so
        }
        assert all(not lies[copy] for copy, way in told.items() if way == "as")


def test_copies_of_an_earlier_shape_are_not_told_how_they_lie() -> None:
    _, guest = pair()
    other = plan({**guest.sheet.as_json(), "shape": sheet_of(FIVE)["shape"]})
    assert not any("job 12" in line for blank in other.blanks for line in lying_lines(other, blank, ()))


def test_what_lies_elsewhere_and_serves_no_more_is_told_and_counted_nowhere() -> None:
    """Another shape; and one set less, of which the copies are spare."""
    _, guest = pair()
    every = ", ".join(guest.sheet.elsewhere[0].names)
    other = plan({**guest.sheet.as_json(), "shape": sheet_of(FIVE)["shape"]})
    told = {warning.code: warning.text for warning in other.warnings}
    assert told["old-shapes"] == (
        f"On job 12, sheet 1: {every} are of an earlier shape, not for this tray. The share of that metal stays charged."
    )
    assert "spare-copies" not in told
    assert "Laid out on" not in dict(key_figures(other, other.sheet.making.display))
    fewer = plan({**guest.sheet.as_json(), "quantity": 1})
    told = {warning.code: warning.text for warning in fewer.warnings}
    assert "old-shapes" not in told
    assert all(f"{blank.name}.2" in told["spare-copies"] for blank in fewer.blanks)
    count = len(fewer.blanks)
    assert (
        dict(key_figures(fewer, fewer.sheet.making.display))["Laid out on"]
        == f"job 12, sheet 1 ({count} of this job's blanks)"
    )
    assert not {"old-shapes", "spare-copies"} & {warning.code for warning in guest.warnings}


def test_a_sheet_of_an_earlier_day_does_not_say_how_copies_lie() -> None:
    _, guest = pair()
    stored = guest.sheet.as_json()
    for of in stored["elsewhere"][0]["copies"]:
        del of["turned_over"]
    assert all(of.turned_over == () for of in read_sheet(stored).elsewhere[0].copies)
    assert plan(stored).layout == guest.layout


def test_what_no_straight_cut_reaches_is_the_guests_own_work() -> None:
    """The corner of the reflex tray that runs inward: cut by hand under its own job, as if it lay there."""
    host, guest = pair()
    alone = plan(sheet_of(REFLEX, stock=STOCK, quantity=2))
    assert guest.takeoff.hand_cut_length == pytest.approx(alone.takeoff.hand_cut_length)
    by_hand = [[step.text for step in made.steps if step.kind == "hand-cut"] for made in (guest, alone)]
    assert by_hand[0] == by_hand[1]
    assert not any("14/" in warning.text for warning in host.warnings if warning.code == "hand-trim")


def test_the_cost_names_the_other_job() -> None:
    host, guest = pair()
    (share,) = shares_of(host.sheet, host.layout)
    (given_up,) = [line for line in host.cost.lines if line.unit == "share"]
    assert (given_up.amount, "job 14" in given_up.what) == (f"-{share.price}", True)
    (taken,) = [line for line in guest.cost.lines if line.unit == "share"]
    assert (taken.amount, "job 12, sheet 1" in taken.what) == (share.price, True)


def test_the_drawing_names_the_guests_blanks_with_their_job() -> None:
    host, _ = pair()
    drawn = sheet_drawing(host, 0, host.sheet.making.display)
    assert "14/A.1" in drawn
    assert "Thin outline: blanks of job 14" in drawn
    assert "Thin outline" not in sheet_drawing(plan(sheet_of(SKEW)), 0, host.sheet.making.display)


def test_the_cut_list_tells_a_guests_edges_by_their_copy() -> None:
    """Its corners are numbered on its own job's papers."""
    host, _ = pair()
    told = [line.finishes for line in cut_lines(host, 0, host.sheet.making.display)]
    assert any("14/" in finishes for finishes in told)
    assert not any(part.startswith("14/") and " " in part for finishes in told for part in finishes.split(", "))


def test_a_sheet_cut_into_keeps_the_guest_and_its_share() -> None:
    """The host has grown: the guest's copies stay on the sheet that was cut into, at the share that was settled."""
    host, _ = pair()
    (share,) = shares_of(host.sheet, host.layout)
    frozen = as_json(host.layout.sheets)
    frozen[0]["cuts"][0]["made"] = True
    charged = [{"sheet": 1, "area": share.area, "price": share.price}]
    guests = [{**as_json(guest), "charged": charged} for guest in host.sheet.guests]
    grown = plan({**host.sheet.as_json(), "quantity": 2, "frozen": frozen, "guests": guests})
    assert shares_of(grown.sheet, grown.layout) == (share,)
    before = {placed.name for placed in host.layout.sheets[0].placed}
    assert before <= {placed.name for placed in grown.layout.sheets[0].fitting}
    whole = math.fsum(used.area for used in grown.layout.sheets)
    assert grown.takeoff.sheet_area == pytest.approx(whole - share.area, abs=1e-3)


def test_a_guest_keeps_what_is_alike_and_lays_out_the_rest() -> None:
    """One set more is wanted, and another tray: what lies elsewhere serves where it is still the blank."""
    _, guest = pair()
    more = plan({**guest.sheet.as_json(), "quantity": 3})
    here = {placed.name for used in more.layout.sheets for placed in used.placed}
    assert here == {f"{blank.name}.3" for blank in more.blanks}
    other = plan({**guest.sheet.as_json(), "shape": sheet_of(FIVE)["shape"]})
    assert len([placed for used in other.layout.sheets for placed in used.placed]) == 2 * len(other.blanks)
    assert not any("job 12" in step.text for step in other.steps)


def test_fewer_sets_count_no_more_copies_elsewhere_than_are_wanted() -> None:
    _, guest = pair()
    fewer = plan({**guest.sheet.as_json(), "quantity": 1})
    assert fewer.layout.sheets == ()
    assert items_of(fewer.blanks, fewer.sheet) == [Item(blank.name, blank.cut_outline, 0) for blank in fewer.blanks]


SQUARE = [[0, 0], [100, 0], [100, 100], [0, 100]]
PART = {"name": "A", "outline": SQUARE, "count": 1}
LIES = {"job": "12", "sheet": 1, "area": 10.0, "price": "1.00"}
COPIES = {"blank": "A", "copies": [1], "outline": SQUARE}


@pytest.mark.parametrize(
    ("keys", "path", "words"),
    [
        ({"guests": 3}, "sheet.guests", "a list of guests"),
        ({"guests": [{"job": "14"}]}, "sheet.guests[0].parts", "missing"),
        ({"guests": [{"job": "1 4", "parts": [PART]}]}, "sheet.guests[0].job", "the number of the guest's job"),
        ({"guests": [{"job": "14", "parts": [PART]}] * 2}, "sheet.guests[1].job", "an earlier guest"),
        ({"guests": [{"job": "14", "parts": [PART, PART]}]}, "sheet.guests[0].parts[1].name", "an earlier blank"),
        ({"guests": [{"job": "14", "parts": [{**PART, "name": "A/B"}]}]}, "sheet.guests[0].parts[0].name", "name"),
        ({"guests": [{"job": "14", "parts": [{**PART, "count": 0}]}]}, "sheet.guests[0].parts[0].count", "from 1"),
        (
            {"guests": [{"job": "14", "parts": [{**PART, "outline": SQUARE[::-1]}]}]},
            "sheet.guests[0].parts[0].outline",
            "anticlockwise",
        ),
        ({"elsewhere": [{"job": "12"}]}, "sheet.elsewhere[0].sheet", "missing"),
        ({"elsewhere": [{**LIES, "copies": []}]}, "sheet.elsewhere[0].copies", "must hold"),
        ({"elsewhere": [{**LIES, "copies": [COPIES], "price": 1}]}, "sheet.elsewhere[0].price", "amount in quotes"),
        (
            {"elsewhere": [{**LIES, "copies": [{**COPIES, "turned_over": [2]}]}]},
            "sheet.elsewhere[0].copies[0].turned_over",
            "of the copies that lie there",
        ),
        ({"elsewhere": [{**LIES, "copies": [COPIES]}] * 2}, "sheet.elsewhere[1].copies", "A.1 lies elsewhere already"),
        (
            {"guests": [{"job": "14", "parts": [PART]}], "making": {"cutting": "contour"}},
            "sheet.making.cutting",
            "straight-saw",
        ),
    ],
)
def test_what_can_not_be_read_says_where(keys: dict[str, Any], path: str, words: str) -> None:
    with pytest.raises(SheetFaults) as faults:
        read_sheet(sheet_of(SKEW, **keys))
    assert any(fault.path == path and words in fault.text for fault in faults.value.faults), faults.value.faults


def test_metal_is_the_density_of_its_table() -> None:
    assert read_sheet(sheet_of(SKEW)).material.mass(1e6) == pytest.approx(METAL["thickness"] * DENSITY * 1e-3)
