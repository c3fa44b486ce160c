"""What a laser, a drawing program and a buyer are given: DXF, SVG and CSV, read back by other programs."""

import io
import re
import zipfile
from itertools import combinations
from pathlib import PurePosixPath
from typing import Any
from xml.etree import ElementTree

import pytest
import shapely
from ezdxf import recover, units

import calc
from calc.papers.bundle import zipped
from calc.papers.drawing_files import drawing_files, pattern_files
from calc.papers.pattern import corner_spots, file_names
from calc.papers.patterns_dxf import patterns_dxf
from calc.papers.takeoff_table import HEAD, takeoff_rows
from calc.units import Display
from tests.calc.made_patterns import PAN, PAN_FOLDS, PAN_HOLES, RECTANGLE, blank_of, pan, plan_of
from tests.shapes import FIVE, MIRROR, PLATES, REFLEX, SKEW, SUMPS, TWISTED, sheet_of

FOLDED_PAN = {"family": "pan", "length": 420, "width": 260, "height": 60, "inside_radius": 2}
LAP = {**SKEW, "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}}

SVG = "{http://www.w3.org/2000/svg}"


def read(plan: calc.Plan) -> Any:
    document, auditor = recover.read(io.BytesIO(patterns_dxf(plan)))
    assert not auditor.errors
    return document


def shoelace(outline: Any) -> float:
    return abs(sum(x * v - u * y for (x, y), (u, v) in zip(outline, [*outline[1:], outline[0]], strict=True))) / 2


def outlines_of(document: Any) -> list[shapely.Polygon]:
    found = []
    for line in document.modelspace().query("LWPOLYLINE"):
        assert line.closed
        assert line.dxf.layer == "OUTLINE"
        assert not line.has_arc
        found.append(shapely.Polygon(list(line.vertices())))
    return found


@pytest.mark.parametrize("shape", [SKEW, FIVE, REFLEX, MIRROR, FOLDED_PAN, LAP, TWISTED, SUMPS["five"], PLATES])
def test_outlines_are_closed_true_and_clear_of_each_other(shape: dict[str, Any]) -> None:
    plan = calc.plan(sheet_of(shape))
    document = read(plan)
    assert document.header["$INSUNITS"] == 4  # millimetres, by the DXF reference
    assert document.header["$MEASUREMENT"] == 1  # metric
    assert document.units == units.MM
    assert not document.audit().errors
    found = outlines_of(document)
    wanted = [blank for blank in plan.blanks if blank.same_as is None]
    assert [body.area for body in found] == pytest.approx([shoelace(blank.cut_outline) for blank in wanted], abs=1e-3)
    for body, blank in zip(found, wanted, strict=True):
        assert body.exterior.is_ccw
        assert body.length == pytest.approx(shapely.Polygon(blank.cut_outline).length, abs=1e-6)
    bends = sorted(line.dxf.start.distance(line.dxf.end) for line in document.modelspace().query("LINE"))
    folds = sorted(shapely.LineString(fold.line).length for blank in wanted for fold in blank.folds)
    assert bends == pytest.approx(folds, abs=1e-6)
    drilled = sorted(circle.dxf.radius for circle in document.modelspace().query("CIRCLE"))
    assert drilled == pytest.approx(sorted(hole.diameter / 2 for blank in wanted for hole in blank.holes), abs=1e-6)
    assert all(not one.buffer(5).intersects(other.buffer(5)) for one, other in combinations(found, 2))


def test_a_rectangle_and_a_pan_by_hand() -> None:
    document = read(plan_of(blank_of(RECTANGLE), blank_of(PAN, "Pan", folds=PAN_FOLDS, holes=PAN_HOLES)))
    flat, folded = outlines_of(document)
    assert flat.area == pytest.approx(900 * 450)
    assert folded.area == pytest.approx(320 * 210 - 4 * 22 * 22)  # the corners are left open
    space = document.modelspace()
    circles, lines = space.query("CIRCLE"), space.query("LINE")
    assert [circle.dxf.layer for circle in circles] == ["HOLES"] * 2
    assert [circle.dxf.radius for circle in circles] == [16.0, 30.0]
    assert all(folded.contains(shapely.Point(circle.dxf.center).buffer(circle.dxf.radius)) for circle in circles)
    assert [line.dxf.layer for line in lines] == ["BENDS"] * 4
    assert [line.dxf.start.distance(line.dxf.end) for line in lines] == pytest.approx([276, 166, 276, 166])
    texts = {text.dxf.text for text in space.query("TEXT")}
    assert {text.dxf.layer for text in space.query("TEXT")} == {"TEXT"}
    assert {"UP 90.0°", "UP 87.5°", "DOWN 45.0°", *map(str, range(1, 13))} <= texts
    assert "Pan: 1 off; wet face up; 5052-H32, 1.5 mm" in texts


def test_how_many_and_which_turned_over() -> None:
    document = read(calc.plan(sheet_of(MIRROR, quantity=3)))
    texts = [text.dxf.text for text in document.modelspace().query("TEXT")]
    assert "A: 6 off; C alike, turned over; wet face up; 5052-H32, 1.5 mm" in texts


@pytest.mark.parametrize("name", ["50%%d", "line\nbreak", "Ølje – 漢字", "\ud800", "0\nEOF\n"])
def test_hostile_names_are_only_text(name: str) -> None:
    document = read(plan_of(blank_of(RECTANGLE, name)))
    assert len(outlines_of(document)) == 1
    (text,) = [entity.plain_text() for entity in document.modelspace().query("TEXT") if " off" in entity.dxf.text]
    shown = name.replace("\n", " ").replace("\ud800", "")
    assert text.startswith(shown if "%" not in shown else "50%")
    assert "°" not in text


def test_dxf_is_the_same_each_time() -> None:
    assert patterns_dxf(pan()) == patterns_dxf(pan())


def points_of(data: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", data)]


def test_svg_is_at_true_size() -> None:
    ((name, text),) = pattern_files(pan())
    assert name == "pattern-Pan.svg"
    top = ElementTree.fromstring(text)  # noqa: S314 - our own text
    wide, high = (float(top.get(side, "").removesuffix("mm")) for side in ("width", "height"))
    assert top.get("viewBox") == f"0 0 {wide:g} {high:g}"  # one unit a millimetre
    (outline,) = [item for item in top.iter(f"{SVG}path") if item.get("class") == "outline"]
    data = outline.get("d", "")
    assert data.endswith("Z")
    body = shapely.Polygon(points_of(data))
    assert body.area == pytest.approx(320 * 210 - 4 * 22 * 22, abs=0.1)
    assert body.bounds[2] - body.bounds[0] == pytest.approx(320)
    assert shapely.box(0, 0, wide, high).contains(body)
    # y runs down: the base edge is the lowest, and what ran anticlockwise runs clockwise in these figures
    assert not body.exterior.is_ccw or points_of(data)[0][1] == body.bounds[3]
    circles = [float(item.get("r", "0")) for item in top.iter(f"{SVG}circle")]
    assert circles == [16.0, 30.0]
    bends = [shapely.LineString(points_of(item.get("d", ""))) for item in top.iter(f"{SVG}path") if item != outline]
    assert [bend.length for bend in bends] == pytest.approx([276, 166, 276, 166])
    words = [item.text for item in top.iter(f"{SVG}text")]
    assert {"UP 90.0°", "DOWN 45.0°", "1", "12"} <= set(words)
    assert any("wet face up" in str(word) for word in words)


@pytest.mark.parametrize("shape", [SKEW, REFLEX, MIRROR])
def test_every_drawing_is_a_sound_file(shape: dict[str, Any]) -> None:
    plan = calc.plan(sheet_of(shape))
    files = dict([*pattern_files(plan), *drawing_files(plan, Display())])
    marked = [blank.name for blank in plan.blanks if blank.same_as is None]
    sheets = range(1, len(plan.layout.sheets) + 1)
    assert set(files) == {
        *(f"pattern-{name}.svg" for name in marked),
        *(f"drawing-blank-{name}.svg" for name in marked),
        *(f"drawing-sheet-{number}.svg" for number in sheets),
        *(f"drawing-{what}.svg" for what in ("tray", "from-above", "welds", "runs", "runs-rim")),
    }
    for text in files.values():
        assert ElementTree.fromstring(text).tag == f"{SVG}svg"  # noqa: S314


@pytest.mark.parametrize("name", ["../../etc/passwd", "/root", "C:\\x", "a" * 300, "", "CON", "x\x00y", "A"])
def test_names_of_files_go_nowhere_else(name: str) -> None:
    for file, _ in pattern_files(plan_of(blank_of(RECTANGLE, name))):
        assert PurePosixPath(file).name == file
        assert re.fullmatch(r"pattern-[A-Za-z0-9-]{1,60}\.svg", file)


def test_blanks_of_one_name_have_files_of_their_own() -> None:
    names = list(file_names(["A", "A", "a", "A-2", "ø", "å"]))
    assert len({name.lower() for name in names}) == len(names)


@pytest.mark.parametrize("outline", [RECTANGLE, PAN, ((0.0, 0.0), (900.0, 0.0), (700.0, 30.0))])
def test_corner_numbers_stand_inside(outline: Any) -> None:
    body = shapely.Polygon(outline)
    spots = [shapely.Point(spot) for spot in corner_spots(blank_of(outline)).values()]
    assert all(body.contains(spot) for spot in spots)
    # each nearest to its own corner
    for index, spot in enumerate(spots):
        far = [spot.distance(shapely.Point(corner)) for corner in outline]
        assert far.index(min(far)) == index


def table(plan: calc.Plan, display: Display | None = None) -> dict[tuple[str, str], dict[str, Any]]:
    rows = [dict(zip(HEAD, row, strict=True)) for row in takeoff_rows(plan, display or Display())]
    return {(row["Group"], row["Item"]): row for row in rows}


def test_the_takeoff_adds_up() -> None:
    plan = calc.plan(sheet_of(MIRROR, quantity=2))
    rows = table(plan)
    bought, used = (rows["Metal", name]["Quantity"] for name in ("Sheet bought or taken", "In the work"))
    left = rows["Metal", "Offcuts worth keeping"]["Quantity"] + rows["Metal", "Scrap"]["Quantity"]
    assert bought == pytest.approx(used + left, abs=0.002)
    # 2440 x 1220 x 1.5 mm of 5052 at 2680 kg/m3: 11.967 kg
    sheet = rows["Metal", "Sheet S1"]
    assert (sheet["Length"], sheet["Width"], sheet["Size in"]) == (2440.0, 1220.0, "mm")
    assert sheet["Mass each, kg"] == pytest.approx(2.440 * 1.220 * 1.5 * 2.68, abs=0.001)
    assert bought == pytest.approx(sheet["Quantity"] * sheet["Mass each, kg"], abs=0.002)
    welds = [rows["Work", f"Weld, {kind}"]["Quantity"] for kind in ("seams", "rim", "outlet")]
    assert rows["Work", "Weld"]["Quantity"] == pytest.approx(sum(welds), abs=0.002)
    assert rows["Work", "Weld, rim"]["Quantity"] == pytest.approx(2 * 2 * (0.6 + 0.4))  # the rim of two trays
    assert rows["Blanks", "A"]["Quantity"] == 4
    assert rows["Blanks", "A"]["Note"] == "C alike, turned over"
    # a metre of 1.6 mm rod of ER5356 (2640 kg/m3, handbooks) weighs 1.6^2 x pi / 4 x 2.64 = 5.308 g
    assert rows["Supplies", "ER5356 rods"]["Quantity"] == pytest.approx(
        rows["Supplies", "Filler ER5356"]["Quantity"] / 0.005308, abs=0.15
    )
    # at 400 mm a minute (welding handbooks)
    assert rows["Work", "Arc burning"]["Quantity"] == pytest.approx(rows["Work", "Weld"]["Quantity"] / 0.4, abs=0.06)
    blanks = [row for (group, _), row in rows.items() if group == "Blanks"]
    assert sum(row["Quantity"] * row["Mass each, kg"] for row in blanks) == pytest.approx(used, abs=0.01)


def test_a_takeoff_in_feet() -> None:
    plan = calc.plan(sheet_of(MIRROR))
    rows = table(plan, Display("in"))
    assert rows["Work", "Weld, rim"]["Unit"] == "ft"
    assert rows["Work", "Weld, rim"]["Quantity"] == pytest.approx(2000 / 304.8, abs=1e-3)
    assert rows["Metal", "Sheet S1"]["Length"] == pytest.approx(2440 / 25.4, abs=0.005)


def test_no_money_is_in_the_takeoff() -> None:
    stock = [{"label": "S1", "length": 2440, "width": 1220, "price": "119.87"}]
    rates = {"labour": "43.21", "filler": "24.68", "gas": "0.0357", "outlet_fitting": "13.57", "currency": "NOK"}
    plan = calc.plan(sheet_of(SKEW, stock=stock, rates=rates))
    text = repr((HEAD, takeoff_rows(plan, Display())))
    for words in ("NOK", "119.87", "43.21", "24.68", "0.0357", "13.57", plan.cost.total):
        assert words not in text
    assert not re.search("price|cost|rate|amount|total", text, re.IGNORECASE)


def test_a_zip_is_the_same_each_time() -> None:
    files = [("a.txt", b"one"), ("b/c.txt", b"two" * 999)]
    assert zipped(files) == zipped(iter(files))
    with zipfile.ZipFile(io.BytesIO(zipped(files))) as archive:
        assert archive.testzip() is None
        assert [(entry.filename, archive.read(entry)) for entry in archive.infolist()] == files
