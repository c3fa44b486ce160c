"""Links over cuts and seams: room for a thumb that is never another one's, what is done hatched, nothing on paper."""

import re
from itertools import combinations
from xml.etree import ElementTree as ET

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

import calc
from calc.drawing import Touch, sheet_drawing, weld_map
from calc.drawing.svg import Drawing
from calc.drawing.touch import ROOM, Touched, lay_touches
from calc.steps import cut_keys
from calc.units import Display
from tests import shapes

SVG = "{http://www.w3.org/2000/svg}"
POINTS = st.tuples(st.integers(0, 300), st.integers(0, 300))


@pytest.fixture(scope="module")
def plan() -> calc.Plan:
    return calc.plan(shapes.sheet_of(shapes.SKEW))


def touch(key: str, *, done: bool = False) -> Touch:
    return Touch(key, f"/there/{key}/", f"Cut {key}", done)


def drawn(touched: list[Touched]) -> ET.Element:
    drawing = Drawing()
    lay_touches(drawing, touched, 10.0)
    return ET.fromstring(drawing.svg("Some cuts", 300, 300, "sheet-drawing"))  # noqa: S314 - our own


def links(svg: ET.Element) -> list[ET.Element]:
    return [link for link in svg.iter(f"{SVG}a") if "touch-line" not in link.get("class", "")]


def room(link: ET.Element) -> shapely.Polygon:
    (path,) = (path for path in link.iter(f"{SVG}path") if "hit" in path.get("class", ""))
    return shapely.Polygon(
        [tuple(map(float, pair)) for pair in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))]
    )


@given(st.lists(POINTS, min_size=1, max_size=12, unique=True))
@settings(max_examples=60)
def test_each_number_has_its_own_room(middles: list[tuple[int, int]]) -> None:
    """By Shapely: rooms hold their numbers, never overlap, and are 42 units square where no other number is near."""
    touched = [Touched(touch(str(n)), (middle,), ()) for n, middle in enumerate(middles)]
    rooms = [room(link) for link in links(drawn(touched))]
    for middle, own in zip(middles, rooms, strict=True):
        assert own.buffer(0.02).contains(shapely.Point(middle))
        if all(abs(middle[0] - x) >= ROOM or abs(middle[1] - y) >= ROOM for x, y in middles if (x, y) != middle):
            assert own.area == pytest.approx(ROOM**2)
    for one, other in combinations(rooms, 2):
        assert one.intersection(other).area < 0.5  # what two decimals of a path leave


def test_a_link_is_named_and_done_is_hatched_and_ticked() -> None:
    line = ((40.0, 40.0), (200.0, 40.0))
    undone, done = links(
        drawn([Touched(touch(str(n), done=n == 1), ((120.0, 40.0 + 90 * n),), (line,)) for n in (0, 1)])
    )
    assert (undone.get("class"), done.get("class")) == ("touch", "touch done")
    assert (undone.get("aria-label"), done.get("aria-label")) == ("Cut 0", "Cut 1, done")
    assert (done.get("href"), done.get("data-ticks"), done.get("data-name")) == ("/there/1/", "1", "Cut 1")
    for link, shown in ((undone, "none"), (done, None)):
        (mark,) = (part for part in link.iter(f"{SVG}g") if part.get("class") == "done-mark")
        assert mark.get("display") == shown
        assert {path.get("class") for path in mark} == {"outline slot", "outline ticked"}


def test_hatching_keeps_off_every_number() -> None:
    line = ((10.0, 50.0), (290.0, 50.0))
    middles = ((60.0, 50.0), (150.0, 50.0))
    svg = drawn([Touched(touch("1", done=True), (middles[0],), (line,)), Touched(touch("2"), (middles[1],), (line,))])
    hatch, _ = (path for path in svg.iter(f"{SVG}path") if path.get("class") == "thin hatched")
    strokes = re.findall(r"M(-?[\d.]+) (-?[\d.]+)L(-?[\d.]+) (-?[\d.]+)", hatch.get("d", ""))
    assert len(strokes) > 20
    for stroke in strokes:
        x1, y1, x2, y2 = map(float, stroke)
        assert all(shapely.LineString([(x1, y1), (x2, y2)]).distance(shapely.Point(at)) > 10 for at in middles)


def test_a_drawing_with_links_is_a_group_whose_figures_are_not_read_out_one_by_one(plan: calc.Plan) -> None:
    keys = cut_keys(plan.layout)[0]
    plain = ET.fromstring(sheet_drawing(plan, 0, Display()))  # noqa: S314
    assert (plain.get("role"), list(plain.iter(f"{SVG}a"))) == ("img", [])
    svg = ET.fromstring(sheet_drawing(plan, 0, Display(), touches={key: touch(key) for key in keys}))  # noqa: S314
    assert svg.get("role") == "group"
    assert [link.get("data-ticks") for link in links(svg)] == list(keys)
    texts = {text for part in svg if part.get("aria-hidden") for text in part.iter(f"{SVG}text")}
    assert texts == set(svg.iter(f"{SVG}text"))
    for under in svg.iter(f"{SVG}a"):
        if "touch-line" in under.get("class", ""):
            assert (under.get("aria-hidden"), under.get("tabindex")) == ("true", "-1")


def test_every_seam_can_be_touched_and_a_bend_cannot() -> None:
    plan = calc.plan(shapes.sheet_of(shapes.pan(400, 250, 60)))
    assert plan.weld_plan is not None
    welds = [weld.key for weld in plan.weld_plan.welds if weld.kind == "seam"]
    svg = ET.fromstring(weld_map(plan, Display(), touches={step.key: touch(step.key) for step in plan.steps}))  # noqa: S314
    assert welds
    assert [link.get("data-ticks") for link in links(svg)] == welds


def test_what_is_no_step_any_more_is_drawn_and_not_touched(plan: calc.Plan) -> None:
    first, *_ = cut_keys(plan.layout)[0]
    svg = ET.fromstring(sheet_drawing(plan, 0, Display(), touches={first: touch(first)}))  # noqa: S314
    assert [link.get("data-ticks") for link in links(svg)] == [first]
