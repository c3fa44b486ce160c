"""One page of the templates: what its window shows of a pattern at true size, and all that stands about it."""

import shapely

from calc.blank import Hole
from calc.papers.pattern import Pattern
from calc.papers.tile_frame import draw_check_bars, draw_crosses, draw_map, draw_ticks
from calc.papers.tile_page import BEYOND, TilePage
from calc.papers.tile_words import write_bend, write_corner_numbers, write_hole, write_name
from calc.papers.tiling import RIGHT, Tile, Tiling
from calc.units import Display

SEGMENTS = 128  # to a quarter circle: a hole of 200 mm radius that runs off the page is true to 0.004 mm
MAP = (34.0, 13.0)  # [mm] room for the map of the pages


def page_drawing(pattern: Pattern, tiling: Tiling, tile: Tile, display: Display) -> str:
    """A page at true size, the whole sheet of paper. Returns SVG."""
    paper = tiling.paper
    page = TilePage(pattern, tiling, tile)
    draw_ticks(page)
    draw_crosses(page)
    draw_check_bars(page, display)
    draw_map(page.drawing, pattern, tiling, tile, (paper.width - RIGHT - MAP[0], page.bottom + 5.0), MAP)
    page.outline()
    for fold in pattern.blank.folds:
        page.lines(shapely.LineString([page.at(point) for point in fold.line]), "bend")
    for hole in pattern.blank.holes:
        _hole(page, hole)
    write_corner_numbers(page)
    for hole in pattern.blank.holes:
        write_hole(page, hole, display)
    for fold in pattern.blank.folds:
        write_bend(page, fold)
    write_name(page)
    return page.drawing.svg(paper.width, paper.height, f"{pattern.blank.name}, page {tile.number}")


def _hole(page: TilePage, hole: Hole) -> None:
    """A hole with its centre lines."""
    centre, radius = page.at(hole.centre), hole.diameter / 2
    middle = shapely.Point(centre)
    if page.window.contains(middle.buffer(radius)):
        page.drawing.circle(centre, radius, "hole")
    else:
        page.lines(middle.buffer(radius, quad_segs=SEGMENTS).exterior, "hole")
    reach = radius + BEYOND
    for dx, dy in ((reach, 0.0), (0.0, reach)):
        ends = [(centre[0] - dx, centre[1] - dy), (centre[0] + dx, centre[1] + dy)]
        page.lines(shapely.LineString(ends), "centre")
