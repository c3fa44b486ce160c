"""What an outlet must keep clear of: told where it doesn't, with the nearest place that does."""

import math
import re
from typing import Any

import pytest
import shapely
import shapely.ops
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from calc import Plan, SheetFaults, plan, read_sheet
from calc.families.free_place import Box, Line, Side, nearest_free
from tests.shapes import FIVE, REFLEX, SUMPS, TWISTED, fall_tray, fall_trays, sheet_of

RIM = [[0, 0], [600, 0], [600, 400], [0, 400]]
LEG = {"at": [250, 150], "length": 80, "width": 60, "name": "front leg"}


def tray(*rectangles: dict[str, Any], **keys: Any) -> dict[str, Any]:
    return {**fall_tray(RIM, [280, 170], 40, outlet={"bore": 32}), "keep_clear": list(rectangles), **keys}


def told(shape: dict[str, Any], **making: Any) -> str:
    """What is said of the outlet; empty where it is clear."""
    return next(
        (each.text for each in plan(sheet_of(shape, making=making)).warnings if each.code == "drain-blocked"), ""
    )


def place_in(text: str) -> list[float]:
    found = re.search(r"is x (-?[\d.]+) mm, y (-?[\d.]+) mm", text)
    assert found, text
    return [float(number) for number in found.groups()]


def test_a_clear_outlet_says_nothing() -> None:
    assert told(tray()) == ""
    assert told(tray({**LEG, "at": [297, 150]})) == ""  # 17 from the low point, bore 32
    assert told(tray(LEG, low_point=[280, 100])) == ""


def test_a_blocked_outlet_names_the_rectangle_and_the_nearest_place() -> None:
    """By hand: 20 up from the leg's lower edge, so 20 + 16 down is clear, and a tenth for touching; sideways it is 30 + 16."""
    assert told(tray(LEG)) == (
        "The outlet comes into or touches front leg, to be kept clear. "
        "The nearest free place inside the rim is x 280 mm, y 133.9 mm."
    )


def test_touching_is_not_clear() -> None:
    assert "rectangle 1" in told(tray({"at": [296, 150], "length": 80, "width": 60}))  # its edge 16 from the low point


def test_without_an_outlet_the_low_point_is_what_must_keep_clear() -> None:
    text = told(tray(LEG, outlet=None))
    assert text.startswith("The low point comes into or touches front leg")
    assert place_in(text) == [280, 149.9]


def test_every_rectangle_that_is_met_is_named() -> None:
    text = told(tray(LEG, {"at": [0, 0], "length": 9, "width": 9}, {"at": [200, 160], "length": 300, "width": 5}))
    assert "touches front leg, rectangle 3, to be kept clear" in text


def test_between_corners_the_nearest_place_lies_where_arcs_cross() -> None:
    """By hand: the way out lies between the corners (283, 173) and (288, 200), 16 from both. Their middle is (285.5, 186.5),
    half of what is between them 13.73, so sqrt(16^2 - 13.73^2) = 8.216 square to it: (293.578, 185.004)."""
    corner = {"at": [250, 150], "length": 33, "width": 23}
    right = {"at": [310, 0], "length": 100, "width": 183}
    above = {"at": [200, 200], "length": 88, "width": 60}
    place = place_in(told(tray(corner, right, above, low_point=[282, 172])))
    assert math.dist(place, (293.578, 185.004)) < 0.2


def test_where_nothing_is_free_that_is_said() -> None:
    text = told(tray({"at": [-10, -10], "length": 700, "width": 500, "name": "cabinet"}))
    assert text.endswith(
        "No place inside the rim is clear of all that is to be kept clear: move a leg, or take a smaller bore."
    )


def test_inches_are_told_in_inches() -> None:
    text = told(tray(LEG), units="in")
    found = re.search(r"is x (.+) in, y (.+) in\.", text)
    assert found, text
    again = tray(LEG, low_point=[f"{found[1]} in", f"{found[2]} in"])
    assert told(again) == ""


def test_a_sump_s_tray_stays_sound_where_it_is_moved() -> None:
    rectangle = SUMPS["rectangle"]
    blocked = {**rectangle, "keep_clear": [{"at": [100, 100], "length": 400, "width": 400}]}
    text = told(blocked)
    assert text.startswith("The outlet comes into or touches rectangle 1")
    x, y = place_in(text)
    assert y == pytest.approx(83.9)  # 100 less half the bore; the sump's 30 and 1 to the rim leave room there
    assert told({**blocked, "low_point": [x, y]}) == ""
    closed = {**rectangle, "keep_clear": [{"at": [-50, 31], "length": 700, "width": 338}]}
    assert "No place inside the rim" in told(closed)  # 31 from the rim at least, for the sump


def test_a_valley_s_deep_end_is_moved_with_the_other_end_where_it_is() -> None:
    blocked = {**TWISTED, "keep_clear": [{"at": [640, 100], "length": 60, "width": 200, "name": "brace"}]}
    text = told(blocked)
    assert text.startswith("The outlet comes into or touches brace")
    x, y = place_in(text)
    assert told({**blocked, "valley": [TWISTED["valley"][0], [x, y, 57]]}) == ""
    bare = told({**blocked, "outlet": None})
    assert bare.startswith("The deep end of the valley comes into or touches brace")


@st.composite
def rectangles(draw: st.DrawFn, shape: dict[str, Any]) -> list[dict[str, Any]]:
    x, y = shape["low_point"]
    return [
        {
            "at": [round(x + draw(st.floats(-150, 100)), 3), round(y + draw(st.floats(-150, 100)), 3)],
            "length": round(draw(st.floats(1, 160)), 3),
            "width": round(draw(st.floats(1, 160)), 3),
        }
        for _ in range(draw(st.integers(1, 5)))
    ]


def free_places(shape: dict[str, Any], radius: float) -> Any:
    """Where the outlet may come, by shapely: in front of every side, inside the rim, off every rectangle. Arcs are chords
    that lie outside the true circle by less than 2 in a thousand of a mm."""
    rim = shapely.Polygon(shape["rim"])
    corners = shape["rim"] if rim.exterior.is_ccw else shape["rim"][::-1]
    free = rim.buffer(-max(1.0, radius), quad_segs=256)
    reach = 1e5
    for (x1, y1), (x2, y2) in zip(corners, corners[1:] + corners[:1], strict=True):
        length = math.dist((x1, y1), (x2, y2))
        ux, uy = (x2 - x1) / length * reach, (y2 - y1) / length * reach
        free &= shapely.Polygon(
            [(x1 - ux, y1 - uy), (x1 + ux, y1 + uy), (x1 + ux - uy, y1 + uy + ux), (x1 - ux - uy, y1 - uy + ux)]
        )
    for each in shape["keep_clear"]:
        x, y = each["at"]
        free -= shapely.box(x, y, x + each["length"], y + each["width"]).buffer(radius, quad_segs=256)
    return free


@settings(max_examples=80)
@given(st.data())
def test_the_place_told_is_free_and_none_is_nearer(data: Any) -> None:
    """Against shapely's polygons; places on the grid that is told (0.1 mm, finer where there is no room) are this much off."""
    shape = data.draw(fall_trays())
    bore = data.draw(st.sampled_from([None, 8.0, 25.0]))
    shape = {**shape, "outlet": bore and {"bore": bore}, "keep_clear": data.draw(rectangles(shape))}
    try:
        read = read_sheet(sheet_of(shape)).shape
    except SheetFaults:
        assume(False)
        raise
    assume(read.drain_meets)
    low = shapely.Point(shape["low_point"])
    free = free_places(shape, (bore or 0.0) / 2)
    place = read.free_place((0.1, 0.01))
    roomy = free.buffer(-0.5)
    if place is None:
        assert roomy.is_empty
        return
    assert read_sheet(sheet_of({**shape, "low_point": list(place)})).shape.drain_meets == ()
    assert free.buffer(0.01).contains(shapely.Point(place))
    nearest = shapely.ops.nearest_points(free, low)[0].distance(low)
    told_to = math.dist(place, shape["low_point"])
    assert told_to >= nearest - 0.01
    if not roomy.is_empty:
        assert told_to <= shapely.ops.nearest_points(roomy, low)[0].distance(low) + 0.01


def test_the_nearest_place_by_hand() -> None:
    """Past the edge of a box and half a mm on to a line; off a point all round."""
    assert nearest_free((0.0, 0.0), [], [1.0]) == (0.0, 0.0)
    bounds = [Box((-9.0, -9.0), (3.0, 4.0), 0.0), Line((3.5, 100.0), (3.5, -100.0), 0.0)]
    place = nearest_free((3.0, 4.0), bounds, [0.01])
    assert place == (3.51, 4.0)
    off = nearest_free((1.0, 1.0), [Side((1.0, 1.0), (1.0, 1.0), 5.0)], [0.1])
    assert off is not None
    assert 5.0 < math.dist(off, (1.0, 1.0)) < 5.15


@pytest.mark.parametrize("shape", [FIVE, REFLEX])
def test_a_sheet_with_rectangles_reads_as_itself(shape: dict[str, Any]) -> None:
    keep_clear = [LEG, {"at": ["2 in", 3], "length": "1 in", "width": 4}]
    found = plan(sheet_of({**shape, "keep_clear": keep_clear}))
    stored = found.as_json()
    assert stored["sheet"]["shape"]["keep_clear"][1] == {"at": [50.8, 3.0], "length": 25.4, "width": 4.0, "name": ""}
    assert Plan.from_json(stored).as_json() == stored
    assert read_sheet(stored["sheet"]) == found.sheet


BAD = [
    ("legs", "sheet.shape.keep_clear: must be a list of rectangles"),
    ([LEG] * 51, "sheet.shape.keep_clear: must hold 0 to 50 rectangles to keep clear of (got 51)"),
    ([LEG, 5], "sheet.shape.keep_clear[1]: must be an object with keys and values (got 5)"),
    ([{"at": [0, 0], "length": 5}], "sheet.shape.keep_clear[0].width: missing"),
    ([{**LEG, "height": 5}], "sheet.shape.keep_clear[0].height: unknown key"),
    ([{**LEG, "at": [0]}], "sheet.shape.keep_clear[0].at: must hold 2 coordinates, [x, y] (got 1)"),
    ([{**LEG, "at": [0, math.inf]}], "sheet.shape.keep_clear[0].at[1]: must be a number in mm"),
    ([{**LEG, "length": 0}], "sheet.shape.keep_clear[0].length: must be more than 0 mm (got 0)"),
    ([{**LEG, "width": -2}], "sheet.shape.keep_clear[0].width: must be more than 0 mm (got -2)"),
    ([{**LEG, "width": 1e12}], "sheet.shape.keep_clear[0].width: must be at most 20000 mm"),
    ([{**LEG, "name": 5}], "sheet.shape.keep_clear[0].name: must be text in quotes (got 5)"),
    ([{**LEG, "name": "x" * 41}], "sheet.shape.keep_clear[0].name: must be at most 40 characters"),
]


@pytest.mark.parametrize(("keep_clear", "says"), BAD)
@pytest.mark.parametrize("shape", [FIVE, TWISTED])
def test_a_fault_names_its_field_in_words(shape: dict[str, Any], keep_clear: Any, says: str) -> None:
    with pytest.raises(SheetFaults) as caught:
        read_sheet(sheet_of({**shape, "keep_clear": keep_clear}))
    found = [str(fault) for fault in caught.value.faults]
    assert any(line.startswith(says) for line in found), found


def test_a_pan_has_nothing_to_keep_clear_of() -> None:
    pan = {"family": "pan", "length": 300, "width": 200, "height": 40}
    assert told(pan) == ""
    with pytest.raises(SheetFaults, match="keep_clear: unknown key"):
        read_sheet(sheet_of({**pan, "keep_clear": []}))
