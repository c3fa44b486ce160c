"""Drawings of laps, upstands, pans and folded blanks: what their lines and labels mean, worked out here another way."""

import itertools
import math
import re
from typing import Any

import numpy as np
import pytest
import shapely

import calc
from calc.blank import Blank
from calc.drawing import blank_drawing, folded_view, plan_view, tray_view, weld_map
from calc.drawing.oblique import Eye, far_first
from tests.calc.test_drawing import FOLDED, MM, SVG, labels_of, planned, read, texts
from tests.calc.test_drawing_meaning import lines, points_of
from tests.shapes import MIRROR, sheet_of

ROW = re.compile(r"\d+|ø[\d.]+(?: [a-z]+)?")


def outlines(svg: str, style: str) -> list[shapely.Polygon]:
    """The closed paths of a class."""
    return [shapely.Polygon(points_of(item)) for item in read(svg).iter(f"{SVG}path") if item.get("class") == style]


def bends_drawn(svg: str) -> list[str]:
    return [item.get("data-bend", "") for item in read(svg).iter(f"{SVG}path") if item.get("data-bend")]


def rows(svg: str) -> dict[str, tuple[str, ...]]:
    """The table of corners, by number; holes by their diameter and number."""
    lines_of: dict[tuple[float, int], list[Any]] = {}
    labels = labels_of(svg)
    heads = sorted((label for label in labels if label.text == "Corner"), key=lambda label: label.box.bounds[0])
    top, lefts = heads[0].box.bounds[1], [head.box.bounds[0] - 4 for head in heads]
    for label in labels:
        left, upper, _, _ = label.box.bounds
        if upper > top + 5:
            block = sum(left >= start for start in lefts)
            lines_of.setdefault((round(upper, 1), block), []).append(label)
    found: dict[str, tuple[str, ...]] = {}
    for index, key in enumerate(sorted(lines_of, key=lambda key: (key[1], key[0]))):
        words = [label.text for label in sorted(lines_of[key], key=lambda label: label.box.bounds[0])]
        if ROW.fullmatch(words[0]):
            found[words[0] if words[0].isdigit() else f"{words[0]} {index}"] = tuple(words[1:])
    return found


def blank_svg(name: str, blank: Blank) -> str:
    return blank_drawing(planned(name), blank, MM)


def test_the_sides_of_a_lapped_tray_are_those_of_its_rim_and_the_lap_lies_round_it() -> None:
    plan, svg = planned("lapped"), plan_view(planned("lapped"), MM)
    rim = plan.sheet.shape.corners
    shown = texts(svg)
    for start, end in zip(rim, rim[1:] + rim[:1], strict=True):
        assert MM.figure(math.dist(start, end)) in shown
    assert [text for text in shown if "lap" in text.lower()] == ["lap 25"]
    # the lap's edge is the rim moved outward by its width with mitred corners, which shapely's buffer makes too
    (drawn,) = outlines(svg, "outline strips")
    scale = drawn.length / shapely.Polygon(rim).buffer(25, join_style="mitre").length
    rim_drawn = shapely.union_all(list(lines(svg, "bend seam")))
    assert rim_drawn.length == pytest.approx(shapely.Polygon(rim).length * scale, rel=1e-3)
    assert shapely.hausdorff_distance(drawn.exterior, rim_drawn) < 25 * scale * 1.5
    assert shapely.distance(drawn.exterior, rim_drawn) == pytest.approx(25 * scale, rel=0.01)


@pytest.mark.parametrize("name", ["lapped", "upstand", "falling pan"])
def test_corners_are_numbered_at_the_rim(name: str) -> None:
    plan, svg = planned(name), plan_view(planned(name), MM)
    corners = plan.sheet.shape.corners
    numbers = {int(label.text): label.box.centroid for label in labels_of(svg) if label.style == "figure corner"}
    assert sorted(numbers) == list(range(1, len(corners) + 1))
    spots = np.array(corners)
    size = np.ptp(spots, axis=0)
    drawn = np.array([(at.x, -at.y) for _, at in sorted(numbers.items())])
    # as far across the drawing as the corner is across the tray, to within the width of a label
    share, shown = (spots - spots.min(axis=0)) / size, (drawn - drawn.min(axis=0)) / np.ptp(drawn, axis=0)
    assert np.abs(share - shown).max() < 0.08


def test_an_upstand_says_how_high_it_is() -> None:
    assert "Upstand 30 mm high all round, folded up at the rim" in texts(plan_view(planned("upstand"), MM))
    assert {"30 high", "46 deep"} <= set(texts(tray_view(planned("upstand"), MM)))


def test_a_pan_has_its_outside_sizes_and_no_low_point() -> None:
    for name in ("pan", "falling pan"):
        svg = plan_view(planned(name), MM)
        shown = texts(svg)
        assert [shown.count(size) for size in ("600", "400")] == [1, 1]
        assert not [text for text in shown if re.search("low point|from corner|outlet", text, re.IGNORECASE)]
        assert not [item for item in read(svg).iter(f"{SVG}circle") if "outlet" in item.get("class", "")]
        assert {"A", "B", "C", "D", "E"} <= set(shown)
    assert "return 20" in shown
    # 10 in 600 is 1.7 %, 1 in 60
    assert {"1.7 %", "1 in 60.0"} <= set(shown)
    (arrow,) = lines(svg, "thin fall")
    (x, y), (end_x, end_y) = arrow.coords
    assert end_x > x + 10
    assert end_y == pytest.approx(y)
    level = plan_view(planned("pan"), MM)
    assert "level" in texts(level)
    assert not list(lines(level, "thin fall"))


def test_a_pan_is_as_high_as_it_was_measured() -> None:
    assert [text for text in texts(tray_view(planned("pan"), MM)) if "high" in text or "deep" in text] == ["60 high"]
    # 60 at x = 0 and 10 lower at the far end
    falling = texts(tray_view(planned("falling pan"), MM))
    assert sorted(text for text in falling if "high" in text) == ["60 high", "70 high"]
    assert "Sizes are outside; walls 60 mm high at side 4–1, 70 mm at side 2–3" in texts(
        plan_view(planned("falling pan"), MM)
    )


@pytest.mark.parametrize("name", FOLDED)
def test_every_corner_of_a_folded_blank_has_its_row(name: str) -> None:
    for blank in planned(name).blanks:
        svg = blank_svg(name, blank)
        table = rows(svg)
        numbers = [int(number) for number in table if number.isdigit()]
        assert numbers == [index + 1 for index in blank.marked_corners]
        corners = [
            (round(2 * x) / 2, round(2 * y) / 2) for x, y in blank.cut_outline
        ]  # as a rule of half millimetres marks
        for number in numbers:
            x, y = corners[number - 1]
            assert table[str(number)][:2] == (MM.figure(x), MM.figure(y))
            if table[str(number)][2] != "–":
                assert table[str(number)][2] == MM.figure(math.dist((x, y), corners[number % len(corners)]))
        holes = [key for key in table if not key.isdigit()]
        assert len(holes) == len(blank.holes)
        assert all(key.startswith(f"ø{hole.diameter:g}") for key, hole in zip(holes, blank.holes, strict=True))
        labelled = " ".join(label.text for label in labels_of(svg) if label.style == "figure corner")
        told = set[int]()
        for first, last in re.findall(r"(\d+)(?:–(\d+))?", labelled):
            told |= set(range(int(first), int(last or first) + 1))
        assert told <= set(numbers) | set(range(1, len(corners) + 1))
        assert set(numbers) <= told or "no room to number it" in " ".join(texts(svg))


def test_corners_of_a_lapped_blank_are_called_what_they_are() -> None:
    # A lies on the rim from corner 1 to 2: its lap's outer corners on the base, then the rim's, and the low point on top
    blank = planned("lapped").blanks[0]
    table = {number: row[-1] for number, row in rows(blank_svg("lapped", blank)).items() if number.isdigit()}
    by_height = sorted(table, key=lambda number: blank.cut_outline[int(number) - 1][1])
    assert [table[number] for number in by_height[:2]] == ["lap 1", "lap 2"]
    assert table[by_height[-1]] == "low point"
    assert sorted(table[number] for number in by_height[2:-1]) == ["rim 1", "rim 1", "rim 2", "rim 2"]


@pytest.mark.parametrize(("name", "words"), [("pan", ("floor", "top")), ("falling pan", ("floor", "top", "return"))])
def test_corners_of_a_pan_are_called_what_they_are(name: str, words: tuple[str, ...]) -> None:
    (blank,) = planned(name).blanks
    table = {int(number): row[-1] for number, row in rows(blank_svg(name, blank)).items() if number.isdigit()}
    assert set(table.values()) == {f"{word} {number}" for word in words for number in (1, 2, 3, 4)}
    middle = np.mean(np.array(blank.cut_outline), axis=0)
    for number in (1, 2, 3, 4):
        # at each corner of the pan the floor is nearest the middle of the blank, the return farthest
        away = [
            min(
                math.dist(blank.cut_outline[i - 1], middle)
                for i, called in table.items()
                if called == f"{word} {number}"
            )
            for word in words
        ]
        assert away == sorted(away)


@pytest.mark.parametrize("name", FOLDED)
def test_no_end_of_a_bend_is_called_a_rim(name: str) -> None:
    for blank in planned(name).blanks:
        words = " | ".join(texts(blank_svg(name, blank)))
        count = len(blank.cut_outline)
        for index, edge in enumerate(blank.edges):
            if edge.kind == "bend":
                assert not re.search(rf"[ ,]{index + 1}–{(index + 1) % count + 1}[,:]", words)
            elif edge.kind == "weld":
                assert f"weld to {edge.meets}" in words


@pytest.mark.parametrize("name", FOLDED)
def test_every_bend_has_its_line_its_way_and_its_angle(name: str) -> None:
    for blank in planned(name).blanks:
        svg = blank_svg(name, blank)
        words = " | ".join(texts(svg))
        assert sorted(bends_drawn(svg)) == sorted(fold.name for fold in blank.folds)
        for fold in blank.folds:
            way = "UP" if fold.angle > 0 else "DOWN"
            assert re.search(rf"{fold.name}(, .* long:)? {way} {abs(fold.angle):.1f}°", words), fold.name


def test_bends_worked_by_hand() -> None:
    # facet A of the mirror tray falls 40 in 200: 11.3 degrees; a level lap on it is folded down by as much, an upright
    # upstand up by 90 - 11.3; the walls of a level pan go up and its returns down by a right angle
    for kind, size, wanted in (("lap", "width", "A-Ar DOWN 11.3°"), ("upstand", "height", "A-Ar UP 78.7°")):
        finish = {"kind": kind, size: 25, "inside_radius": 2}
        plan = calc.plan(sheet_of({**MIRROR, "rim_finish": finish}))
        assert wanted in texts(blank_drawing(plan, plan.blanks[0], MM))
    shown = texts(blank_svg("pan", planned("pan").blanks[0]))
    assert {f"A-{wall} UP 90.0°" for wall in "BCDE"} <= set(shown)
    falling = " | ".join(texts(blank_svg("falling pan", planned("falling pan").blanks[0])))
    # the floor falls 10 in 600, 0.95 degrees: the far wall is folded 90.95 and the near one 89.05
    for words in ("A-C UP 91.0°", "A-E UP 89.0°", "B-Br DOWN 90.0°", "C-Cr DOWN 90.0°"):
        assert words in falling


@pytest.mark.parametrize("name", ["lapped", "falling pan", "fewest"])
def test_what_straight_cuts_leave_is_drawn_broken(name: str) -> None:
    assert any(blank.edges_by_hand for blank in planned(name).blanks)
    for blank in planned(name).blanks:
        svg = blank_svg(name, blank)
        if not blank.edges_by_hand:
            assert "by-hand" not in svg
            assert "Broken outline: cut by hand" not in texts(svg)
            continue
        (solid,) = [item for item in read(svg).iter(f"{SVG}path") if item.get("data-blank")]
        broken = [item for item in read(svg).iter(f"{SVG}path") if item.get("class") == "outline by-hand"]
        assert all(item.get("stroke-dasharray") for item in broken)
        ends = [points_of(item) for item in (solid, *broken)]
        lengths = [sum(map(math.dist, points[::2], points[1::2])) for points in ends]
        whole = sum(math.dist(a, b) for a, b in itertools.pairwise([*blank.cut_outline, blank.cut_outline[0]]))
        assert lengths[1] / sum(lengths) == pytest.approx(blank.hand_cut_length / whole, rel=1e-3)
        assert "Broken outline: cut by hand" in texts(svg)


@pytest.mark.parametrize("name", ["lapped", "falling pan"])
def test_reliefs_are_drawn_to_size(name: str) -> None:
    blank = planned(name).blanks[0]
    svg = blank_drawing(planned(name), blank, MM, width=1400.0)
    circles = [item for item in read(svg).iter(f"{SVG}circle") if "relief" in item.get("class", "")]
    (solid,) = [item for item in read(svg).iter(f"{SVG}path") if item.get("data-blank")]
    xs, outline = [x for x, _ in points_of(solid)], [x for x, _ in blank.cut_outline]
    scale = (max(xs) - min(xs)) / (max(outline) - min(outline))
    assert [2 * float(item.get("r", 0)) for item in circles] == pytest.approx(
        [hole.diameter * scale for hole in blank.holes], abs=0.05
    )


def test_a_blank_of_many_corners_is_numbered_without_thirty_six_dimensions() -> None:
    (blank,) = planned("falling pan").blanks
    svg = blank_svg("falling pan", blank)
    assert len(blank.cut_outline) == 36
    arrows = [item for item in read(svg).iter(f"{SVG}path") if item.get("class") == "tip"]
    assert len(arrows) < 36


@pytest.mark.parametrize("name", FOLDED)
def test_the_weld_map_names_welds_and_bends_with_their_lengths(name: str) -> None:
    plan, words = planned(name), " | ".join(texts(weld_map(planned(name), MM)))
    points = plan.shell.vertices
    for joint in plan.shell.joints:
        length = re.escape(MM.figure(math.dist(points[joint.edge[0]], points[joint.edge[1]])))
        kind = "(Seam )?" if joint.kind == "weld" else "[bB]end "
        assert re.search(rf"(^|\| ){kind}{joint.name}:? +{length}( \||$)", words), joint.name
    assert f"Bends, {len(plan.shell.folds)} in all: folded, not welded" in words


@pytest.mark.parametrize(
    ("name", "wanted", "unwanted"),
    [
        ("lapped", "Lap: not welded to the bench; sealed under it and screwed every 100 mm, 2246 mm all round", "Rim:"),
        ("upstand", "Upstand: not welded to the bench; sealed round it and screwed through every 100 mm", "Rim:"),
        ("pan", "Stands free: nothing is welded to the machine", "bench"),
        ("fewest", "Rim: welded all round into the bench, 2246 mm", "Stands free"),
    ],
)
def test_the_weld_map_says_how_the_rim_is_set_in(name: str, wanted: str, unwanted: str) -> None:
    # skew's sides are hypot(742, 9) + hypot(11, 389) + hypot(743, 27) + hypot(12, 371) = 742.05 + 389.16 + 743.49 + 371.19
    words = " | ".join(texts(weld_map(planned(name), MM)))
    assert wanted in words
    assert unwanted not in words


def nearest(plan: calc.Plan, names: list[str], eye: Eye, x: float, y: float) -> list[tuple[float, str]]:
    """The faces that a ray from the eye meets, and how near the eye: where the ray cuts the plane of each."""
    found = []
    for name in names:
        corners = plan.shell.corners(plan.shell.face(name))
        upright = np.cross(corners[1] - corners[0], corners[2] - corners[0])
        if abs(upright @ eye.towards) < 1e-6 * np.linalg.norm(upright):
            continue
        start = x * eye.right + y * eye.up
        near = upright @ (corners[0] - start) / (upright @ eye.towards)
        flat = shapely.Polygon(np.column_stack((corners @ eye.right, corners @ eye.up)))
        if flat.buffer(-0.01).covers(shapely.Point(x, y)):
            found.append((float(near), name))
    return sorted(found)


@pytest.mark.parametrize("turn", [-16.0, 74.0, 164.0, 254.0])
@pytest.mark.parametrize("name", ["upstand", "pan", "falling pan", "lapped reflex", "fewest lapped", "deep"])
def test_what_is_near_the_eye_hides_what_is_behind(name: str, turn: float) -> None:
    plan, eye = planned(name), Eye.at(turn)
    faces = plan.shell.faces
    order = [face.name for face in far_first(plan.shell, faces, eye)]
    assert sorted(order) == sorted(face.name for face in faces)
    points = plan.shell.points
    across, up = points @ eye.right, points @ eye.up
    checked = 0
    for x in np.linspace(across.min(), across.max(), 23).tolist():
        for y in np.linspace(up.min(), up.max(), 19).tolist():
            met = nearest(plan, order, eye, x, y)
            if len(met) > 1 and met[-1][0] - met[-2][0] > 0.5:
                assert max((name for _, name in met), key=order.index) == met[-1][1], (x, y, met)
                checked += 1
    assert checked or name in ("lapped reflex", "fewest lapped")


@pytest.mark.parametrize("name", FOLDED)
def test_the_folded_picture_shows_the_faces_of_its_blank(name: str) -> None:
    plan = planned(name)
    for blank in plan.blanks:
        svg = folded_view(plan, blank, MM)
        drawn = [item.get("data-face") for item in read(svg).iter(f"{SVG}path") if item.get("data-face")]
        assert sorted(drawn, key=str) == sorted(blank.faces)
        title = read(svg)[0].text or ""
        assert title.startswith(f"Blank {blank.name} folded, {len(blank.folds)} bend")


def test_the_folded_picture_is_in_true_proportion() -> None:
    plan = planned("pan")
    (blank,) = plan.blanks
    svg = folded_view(plan, blank, MM)
    floor = next(item for item in read(svg).iter(f"{SVG}path") if item.get("data-face") == "A")
    one, two, three, _ = points_of(floor)
    # in parallel view equal lengths along one line stay equal: the floor's 597 x 397 seen from 35 degrees up, turned by 16
    turn, high = math.radians(16), math.sin(math.radians(35))
    along = math.hypot(597 * math.cos(turn), 597 * math.sin(turn) * high)
    across = math.hypot(397 * math.sin(turn), 397 * math.cos(turn) * high)
    assert math.dist(one, two) / math.dist(two, three) == pytest.approx(along / across, rel=2e-3)


def test_blanks_alike_tell_what_their_welds_meet() -> None:
    finish = {"kind": "lap", "width": 25, "inside_radius": 2}
    plan = calc.plan(sheet_of({**MIRROR, "rim_finish": finish}))
    alike = [blank for blank in plan.blanks if blank.same_as == "A"]
    assert [blank.name for blank in alike] == ["C"]
    (row,) = [
        text
        for text in texts(blank_drawing(plan, plan.blanks[0], MM, alike=alike, width=1400.0))
        if text.startswith("C turned over")
    ]
    # C is A's mirror image: its lap runs from corner 4 to 3, and B's lap is still on the right
    assert "1–2 lap 4–3" in row
    assert "2–3 weld to Br" in row
    assert "7–1 weld to Dr" in row
    assert row.count("weld to") == 4
