"""A pattern as SVG at true size: for a drawing program, a plotter or a cutter that reads it."""

from calc.drawing.lettering import text_width
from calc.papers.full_size import FullSize
from calc.papers.pattern import Pattern, corner_spots
from calc.records import Point

MARGIN = 10.0  # [mm] about the outline
NUMBER, SMALL = 4.2, 3.5  # [mm] lettering
BELOW = 8.0  # [mm] room for the words under the outline


def pattern_svg(pattern: Pattern, material: str) -> str:
    """The pattern, wet face up: outline, bends, holes, corner numbers; x to the right, one unit a millimetre.

    The base edge runs along the bottom. Classes name the lines: outline, bend, hole.
    """
    blank = pattern.blank
    words = f"{blank.name}: {pattern.words}; {material}"
    xs, ys = zip(*blank.cut_outline, strict=True)
    wide = max(max(xs) - min(xs), text_width(words, SMALL)) + 2 * MARGIN
    high = max(ys) - min(ys) + 2 * MARGIN + BELOW

    def at(point: Point) -> Point:
        return MARGIN + point[0] - min(xs), MARGIN + max(ys) - point[1]

    drawing = FullSize()
    drawing.line([at(corner) for corner in blank.cut_outline], "outline", closed=True)
    for hole in blank.holes:
        drawing.circle(at(hole.centre), hole.diameter / 2, "hole")
    for fold in blank.folds:
        start, end = at(fold.line[0]), at(fold.line[1])
        drawing.line((start, end), "bend")
        drawing.write_along(fold.words, start, end, SMALL)
    for number, spot in corner_spots(blank).items():
        drawing.write(str(number), at(spot), NUMBER, bold=True)
    drawing.write(words, (MARGIN + text_width(words, SMALL) / 2, high - MARGIN), SMALL)
    return drawing.svg(wide, high, words)
