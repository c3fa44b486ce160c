"""The traveller, read back with a PDF library: everything on its page, nothing over anything else, no money in the shop."""

import html
import logging
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
import shapely
from django.template import Context, Engine

import calc
from calc.making import Saw
from calc.papers.aperture_lines import aperture_sheet
from calc.papers.codes import qr_drawing
from calc.papers.cut_lines import cut_lines
from calc.papers.lines import check_lines, offset_lines
from calc.papers.run_lines import in_columns, run_lines, tack_lines
from calc.papers.traveller import Heading, material, traveller_html, traveller_pdf
from calc.papers.weld_lines import rules_of, settings_of, shrinkage_words, weld_lines
from calc.units import Display
from calc.welding import WeldPlan
from tests.printed import PrintedPage, printed
from tests.shapes import FIVE, MIRROR, PLATES, REFLEX, SKEW, SUMPS, TRIANGLE, TWISTED, fall_tray, pan, ring, sheet_of

weasyprint = pytest.importorskip("weasyprint", reason="papers need Pango", exc_type=OSError)

TEMPLATES = Engine(dirs=[str(Path(__file__).parents[2] / "templates")])
MM = 72 / 25.4  # [pt]
PAGE = (210 * MM, 297 * MM)  # A4, ISO 216
SIDE, TOP, FOOT = 14 * MM, 13 * MM, 31 * MM  # the margins that the stylesheet sets; the title block stands in the last
HEADING = Heading(
    shop="Mill Lane Fabrication",
    job_number="J-0042",
    revision="3",
    check_code="K7QF",
    day="25 November 2026",
    due="4 December 2026",
    address="http://192.168.1.20:8000/jobs/42",
)
WORDS = (
    "Coolant and swarf tray for the number two capstan lathe, right-hand side under the chip drawer, to miss the brace "
)
LONG_TITLE = (WORDS + WORDS)[:199] + "."
ORDINARY = fall_tray([[0, 0], [884, -6], [871, 433], [-5, 420]], [602, 171], 57, outlet={"bore": 32})
LONG = fall_tray([[0, 0], [3000, 0], [3000, 150], [0, 150]], [2900, 75], 60)
MONEY = {"labour": "43.21", "filler": "24.68", "gas": "0.0357", "outlet_fitting": "13.57", "currency": "NOK"}


def render(name: str, context: Mapping[str, object]) -> str:
    return str(TEMPLATES.get_template(name).render(Context(dict(context))))


@cache
def planned(name: str) -> calc.Plan:
    shapes: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
        "ordinary": (ORDINARY, {}),
        "three": (TRIANGLE, {}),
        "five": (FIVE, {}),
        "reflex": (REFLEX, {}),
        "skew": (SKEW, {}),
        "dented 24": (ring(24, dent=0.35), {}),
        "long": (LONG, {}),
        "many": (ORDINARY, {"quantity": 6}),
        "alike": (MIRROR, {"quantity": 2}),
        "lapped": ({**SKEW, "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}}, {}),
        "upstand": ({**MIRROR, "rim_finish": {"kind": "upstand", "height": 30, "inside_radius": 2}}, {}),
        "pan": (pan(600, 400, 60, inside_radius=2), {"title": ""}),
        "falling pan": (pan(600, 400, 60, inside_radius=2, fall=10, return_width=20), {}),
        "valley": ({**TWISTED, "rim_finish": {"kind": "lap", "width": 25, "inside_radius": 2}}, {}),
        "sump": (SUMPS["skew"], {}),
        "flat": (PLATES, {"quantity": 2}),
        "fewest": (SKEW, {"making": {"joins": "fewest-welds", "bend_method": "k-factor", "k_factor": 0.42}}),
    }
    shape, keys = shapes[name]
    stock = [{"label": "S1", "length": 3200, "width": 1220, "price": "119.87"}]
    sheet = sheet_of(shape, stock=stock, rates=MONEY, **keys)
    return calc.plan({**sheet, "customer": "Hill Street Turning", "machine": "Bench lathe 3"})


def brief(plan: calc.Plan) -> calc.Plan:
    """The plan with a few of its steps and, of a dozen blanks or more, a few: pages of them are alike and slow to read."""
    return replace(plan, steps=plan.steps[:5], blanks=plan.blanks[:: 1 + len(plan.blanks) // 6])


def titled(name: str, **words: str) -> calc.Plan:
    """A plan of few pages, with other words at their heads and feet."""
    plan = brief(planned(name))
    return replace(
        plan, sheet=replace(plan.sheet, **words), blanks=plan.blanks[:1], layout=replace(plan.layout, sheets=())
    )


def pdf_of(plan: calc.Plan, *, money: bool = True, heading: Heading = HEADING) -> bytes:
    return traveller_pdf(plan, heading, Display(), render, money=money)


@cache
def paper(name: str, *, money: bool = True) -> bytes:
    """The traveller of one of the plans, office or shop copy; of most with a few steps and blanks."""
    plan = planned(name)
    return pdf_of(plan if name in ("ordinary", "alike") else brief(plan), money=money)


@lru_cache(maxsize=4)
def opened(pdf: bytes) -> list[PrintedPage]:
    """The pages as they were read; they stay so for as long as the same paper is asked for."""
    return printed(pdf)


@cache
def text_of(pdf: bytes, pages: int | None = None) -> str:
    """Kept, since the text takes little memory and reading it anew seconds; the pages themselves take too much to keep many."""
    return "\n".join(page.extract_text() for page in opened(pdf)[:pages])


@dataclass(frozen=True)
class Run:
    """Letters set one after another on one base line, at any angle: their text and the box they take."""

    text: str
    box: shapely.Polygon


def runs(page: Any) -> Iterator[Run]:
    """The runs of a page. A run ends where the next letter isn't where this one's advance leads to."""
    letters: list[tuple[str, float, float, float, float, float, float]] = []
    for item in page.chars:
        a, b, _, _, x, y = item["matrix"]
        scale = math.hypot(a, b)
        size, advance = item["size"] if item["upright"] and not b else _size(item), item["adv"] * scale
        letter = (item["text"], x, y, a / scale, b / scale, advance, size)
        if letters and not _follows(letters[-1], letter):
            yield _run(letters)
            letters = []
        letters.append(letter)
    if letters:
        yield _run(letters)


def _size(item: Any) -> float:
    """The size of a turned letter: its box is turned too, so it is told from the height of the untransformed one."""
    a, b, _, _, _, _ = item["matrix"]
    wide, high = item["x1"] - item["x0"], item["bottom"] - item["top"]
    cosine, sine = abs(a) / math.hypot(a, b), abs(b) / math.hypot(a, b)
    advance = item["adv"] * math.hypot(a, b)
    return float((high - advance * sine) / cosine if cosine > sine else (wide - advance * cosine) / sine)


def _follows(one: Any, other: Any) -> bool:
    _, x, y, ux, uy, advance, size = one
    along = (other[1] - x) * ux + (other[2] - y) * uy - advance
    across = (other[2] - y) * ux - (other[1] - x) * uy
    same_way = abs(ux - other[3]) < 1e-4 and abs(uy - other[4]) < 1e-4
    return (
        same_way and abs(size - other[6]) < 0.05 and abs(across) < 0.05 and -0.25 * size < along < 0.1 * size
    )  # a kerned pair may close up


def _run(letters: list[Any]) -> Run:
    """From the first letter's origin to the last one's advance, 0.24 em below the base line and 0.76 above it.

    Those are what DejaVu Sans and its like reach: the descender of a g, the ascender of a d and brackets.
    """
    shown = [letter for letter in letters if letter[0].strip()] or letters
    _, x, y, ux, uy, _, size = shown[0]
    _, last_x, last_y, _, _, advance, _ = shown[-1]
    end_x, end_y = last_x + ux * advance, last_y + uy * advance
    down, up = -0.24 * size, 0.76 * size
    corners = [
        (px - uy * lift, py + ux * lift)
        for px, py, lift in ((x, y, down), (end_x, end_y, down), (end_x, end_y, up), (x, y, up))
    ]
    return Run("".join(letter[0] for letter in letters), shapely.Polygon(corners))


@cache
def letters_of(pdf: bytes) -> str:
    """All the letters in the order they were set, without the spaces between them: a cell's text stays together."""
    return re.sub(r"\s", "", "".join(item["text"] for page in opened(pdf) for item in page.chars))


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


def faults(pdf: bytes, pages: int | None = None) -> list[str]:
    """Everything out of its page's margins, and every two runs of text that overlap by more than a hair."""
    found = []
    for number, page in enumerate(opened(pdf)[:pages], 1):
        assert (page.width, page.height) == pytest.approx(PAGE, abs=0.01)
        all_runs = [run for run in runs(page) if run.text.strip()]
        room = shapely.box(SIDE, 8 * MM, PAGE[0] - SIDE, PAGE[1] - TOP).buffer(0.5)
        found += [f"page {number}: {run.text!r} leaves the page" for run in all_runs if not room.contains(run.box)]
        tray = shapely.LineString([(0, FOOT), (PAGE[0], FOOT)])
        found += [f"page {number}: {run.text!r} runs into the foot" for run in all_runs if run.box.intersects(tray)]
        boxes = [run.box for run in all_runs]
        pairs = shapely.STRtree(boxes).query(boxes, predicate="intersects").T.tolist()
        for one, other in pairs:
            # two lines of one paragraph may share 0.3 pt between a descender's room and an ascender's
            if (
                one < other
                and boxes[one].intersection(boxes[other]).area > 0.3 * min(boxes[one].length, boxes[other].length) / 2
            ):
                found.append(f"page {number}: {all_runs[one].text!r} over {all_runs[other].text!r}")
        for left, top, right, bottom in page.drawn:
            inside = 0 <= left <= right <= PAGE[0] and 0 <= top <= bottom <= PAGE[1]
            found += [] if inside else [f"page {number}: a line leaves the page"]
    return found


def test_the_reader_of_pages_sees_faults() -> None:
    def of(body: str) -> list[str]:
        style = "@page { size: A4; margin: 13mm 14mm 31mm } p { margin: 0; font: 10pt sans-serif; white-space: nowrap }"
        return faults(weasyprint.HTML(string=f"<style>{style}</style>{body}").write_pdf())

    assert of("<p>one</p><p>two</p>") == []
    assert "over" in of('<p>one line</p><p style="margin-top:-8pt">another</p>')[0]
    assert "leaves the page" in of('<p style="margin-left:160mm">a line that is too long for what is left</p>')[0]
    assert "runs into the foot" in of('<p style="position:absolute;top:251mm">low</p>')[0]
    turned = '<svg viewBox="0 0 100 100" width="200">'
    turned += '<text x="20" y="50" font-size="12" transform="rotate({} 20 50)">turned</text>'
    assert "over" in of(turned.format(-40) + '<text x="22" y="44" font-size="12">level</text></svg>')[0]
    assert of(turned.format(-90) + '<text x="28" y="44" font-size="12">level</text></svg>') == []
    drawn = '<p>beside</p><svg viewBox="0 0 100 100" width="200"><path d="M 50 50 H {}" stroke="black"/></svg>'
    assert of(drawn.format(100)) == []
    assert of(drawn.format(500) + "<style>svg { overflow: visible }</style>") == ["page 1: a line leaves the page"]
    # PDFium reads one of two alike that stand on each other
    for off in ("-10pt", "-9.5pt"):
        with pytest.raises(ValueError, match="stands on the same lettering"):
            of(f'<p style="line-height:10pt">twice</p><p style="line-height:10pt;margin-top:{off}">twice</p>')


@pytest.mark.parametrize(
    "name",
    [
        *("ordinary", "alike", "three", "five", "reflex", "dented 24", "long"),
        *("lapped", "upstand", "pan", "falling pan", "fewest", "valley", "sump", "flat"),
    ],
)
def test_nothing_overflows_or_overlaps(name: str) -> None:
    assert faults(paper(name, money=name == "ordinary")) == []


@pytest.mark.parametrize("title", [LONG_TITLE, "X" * 200, "W" * 200, "ill " * 50, "5052-H32/" * 22])
def test_long_titles_stay_in_their_boxes(title: str) -> None:
    pdf = pdf_of(titled("flat", title=title, customer=title, machine=title), money=False)
    assert faults(pdf, 2) == []
    assert squeezed(title) in letters_of(pdf)  # all of it on the first page, however it is broken there


def test_a_long_sheet_label_stays_in_its_line() -> None:
    stock = [{"label": "W" * 40, "length": 2500, "width": 1250}]
    assert faults(pdf_of(calc.plan(sheet_of(TRIANGLE, stock=stock)))) == []


def test_an_address_too_long_for_any_code_prints_none() -> None:
    assert qr_drawing("http://shop.example/" + "a" * 4000) == ""


def test_long_headings_stay_in_their_boxes() -> None:
    heading = Heading("M" * 150, *["Heading " * 12 + "M" * 60] * 5, address="http://shop.example/" + "a" * 200)
    assert faults(pdf_of(titled("three"), heading=heading, money=False), 2) == []


@pytest.mark.parametrize(
    "title",
    ["Tray", "Drip-tray for No. 2 lathe", "DRIP TRAY (rev. b) 38-01/B", "ønsket brett – venstre", "two  spaces  kept"],
)
def test_title_alloy_and_thickness_print_as_typed(title: str) -> None:
    text = text_of(pdf_of(titled("three", title=title), money=False), 1)
    assert (title if "  " not in title else title.split("  ", maxsplit=1)[0]) in text
    assert "5052-H32" in text
    assert "1.5 mm" in text
    words = [word.strip(",") for word in text.split()]
    assert "5052-H32" in words  # never broken inside


def test_every_page_is_numbered_and_carries_the_title_block() -> None:
    pages = opened(paper("ordinary"))
    assert 6 <= len(pages) <= 14  # two of them a picture a cut, three of the welding and the opening, one the stiffness
    for number, page in enumerate(pages, 1):
        foot = page.crop((0, PAGE[1] - FOOT, *PAGE)).extract_text()
        assert f"Page {number} of {len(pages)}" in foot
        for words in (
            "Test tray",
            "Hill Street Turning",
            "Bench lathe 3",
            "J-0042",
            "K7QF",
            "25 November 2026",
            "5052-H32",
        ):
            assert words in foot


def test_no_money_is_in_the_shop_copy() -> None:
    plan = planned("ordinary")
    shop, office = text_of(paper("ordinary", money=False)), text_of(paper("ordinary"))
    figures = {plan.cost.total, *MONEY.values(), "119.87"}
    figures |= {line.amount for line in plan.cost.lines if len(line.amount) > 4}
    assert not [figure for figure in figures if re.search(rf"(?<![\d.]){re.escape(figure)}(?![\d.])", shop)]
    assert not re.search(r"cost|price|rate\b|labour|EUR|total", shop, re.IGNORECASE)
    page = traveller_html(plan, HEADING, Display(), render, money=False)
    assert plan.cost.total not in page
    assert f"NOK {plan.cost.total}" in office
    for line in plan.cost.lines:
        assert line.what in office
        assert line.amount in office


def test_money_advice_stays_in_the_office() -> None:
    sheet = sheet_of(ORDINARY)  # no price given, and the program's own rates
    plan = calc.plan(sheet)
    money = [warning.text for warning in plan.warnings if "cost" in warning.text]
    assert money
    office, shop = (
        html.unescape(traveller_html(plan, HEADING, Display(), render, money=copy)) for copy in (True, False)
    )
    assert "0.00" in office  # the free sheet's amount, on the cost page
    assert all(text in office for text in money)
    assert not any(text in shop for text in money)


def test_the_papers_say_what_the_plan_says() -> None:
    plan, shown = planned("ordinary"), Display()
    pdf = paper("ordinary")
    text, letters = re.sub(r"\s+", " ", text_of(pdf)), letters_of(pdf)
    for step in plan.steps:
        assert squeezed(step.text) in letters
    for used in plan.layout.sheets:
        for cut in used.cuts:
            assert shown.length(cut.length) in text
    for blank in plan.blanks:
        for along, square in blank.marking.offsets:
            assert shown.figure(along) in text
            assert shown.figure(square) in text
    for joint in plan.shell.joints:
        assert f"{joint.dihedral:.1f}°" in text
    # hypot(884, 6) = 884.02, hypot(13, 439) = 439.2, hypot(876, 13) = 876.1, hypot(5, 420) = 420.03; ISO 13920:1996 class
    # B: over 400 to 1000 mm +-3, over 30 to 120 +-2 (the depth of 57)
    for size in ("884 mm ± 3 mm", "439 mm ± 3 mm", "876 mm ± 3 mm", "420 mm ± 3 mm", "57 mm ± 2 mm"):
        assert size in text
    assert "ISO 13920 class B" in text
    assert "checked by a competent person; local codes and licensed trades come first" in text
    assert "No chlorinated degreaser anywhere near an arc" in text


def test_every_cut_has_its_row_and_its_picture() -> None:
    plan = planned("ordinary")
    page = traveller_html(plan, HEADING, Display(), render, money=False)
    count = sum(len(used.cuts) for used in plan.layout.sheets)
    assert page.count('class="drawing cut-drawing"') == count
    for index in range(len(plan.layout.sheets)):
        for row in cut_lines(plan, index, Display()):
            assert f"<figcaption><b>Cut {row.number}</b>" in page
            assert f'<td class="nowrap">{row.marks}</td>' in page
            frees = "" if row.frees == "–" else f"; frees <b>{row.frees}</b>"
            assert f"Cut {row.number}</b>{frees}</figcaption>" in page


def test_cuts_made_already_have_no_picture() -> None:
    plan = planned("ordinary")
    used = plan.layout.sheets[0]
    cuts = (replace(used.cuts[0], made=True), *used.cuts[1:])
    cut_into = replace(plan, layout=replace(plan.layout, sheets=(replace(used, cuts=cuts),)))
    page = traveller_html(cut_into, HEADING, Display(), render, money=False)
    assert page.count('class="drawing cut-drawing"') == len(cuts) - 1
    assert "<b>made already</b>" in page


def test_the_saw_is_judged_by_the_published_range() -> None:
    plan = planned("ordinary")

    def told(saw: Saw | None, alloy: str = "5052-H32", display: Display | None = None) -> str:
        sheet = replace(plan.sheet, making=replace(plan.sheet.making, saw=saw))
        sheet = replace(sheet, material=replace(sheet.material, alloy=alloy))
        shown = display or Display()
        return html.unescape(traveller_html(replace(plan, sheet=sheet), HEADING, shown, render, money=False))

    # pi x 0.165 x 5000 / 60 = 43.2 m/s; 48 x 5000 x 0.04 / 1000 = 9.6 and x 0.20 = 48 m/min
    slow = told(Saw(165, 48, 5000))
    for words in (
        "43.2 m/s",
        "50 to 80 m/s, by some to 90 m/s",
        "hand-held saws do, which run at 25 to 55 m/s",
        "9.6 to 48.0 m/min",
    ):
        assert words in slow
    # pi x 0.250 x 4500 / 60 = 58.9; 6500: 85.1; 7500: 98.2; pi x 0.1 x 1000 / 60 = 5.2
    assert "This one is within it." in told(Saw(250, 80, 4500))
    assert "This one is past where some end." in told(Saw(250, 80, 6500))
    assert "This one runs over it." in told(Saw(250, 80, 7500))
    assert "This one runs under it." in told(Saw(100, 30, 1000))
    assert "is over the 4,000 marked on the blade" in told(Saw(165, 48, 5000, 4000))
    steel = told(Saw(165, 48, 5000), "DC01")
    assert "No rim speed or feed is listed for sawing steel" in steel
    assert "50 to 80 m/s" not in steel
    assert "the rim runs at" not in told(None)
    # 6 1/2 in x pi / 12 x 5000 rev = 8508 ft/min; 50, 80, 90, 25, 55 m/s x 196.85; 0.04 / 25.4 = 0.0016 in; 9.6 m = 31.5 ft
    inches = told(Saw(165.1, 48, 5000), display=Display("in"))
    for words in (
        "6 1/2 in blade",
        "8,510 ft/min",
        "9,840 to 15,750 ft/min",
        "to 17,720 ft/min",
        "4,920 to 10,830 ft/min",
    ):
        assert words in inches
    assert "Feed of 0.0016 to 0.0079 in a tooth: 31 to 157 ft/min" in inches


def test_the_code_is_printed_only_with_a_job_and_an_address() -> None:
    for heading, has_code in (
        (HEADING, True),
        (replace(HEADING, address=None), False),
        (replace(HEADING, job_number=""), False),
        (Heading(), False),
    ):
        page = traveller_html(planned("three"), heading, Display(), render, money=False)
        assert ("Scan to open the job" in page) == has_code
    assert faults(pdf_of(titled("three"), heading=Heading()), 1) == []


def test_the_code_has_its_finder_patterns_and_quiet_zone() -> None:
    # ISO/IEC 18004: a 7 x 7 finder at three corners, 4 modules of quiet zone; version 3 is 29 modules wide
    top = ElementTree.fromstring(qr_drawing("http://192.168.1.20:8000/jobs/42"))  # noqa: S314 - our own text
    size = int(top.get("viewBox", "0").split()[-1])
    data = next(item.get("d", "") for item in top.iter() if item.get("fill") == "#000000")
    bars = [[float(part) for part in re.findall(r"[\d.]+", bar)] for bar in data.split("Z") if bar]
    dark = {(x, int(bar[1])) for bar in bars for x in range(int(bar[0]), int(bar[2]))}
    assert (size - 8 - 17) % 4 == 0
    assert min(x for x, _ in dark) == 4
    assert max(x for x, _ in dark) == size - 5
    for left, upper in ((4, 4), (size - 11, 4), (4, size - 11)):
        for x in range(7):
            for y in range(7):
                edge = max(abs(x - 3), abs(y - 3))
                assert ((left + x, upper + y) in dark) == (edge != 2)


def rows_of(name: str, table: str) -> list[list[str]]:
    """The rows of the tables of a class, as the text of their cells."""
    page = traveller_html(planned(name), HEADING, Display(), render, money=False)
    found = []
    for body in re.findall(rf'<table class="{table}">.*?<tbody>(.*?)</tbody>', page, re.DOTALL):
        for row in re.findall(r"<tr.*?</tr>", body, re.DOTALL):
            cells = re.findall(r"<td.*?</td>", row, re.DOTALL)
            found.append([html.unescape(re.sub(r"<[^>]+>", "", cell)).strip() for cell in cells])
    return found


def test_a_pan_has_its_bends_in_the_order_they_are_made() -> None:
    rows = rows_of("falling pan", "bends")
    # returns before walls, since they are farther out; of those long before short (common practice, see calc.folding)
    assert [row[1][0] for row in rows[:4]] == ["B", "D", "C", "E"]
    assert [row[1] for row in rows[4:]] == ["A-B", "A-D", "A-C", "A-E"]
    assert [row[0] for row in rows] == [str(turn) for turn in range(1, 9)]
    assert [row[2] for row in rows] == ["DOWN"] * 4 + ["UP"] * 4
    # a floor that falls 10 in 600 leans atan(1 / 60) = 0.95 degrees
    assert [row[3] for row in rows] == ["90.0°"] * 6 + ["91.0°", "89.0°"]
    # DIN 6935: k = 0.65 + 0.5 log10(2 / 1.5) = 0.7125; a right angle takes pi / 2 (2 + 0.7125 x 1.5 / 2) = 3.98
    assert {row[7] for row in rows[:6]} == {"3.98 mm"}
    assert {row[4] for row in rows} == {"2 mm"}
    # a return of 20 from the wall's inside, which is the outside of its bend: 20 - 3.5 flat, and half of 3.98
    assert rows[0][5].startswith("18.5 mm from edge ")


def test_a_level_pan_has_its_bend_lines_where_they_are_worked_by_hand() -> None:
    # walls 60 high outside of 1.5 mm: 58.5 inside, less the radius of 2, and half of the 3.98 that the bend takes
    rows = rows_of("pan", "bends")
    assert {row[5].split(" from")[0] for row in rows} == {"58.5 mm"}
    assert [row[1] for row in rows] == ["A-B", "A-D", "A-C", "A-E"]


def test_the_method_of_the_bend_allowance_is_named() -> None:
    for name, method in (("pan", "DIN 6935"), ("fewest", "the shop's own K, 0.42")):
        page = html.unescape(traveller_html(planned(name), HEADING, Display(), render, money=False))
        assert f"allowances by {method}" in page
        assert f", by {method}" in page  # among the key figures
    assert "allowances by" not in traveller_html(planned("skew"), HEADING, Display(), render, money=False)


def test_a_bend_that_no_edge_is_parallel_to_is_set_out_by_its_ends() -> None:
    plan, shown = planned("fewest"), Display()
    rows = {row[1]: row[5] for row in rows_of("fewest", "bends")}
    for fold in plan.blanks[0].folds:
        one, other = (f"{shown.figure(x)}; {shown.figure(y)}" for x, y in fold.line)
        assert rows[fold.name] == f"from {one} to {other}"


def test_what_is_measured_on_a_pan_and_on_a_lap() -> None:
    # ISO 13920:1996 class B: over 2 to 30 mm +-1, over 30 to 400 +-2, over 400 to 1000 +-3; hypot(600, 400) = 721.1
    assert rows_of("falling pan", "inspection")[:9] == [
        ["Side 1–2 outside", "600 mm", "± 3 mm", ""],
        ["Side 2–3 outside", "400 mm", "± 2 mm", ""],
        ["Side 3–4 outside", "600 mm", "± 3 mm", ""],
        ["Side 4–1 outside", "400 mm", "± 2 mm", ""],
        ["Diagonal 1–3 outside", "721 mm", "± 3 mm", ""],
        ["Diagonal 2–4 outside", "721 mm", "± 3 mm", ""],
        ["Height outside, side 4–1", "60 mm", "± 2 mm", ""],
        ["Height outside, side 2–3", "70 mm", "± 2 mm", ""],
        ["Return wide", "20 mm", "± 1 mm", ""],
    ]
    assert ["Height outside", "60 mm", "± 2 mm", ""] in rows_of("pan", "inspection")
    assert ["Lap wide", "25 mm", "± 1 mm", ""] in rows_of("lapped", "inspection")
    assert ["Upstand high", "30 mm", "± 1 mm", ""] in rows_of("upstand", "inspection")
    assert not [row for row in rows_of("pan", "inspection") if "outlet" in row[0] or "Drains" in row[0]]
    assert [row for row in rows_of("lapped", "inspection") if "outlet" in row[0]]


def test_both_depths_of_a_valley_and_the_size_of_a_sump_are_measured() -> None:
    # ISO 13920:1996 class B: over 2 to 30 mm +-1, over 30 to 400 +-2
    rows = rows_of("valley", "inspection")
    assert ["Depth, valley shallow end", "40 mm", "± 2 mm", ""] in rows
    assert ["Depth, valley deep end", "57 mm", "± 2 mm", ""] in rows
    rows = rows_of("sump", "inspection")
    for what, size in (("Depth below the rim", "46 mm"), ("Sump length", "90 mm"), ("Sump width", "60 mm")):
        assert [what, size, "± 2 mm", ""] in rows
    shown = re.sub(r"\s+", " ", text_of(paper("sump", money=False)))
    assert "90 × 60, level" in shown
    assert re.sub(r"\s+", " ", text_of(paper("valley", money=False))).count("57 mm") >= 2


def test_the_outlet_of_a_sump_is_marked_out_on_its_floor() -> None:
    plan = planned("sump")
    floor = next(face.name for face in plan.shell.faces if face.role == "sump")
    blank = next(blank for blank in plan.blanks if blank.name == floor)
    along, square = blank.holes[0].centre
    row = offset_lines(blank, Display())[-1]
    assert row[0] == "ø40"
    # the rule reads to half a millimetre
    assert float(row[1]) == pytest.approx(along, abs=0.251)
    assert float(row[2]) == pytest.approx(square, abs=0.251)


def test_a_pan_is_told_by_its_sizes_outside() -> None:
    level, falling = (text_of(paper(name, money=False)) for name in ("pan", "falling pan"))
    assert "600 × 400 × 60 mm" in level
    assert "far end 70 mm" in re.sub(r"\s+", " ", falling)
    assert "Depth below the rim" not in level
    assert text_of(paper("pan", money=False), 1).splitlines()[1] == "Pan"  # it has no title of its own
    assert "25 mm wide, all round" in text_of(paper("lapped", money=False))


def test_each_folded_blank_is_shown_as_it_becomes() -> None:
    for name in ("lapped", "falling pan"):
        page = traveller_html(planned(name), HEADING, Display(), render, money=False)
        shown = re.findall(r'class="drawing folded-view".*?<title>Blank (\S+) folded', page)
        assert shown == [blank.name for blank in planned(name).blanks if blank.same_as is None]
    assert "folded-view" not in traveller_html(planned("skew"), HEADING, Display(), render, money=False)


def test_only_what_is_marked_out_is_proved() -> None:
    plan = planned("falling pan")
    (blank,) = plan.blanks
    corners = [
        (round(2 * x) / 2, round(2 * y) / 2) for x, y in blank.cut_outline
    ]  # as a rule of half millimetres marks
    for ends, length, words in check_lines(plan, blank, Display()):
        start, end = (int(number) - 1 for number in ends.split("–"))
        assert {start, end} <= set(blank.marked_corners)
        assert length == Display().figure(math.dist(corners[start], corners[end]))
        if words != "across":
            assert blank.edges[start].kind != "bend"
            meets = blank.edges[start].meets
            assert words == (f"weld to {meets}" if meets else "return")


def test_a_seam_between_faces_in_one_plane_is_no_ridge() -> None:
    welding = planned("lapped").weld_plan
    assert welding
    mitres = [row for row in weld_lines(welding, Display()) if "r-" in row.name]
    assert len(mitres) == 4
    assert {(row.dihedral, row.edges) for row in mitres} == {("180.0°", "flat: square butt")}


def welded(name: str) -> tuple[calc.Plan, WeldPlan]:
    plan = planned(name)
    assert plan.weld_plan
    return plan, plan.weld_plan


def test_every_weld_has_its_settings_and_the_rule_stands_once_a_filler() -> None:
    plan, welding = welded("ordinary")
    text, letters = (
        re.sub(r"\s+", " ", text_of(paper("ordinary", money=False))),
        letters_of(paper("ordinary", money=False)),
    )
    for turn, weld in enumerate(welding.welds, 1):
        row = f"{turn}{squeezed(weld.name)}{squeezed(Display().length(weld.length))}"
        assert row in letters
        assert weld.rule in text
    # no rod over 3 % magnesium above 65 degrees C (filler charts of welding handbooks): 5356 is one, for 5052
    assert text.count("never in service above 65 °C with ER5356") == 1
    # amps and travel of 1.6 mm aluminium down to 1.5 mm (welding handbooks): 400 mm a minute; argon 6 to 7 l/min
    assert "argon 6 to 7 l/min, about 400 mm a minute" in text
    assert f"arc burns {plan.takeoff.weld_length / 400:.0f} min" in text
    assert "The blanks are not cut larger for it." in text
    assert "A/t across (Blodgett" in text


def test_the_settings_of_two_fillers_name_their_welds() -> None:
    # a stainless rim in a mild steel bench takes ER309L, its seams ER308L (filler charts of welding handbooks)
    sheet = sheet_of(TRIANGLE, material={"alloy": "304", "thickness": 1.5}, bench={"alloy": "DC01", "thickness": 3})
    welding = calc.plan(sheet).weld_plan
    assert welding
    told = settings_of(welding, Display())
    assert [shared.welds for shared in told] == ["B-C, A-C and A-B", "Rim"] or {shared.welds for shared in told} >= {
        "Rim"
    }
    assert {shared.words.split()[0] for shared in told} == {"ER308L", "ER309L"}
    assert [rule.split(":")[0] for rule in rules_of(welding)] == ["ER308L", "ER309L"]


def test_every_tack_and_every_run_is_listed_in_its_order() -> None:
    plan, welding = welded("ordinary")
    told = tack_lines(plan, welding, Display())
    for weld, line in zip([weld for weld in welding.welds if weld.tacks], told, strict=True):
        assert (line.name, line.count) == (weld.name, str(len(weld.tacks)))
        if weld.kind == "seam":
            in_order = sorted(weld.tacks, key=lambda tack: tack.turn)
            assert line.places == ", ".join(Display().figure(tack.at) for tack in in_order)
            assert (
                line.start == "its upper end"
            )  # as the step tells it of a seam that runs from the rim to the low point
    runs = run_lines(plan, welding, Display())
    counts = {
        kind: sum(len(weld.runs) for weld in welding.welds if weld.kind == kind) for kind in ("seam", "outlet", "rim")
    }
    assert [line.number for line in runs] == [
        *(str(turn) for turn in range(1, counts["seam"] + 1)),
        *(f"F{turn}" for turn in range(1, counts["outlet"] + 1)),
        *(f"R{turn}" for turn in range(1, counts["rim"] + 1)),
    ]
    # places on the rim are told from the first corner of their side, so none is past its end
    corners = plan.sheet.shape.corners
    for line in runs:
        if line.name.startswith("Rim "):
            side = int(line.start.removeprefix("corner ")) - 1
            length = math.dist(corners[side], corners[(side + 1) % len(corners)])
            begins, ends = (float(part) for part in line.places.split(" → "))
            assert 0 <= min(begins, ends) < max(begins, ends) <= length + 0.25
    rows = in_columns(runs, 4)
    assert [line for column in zip(*rows, strict=True) for line in column if line] == runs
    letters = letters_of(paper("ordinary", money=False))
    assert all(f"{line.number}{squeezed(line.name)}{squeezed(line.places)}" in letters for line in runs)


def test_reliefs_are_numbered_on_from_the_seams_and_named_by_their_corners() -> None:
    plan, welding = welded("lapped")
    runs = run_lines(plan, welding, Display())
    reliefs = [line for line in runs if line.name.startswith("Relief at ")]
    holes = sum(blank.count for blank in plan.blanks for hole in blank.holes if hole.purpose == "relief")
    assert len(reliefs) == holes
    assert {line.name for line in reliefs} == {f"Relief at rim {corner}" for corner in range(1, 5)}
    numbers = [int(line.number) for line in runs if line.number.isdigit()]
    assert numbers == list(range(1, len(numbers) + 1))
    assert [line for line in runs if line.number.isdigit()][-len(reliefs) :] == reliefs


def test_the_aperture_sheet_is_for_what_is_let_into_a_bench() -> None:
    never = "The opening is cut from the tray as measured, never from this page"
    for name, wanted in (("ordinary", True), ("lapped", True), ("pan", False), ("flat", False)):
        assert (never in re.sub(r"\s+", " ", text_of(paper(name, money=False)))) is wanted
    plan = planned("alike")
    sheet = aperture_sheet(plan, Display())
    assert sheet
    # side 1-2 of the mirror tray falls 40 in 200: its dry face stands 1.5 sin(atan(40 / 200)) = 0.29 outside the rim
    assert (sheet.lines[0].what, sheet.lines[0].planned, sheet.lines[0].out) == ("Side 1–2", "600 mm", "0.3 mm")
    assert [line.what for line in sheet.lines[4:]] == ["Diagonal 1–3", "Diagonal 2–4"]
    assert not any(line.out for line in sheet.lines[4:])


def test_shrinkage_says_whose_figures_and_whether_it_is_on_the_blanks() -> None:
    own = {"across": 1.4, "along": 0.8, "across_spread": 0.2, "along_spread": 0.1, "trays": 6}
    sheet = sheet_of(MIRROR, making={"allow_shrinkage": True, "own_shrinkage": own})
    welding = calc.plan(sheet).weld_plan
    assert welding
    words = shrinkage_words(welding, Display())
    assert "from 6 of your trays" in words
    assert words.endswith("The blanks are cut larger by it.")
    # along: 0.8 of the middle of 0.8 and 3 mm in 3 m (handbooks, from memory), two spreads of 0.1 either way
    middle = (0.8 + 3) / 6
    assert f"{0.8 * middle:.1f} mm a metre ({0.6 * middle:.1f} to {1.0 * middle:.1f}); the next tray is within" in words


def test_shrinkage_along_of_which_nothing_is_learnt_is_told_as_published() -> None:
    """What the formulas are for, and that the range is wider than they differ, is said where they stand alone."""
    own = {"across": 1.4, "along": None, "across_spread": 0.2, "along_spread": 0.0, "trays": 6}
    published, learnt = (calc.plan(sheet_of(MIRROR, making={"own_shrinkage": each})).weld_plan for each in (None, own))
    assert published
    assert learnt
    words, other = (shrinkage_words(welding, Display()) for welding in (learnt, published))
    assert "from 6 of your trays; along, nothing is learnt yet: as published." in words
    assert "both for steel, so their range is taken wider." in other
    assert len({along for each in (words, other) for along in re.findall(r"along it (.*?);", each)}) == 1


def test_a_plan_of_an_earlier_day_prints_its_welding_too() -> None:
    stored = planned("ordinary").as_json()
    del stored["welding"], stored["budget"]
    old = calc.Plan.from_json(stored)
    page = html.unescape(traveller_html(old, HEADING, Display(), render, money=False))
    assert "Order of runs" in page
    assert "never in service above 65 °C with ER5356" in page
    assert "Errors:" not in page


def test_hostile_words_are_only_words() -> None:
    hostile = "<script>alert(1)</script> & \"quotes\" '<b>' ]]> <!-- {{ x }} {% y %}"
    plan = titled(
        "three", title=hostile, customer=hostile + "\x00\x08\x1b", machine="</style><img src=file:///etc/passwd>"
    )
    page = traveller_html(plan, HEADING, Display(), render, money=True)
    assert "<script" not in page
    assert "<img" not in page
    assert not re.search("[\x00-\x08\x0b-\x1f]", page)
    pdf = pdf_of(plan)
    assert faults(pdf) == []
    assert squeezed(hostile) in letters_of(pdf)
    assert squeezed("{{ x }} {% y %}") in letters_of(pdf)


def test_the_same_plan_gives_the_same_bytes_without_a_warning(caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.WARNING, logger="weasyprint"):
        assert paper("ordinary") == pdf_of(calc.plan(planned("ordinary").sheet))
    assert not caplog.records


def test_a_plan_in_inches_reads_in_inches() -> None:
    plan = calc.plan({**planned("ordinary").sheet.as_json(), "making": {"units": "in", "effort": "quick"}})
    pdf = traveller_pdf(plan, HEADING, plan.sheet.making.display, render, money=True)
    assert faults(pdf) == []
    text = text_of(pdf)
    assert "34 13/16" in text  # 884.02 / 25.4 = 34.804, to a sixteenth
    assert "1.5 mm" in text  # the metal's thickness stays in mm
    assert "trimmargin0.197in" in letters_of(pdf)  # 5 / 25.4
    # runs in feet of 304.8 mm
    takeoff = plan.takeoff
    for length in (takeoff.cut_length, takeoff.edge_length, takeoff.weld_length, takeoff.rim_weld_length):
        assert f"{length / 304.8:.1f} ft" in text
    assert not re.search(r"\d m\b", text)
    told = [line for page in opened(pdf) for line in step_lines(page)]
    assert len([line for line in told if re.search(r"\d+/\d+ in\b", line)]) > 10
    # no length is broken across two lines of a step
    assert [line for line in told if re.match(r"\d+/\d+|mm\b|in[,.;:)]|degrees\b", line)] == []


def step_lines(page: Any) -> list[str]:
    """The lines of the column that tells what to do, on a page that has it."""
    words = page.crop((0, 0, PAGE[0], PAGE[1] - FOOT)).extract_words()
    heads = [one for one, after in pairwise(words) if (one["text"], after["text"]) == ("What", "to")]
    if not heads:
        return []
    right = min(word["x0"] for word in words if word["text"] == "Plan," and abs(word["top"] - heads[0]["top"]) < 20)
    column = page.crop((heads[0]["x0"] - 1, heads[0]["bottom"], right, PAGE[1] - FOOT))
    return str(column.extract_text()).splitlines()


def test_steps_are_numbered_through_under_their_kinds() -> None:
    plan, letters = planned("ordinary"), letters_of(paper("ordinary"))
    at, kind = 0, ""
    for number, step in enumerate(plan.steps, 1):
        if step.kind != kind:
            kind = step.kind
            at = letters.index(kind.capitalize(), at)
        at = letters.index(f"{number}{squeezed(step.text)}", at)


def test_no_table_leaves_one_row_or_two_to_the_next_page() -> None:
    css = (Path(__file__).parents[2] / "templates/papers/traveller.css").read_text()
    for count in range(36, 48):
        rows = "".join(f"<tr><td>row {index}</td></tr>" for index in range(count))
        table = (
            f"<h2>Rows</h2><table class='inspection'><thead><tr><th>What</th></tr></thead><tbody>{rows}</tbody></table>"
        )
        pages = opened(weasyprint.HTML(string=f"<style>{css}</style>{table}").write_pdf())
        shown = [page.extract_text().count("row ") for page in pages]
        assert sum(shown) == count
        assert len(shown) == 1 or shown[-1] >= 3, shown
    assert len(shown) == 2  # the longest did run over


def test_seams_say_how_their_square_edges_open() -> None:
    plan = planned("ordinary")
    text = html.unescape(traveller_html(plan, HEADING, Display(), render, money=False))
    for joint in plan.shell.joints:
        # common practice: up to 20 degrees a square butt
        opening = 180.0 - joint.dihedral
        form = "allow for filler" if opening > 20 else "square butt"
        # the cell breaks its line before "side", and the row's figures are read between its lines
        assert re.search(rf"opens {opening:.1f}° on the dry (\S+ ){{0,9}}side: {form}", text)
    assert "vee" not in text


def test_each_tray_has_its_column_for_what_was_measured() -> None:
    one, several, many = (text_of(paper(name, money=name == "ordinary")) for name in ("ordinary", "alike", "many"))
    assert "Tray 1" not in one
    assert "Tray 1 Tray 2" in several
    assert "Tray 3" not in several
    assert "Tray 1 Tray 2 Tray 3 Tray 4" in many
    assert "Trays 5 to 6: on copies of this table" in many


def test_copies_that_lie_mirrored_are_told_where_they_are_marked_out() -> None:
    plan, text = planned("alike"), re.sub(r"\s+", " ", text_of(paper("alike", money=False)))
    mirrored = {blank.name: blank.mirrored for blank in plan.blanks}
    told = {
        copy: way
        for copies, way in re.findall(
            r"((?:[A-Z]\.\d+(?:, )?)+) lies? (?:turned over|wet face up) on sheet 1: mark (?:it|them) out (\w+)", text
        )
        for copy in copies.split(", ")
    }
    for placed in plan.layout.sheets[0].placed:
        copy = f"{placed.blank}.{placed.copy}"
        if placed.turned_over or mirrored[placed.blank]:
            assert told.pop(copy) == ("mirrored" if placed.turned_over != mirrored[placed.blank] else "as"), copy
    assert told == {}


def test_the_cut_list_names_edges_as_the_drawings_number_them() -> None:
    plan = planned("alike")
    blanks = {blank.name: blank for blank in plan.blanks}
    seen = 0
    for index, used in enumerate(plan.layout.sheets):
        for cut, row in zip(used.cuts, cut_lines(plan, index, Display()), strict=True):
            for finished, shown in zip(cut.finishes, row.finishes.split(", "), strict=bool(cut.finishes)):
                name, edge = finished.split(".")[0], int(finished.split(":")[1])
                start, end = (int(corner) - 1 for corner in shown.split(" ")[1].split("–"))
                own, pattern = blanks[name].cut_outline, blanks[blanks[name].same_as or name].cut_outline
                assert end == (start + 1) % len(pattern)
                assert math.dist(own[edge], own[(edge + 1) % len(own)]) == pytest.approx(
                    math.dist(pattern[start], pattern[end]), abs=2e-3
                )
                seen += 1
    assert seen > 12


def test_thickness_prints_to_the_figures_it_needs() -> None:
    plan = planned("three")
    thin = replace(plan.sheet.material, thickness=0.05 * 25.4)
    assert material(replace(plan, sheet=replace(plan.sheet, material=thin))) == "5052-H32, 1.27 mm"


def test_the_cut_list_of_a_sheet_cut_before_names_what_the_plan_has_no_more() -> None:
    used = planned("three").layout.sheets[0]
    rows = cut_lines(replace(planned("three"), blanks=planned("three").blanks[:1]), 0, Display())
    shown = " ".join(row.finishes for row in rows)
    for cut in used.cuts:
        for finished in cut.finishes:
            copy, edge = finished.split(":")
            # a triangle's edge from its corner k to the next, the last to the first
            assert f"{copy} {int(edge) + 1}–{(int(edge) + 1) % 3 + 1}" in shown


def test_arcs_and_what_rounding_does_are_told() -> None:
    plan = planned("ordinary")
    text = re.sub(r"\s+", " ", text_of(paper("ordinary")))
    rounding = plan.rounding
    assert rounding is not None
    assert "Rounded to 0.5 mm: no figure is out by more than 0.25 mm" in text
    assert f"It opens or closes a seam by {Display().fine(rounding.gap)} at most ({rounding.gap_at})" in text
    for blank in plan.blanks:
        for swing in blank.marking.swings:
            (one, other), (radius, other_radius) = swing.centres, (Display().figure(radius) for radius in swing.radii)
            assert f"corner {swing.corner + 1}: {radius} from {one + 1}, {other_radius} from {other + 1}" in text
        for check in blank.marking.checks:
            marked = math.dist(blank.marking.rounded[check.start], blank.marking.rounded[check.end])
            assert f"{check.start + 1}–{check.end + 1} {Display().figure(marked)}" in text
