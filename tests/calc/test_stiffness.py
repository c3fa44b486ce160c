"""How stiff a thing is: loads, edges, verdicts and cures. The plates themselves are held to the tables in tests/reference."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from calc import Plan, plan, read_sheet
from calc.advice import Advice
from calc.advice.stiffness import of_stiffness
from calc.duty import Duty
from calc.joins import join
from calc.papers.stiffness_lines import basis_words, stiffness_lines, verdict_words
from calc.shell import WET_FLOORS, face_area
from calc.stiffness import FILLED, LEANED_ON, FacetStiffness, Stiffness, stiffness_of
from calc.stiffness.facets import load_facet, load_panel
from calc.stiffness.loads import GRAVITY, lay_down, loads_on
from calc.stiffness.published import long_way
from calc.stiffness.ribs import ribbed
from calc.tables.alloys import ALLOYS
from calc.tables.gauges import USUAL_THICKNESSES
from calc.tables.strength import FACTOR, HELD, STRENGTHS
from calc.units import Display
from tests.reference.plates import navier
from tests.shapes import COVER, MIRROR, NAMED, SKEW, SUMPS, VALLEYS, fall_trays, flat_parts, pan, part, ring, sheet_of

WITH_SUMP = {f"{name} with sump": shape for name, shape in SUMPS.items()}
CATALOGUE = {**NAMED, **VALLEYS, **WITH_SUMP, "ring": ring(8), "pan": pan(400, 300, 60, inside_radius=2)}
LEANED = {"point_load": 20, "sag": 100}  # more leans on it, and less sag is borne, than where nobody says anything
STEEL = {"alloy": "DC01", "thickness": 1.5}


def stiffness(shape: dict[str, Any], thickness: float = 1.5, **keys: Any) -> Stiffness:
    material = {"alloy": "5052-H32", "thickness": thickness, **keys.pop("material", {})}
    duty = LEANED | keys.pop("duty", {})
    sheet = read_sheet({**sheet_of(shape, **keys), "material": material, "duty": duty})
    found = stiffness_of(join(sheet.shape.shell(sheet.material.thickness), sheet), sheet)
    assert found is not None
    return found


def facet(found: Stiffness, name: str) -> FacetStiffness:
    return next(each for each in found.facets if each.face == name)


def advice(shape: dict[str, Any], **keys: Any) -> dict[str, Advice]:
    return {each.code: each for each in plan(sheet_of(shape, duty=LEANED | keys.pop("duty", {}), **keys)).warnings}


def test_every_metal_has_its_strength() -> None:
    assert STRENGTHS.keys() == ALLOYS.keys()
    assert all(0 < row.welded <= row.proof for row in STRENGTHS.values())


@pytest.mark.parametrize("name", ["skew", "five with sump", "twisted", "rectangle with sump", "pan"])
def test_coolant_weighs_what_the_tray_holds(name: str) -> None:
    """What coolant does square to each face, taken straight down and added up, is the weight of what is in the tray."""
    sheet = read_sheet(sheet_of(CATALOGUE[name]))
    shell = sheet.shape.shell(1.5)
    total = 0.0
    for face in (face for face in shell.faces if face.role in WET_FLOORS):
        panel = lay_down(shell, face)
        filled, leaned = loads_on(panel, sheet.duty, sheet.material.properties, 1.5, shell.brim)
        outline = np.array(panel.outline)
        fan = np.stack([np.broadcast_to(outline[0], outline[1:-1].shape), outline[1:-1], outline[2:]], axis=1)
        for corners in fan:
            middle = (filled.pressure - leaned.pressure) @ (1.0, *corners.mean(axis=0))
            area = abs(np.linalg.det(corners[1:] - corners[0])) / 2
            total += middle * area * panel.tilt
    held = plan(sheet_of(CATALOGUE[name])).drainage
    assert held is not None
    assert total == pytest.approx(held.litres * sheet.duty.coolant_density * GRAVITY, rel=1e-5)


def test_a_level_floor_by_hand() -> None:
    """A pan's floor, 396 x 297 between the folds, in 1.5 mm steel: Timoshenko's series for 396 / 297 = 4 / 3 (0.00661, of a
    load at the middle about 0.0145), D = 210000 x 1.5^3 / (12 x 0.91)."""
    found = facet(stiffness(pan(399, 300, 61.5, inside_radius=2), material=STEEL), "A")
    bending = 210e3 * 1.5**3 / (12 * 0.91)
    each = {bearing.load: bearing for bearing in found.bearings}
    weight = 7850e-9 * 1.5 * GRAVITY
    chips = 20e-6 * GRAVITY
    coolant = 60e-6 * GRAVITY  # 60 mm of water
    filled = 0.00661 * (weight + chips + coolant) * 297**4 / bending
    assert each[FILLED].sag == pytest.approx(filled, rel=0.01)
    leaned = 0.00661 * (weight + chips) * 297**4 / bending + 0.0145 * 20 * GRAVITY * 297**2 / bending
    assert each[LEANED_ON].sag == pytest.approx(leaned, rel=0.06)  # on a patch it sags a little less than under a point
    assert found.sag_borne == pytest.approx(2.97)
    assert found.round_it == pytest.approx((297.0, 396.0))
    assert each[LEANED_ON].where == "in the middle"
    assert each[LEANED_ON].allowed == pytest.approx(140 / FACTOR)


@pytest.mark.parametrize("shape", CATALOGUE.values(), ids=CATALOGUE)
def test_no_facet_sags_more_than_the_published_plate_round_it(shape: dict[str, Any]) -> None:
    for each in stiffness(shape).facets:
        for bearing in each.bearings:
            if each.has_free_edge and 2 * each.round_it[1] < each.round_it[0]:  # a low wall, which no table has
                assert bearing.published_sag is bearing.published_stress is None
                continue
            assert bearing.published_sag is not None
            assert 0 <= bearing.sag <= 1.01 * bearing.published_sag
            assert bearing.published_stress is not None
            assert bearing.published_stress >= 0


@settings(max_examples=10, deadline=None)
@given(fall_trays())
def test_nor_of_any_tray(shape: dict[str, Any]) -> None:
    for each in stiffness(shape).facets:
        for bearing in each.bearings:
            assert math.isfinite(bearing.stress)
            assert bearing.published_sag is not None  # every edge of a tray is held
            assert bearing.sag <= 1.02 * bearing.published_sag


@pytest.mark.parametrize("name", ["skew", "reflex", "twisted", "rectangle with sump", "pan"])
def test_the_sheet_that_would_do_does(name: str) -> None:
    found = stiffness(CATALOGUE[name])
    assert not found.is_enough
    assert found.needed in USUAL_THICKNESSES
    assert stiffness(CATALOGUE[name], found.needed).is_enough
    thinner = max(each for each in USUAL_THICKNESSES if each < found.needed)
    assert not stiffness(CATALOGUE[name], thinner).is_enough


def test_sag_goes_with_the_cube_of_the_thickness_and_stress_with_its_square() -> None:
    duty = {"chips": 0, "coolant_density": 1.0, "point_load": 20}
    thin, thick = (stiffness(MIRROR, thickness, duty=duty) for thickness in (1.0, 2.0))
    for one, other in zip(thin.facets, thick.facets, strict=True):
        under = [next(each for each in found.bearings if each.load == LEANED_ON) for found in (one, other)]
        # the sheet's own weight is next to nothing beside a hand
        assert under[0].sag / under[1].sag == pytest.approx(8, rel=0.01)
        assert under[0].stress / under[1].stress == pytest.approx(4, rel=0.01)


def test_a_return_holds_the_tops() -> None:
    free, held = (stiffness(pan(400, 300, 60, inside_radius=2, **keys)) for keys in ({}, {"return_width": 20}))
    for name in "BCDE":
        assert facet(free, name).has_free_edge
        assert not facet(held, name).has_free_edge
        assert facet(held, name).sags_most.sag < facet(free, name).sags_most.sag / 5
    assert [each.face for each in held.facets] == ["A", "B", "C", "D", "E"]  # a return bears nothing


def test_how_edges_end_sets_what_is_allowed() -> None:
    """1050A is a quarter as strong beside a weld as it is rolled: of a tray its seams govern, of a pan's floor its folds."""
    soft = {"alloy": "1050A-H14", "thickness": 1.5}
    tray, tub = stiffness(SKEW, material=soft), stiffness(pan(400, 300, 60, inside_radius=2), material=soft)
    welded, folded = facet(tray, "A").stressed_most, facet(tub, "A").stressed_most
    assert (welded.where, welded.allowed) == ("beside a weld", pytest.approx(HELD * 20 / FACTOR))
    assert folded.allowed in (pytest.approx(85 / FACTOR), pytest.approx(HELD * 85 / FACTOR))


def test_turned_and_mirrored_trays_are_as_stiff() -> None:
    own = stiffness(SKEW).facets
    turned = {**SKEW, "rim": [[-y, x] for x, y in SKEW["rim"]], "low_point": [-148, 512]}
    mirrored = {**SKEW, "rim": [[-x, y] for x, y in SKEW["rim"]], "low_point": [-512, 148]}
    for other in (turned, mirrored):
        shares = sorted(each.share for each in stiffness(other).facets)
        assert shares == pytest.approx(sorted(each.share for each in own), rel=0.005)


def test_a_rib_makes_two_plates_of_one() -> None:
    """A pan's floor, 396 x 297 under 800 kg/m2 in 1.5 mm steel, returns on its walls: with a rib two plates of 396 x 148.5,
    each as the series has it (Timoshenko, art. 30; there nu 0.3), of half the span and so of half the sag that is borne."""
    duty = {"chips": 800, "point_load": 0, "coolant_density": 0.5}
    shape = pan(399, 300, 11.5, inside_radius=2, return_width=20)
    floor = facet(stiffness(shape, material=STEEL, duty=duty), "A")
    bending = 210e3 * 1.5**3 / (12 * 0.91)
    load = (800 + 7850e-3 * 1.5 + 0.5 * 10) * GRAVITY * 1e-6
    sag, across, along = navier(396 / 148.5, 0.3)
    sags = sag * load * 148.5**4 / bending / (148.5 / LEANED["sag"])
    assert floor.rib is not None
    bent = 6 / 1.5**2 * math.sqrt(across**2 - across * along + along**2) * load * 148.5**2 / (140 / FACTOR)
    held = 6 / 1.5**2 * math.sqrt(1 - 0.3 + 0.09) / 12 * load * 148.5**2 / (HELD * 140 / FACTOR)  # a long clamped plate
    assert floor.rib == pytest.approx(max(sags, bent, held), rel=0.01)


@pytest.mark.parametrize("name", ["skew", "triangle"])
def test_a_rib_leaves_the_halves_that_it_cuts(name: str) -> None:
    """Both halves as shapely cuts them along the rib, each solved as a panel of its own."""
    sheet = read_sheet({**sheet_of(CATALOGUE[name]), "duty": {"chips": 300, "sag": 100}})
    shell = sheet.shape.shell(1.5)
    for face in (face for face in shell.faces if face.role in WET_FLOORS):
        whole = load_facet(shell, face, sheet)
        x, y = long_way(whole.panel.outline)
        far = np.array([x, y]) * 5000
        rib = shapely.LineString([whole.plate.centre - far, whole.plate.centre + far])
        halves = shapely.ops.split(shapely.Polygon(whole.panel.outline), rib).geoms
        assert len(halves) == 2
        shares = []
        for half in halves:
            outline = tuple(shapely.geometry.polygon.orient(half).exterior.coords)[:-1]
            piece = replace(whole.panel, outline=outline)
            edges = ("weld",) * len(outline)
            shares.append(load_panel(face, whole.metal, whole.duty, piece, edges, whole.brim).share(1.5))
        ours = [half.share(1.5) for half in ribbed(whole)]
        assert sorted(ours) == pytest.approx(sorted(shares), rel=0.02)


def test_corners_that_run_inward_are_bridged() -> None:
    sheet = read_sheet(sheet_of(flat_parts(part("cover", COVER))))
    shell = sheet.shape.shell(1.5)
    panel = lay_down(shell, shell.faces[0])
    assert len(panel.outline) == 4
    assert panel.edges.count(None) == 1  # the slot's mouth
    assert stiffness_of(shell, sheet) is None  # nothing lies on loose parts
    assert face_area(shell.corners(shell.faces[0])) < 360 * 240


def test_what_is_asked_of_it_counts() -> None:
    usual = stiffness(MIRROR)
    eased = stiffness(MIRROR, duty={"point_load": 0, "chips": 0})
    for one, other in zip(usual.facets, eased.facets, strict=True):
        assert other.share < one.share
    assert eased.is_enough
    assert stiffness(MIRROR, duty={"sag": 20, "point_load": 10}).is_enough
    assert (Duty().point_load, Duty().sag) == (10, 60)
    assert stiffness(MIRROR, duty={"sag": 60, "point_load": 10}).is_enough


def test_warnings_tell_what_would_cure_it() -> None:
    found = advice(MIRROR)
    assert found["gives"].text == (
        "With 20 kg on a patch 50 mm across, facet B may stay bent: 124 N/mm² in the middle, where 120 is allowed. 2 mm sheet "
        "would do."
    )
    assert "A, D too, less" in found["sags"].text
    assert "rib" not in found["sags"].text  # a hand leans on a half too, of which less sag is borne
    heavy = advice(MIRROR, duty={"chips": 600, "point_load": 0})
    assert "Filled to the brim, chips in it" in heavy["sags"].text
    cures = "2 mm sheet would do, or a stiff rib along the middle of B, or no chips left lying."
    assert heavy["sags"].text.endswith(cures)
    brimful = {"chips": 100, "point_load": 0, "coolant_density": 2.0, "sag": 2000}  # of coolant alone it would sag too
    assert "chips left" not in advice(MIRROR, duty=brimful)["sags"].text
    assert not {"gives", "sags"} & advice(SUMPS["triangle"]).keys()
    hopeless = advice(pan(2000, 1000, 80, inside_radius=2), duty={"point_load": 1000})
    assert "No usual sheet would do" in hopeless["gives"].text
    inches = advice(MIRROR, making={"units": "in"})
    assert " in, where " in inches["sags"].text
    assert "0.081 in sheet would do" in inches["sags"].text  # 12 gauge, Brown & Sharpe


def test_a_plan_keeps_it_and_one_of_before_is_read() -> None:
    planned = plan(sheet_of(MIRROR))
    stored = planned.as_json()
    assert Plan.from_json(stored).as_json() == stored
    del stored["stiffness"]
    assert Plan.from_json(stored).stiffness is None


def test_lines_for_page_and_paper() -> None:
    planned = plan(sheet_of(ring(8), duty=LEANED))
    assert planned.stiffness is not None
    every, worst = (stiffness_lines(planned.stiffness, Display(), most) for most in (None, 6))
    assert [len(every), len(worst)] == [8, 6]
    assert "facets bear too little" in verdict_words(planned.stiffness, Display())
    assert any("in truth sags less" in text for text in basis_words(planned, planned.stiffness))
    just = replace(planned.stiffness, facets=(replace(planned.stiffness.facets[0], share=1.004),))
    assert "just at what is borne" in verdict_words(just, Display())  # not at 1.0 times, which would be borne
    enough = stiffness(MIRROR, 3.0)
    assert verdict_words(enough, Display()).startswith("Stiff enough in 3 mm: ")
    assert {line.needs for line in stiffness_lines(enough, Display())} == {"enough"}


@pytest.mark.parametrize(("over", "is_enough"), [(0.99, True), (1.01, True), (1.03, False)])
def test_what_is_over_by_less_than_the_estimate_is_true_to_is_just_at_what_is_borne(
    over: float, is_enough: bool
) -> None:
    """Sag does not follow what is borne of it, so a share is the sag over the span times the figure that is asked for."""
    light = {"point_load": 5, "chips": 0}
    at_100 = stiffness(MIRROR, duty={**light, "sag": 100})
    worst = max(at_100.facets, key=lambda each: each.share)
    asked = {**light, "sag": 100 * over / worst.share}
    found = stiffness(MIRROR, duty=asked)
    assert max(each.share for each in found.facets) == pytest.approx(over)
    assert found.is_enough is is_enough
    told = verdict_words(found, Display())
    needs = [line.needs for line in stiffness_lines(found, Display()) if line.face == worst.face]
    if over == 1.01:
        assert told == f"Stiff enough in 1.5 mm: {worst.face} comes nearest, just at what is borne."
        assert (found.needed, needs) == (1.5, ["just enough"])
    else:
        assert f"at {over * 100:.0f} % of what is borne" in told
    assert ("sags" in advice(MIRROR, duty=asked)) is not is_enough


def test_a_warning_never_has_the_same_figure_twice() -> None:
    sheet = read_sheet(sheet_of(MIRROR))
    whole = stiffness(MIRROR)
    soft = max(whole.facets, key=lambda each: each.share)
    sagging = [replace(one, sag=0.73, stress=0.0) for one in soft.bearings]  # 0.73 / 0.70 = 1.043; both read 0.7
    by_little = replace(soft, sag_borne=0.7, bearings=tuple(sagging), share=0.73 / 0.7)
    (told,) = of_stiffness(sheet, replace(whole, facets=(by_little,)))
    assert f"facet {soft.face} sags 0.7 mm, 4 % more than is borne." in told.text
    (told,) = of_stiffness(sheet, replace(whole, facets=(replace(by_little, sag_borne=0.6),)))
    assert f"facet {soft.face} sags 0.7 mm, where 0.6 mm is borne." in told.text
