"""One cut on the piece in hand: its corners lettered, both marks along its edges, the guide, and what comes of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from calc.cut_list import CutInHand, Mark, PieceInHand
from calc.cut_words import caution_words
from calc.drawing.cut_numbers import number_cut
from calc.drawing.dimensions import Measure, along, dimension, draw_dimension
from calc.drawing.labels import OFF_LINES, SIZE, Block, Labels
from calc.drawing.offcuts import clear_paper, hatch
from calc.drawing.places import beside, between, ring, within
from calc.drawing.rim import pointed_at
from calc.drawing.svg import Drawing
from calc.drawing.view import View, fit, outward
from calc.laid import SheetLayout
from calc.layout.polygons import direction, turned
from calc.records import Outline, Point
from calc.units import Display

ACROSS = 352.0  # drawing units: two beside each other across a page, and figures that can be read on a phone
MARGIN = 42.0
HIGHEST = 0.5  # of the width
OVER = 10.0  # how far the guide is drawn past the piece
OFFSETS = (14.0, 26.0)  # of the marks' dimension lines
SHARES = (0.5, 0.3, 0.7, 0.18, 0.82)  # of the way along the guide, where its offset is dimensioned
NAMED = 9.5  # size of a blank's name


@dataclass(frozen=True, slots=True)
class _Turned:
    """The piece turned [radians] about the sheet's corner so that its longest edge lies along the bottom, and then seen."""

    angle: float
    view: View

    def all(self, points: Sequence[Point]) -> Outline:
        return self.view.all(turned(points, self.angle))

    def at(self, point: Point) -> Point:
        return self.all((point,))[0]


def cut_drawing(used: SheetLayout, cut: CutInHand, display: Display, *, width: float = ACROSS) -> str:
    """A cut of this sheet on the piece it is made in, as inline SVG; what is to be minded stands below."""
    seen = _seen(cut, width)
    labels = Labels(Drawing(), seen.view.width, seen.view.height)
    outline = seen.all(cut.piece.outline)
    line = seen.at(cut.marks[0].at), seen.at(cut.marks[1].at)
    _piece(labels, seen, used, cut)
    labels.drawing.line(*line, "cut", {"data-cut": str(cut.number), "stroke-width": 1.5})
    labels.avoid(line, "cut")
    guide = _draw_guide(labels, seen, cut)
    for mark in cut.marks:
        _dimension_mark(labels, seen, cut.piece, mark, display)
    number_cut(labels, cut.number, *line, display.figure(cut.length))
    _letters(labels, cut.piece, outline)
    _guide_offset(labels, line, guide, display.figure(cut.guide.offset))
    for half in cut.halves:
        _name_half(labels, seen, half)
    _name_blanks(labels, seen, used, cut)
    labels.keyed += [(_sentence(caution_words(caution, display)), None) for caution in cut.cautions]
    return labels.finish(f"Cut {cut.number}", "cut-drawing")


def _seen(cut: CutInHand, width: float) -> _Turned:
    corners = cut.piece.outline
    edges = zip(corners, corners[1:] + corners[:1], strict=True)
    # the first of edges that are equally long, so that a rectangle lies as it is lettered
    longest = max(edges, key=lambda edge: round(math.dist(*edge), 2))
    angle = -direction(*longest)
    points = turned((*corners, *cut.guide.line), angle)
    return _Turned(angle, fit(points, width, width * HIGHEST, min(MARGIN, width * 0.2)))


def _piece(labels: Labels, seen: _Turned, used: SheetLayout, cut: CutInHand) -> None:
    """The outline of the piece, the blanks on it, and what of it is an offcut."""
    for half in cut.halves:
        if half.is_offcut:
            labels.drawing.lines(hatch(seen.all(half.outline)), "hatch offcut")
    for placed in used.placed:
        name = f"{placed.blank}.{placed.copy}"
        if name in cut.piece.copies:
            shown = seen.all(placed.outline)
            labels.drawing.outline(shown, "thin piece", {"data-piece": name, "stroke-width": 0.5})
            labels.avoid(shown, "thin", closed=True)
    outline = seen.all(cut.piece.outline)
    labels.drawing.outline(outline, "outline in-hand")
    labels.avoid(outline, "outline", closed=True)


def _draw_guide(labels: Labels, seen: _Turned, cut: CutInHand) -> tuple[Point, Point]:
    """The guide as a chain line, a little past the piece."""
    start, end = seen.at(cut.guide.line[0]), seen.at(cut.guide.line[1])
    over = OVER / max(math.dist(start, end), 1e-9)
    drawn = between(start, end, -over), between(start, end, 1 + over)
    labels.drawing.line(*drawn, "centre guide")
    labels.avoid(drawn, "centre")
    return start, end


def _dimension_mark(labels: Labels, seen: _Turned, piece: PieceInHand, mark: Mark, display: Display) -> None:
    """How far a mark is along its edge; a mark on a corner needs no figure."""
    (_, a), (_, b) = piece.edge_at(mark.at)
    if display.rounded(mark.distance) == 0:
        return
    corner = seen.at(dict(piece.corners)[mark.corner])
    figure = display.figure(mark.distance)
    key = f"Mark {figure} from {mark.corner} towards {mark.towards}"
    normal = outward(seen.at(a), seen.at(b))
    dimension(labels, Measure(corner, seen.at(mark.at), figure, key), normal, offsets=OFFSETS)


def _letters(labels: Labels, piece: PieceInHand, outline: Outline) -> None:
    """The letter of each corner, outside it where there is room."""
    middle = (sum(x for x, _ in outline) / len(outline), sum(y for _, y in outline) / len(outline))
    for (letter, _), corner in zip(piece.corners, outline, strict=True):
        out = (2 * corner[0] - middle[0], 2 * corner[1] - middle[1])
        places = [ring(corner, (2.5, 6.0, 11.0), towards=out), ring(corner, (16.0, 24.0), towards=out, leader=True)]
        labels.put(((letter, SIZE, True),), places, key=f"Corner {letter}: no room to letter it", style="figure corner")


def _guide_offset(labels: Labels, line: tuple[Point, Point], guide: tuple[Point, Point], figure: str) -> None:
    """How far the guide is off the cut, where along it there is most room; else beside the guide itself."""
    dx, dy = line[1][0] - line[0][0], line[1][1] - line[0][1]
    square = dx * dx + dy * dy
    best = None
    for share in SHARES:
        there = between(*guide, share)
        foot = ((there[0] - line[0][0]) * dx + (there[1] - line[0][1]) * dy) / square
        here = between(*line, foot)
        if not 0.05 < foot < 0.95 or not labels.is_free(here, there):
            continue
        found = labels.find(((figure, SIZE, False),), [along(here, there)], limit=70.0)
        if found and (best is None or found[1].cost < best[0]):
            best = (found[1].cost, here, there, found)
    if best:
        _, here, there, found = best
        draw_dimension(labels, Measure(here, there, figure, ""), (0.0, 0.0), 0.0)
        labels.write(*found)
        return
    words = f"guide {figure} off"
    places = [beside(*guide), *(ring(between(*guide, share), (10.0, 24.0), leader=True) for share in SHARES[:3])]
    labels.put(((words, NAMED, False),), places, key=f"Guide {figure} off the cut (chain line)")


def _name_half(labels: Labels, seen: _Turned, half: PieceInHand) -> None:
    """What a half is called from here on."""
    if not half.outline:
        return
    outline = seen.all(half.outline)
    places = [within(outline), within(outline, along=True), *pointed_at(labels, outline)]
    block: Block = ((half.name, SIZE, True),)
    found = labels.find(block, places)
    if found is None:
        labels.keyed.append((f"{_sentence(half.name)}: no room to name it", None))
        return
    lettered, spot = found
    if half.is_offcut and spot.leader is None:
        clear_paper(labels, lettered, (spot.x, spot.y), spot.angle)
    labels.write(lettered, spot, style="figure half")


def _name_blanks(labels: Labels, seen: _Turned, used: SheetLayout, cut: CutInHand) -> None:
    """The blanks on the piece, where there is room; one that is a half by itself has its name."""
    alone = {half.name for half in cut.halves}
    for placed in used.placed:
        name = f"{placed.blank}.{placed.copy}"
        if name not in cut.piece.copies or name in alone:
            continue
        outline = seen.all(placed.outline)
        block: Block = ((name, NAMED, False),)
        found = labels.find(block, [within(outline), within(outline, along=True)], OFF_LINES)
        if found:
            labels.write(*found, style="figure piece")


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
