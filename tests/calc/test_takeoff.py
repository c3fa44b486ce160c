"""Takeoff, steps, cost and warnings, summed by hand."""

import math
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
import shapely

from calc import Plan, plan
from calc.costing import cost_line
from calc.steps import cut_key
from tests.shapes import FLAT, METAL, MIRROR, NAMED, SKEW, fall_tray, ring, sheet_of

RATES = {
    "labour": "50.00",
    "labour_by_kind": {"weld": "60.00"},
    "filler": "30.00",
    "gas": "0.03",
    "outlet_fitting": "9.50",
}
STOCK = [{"label": "Half", "length": 1250, "width": 1000, "price": "41.30"}]


def planned(shape: dict[str, Any] = SKEW, **keys: Any) -> Plan:
    return plan(sheet_of(shape, **keys))


def codes(made: Plan) -> list[str]:
    return [warning.code for warning in made.warnings]


@pytest.mark.parametrize("name", NAMED)
@pytest.mark.parametrize("quantity", [1, 3])
def test_metal_balances(name: str, quantity: int) -> None:
    """Scrap by another route: what shapely leaves of each sheet when blanks and offcuts are taken out of it."""
    made = planned(NAMED[name], quantity=quantity)
    scrap = offcuts = 0.0
    for used in made.layout.sheets:
        kept = [shapely.Polygon(one.outline) for one in used.offcuts]
        blanks = [shapely.Polygon(one.outline) for one in used.placed]
        scrap += (shapely.box(0, 0, used.length, used.width) - shapely.union_all([*kept, *blanks])).area
        offcuts += sum(one.area for one in kept)
    per_area = 1.5 * 2680e-9  # 1.5 mm of 5052, 2680 kg/m3
    assert made.takeoff.scrap_mass == pytest.approx(scrap * per_area, abs=1e-6)
    assert made.takeoff.offcut_mass == pytest.approx(offcuts * per_area, abs=1e-6)
    assert made.takeoff.sheet_mass == pytest.approx(len(made.layout.sheets) * 2440 * 1220 * per_area)


def test_metal_balances_where_some_blanks_find_no_sheet() -> None:
    made = planned(stock=[{"length": 700, "width": 300, "count": 1}])
    assert made.layout.unplaced
    assert "unplaced" in codes(made)
    laid = [placed for used in made.layout.sheets for placed in used.placed]
    held = math.fsum(shapely.Polygon(placed.outline).area for placed in laid) * 1.5 * 2680e-9
    assert made.takeoff.sheet_mass - made.takeoff.offcut_mass - made.takeoff.scrap_mass == pytest.approx(held)


def test_weld_lengths_by_pythagoras() -> None:
    """600 x 400, low point 210 along in the middle, 40 deep, 32 outlet: two seams to each end, the rim, the fitting."""
    made = planned({**MIRROR, "outlet": {"bore": 32}}, quantity=2).takeoff
    seams = 2 * math.sqrt(210**2 + 200**2 + 40**2) + 2 * math.sqrt(390**2 + 200**2 + 40**2)
    assert made.seam_length == pytest.approx(2 * seams)
    assert made.rim_weld_length == pytest.approx(2 * 2000)
    assert made.outlet_weld_length == pytest.approx(2 * math.pi * 32)
    assert made.weld_length == pytest.approx(made.seam_length + made.rim_weld_length + made.outlet_weld_length)


def test_edges_to_dress_are_the_blanks_own() -> None:
    made = planned()
    edges = math.fsum(shapely.Polygon(blank.cut_outline).length for blank in made.blanks)
    assert made.takeoff.edge_length == pytest.approx(edges)


def test_filler_is_the_metal_of_the_joints() -> None:
    """A flat tray's rim weld is a fillet of leg t: leg^2/2 x length x density (welding handbooks), over 0.85 for stubs."""
    made = planned(fall_tray([[0, 0], [500, 0], [500, 400], [0, 400]], [250, 200], 0.01), making={"seam_gap": 0})
    rim_only = 1.5**2 / 2 * 1800 * 2640e-9 / 0.85  # ER5356, 2640 kg/m3
    seams = made.takeoff.seam_length
    cap = 2 / 3 * (0.3 * 1.5) * (3 * 1.5) * seams * 2640e-9 / 0.85
    assert made.takeoff.filler_mass == pytest.approx(rim_only + cap, rel=1e-3)


def test_filler_of_a_square_butt_that_opens() -> None:
    """One seam by hand: t^2 tan(g/2) for the opening, the gap, the cap, times its length; the rest are the same four."""
    square = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 60)
    made = planned(square, making={"seam_gap": 1})
    groove = made.shell.joints[0].groove
    assert groove is not None
    section = 1.5**2 * math.tan(math.radians(groove) / 2) + 1 * 1.5 + 2 / 3 * (0.3 * 1.5) * (3 * 1.5 + 1)
    seam = math.hypot(200, 200, 60)
    rim = 1.5**2 / 2 * 1600
    assert made.takeoff.filler_mass == pytest.approx((4 * seam * section + rim) * 2640e-9 / 0.85)


def test_minutes_by_hand() -> None:
    """Common-practice standards: a seam 2 + 7 a metre at 400 mm/min, marking 2 + 1.5 a corner, a tack 1.5 + 0.75."""
    made = planned()
    joint = made.shell.joints[0]
    minutes = {step.key: step.minutes for step in made.steps}
    assert minutes[f"weld:{joint.name}"] == pytest.approx(2 + 7 * joint.length / 1000)
    assert minutes["mark:A"] == pytest.approx(2 + 1.5 * 3)
    tacks = math.ceil(joint.length / 40) + 1
    assert minutes[f"tack:{joint.name}"] == pytest.approx(1.5 + 0.75 * tacks)
    thick = planned(material={**METAL, "thickness": 3.2})  # the table travels at 300 mm/min there
    slower = {step.key: step.minutes for step in thick.steps}
    seam = thick.shell.joints[0]
    assert slower[f"weld:{seam.name}"] == pytest.approx(2 + 7 * seam.length / 1000 * 400 / 300)


def test_argon_by_hand() -> None:
    """1.5 mm aluminium: 400 mm/min at up to 7 L/min (welding handbooks, the 1.6 mm row), while the arc burns, and round every
    run and tack half a second before and a second for each 10 A after (common practice): 70 A x 1.5/1.6."""
    made = planned()
    assert made.welding is not None
    starts = sum(len(weld.runs) + len(weld.tacks) for weld in made.welding.welds)
    litres = (made.takeoff.weld_length / 400 + starts * (0.5 + 70 * 1.5 / 1.6 / 10) / 60) * 7
    (line,) = [line for line in made.cost.lines if line.what == "Argon"]
    assert float(line.quantity) == pytest.approx(litres, abs=0.5)


def test_a_ridge_is_bevelled() -> None:
    """Plates that fall away from a ridge overlap on the dry side by t tan(half of what the dihedral exceeds 180) each."""
    made = planned(NAMED["reflex"])
    (ridge,) = [joint for joint in made.shell.joints if joint.dihedral > 180]
    bevel = 1.5 * math.tan(math.radians(ridge.dihedral - 180) / 2)
    dress = {step.key: step.text for step in made.steps if step.kind == "dress"}
    assert f"C where it meets D, {bevel:.2f}".rstrip("0") in dress["dress:C"]
    assert "bevel" in dress["dress:D"]
    assert "bevel" not in dress["dress:A"]
    assert "ridge-bevel" in codes(made)


def test_the_aperture_clears_the_dry_side() -> None:
    """45 degrees, 3 mm: 3 sin 45 = 2.12, said as 2.2 so that it clears."""
    square = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 200)
    made = planned(square, material={**METAL, "thickness": 3})
    assert "side 1 2.2 mm" in next(step.text for step in made.steps if step.key == "aperture:rim")


def test_steps_come_in_the_trades_order() -> None:
    kinds = [step.kind for step in planned().steps]
    first = [kind for i, kind in enumerate(kinds) if kinds.index(kind) == i]
    assert first == [
        "measure", "mark", "cut", "dress", "clean", "fit", "check", "weld", "planish", "outlet", "test", "aperture",
        "install", "finish",
    ]  # fmt: skip


@pytest.mark.parametrize("name", [*NAMED, *FLAT])
def test_a_step_key_names_one_thing(name: str) -> None:
    made = planned((NAMED | FLAT)[name], quantity=3)
    keys = [step.key for step in made.steps]
    assert len(set(keys)) == len(keys)
    assert not [key for key in keys if "#" in key]  # none had to be told apart by a number
    assert all(step.minutes > 0 and math.isfinite(step.minutes) for step in made.steps)
    cuts = [cut for used in made.layout.sheets for cut in used.cuts]
    assert len([step for step in made.steps if step.kind == "cut"]) == len(cuts)
    assert all(cut_key(cut).startswith("cut:") for cut in cuts)


def test_keys_stay_when_the_depth_changes() -> None:
    """What is not cut anew keeps its key: blanks, seams, the rim, the outlet."""
    before, after = planned(), planned({**SKEW, "depth": 50})
    lasting = {step.key for step in before.steps if step.kind != "cut"}
    assert lasting == {step.key for step in after.steps if step.kind != "cut"}


def test_every_seam_is_cleaned_tacked_welded_and_planished() -> None:
    made = planned(NAMED["five"])
    for joint in made.shell.joints:
        for verb in ("tack", "weld", "planish"):
            assert f"{verb}:{joint.name}" in [step.key for step in made.steps]


def test_seams_next_in_turn_do_not_touch() -> None:
    """Eight seams: never two running that share a facet."""
    order = [step.key for step in planned(ring(8)).steps if step.kind == "weld"]
    assert len(order) == len(set(order)) == 8
    letters = [set(key.split(":")[1].split("-")) for key in order]
    assert all(not (one & other) for one, other in pairwise(letters))


def test_a_tray_without_an_outlet_has_no_outlet_step() -> None:
    assert "outlet" not in [step.kind for step in planned(NAMED["reflex"]).steps]


def test_quantity_is_in_drivers_and_words() -> None:
    one, three = planned().steps, planned(quantity=3).steps
    weld_one, weld_three = ([step for step in steps if step.kind == "weld"] for steps in (one, three))
    assert [step.driver for step in weld_three] == pytest.approx([3 * step.driver for step in weld_one])
    assert all("On each of the 3." in step.text for step in weld_three)


def test_cost_is_the_sum_of_its_lines() -> None:
    made = planned(rates=RATES, stock=STOCK, quantity=2)
    total = Decimal(0)
    for line in made.cost.lines:
        exact = Decimal(line.quantity) * Decimal(line.rate)
        assert abs(Decimal(line.amount) - exact) <= Decimal("0.005")
        total += Decimal(line.amount)
    assert Decimal(made.cost.total) == total
    by_name = {line.what: line for line in made.cost.lines}
    sheets = by_name["Sheet Half, 1250 x 1000 x 1.5 mm 5052-H32"]
    assert (sheets.quantity, sheets.amount) == ("1", "41.30")
    assert by_name["Outlet fitting"].amount == "19.00"
    assert by_name["Labour: weld"].rate == "60.00"
    assert by_name["Labour: cut"].rate == "50.00"
    hours = sum(step.minutes for step in made.steps if step.kind == "weld") / 60
    assert float(by_name["Labour: weld"].quantity) == pytest.approx(hours, abs=0.005)
    assert not {"usual-rates", "usual-prices", "no-price"} & set(codes(made))


def test_money_rounds_half_up() -> None:
    assert cost_line("supplies", "x", Decimal("0.5"), "h", "0.01").amount == "0.01"
    assert cost_line("supplies", "x", Decimal("0.333"), "kg", "0.10").amount == "0.03"


def test_warnings_tell_what_matters() -> None:
    shallow = planned({**SKEW, "depth": 3})
    assert "fall-low" in codes(shallow)
    assert "fall-low" not in codes(planned())
    assert {"no-price", "usual-rates", "usual-prices"} <= set(codes(planned()))
    assert {"usual-rates", "usual-prices"} <= set(codes(planned(rates={"currency": "USD"})))
    assert "usual-rates" not in codes(planned(rates={"labour": "55.00"}))
    assert "no-price" not in codes(planned(stock=STOCK))
    assert "groove-open" in codes(planned({**SKEW, "depth": 200}))
    assert "acute-tip" in codes(planned(fall_tray([[0, 0], [2000, 0], [2000, 120], [0, 120]], [1000, 60], 12)))
    heavy = planned(
        fall_tray([[0, 0], [2300, 0], [2300, 1100], [0, 1100]], [900, 600], 80), material={**METAL, "thickness": 6}
    )
    assert {"heavy", "weld-guess"} <= set(codes(heavy))
    assert "two people or a hoist" in next(step.text for step in heavy.steps if step.key == "weld:rim")


def test_lengths_to_prove_are_counted() -> None:
    """Four corners: 4 sides, 2 diagonals, the depth: 7; on the machine the low point from two sides besides: 9."""
    drivers = {step.key: step.driver for step in planned().steps}
    assert (drivers["measure:rim"], drivers["check:tacked"], drivers["check:as-built"]) == (9, 7, 7)
    three = {step.key: step.driver for step in planned(NAMED["triangle"]).steps}
    assert (three["measure:rim"], three["check:as-built"]) == (6, 4)


def test_a_tape_that_disagrees_is_told_with_what_was_used() -> None:
    rim = {"sides": [742, 389.5, 743.5, 371], "diagonals": [834, 840]}
    made = planned(fall_tray(rim, [512, 148], 46))
    (text,) = [warning.text for warning in made.warnings if warning.code == "tape-disagrees"]
    assert "tape all six again" in text
    assert "(taped 742 mm)" in text


def test_inch_shops_read_inches() -> None:
    made = planned(making={"units": "in"})
    bore = next(step.text for step in made.steps if step.key == "outlet:bore")
    assert "0.02 in apart" in next(step.text for step in made.steps if step.kind == "fit")
    assert (
        "Bore the outlet 1.575 in" in bore
    )  # 40 / 25.4; at 1/32 it would be 1 9/16, and a 40 mm spigot would not enter
    half_inch = planned({**SKEW, "outlet": {"bore": "1 1/4 in"}}, making={"units": "in"}).steps
    assert "Bore the outlet 1 1/4 in" in next(step.text for step in half_inch if step.key == "outlet:bore")


def test_a_sheet_is_named_in_the_shops_unit() -> None:
    stock = [{"length": "96 in", "width": "48 in"}]
    names = [line.what for line in planned(making={"units": "in"}, stock=stock).cost.lines]
    assert "Sheet S1, 96 x 48 in x 1.5 mm 5052-H32" in names


def test_contour_has_no_cuts_and_a_cut_step_a_blank() -> None:
    made = planned(making={"cutting": "contour"})
    assert all(used.cuts == () for used in made.layout.sheets)
    assert [step.key for step in made.steps if step.kind == "cut"] == [f"cut:{blank.name}" for blank in made.blanks]
