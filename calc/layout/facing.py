"""Which way up a sheet is laid: a layout may be mirrored whole, and the one with more blanks wet face up is the plainer."""

from collections.abc import Mapping
from dataclasses import replace

from calc.laid import Cut, Offcut, Placed, SheetLayout
from calc.layout.polygons import sheet_from_blank
from calc.records import Outline, Point


def mostly_face_up(sheet: SheetLayout, outlines: Mapping[str, Outline]) -> SheetLayout:
    """The sheet, mirrored about its middle line along the length if more of its blanks lie turned over than not.

    outlines: each blank's own, by name. Grain is kept: a mirrored 0 or 180 degrees is 0 or 180.
    """
    over = sum(placed.turned_over for placed in sheet.placed)
    return mirrored(sheet, outlines) if 2 * over > len(sheet.placed) else sheet


def mirrored(sheet: SheetLayout, outlines: Mapping[str, Outline]) -> SheetLayout:
    """The sheet with every y turned into width - y: blanks are turned over, cuts run the other way."""

    def across(point: Point) -> Point:
        return (point[0], sheet.width - point[1])

    def placed_across(placed: Placed) -> Placed:
        at, over, angle = across(placed.at), not placed.turned_over, (360.0 - placed.angle) % 360.0
        return replace(
            placed,
            outline=sheet_from_blank(outlines[placed.blank], over, at, angle),
            turned_over=over,
            at=at,
            angle=angle,
        )

    def cut_across(cut: Cut) -> Cut:
        # What was left of the cut is right of it in the mirror, and left again with its ends exchanged.
        return replace(cut, start=across(cut.end), end=across(cut.start))

    return replace(
        sheet,
        placed=tuple(placed_across(placed) for placed in sheet.placed),
        cuts=tuple(cut_across(cut) for cut in sheet.cuts),
        offcuts=tuple(Offcut(tuple(across(point) for point in reversed(kept.outline))) for kept in sheet.offcuts),
    )
