"""One sheet as it is cut: blanks named, cuts numbered in the order made, offcuts worth keeping, the trim margin.

Where the blanks would be small, the part of the sheet that they take is drawn again, larger, and lettered there.
"""

import math
from collections.abc import Sequence

from calc import Plan
from calc.alike import Lying, corner_numbers, lying
from calc.blank import patterns
from calc.drawing.corner_marks import dot_corner, mark_corners
from calc.drawing.cut_numbers import RING, number_cut
from calc.drawing.labels import OFF_LINES, SIZE, Block, Labels
from calc.drawing.no_use import hatch_no_use, name_no_use
from calc.drawing.offcuts import hatch, name_offcut
from calc.drawing.places import beside, between, ring, within
from calc.drawing.rim import WIDTH, pointed_at
from calc.drawing.sheet_edge import dimension_sheet, draw_edge, draw_trim
from calc.drawing.svg import Attributes, Drawing
from calc.drawing.touch import APART, Line, Touched, Touches, lay_touches
from calc.drawing.view import View
from calc.drawing.windows import Detail, Window, arrange
from calc.laid import Placed, SheetLayout
from calc.layout.job import in_place_of
from calc.records import Outline, Point
from calc.shared import is_guests
from calc.steps import cut_keys
from calc.units import Display

STUB = 24.0  # [units] a cut that shows less than this in a detail is numbered in another
SEEN = 290.0  # [units] what a phone shows at once of a drawing that is large enough to be touched: its key is no wider
MADE = 3.4  # [units] over all: a slot is drawn within it
NUMERALS = ("I", "II", "III", "IV")
Numbered = tuple[int, Point, Line]  # a cut by its number, where that stands, the line it stands at


def sheet_drawing(
    plan: Plan, index: int, display: Display, *, width: float = WIDTH, touches: Touches | None = None
) -> str:
    """Sheet `index` of the plan's layout in true proportion, with its cuts in order. Returns inline SVG.

    touches: by their steps' keys, the cuts that can be ticked in the drawing, and which are done.
    """
    used = plan.layout.sheets[index]
    ways = arrange(used, width, abreast=bool(touches))
    labels = Labels(Drawing(), width, ways.height)
    sheet = Window((0.0, 0.0), (used.length, used.width))
    shown = ways.details or (Detail(sheet, ways.whole),)
    trim = plan.sheet.making.edge_trim
    _ground(labels, ways.whole, used, sheet, trim)
    if ways.details:
        _frames(labels, ways.whole, ways.details, used, trim)
    for detail in shown:
        hatch_no_use(labels, detail, used)
        _pieces(labels, detail, used)
    marked = _marked(plan, shown, used)
    for outline, numbers in marked:
        if 1 in numbers:
            dot_corner(labels, outline, numbers.index(1))
    _dot_in_parts(labels, plan, shown, used)
    dimension_sheet(labels, ways.whole, used, display)
    _names(labels, plan, shown, used)
    numbered = _cuts(labels, ways.whole, ways.details, used, display, room=APART if touches else 2 * RING)
    for offcut in used.offcuts:
        inside = [detail.view for detail in shown if all(detail.window.holds(corner) for corner in offcut.outline)]
        name_offcut(labels, inside[0] if inside else ways.whole, offcut.outline, display)
    for outline, numbers in marked:
        mark_corners(labels, outline, numbers)
    _notes(labels, plan, index, display)
    _touch(labels, numbered, cut_keys(plan.layout)[index], touches or {})
    over_all = " over all" if used.outline else ""
    size = f"{display.figure(used.length)} by {display.length(used.width)}{over_all}"
    title = f"Sheet {index + 1}, {size}, {len(used.cuts)} cuts"
    return labels.finish(title, "sheet-drawing", key_width=SEEN if touches else None)


def _ground(labels: Labels, view: View, used: SheetLayout, sheet: Window, trim: float) -> None:
    """The whole sheet: its edge, the trim margin, the blanks and the offcuts."""
    for offcut in used.offcuts:
        labels.drawing.lines(hatch(view.all(offcut.outline)), "hatch offcut")
    for placed in used.placed:
        labels.drawing.outline(view.all(placed.outline), "thin piece")
        labels.avoid(view.all(placed.outline), "thin", closed=True)
    draw_edge(labels, Detail(sheet, view), used)
    draw_trim(labels, Detail(sheet, view), used, trim)


def _frames(labels: Labels, whole: View, details: tuple[Detail, ...], used: SheetLayout, trim: float) -> None:
    """Each detail's border, in chain line where it isn't the sheet's edge, and the same on the whole sheet."""
    for numeral, detail in zip(NUMERALS, details, strict=False):
        window, view = detail.window, detail.view
        labels.drawing.outline(whole.all(window.corners), "centre part")
        for start, end in window.edges:
            if not used.is_on_edge(start, end):
                labels.drawing.line(view.at(start), view.at(end), "centre part")
                labels.avoid((view.at(start), view.at(end)), "centre")
        draw_edge(labels, detail, used)
        for offcut in used.offcuts:
            if inside := window.clip_outline(offcut.outline):
                labels.drawing.lines(hatch(view.all(inside)), "hatch offcut")
        draw_trim(labels, detail, used, trim)
        if len(details) > 1:
            for shown in (view, whole):
                _number_detail(labels, numeral, shown.all(window.corners))


def _number_detail(labels: Labels, numeral: str, frame: Outline) -> None:
    """A detail's numeral: over its frame, or beside it where others lie over it."""
    low_left, low_right, top_right, top_left = frame
    places = [beside(top_left, top_right, 2.0, shares=(0.05, 0.1, 0.2, 0.9), side=1)]
    right = between(low_right, top_right, 0.5)
    places.append(ring(right, (3.0, 8.0), towards=(right[0] + 1.0, right[1])))
    places.append(ring(between(low_left, top_right, 0.5), (20.0, 40.0), leader=True))
    labels.put(((numeral, SIZE, True),), places, key=f"Detail {numeral}", limit=OFF_LINES)


def _pieces(labels: Labels, detail: Detail, used: SheetLayout) -> None:
    """The outlines of the blanks as far as a view shows them."""
    for placed in used.placed:
        outline = placed.outline
        name: Attributes = {"data-piece": f"{placed.blank}.{placed.copy}"}
        if is_guests(placed.blank):
            style = "thin piece guest"
        else:
            style, name = "outline piece", {**name, "stroke-width": 1.5}
        if all(detail.window.holds(corner) for corner in outline):
            labels.drawing.outline(detail.view.all(outline), style, name)
            labels.avoid(detail.view.all(outline), "outline", closed=True)
            continue
        edges = zip(outline, outline[1:] + outline[:1], strict=True)
        lines = [detail.view.all(part) for part in (detail.window.clip(*edge) for edge in edges) if part]
        labels.drawing.lines(lines, style, name)
        for line in lines:
            labels.avoid(line, "outline")


def _names(labels: Labels, plan: Plan, details: tuple[Detail, ...], used: SheetLayout) -> None:
    """Each blank's name, in the view that shows most of it."""
    for placed in used.placed:
        detail, inside = max(
            ((detail, detail.window.clip_outline(placed.outline)) for detail in details),
            key=lambda pair: _spread(pair[1]),
        )
        outline = detail.view.all(inside or placed.outline)
        if not placed.fits:
            name_no_use(labels, outline, placed, plan.blanks)
            continue
        words = _words(placed)
        block: Block = ((words, SIZE + 1, True),)
        places = [within(outline), within(outline, along=True), *pointed_at(labels, outline)]
        labels.put(block, places, key=f"{words}: no room to name it", style="figure piece")


def _marked(
    plan: Plan, details: tuple[Detail, ...], used: SheetLayout
) -> list[tuple[tuple[Point, ...], tuple[int, ...]]]:
    """Each blank's outline in the view that shows all of it, with the number of each corner on its pattern's drawing."""
    numbers = corner_numbers(plan.blanks)
    marked = []
    for placed in used.fitting:
        whole = [detail.view for detail in details if all(detail.window.holds(corner) for corner in placed.outline)]
        own = numbers.get(placed.blank, ())
        count = len(placed.outline)
        if whole and len(own) == count:
            way = -1 if placed.turned_over else 1
            marked.append((whole[0].all(placed.outline), tuple(own[way * place % count] for place in range(count))))
    return marked


def _dot_in_parts(labels: Labels, plan: Plan, details: tuple[Detail, ...], used: SheetLayout) -> None:
    """Corner 1 of each blank that no view shows all of, in one that shows that corner."""
    numbers = corner_numbers(plan.blanks)
    for placed in used.fitting:
        own, count = numbers.get(placed.blank, ()), len(placed.outline)
        if len(own) != count or any(all(map(detail.window.holds, placed.outline)) for detail in details):
            continue
        way = -1 if placed.turned_over else 1
        first = next((place for place in range(count) if own[way * place % count] == 1), None)
        for detail in details:
            if first is not None and detail.window.holds(placed.outline[first]):
                dot_corner(labels, detail.view.all(placed.outline), first)
                break


def _spread(outline: tuple[tuple[float, float], ...]) -> float:
    ends = outline[1:] + outline[:1]
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in zip(outline, ends, strict=True)))


def _words(placed: Placed) -> str:
    name = f"{placed.blank}.{placed.copy}"
    return f"{name} over" if placed.turned_over else name


def _cuts(
    labels: Labels, whole: View, details: tuple[Detail, ...], used: SheetLayout, display: Display, *, room: float
) -> list[Numbered]:
    """Every cut as a line in each view, as a slot where it is made, numbered in the details it runs through or else on the
    whole sheet.

    room: of each number. Returns where each number stands, the middle of its line if it had no room, with the line.
    """
    numbered = []
    for number, cut in enumerate(used.cuts, 1):
        mark = {"data-cut": str(number)}
        _cut_line(labels, (whole.at(cut.start), whole.at(cut.end)), mark, made=cut.made)
        parts = []
        for detail in details:
            if part := detail.window.clip(cut.start, cut.end):
                ends = (detail.view.at(part[0]), detail.view.at(part[1]))
                _cut_line(labels, ends, mark, made=cut.made)
                parts.append(ends)
        parts.sort(key=lambda ends: -math.dist(*ends))
        shown = parts[:1] + [ends for ends in parts[1:] if math.dist(*ends) > STUB]
        for start, end in shown or [(whole.at(cut.start), whole.at(cut.end))]:
            numbered.append((number, start, end, display.figure(cut.length)))
    found = []
    for item in sorted(numbered, key=lambda item: math.dist(item[1], item[2])):
        number, start, end, _ = item
        found.append((number, number_cut(labels, *item, room=room) or between(start, end, 0.5), (start, end)))
    return found


def _touch(labels: Labels, numbered: Sequence[Numbered], keys: Sequence[str], touches: Touches) -> None:
    """A link over each cut that can be ticked, at all its numbers, in the order of the cuts."""
    touched = []
    for number, key in enumerate(keys, 1):
        own = [(middle, line) for cut, middle, line in numbered if cut == number]
        if key in touches and own:
            middles, lines = zip(*own, strict=True)
            touched.append(Touched(touches[key], middles, lines))
    lay_touches(labels.drawing, touched)


def _cut_line(labels: Labels, ends: tuple[Point, Point], mark: Attributes, *, made: bool) -> None:
    if not made:
        labels.drawing.line(*ends, "cut", mark)
        return
    labels.drawing.line(*ends, "cut made", {**mark, "stroke-width": MADE})
    labels.drawing.line(*ends, "slot")


def _notes(labels: Labels, plan: Plan, index: int, display: Display) -> None:
    """What the broken line and the dots are, and which blanks don't lie as their drawings show them."""
    if plan.sheet.making.edge_trim > 0:
        labels.keyed.append((f"Broken line: trim margin {display.fine(plan.sheet.making.edge_trim)}", None))
    if any(cut.made for cut in plan.layout.sheets[index].cuts):
        labels.keyed.append(("Double line: a cut that is made already", None))
    used = plan.layout.sheets[index]
    for guest in plan.sheet.guests:
        names = {guest.called(part) for part in guest.parts}
        if any(placed.blank in names for placed in used.placed):
            labels.keyed.append((f"Thin outline: blanks of job {guest.job}", None))
    labels.keyed.append(("Dot: corner 1 of a blank, as on its drawing", None))
    here = {placed.name for placed in used.fitting}
    place = [(new, old) for new, old in in_place_of(plan.blanks, plan.layout).items() if new in here]
    labels.keyed += [(f"{new}: in place of {old}, spoiled", None) for new, old in place]
    told: dict[str, list[str]] = {}
    for blank, alike in patterns(plan.blanks):
        for some in lying(blank, alike, plan.layout):
            if some.sheet == index + 1:
                for copy in some.copies:
                    told.setdefault(_lies(some, copy, blank.name, plan.sheet.shape.face_side), []).append(copy)
    labels.keyed += [(f"{', '.join(copies)}: {words}", None) for words, copies in told.items()]


def _lies(some: Lying, copy: str, pattern: str, side: str) -> str:
    """How a copy lies, and how that compares with the drawing it is marked out from."""
    face = f"over, {side} down" if some.turned_over else f"{side} up"
    way = "mirrored" if some.mirrored else "as drawn"
    own = copy.rpartition(".")[0] == pattern
    return f"{face}: mark out {way}" + ("" if own else f" for {pattern}" if not some.mirrored else f" from {pattern}")
