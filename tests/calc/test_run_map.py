"""The run map: every run is drawn the way it is welded and numbered where it is; read back as XML."""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
import shapely

from calc import Plan
from calc.drawing import rim_run_map, run_map, weld_map
from calc.records import Point
from calc.welding.records import Weld, WeldPlan
from tests.calc.test_drawing import MM, SVG, Label, assert_legible, labels_of, planned, read, texts

NUMBER = re.compile(r"-?[\d.]+")
NAMES = ["skew", "five", "twisted", "sump five", "upstand", "falling pan", "fewest lapped", "triangle"]


def welded(name: str) -> tuple[Plan, WeldPlan]:
    plan = planned(name)
    assert plan.weld_plan
    return plan, plan.weld_plan


def points_of(item: Any) -> list[Point]:
    figures = [float(part) for part in NUMBER.findall(item.get("d", ""))]
    return list(zip(figures[::2], figures[1::2], strict=True))


@dataclass
class Drawn:
    """A run as it is drawn: its stroke from where it begins, its number's circle, and what a leader points at."""

    stroke: list[Point]
    tip: Point
    circle: Point | None = None
    leader: Point | None = None


def groups(svg: str) -> dict[str, Any]:
    return {item.get("id", ""): item for item in read(svg).iter(f"{SVG}g")}


def runs_in(group: Any) -> Iterator[Drawn]:
    """The runs of a weld in the order in which they are drawn, each followed by its number."""
    run: Drawn | None = None
    for item in group:
        style = item.get("class", "")
        if style == "outline run":
            if run:
                yield run
            run = Drawn(points_of(item), (0.0, 0.0))
        elif run and style == "tip":
            run.tip = points_of(item)[0]
        elif run and style == "dim leader":
            run.leader = points_of(item)[-1]
        elif run and style == "ring":
            run.circle = (float(item.get("cx")), float(item.get("cy")))
    if run:
        yield run


def group_of(svg: str, weld: Weld) -> Any:
    return groups(svg)["runs-" + re.sub(r"[^A-Za-z0-9]+", "-", weld.key)]


def number_at(labels: list[Label], circle: Point) -> str:
    inside = [label for label in labels if label.style == "figure run-number"]
    return min(inside, key=lambda label: label.box.centroid.distance(shapely.Point(circle))).text


@pytest.mark.parametrize("name", NAMES)
def test_every_run_is_drawn_once_and_numbered_once(name: str) -> None:
    plan, welding = welded(name)
    svg, rim = run_map(plan, welding), rim_run_map(plan, welding)
    by_kind: dict[str, list[int]] = {}
    for weld in welding.welds:
        by_kind.setdefault(weld.kind, []).extend(run.turn for run in weld.runs)
    seams = by_kind["seam"] + by_kind.get("reliefs", [])
    wanted = {str(turn) for turn in seams}
    apart = {f"F{turn}" for turn in by_kind.get("outlet", [])}
    around = {f"R{turn}" for turn in by_kind.get("rim", [])}
    assert (rim is None) == (not around)
    for drawn, numbers in ((svg, wanted | (set() if rim else apart)), (rim, around | apart)):
        if drawn is None:
            continue
        shown = [label.text for label in labels_of(drawn) if label.style == "figure run-number"]
        keyed = " ".join(text for text in texts(drawn) if "No room here" in text)
        assert len(shown) == len(set(shown))
        assert set(shown) | set(re.findall(r"[FR]?\d+", keyed)) == numbers
        assert len(shown) >= 0.9 * len(numbers)


@pytest.mark.parametrize("name", ["skew", "pan", "upstand", "fewest lapped"])
def test_the_drawing_that_a_step_names_holds_the_numbers_it_tells(name: str) -> None:
    """What a step says in brackets is how a drawing is headed, and each number it tells stands on that drawing."""
    plan, welding = welded(name)
    drawn = {}
    for svg in (run_map(plan, welding), rim_run_map(plan, welding), weld_map(plan, MM)):
        if svg:
            headed = (read(svg).findtext(f"{SVG}title") or "").partition(",")[0]
            drawn[headed] = {text for label in texts(svg) for text in re.findall(r"[FR]?\d+", label)}
    assert len(drawn) == (3 if plan.sheet.shape.seat == "bare" else 2)
    for weld in welding.welds:
        detail = next(step.detail for step in plan.steps if step.key == weld.key)
        told = re.search(r"[Nn]umbers? ([\w, ]+?) \((Weld map: [^)]+)\)", detail)
        assert told, detail
        numbers = re.findall(r"[FR]?\d+", told[1])
        assert numbers
        assert set(numbers) <= drawn[told[2]]


@pytest.mark.parametrize("name", ["skew", "five", "twisted"])
def test_a_stroke_lies_where_its_run_does_and_points_the_way_it_is_welded(name: str) -> None:
    plan, welding = welded(name)
    svg = run_map(plan, welding)
    ends = {item.get("data-seam"): points_of(item) for item in read(svg).iter(f"{SVG}path") if item.get("data-seam")}
    for weld in welding.welds:
        if weld.kind != "seam":
            continue
        # the seam as the shell's own joint has it, turned so that it runs from the weld's start: its upper end
        joint = next(joint for joint in plan.shell.joints if joint.name == weld.name)
        start, end = ends[weld.name]
        if math.dist(plan.shell.vertices[joint.edge[0]], weld.line[0]) > 1e-6:
            start, end = end, start
        seam = shapely.LineString([start, end])
        found = list(runs_in(group_of(svg, weld)))
        assert len(found) == len(weld.runs)
        for run, drawn in zip(weld.runs, found, strict=True):
            shares = [seam.project(shapely.Point(point), normalized=True) for point in (drawn.stroke[0], drawn.tip)]
            # a stroke is kept short of both ends by a hair
            slack = 2.0 / seam.length
            assert shares == pytest.approx([run.begins / weld.length, run.ends / weld.length], abs=slack)
            assert shapely.LineString(drawn.stroke).distance(seam) == pytest.approx(5.0, abs=0.05)


@pytest.mark.parametrize("name", NAMES)
def test_a_number_stands_by_its_own_run_or_is_led_to_it(name: str) -> None:
    plan, welding = welded(name)
    svg = run_map(plan, welding)
    labels = labels_of(svg)
    for weld in welding.welds:
        if weld.kind not in ("seam", "outlet") or f"runs-{weld.key.replace(':', '-')}" not in groups(svg):
            continue
        before = "F" if weld.kind == "outlet" else ""
        for run, drawn in zip(weld.runs, runs_in(group_of(svg, weld)), strict=True):
            if drawn.circle is None:
                continue
            stroke = shapely.LineString(drawn.stroke)
            assert number_at(labels, drawn.circle) == f"{before}{run.turn}"
            if drawn.leader:
                assert stroke.distance(shapely.Point(drawn.leader)) < 2.0
            else:
                assert stroke.distance(shapely.Point(drawn.circle)) < 24.0


def test_the_middle_tack_is_the_dot_and_every_tack_is_there() -> None:
    plan, welding = welded("skew")
    svg = run_map(plan, welding)
    for weld in welding.welds:
        if weld.kind != "seam":
            continue
        group = group_of(svg, weld)
        ticks = [item for item in group if item.get("class") == "thin tack"]
        dots = [item for item in group if item.get("class") == "tip tack"]
        assert (len(dots), len(ticks)) == (1, len(weld.tacks) - 1)
        first = min(weld.tacks, key=lambda tack: tack.turn)
        # tacks go from the middle outward: the first is no farther from it than half a pitch
        pitch = weld.length / (len(weld.tacks) - 1)
        assert abs(first.at - weld.length / 2) <= pitch / 2 + 1e-6


def test_runs_round_the_rim_lie_outside_it() -> None:
    plan, welding = welded("skew")
    svg = rim_run_map(plan, welding)
    assert svg
    rim = next(item for item in read(svg).iter(f"{SVG}path") if item.get("class") == "outline rim")
    outline = shapely.Polygon(points_of(rim))
    weld = next(weld for weld in welding.welds if weld.kind == "rim")
    found = list(runs_in(group_of(svg, weld)))
    assert len(found) == len(weld.runs)
    assert not [drawn for drawn in found if shapely.LineString(drawn.stroke).intersects(outline)]


def test_an_upright_seam_is_laid_over_in_true_length() -> None:
    plan, welding = welded("pan")
    svg = run_map(plan, welding)
    labels = texts(svg)
    assert "An upright seam is laid over inward, its top innermost" in labels
    outline = next(item for item in read(svg).iter(f"{SVG}path") if item.get("class") == "outline rim")
    corners = points_of(outline)
    scale = (max(x for x, _ in corners) - min(x for x, _ in corners)) / 600  # 600 long outside
    for weld in welding.welds:
        if weld.kind == "seam":
            laid = next(item for item in group_of(svg, weld) if item.get("class") == "thin laid")
            assert math.dist(*points_of(laid)) == pytest.approx(weld.length * scale, abs=0.05)


def test_each_weld_is_one_thing_with_a_title() -> None:
    plan, welding = welded("fewest lapped")
    found = groups(run_map(plan, welding))
    assert len(found) == len(welding.welds)
    for name, group in found.items():
        assert re.fullmatch(r"runs-[A-Za-z0-9-]+", name)
        assert group.get("class") == "welded"
        assert re.match(r".+: runs F?\d+", group[0].text)


def test_the_side_it_is_welded_from_is_told() -> None:
    above = "Seen from above; with the tray turned over to weld it, left and right change places"
    for name, told in (("skew", True), ("pan", False), ("upstand", False)):
        assert (above in texts(run_map(*welded(name)))) is told


@pytest.mark.parametrize("width", [720.0, 640.0, 360.0])
@pytest.mark.parametrize("name", ["dented 12", "ring 24", "falling pan", "upstand", "tiny", "long"])
def test_numbers_never_overlap_however_crowded(name: str, width: float) -> None:
    plan, welding = welded(name)
    assert_legible(name, run_map(plan, welding, width=width))
    if rim := rim_run_map(plan, welding, width=width):
        assert_legible(f"{name}, rim", rim)
        sizes = [float(size) for size in re.findall(r'run-number" x="\S+" y="\S+" font-size="(\S+)"', rim)]
        assert min(sizes) >= 9.2  # as small as any figure of a drawing may be
