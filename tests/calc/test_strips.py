"""Laps and upstands on a rim: where they lie, what they do not drain or hold, what is refused, which are alike."""

import math
import re
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc import SheetFaults, plan, read_sheet
from calc.drainage import drain
from calc.families.strips import offset_outward
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.unfold import unfold
from tests.shapes import MIRROR, NAMED, fall_tray, fall_trays, finished_trays, sheet_of

LAP = {"kind": "lap", "width": 25, "inside_radius": 2}
UPSTAND = {"kind": "upstand", "height": 30, "inside_radius": 2}
# A bay 60 wide at its mouth, 120 deep, in the back of a tray.
NOTCHED = fall_tray([[0, 0], [900, 0], [900, 500], [480, 500], [450, 380], [420, 500], [0, 500]], [450, 200], 50)


def made(shape: dict[str, Any], **keys: Any) -> tuple[JobSheet, Shell]:
    sheet = read_sheet(sheet_of(shape, **keys))
    return sheet, sheet.shape.shell(sheet.material.thickness)


def fault_of(shape: dict[str, Any], **keys: Any) -> str | None:
    try:
        sheet, shell = made(shape, **keys)
        unfold(shell, sheet)
    except SheetFaults as faults:
        return str(faults)
    return None


# --- where they lie


@given(finished_trays())
def test_a_strip_lies_level_outside_the_rim_or_stands_on_it(shape: dict[str, Any]) -> None:
    try:
        sheet, shell = made(shape)
    except SheetFaults:
        assume(False)
        raise
    finish, count = shape["rim_finish"], len(shape["rim"])
    rim = shapely.Polygon(shape["rim"])
    points = shell.points
    for face in shell.faces:
        if face.role != "strip":
            continue
        after, start, outer_start, outer_after = (points[index] for index in face.loop)
        if finish["kind"] == "upstand":
            assert outer_start - start == pytest.approx([0, 0, finish["height"]])
            assert outer_after - after == pytest.approx([0, 0, finish["height"]])
            continue
        side = (after - start)[:2] / np.linalg.norm((after - start)[:2])
        out = np.array([side[1], -side[0]])
        assert not rim.contains(shapely.Point((start[:2] + after[:2]) / 2 + out))
        for corner in (outer_start, outer_after):
            assert corner[2] == 0
            assert (corner - start)[:2] @ out == pytest.approx(finish["width"])
    assert len(shell.faces) == 2 * count
    assert sheet.shape.seat == finish["kind"]


@given(finished_trays())
def test_laps_cover_the_ring_round_the_rim_once(shape: dict[str, Any]) -> None:
    """shapely: the rim moved out by the width with mitred corners, less the rim, is as large as the laps together."""
    assume(shape["rim_finish"]["kind"] == "lap")
    try:
        _, shell = made(shape)
    except SheetFaults:
        assume(False)
        raise
    strips = [shapely.Polygon(shell.corners(face)[:, :2]) for face in shell.faces if face.role == "strip"]
    rim = shapely.Polygon(shape["rim"])
    ring = rim.buffer(shape["rim_finish"]["width"], join_style="mitre", mitre_limit=1e6).difference(rim)
    assert math.fsum(strip.area for strip in strips) == pytest.approx(ring.area, rel=1e-6)
    assert shapely.union_all(strips).area == pytest.approx(ring.area, rel=1e-6)


def test_a_rim_moved_outward_by_hand() -> None:
    moved = offset_outward(((0, 0), (300, 0), (300, 200), (0, 200)), 25)
    assert np.array(moved) == pytest.approx(np.array([[-25, -25], [325, -25], [325, 225], [-25, 225]]))


@pytest.mark.parametrize(("finish", "turn"), [(LAP, -1), (UPSTAND, 1)])
def test_which_way_a_strip_is_folded(finish: dict[str, Any], turn: int) -> None:
    """Trigonometry: a facet of the square tray slopes atan(40/200); a lap opens by that, an upstand closes by 90 less that."""
    shape = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 40, rim_finish=finish)
    slope = math.degrees(math.atan2(40, 200))
    wanted = -slope if turn < 0 else 90 - slope
    assert [joint.bend for joint in made(shape)[1].folds] == pytest.approx([wanted] * 4)


# --- draining and holding


@given(fall_trays(), st.integers(10, 40))
def test_strips_take_no_part_in_draining(shape: dict[str, Any], height: int) -> None:
    bare = drain(made(shape)[1])
    rimmed = drain(made({**shape, "rim_finish": {**UPSTAND, "height": height}})[1])
    assert (rimmed.falls, rimmed.seams) == (bare.falls, bare.seams)
    assert (rimmed.least_fall, rimmed.least_fall_at) == (bare.least_fall, bare.least_fall_at)


@given(fall_trays(), st.integers(10, 40))
def test_an_upstand_holds_to_its_top(shape: dict[str, Any], height: int) -> None:
    """Plain arithmetic: a third of rim area x depth, and the rim area x height of the upstand over it."""
    rim = shapely.Polygon(shape["rim"]).area
    held = drain(made({**shape, "rim_finish": {**UPSTAND, "height": height}})[1]).litres
    assert held == pytest.approx(rim * (shape["depth"] / 3 + height) * 1e-6, rel=1e-9)


def test_a_lap_holds_no_more() -> None:
    lapped = drain(made({**NAMED["reflex"], "rim_finish": LAP})[1]).litres
    assert lapped == pytest.approx(drain(made(NAMED["reflex"])[1]).litres, rel=1e-12)


def test_a_plan_with_each_finish() -> None:
    for finish in (LAP, UPSTAND):
        planned = plan(sheet_of({**NAMED["skew"], "rim_finish": finish}))
        assert [blank.faces for blank in planned.blanks] == [(name, f"{name}r") for name in "ABCD"]
        assert [blank.name for blank in planned.blanks] == list("ABCD")
        assert planned.takeoff.fold_count == 4
        assert "level" not in [warning.code for warning in planned.warnings]


# --- what is refused


MOST = re.compile(r"^sheet\.shape\.rim_finish\.width: must be at most ([\d.]+) mm, or laps run into each other")
NARROWER = re.compile(r"^sheet\.shape\.rim_finish\.width: leaves face \w+ no flat .*: must be at most ([\d.]+) mm")
LEAST = re.compile(r"^sheet\.shape\.rim_finish\.(\w+): .*must be at least ([\d.]+) mm")


def test_laps_that_run_into_each_other_in_a_bay() -> None:
    text = fault_of({**NOTCHED, "rim_finish": {**LAP, "width": 400}})
    assert text is not None
    told = MOST.match(text)
    assert told is not None
    assert MOST.match(str(fault_of({**NOTCHED, "rim_finish": {**LAP, "width": float(told[1]) + 0.2}})))
    # as wide as that, laps run to nothing in the bay once bends and gaps are off them, and a little less is told
    narrower = NARROWER.match(str(fault_of({**NOTCHED, "rim_finish": {**LAP, "width": float(told[1])}})))
    assert narrower is not None
    widest = float(narrower[1])
    assert 30 < widest < float(told[1])
    assert fault_of({**NOTCHED, "rim_finish": {**LAP, "width": widest}}) is None
    assert fault_of({**NOTCHED, "rim_finish": {**LAP, "width": widest + 0.2}}) is not None


@pytest.mark.parametrize(("mouth", "depth"), [(40, 120), (60, 120), (90, 120), (60, 60)])
def test_the_widest_lap_in_a_bay_by_hand(mouth: float, depth: float) -> None:
    """Trigonometry, h half the angle of the bay: a lap in it loses width / tan h at the bottom, where it meets its neighbour
    on the bay's middle line, and gains width x tan((90 - h) / 2) at the mouth, where the rim turns by 90 - h. It is used up
    where that is as long as the bay's side."""
    rim = [[0, 0], [900, 0], [900, 500], [450 + mouth / 2, 500], [450, 500 - depth], [450 - mouth / 2, 500], [0, 500]]
    half = math.atan2(mouth / 2, depth)
    widest = math.hypot(mouth / 2, depth) / (1 / math.tan(half) - math.tan(math.pi / 4 - half / 2))
    told = MOST.match(str(fault_of({**fall_tray(rim, [450, 200], 50), "rim_finish": {**LAP, "width": 800}})))
    assert told is not None
    assert float(told[1]) == pytest.approx(math.floor(widest * 10) / 10)


@settings(max_examples=25)
@given(fall_trays(3, 6), st.sampled_from((("lap", "width"), ("upstand", "height"))), st.floats(4.0, 12.0))
def test_the_least_strip_that_is_told_does(shape: dict[str, Any], kind: tuple[str, str], radius: float) -> None:
    name, key = kind
    finish = {"kind": name, key: 0.5, "inside_radius": radius}
    told = LEAST.match(str(fault_of({**shape, "rim_finish": finish})))
    assume(told is not None)
    assert told is not None
    assert told[1] == key
    again = fault_of({**shape, "rim_finish": {**finish, key: float(told[2])}})
    # a bay may then have no room for it, or reliefs of a sharp corner take too much of it, which are other faults
    assert not LEAST.match(str(again))


def test_the_least_upstand_by_hand() -> None:
    """Square tray 400, 40 deep: an upstand is a valley of 90 - atan(40/200); its flat is the height less R tan(bend / 2) and
    must be as wide as the metal is thick. R 12: 12 tan(39.345) + 1.5 = 11.34, to the next tenth 11.4."""
    shape = fall_tray([[0, 0], [400, 0], [400, 400], [0, 400]], [200, 200], 40)
    bend = math.pi / 2 - math.atan2(40, 200)
    least = math.ceil((12 * math.tan(bend / 2) + 1.5) * 10) / 10
    text = fault_of({**shape, "rim_finish": {"kind": "upstand", "height": 5, "inside_radius": 12}})
    assert f"must be at least {least:g} mm" in str(text)


@pytest.mark.parametrize(
    ("finish", "text"),
    [
        ({"kind": "lip"}, "sheet.shape.rim_finish.kind: "),
        ({"kind": "lap"}, "sheet.shape.rim_finish.width: "),
        ({"kind": "lap", "height": 20, "width": 20}, "sheet.shape.rim_finish.height: "),
        ({"kind": "upstand", "height": 0}, "sheet.shape.rim_finish.height: "),
        ({"kind": "lap", "width": 20, "inside_radius": -1}, "sheet.shape.rim_finish.inside_radius: "),
        ({"kind": "bare", "width": 20}, "sheet.shape.rim_finish.width: "),
        ("lap", "sheet.shape.rim_finish: "),
    ],
)
def test_finishes_that_are_no_finishes(finish: Any, text: str) -> None:
    found = fault_of({**NAMED["skew"], "rim_finish": finish})
    assert found is not None
    assert any(line.startswith(text) for line in found.splitlines()), found


# --- alike


@pytest.mark.parametrize("finish", [LAP, UPSTAND])
def test_blanks_that_mirror_each_other_are_alike_with_their_folds(finish: dict[str, Any]) -> None:
    """The low point lies half-way up, so that C is A in a mirror, fold and all."""
    sheet, shell = made({**MIRROR, "rim_finish": finish})
    blanks = unfold(shell, sheet)
    assert [(blank.same_as, blank.mirrored) for blank in blanks] == [
        (None, False),
        (None, False),
        ("A", True),
        (None, False),
    ]
    assert blanks[0].folds[0].angle == pytest.approx(blanks[2].folds[0].angle)


def test_a_finished_face_keeps_folded_mirrors_apart() -> None:
    metal = {"alloy": "304", "thickness": 1.5, "finished_face": True}
    sheet = read_sheet({**sheet_of({**MIRROR, "rim_finish": LAP}), "material": metal})
    blanks = unfold(sheet.shape.shell(1.5), sheet)
    assert [blank.same_as for blank in blanks] == [None] * 4
