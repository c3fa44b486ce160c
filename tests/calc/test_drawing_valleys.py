"""What the drawings say of valley trays, of sumps, and of what an outlet must keep clear of."""

import math
from typing import Any

import pytest
import shapely

import calc
from calc.drawing import Clear, blank_drawing, plan_view, rim_picture, tray_view
from calc.drawing.parts import vertex_names
from calc.units import Display
from tests.calc.test_drawing import MM, SVG, labels_of, read, texts
from tests.calc.test_drawing_meaning import lines, points_of
from tests.calc.test_drawing_rim_picture import fields
from tests.shapes import DEEP_FIRST, LEVEL_VALLEY, SKEW_RIM, SUMPS, TWISTED, fall_tray, sheet_of

LEG = {"at": [580, 150], "length": 120, "width": 100, "name": "leg"}
FAR = {"at": [20, 300], "length": 90, "width": 60, "name": ""}
RIM = [(float(x), float(y)) for x, y in SKEW_RIM]


def planned(shape: dict[str, Any], **making: Any) -> calc.Plan:
    return calc.plan(sheet_of(shape, stock=[{"length": 3600, "width": 1250}], making=making))


def circle(svg: str, style: str) -> tuple[float, float, float]:
    """The centre and radius of the one circle of a class."""
    (found,) = (item for item in read(svg).iter(f"{SVG}circle") if item.get("class") == style)
    return float(found.get("cx", 0)), float(found.get("cy", 0)), float(found.get("r", 0))


def test_both_ends_of_a_valley_are_dimensioned_as_they_are_taped() -> None:
    # side 1-2 runs from (0, 0) to (884, -6): its unit is (0.999977, -0.006787). (150, 210) is 150 x 0.999977 - 210 x 0.006787
    # = 148.57 along it and 210 x 0.999977 + 150 x 0.006787 = 211.01 square to it; (650, 215) is 648.53 and 219.41; to 0.5 mm
    shown = set(texts(plan_view(planned(TWISTED), MM)))
    assert {"148.5 from corner 1", "211 from side 1–2", "648.5 from corner 1", "219.5 from side 1–2"} <= shown
    assert any(text.startswith("Valley shallow end (typed x 150, y 210): 148.5 along side 1–2") for text in shown)
    assert any(text.startswith("Valley deep end (typed x 650, y 215): 648.5 along side 1–2") for text in shown)


def test_a_valley_falls_as_its_ends_are_deep() -> None:
    # 17 mm over 500.02 mm in plan is 3.4 %, 1 in 29.4; every facet is steeper
    svg = plan_view(planned(TWISTED), MM)
    assert "3.4 %, least" in texts(svg)
    assert "Least fall: 3.4 %, 1 in 29.4, seam E-F" in texts(svg)


@pytest.mark.parametrize(("shape", "deep", "shallow"), [(TWISTED, "57", "40"), (DEEP_FIRST, "63", "45")])
def test_each_end_says_how_deep_it_is(shape: dict[str, Any], deep: str, shallow: str) -> None:
    plan = planned({**shape, "outlet": {"bore": 32}})
    svg = plan_view(plan, MM)
    assert {f"deep end, {deep} deep", f"shallow end, {shallow} deep"} <= set(texts(svg))
    x, y, _ = circle(svg, "thin outlet")
    tips = [(float(tip.get("cx", 0)), float(tip.get("cy", 0))) for tip in read(svg).iter(f"{SVG}circle")]
    assert sum(math.dist(tip, (x, y)) < 0.02 for tip in tips) >= 2  # the outlet itself, and the leader of its depth
    assert {f"{deep} deep", f"{shallow} deep"} <= set(texts(tray_view(plan, MM)))


def test_a_level_valley_says_that_it_is_level() -> None:
    shown = texts(plan_view(planned(LEVEL_VALLEY), MM))
    assert {"0 %, least", "by side 4, 50 deep", "by side 2, 50 deep"} <= set(shown)
    assert any(text.startswith("Least fall: 0 %, level, ") for text in shown)


@pytest.mark.parametrize("finish", [None, {"kind": "lap", "width": 25}, {"kind": "upstand", "height": 30}])
def test_the_folds_of_split_facets_are_drawn_as_bends(finish: dict[str, Any] | None) -> None:
    plan = planned({**TWISTED, "rim_finish": finish} if finish else TWISTED)
    bends = [line.length for line in lines(plan_view(plan, MM), "bend seam")]
    # two facets of this tray are twisted, and with strips there are four bends at the rim
    assert len(bends) == (6 if finish else 2)


def test_the_ends_of_a_valley_are_called_by_their_depth() -> None:
    for shape, names in (
        (TWISTED, ("valley shallow end", "valley deep end")),
        (DEEP_FIRST, ("valley deep end", "valley shallow end")),
        (LEVEL_VALLEY, ("valley by side 4", "valley by side 2")),
    ):
        assert vertex_names(planned(shape))[4:6] == names
    plan = planned({**TWISTED, "rim_finish": {"kind": "lap", "width": 25}})
    for blank in plan.blanks:
        shown = " ".join(texts(blank_drawing(plan, blank, MM)))
        for end in (edge.edge[0] for edge in blank.edges if edge.edge[0] in (4, 5)):
            assert ("valley shallow end", "valley deep end")[end - 4] in shown


@pytest.mark.parametrize("name", SUMPS)
def test_a_sump_is_drawn_with_its_size_and_the_outlet_in_it(name: str) -> None:
    plan = planned({**SUMPS[name], "outlet": {"bore": 32}})
    svg = plan_view(plan, MM)
    depth = f"{plan.sheet.shape.depths[0]:g}"
    assert any(f"sump 90 × 60, {depth} deep" in text for text in texts(svg))
    assert any(text.startswith("Middle of the sump (typed ") for text in texts(svg))
    x, y, radius = circle(svg, "thin outlet")
    seams = list(lines(svg, "weld seam"))
    floor = [face for face in shapely.polygonize(seams).geoms if face.contains(shapely.Point(x, y))]
    # of a rim of four corners the floor's bounds are a little larger than the rectangle's; its least width is its own
    (outline,) = floor
    assert outline.contains(shapely.Point(x, y).buffer(radius))
    assert 2 * outline.exterior.distance(shapely.Point(x, y)) == pytest.approx(60 * radius / 16, abs=0.05)


def test_the_floor_of_a_sump_has_its_outlet_dimensioned_from_its_base() -> None:
    # a floor of 90 by 60 with the outlet in its middle, cut without a gap at the seams
    plan = planned(SUMPS["rectangle"], seam_gap=0)
    (floor,) = (face.name for face in plan.shell.faces if face.role == "sump")
    blank = next(blank for blank in plan.blanks if blank.name == floor)
    svg = blank_drawing(plan, blank, MM)
    shown = texts(svg)
    assert {"90", "60", "45", "30", "outlet ø32 mm"} <= set(shown)
    assert {f"sump corner {number}" for number in (1, 2, 3, 4)} <= {text.rpartition(": ")[2] for text in shown}
    x, y, radius = circle(svg, "thin outlet")
    outline = next(points_of(item) for item in read(svg).iter(f"{SVG}path") if item.get("data-blank"))
    assert math.dist((x, y), outline[0]) == pytest.approx(math.hypot(45, 30) * radius / 16, rel=1e-3)


def kept(**keys: Any) -> dict[str, Any]:
    return fall_tray(SKEW_RIM, [602, 171], 57, outlet={"bore": 32}, keep_clear=[LEG, FAR], **keys)


def test_what_an_outlet_keeps_clear_of_is_hatched_and_named() -> None:
    svg = plan_view(planned(kept()), MM)
    classes = [item.get("class") for item in read(svg).iter(f"{SVG}path")]
    for named in ("warned", "kept"):
        assert classes.count(f"hatch keep-clear {named}") == classes.count(f"thin keep-clear {named}") == 1
    styles = {label.text: label.style for label in labels_of(svg)}
    assert styles["outlet meets leg"] == "figure warn"
    assert styles["keep clear: rectangle 2"] == "figure keep-clear"


def test_the_nearest_free_place_is_marked() -> None:
    svg = plan_view(planned(kept()), MM)
    x, y, radius = circle(svg, "thin outlet")
    free_x, free_y, _ = circle(svg, "thin free-place")
    scale = radius / 16
    (leg,) = (points_of(item) for item in read(svg).iter(f"{SVG}path") if item.get("class") == "thin keep-clear warned")
    assert shapely.Polygon(leg).distance(shapely.Point(free_x, free_y)) >= radius - 0.02
    # the nearest edge of the leg is 171 - 150 = 21 mm below the low point, and the outlet's radius 16 mm farther
    assert 37.0 <= math.dist((x, y), (free_x, free_y)) / scale + 0.1 <= 39.0
    assert any(text.startswith(("free: x 602, y 13", "Nearest free place: x 602, y 13")) for text in texts(svg))


def test_nothing_is_warned_of_where_the_outlet_keeps_clear() -> None:
    svg = plan_view(planned(fall_tray(SKEW_RIM, [402, 171], 57, outlet={"bore": 32}, keep_clear=[LEG])), MM)
    assert "warn" not in svg
    assert "free-place" not in svg
    assert "keep clear: leg" in texts(svg)


@pytest.mark.parametrize("width", [320.0, 480.0])
@pytest.mark.parametrize("display", [Display(), Display("in")])
def test_every_figure_of_a_valley_has_its_field_in_the_picture(width: float, display: Display) -> None:
    svg = rim_picture(RIM, None, display, valley=[(150, 210, 40), (650, 215, 57)], bore=32, width=width)
    shown = fields(svg)
    ends = {f"valley-{end}-{key}" for end in (1, 2) for key in ("x", "y", "depth")}
    assert ends | {"bore"} == {name for name in shown if not name.startswith("corner")}
    assert shown["valley-2-depth"].endswith(display.figure(57.0))
    assert shown["valley-1-x"].endswith(display.figure(150.0))


def test_the_outlet_of_the_picture_is_at_the_deeper_end() -> None:
    spots = {}
    for first, second in ((40, 57), (57, 40), (50, 50)):
        svg = rim_picture(RIM, None, MM, valley=[(150, 210, first), (650, 215, second)], bore=32)
        spots[first, second] = circle(svg, "thin outlet")[0]
    assert spots[40, 57] == spots[50, 50] > spots[57, 40]


def test_a_picture_has_a_sump_its_rectangles_and_the_free_place() -> None:
    clear = [Clear(580, 150, 120, 100, "leg"), Clear(20, 300, 90, None, "half typed"), Clear(20, 300, 90, 60)]
    svg = rim_picture(RIM, (602, 171), MM, depth=57, bore=32, sump=(90, 60), keep_clear=clear, free_place=(602, 133))
    shown = fields(svg)
    assert shown["sump-length"].endswith("90")
    assert shown["sump-width"].endswith("60")
    assert shown["keep-clear-1"] == "outlet meets leg"
    assert shown["keep-clear-3"] == "keep clear: rectangle 3"
    assert "keep-clear-2" not in shown
    assert "free-place" in svg
    floor = next(points_of(item) for item in read(svg).iter(f"{SVG}path") if item.get("class") == "thin sump")
    assert shapely.Polygon(floor).contains(shapely.Point(circle(svg, "thin outlet")[:2]))


@pytest.mark.parametrize("end", [None, (None, 210.0, 40.0), (math.nan, 1.0, 2.0), (1.0, math.inf, None)])
@pytest.mark.parametrize("rim", [RIM, [], RIM[::-1]])
def test_a_valley_half_typed_does_not_upset_the_picture(end: Any, rim: Any) -> None:
    for sump in (None, (None, 5.0), (-1.0, 5.0), (math.inf, 1e300)):
        svg = rim_picture(rim, (600, 200), MM, valley=[end, (650, 215, None)], sump=sump, keep_clear=[Clear()])
        assert "nan" not in svg
        assert "inf" not in svg
        assert "valley-2-depth" in fields(svg)
        svg = rim_picture(rim, (600, 200), MM, sump=sump, keep_clear=[Clear(math.nan, 0, 1, 1)])
        assert "nan" not in svg
