"""Copies on a sheet that was cut into, that the plan has no use for: hatched, and said what they are."""

from collections.abc import Sequence

import shapely
from shapely.geometry.base import BaseGeometry

from calc.blank import Blank
from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.offcuts import clear_paper, hatch
from calc.drawing.places import within
from calc.drawing.rim import pointed_at
from calc.drawing.windows import Detail
from calc.laid import Placed, SheetLayout
from calc.layout.job import is_spare
from calc.records import Outline, Point


def hatch_no_use(labels: Labels, detail: Detail, used: SheetLayout) -> None:
    """Hatch what a view shows of these copies, the other way than offcuts."""
    window = shapely.Polygon(detail.view.all(detail.window.corners))
    for placed in used.placed:
        if not placed.fits:
            shown = shapely.Polygon(detail.view.all(placed.outline)) & window
            labels.drawing.lines(hatched(shown), "hatch no-use", {"data-no-use": f"{placed.blank}.{placed.copy}"})


def hatched(shown: BaseGeometry) -> list[tuple[Point, Point]]:
    """Hatch lines from the upper left to the lower right within any outline, in drawing units."""
    if not shown.area:
        return []
    left, top, right, bottom = shown.bounds
    # y mirrored there and back turns the hatch of an offcut to its other way
    upright = ((left, -top), (right, -top), (right, -bottom), (left, -bottom))
    lines = [((x1, -y1), (x2, -y2)) for (x1, y1), (x2, y2) in hatch(upright)]
    inside = shapely.get_parts(shapely.intersection(shapely.MultiLineString(lines), shown))
    return [(part.coords[0], part.coords[-1]) for part in inside if part.length > 0]


def name_no_use(labels: Labels, outline: Outline, placed: Placed, blanks: Sequence[Blank]) -> None:
    """Letter one of these copies on paper cleared of its hatch; outline: what is shown of it, in drawing units."""
    words = words_of(placed, blanks)
    block: Block = ((words, SIZE, True),)
    found = labels.find(block, [within(outline), within(outline, along=True), *pointed_at(labels, outline)])
    if found is None:
        labels.keyed.append((f"{words}: no room to name it", None))
        return
    lettered, spot = found
    if spot.leader is None:
        clear_paper(labels, lettered, (spot.x, spot.y), spot.angle)
    labels.write(lettered, spot, style="figure no-use")


def words_of(placed: Placed, blanks: Sequence[Blank]) -> str:
    """The copy and why there is no use for it."""
    if placed.spoiled is not None:
        return f"{placed.name} spoiled"
    return f"{placed.name} {'spare' if is_spare(placed, blanks) else 'old shape'}"
