"""Patterns as DXF, for a laser, a plasma cutter or another drawing program (by ezdxf)."""

from __future__ import annotations

import io
import logging
import math
from typing import TYPE_CHECKING

from calc import Plan
from calc.drawing.lettering import clean
from calc.drawing.places import between, readable_angle
from calc.papers.pattern import Pattern, corner_spots, patterns_of
from calc.papers.traveller import material
from calc.records import Point

if TYPE_CHECKING:
    from ezdxf.layouts import Modelspace

VERSION = "R2000"  # the oldest that declares its unit and has LWPOLYLINE: everything that reads DXF reads it
OUTLINE, BENDS, HOLES, TEXT = "OUTLINE", "BENDS", "HOLES", "TEXT"
LAYERS = {OUTLINE: 7, BENDS: 5, HOLES: 1, TEXT: 8}  # DXF colour numbers: black or white, blue, red, grey
APART = 25.0  # [mm] between one pattern and the next
LETTER, NUMBER = 5.0, 4.0  # [mm] height of capitals


def patterns_dxf(plan: Plan) -> bytes:
    """Every pattern of a plan once, one above the other, wet face up, at true size in millimetres.

    Outlines are closed LWPOLYLINE on layer OUTLINE, holes CIRCLE on HOLES, the middles of bends LINE on BENDS; names, how
    many of each, corner numbers and the way of bends are TEXT on TEXT, to be left out of the cut. The same plan gives the
    same bytes.
    """
    logging.getLogger("ezdxf").setLevel(
        logging.ERROR
    )  # it warns where it can't keep a list of fonts, which are not used here
    import ezdxf  # noqa: PLC0415 - slow to load, and few ask for it
    from ezdxf import options  # noqa: PLC0415

    options.write_fixed_meta_data_for_testing = True  # else the file says when it was written, and none equals another
    document = ezdxf.new(VERSION, units=ezdxf.units.MM)
    for name, colour in LAYERS.items():
        document.layers.add(name, color=colour)
    space, metal, low = document.modelspace(), material(plan), 0.0
    for pattern in patterns_of(plan):
        ys = [y for _, y in pattern.blank.cut_outline]
        _draw(space, pattern, metal, low - min(ys))
        low += max(ys) - min(ys) + APART
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


def _draw(space: Modelspace, pattern: Pattern, metal: str, up: float) -> None:
    """One pattern, its blank's frame moved up by so much [mm]."""
    blank = pattern.blank

    def at(point: Point) -> Point:
        return point[0], point[1] + up

    space.add_lwpolyline([at(corner) for corner in blank.cut_outline], close=True, dxfattribs={"layer": OUTLINE})
    for hole in blank.holes:
        space.add_circle(at(hole.centre), hole.diameter / 2, dxfattribs={"layer": HOLES})
    for fold in blank.folds:
        start, end = at(fold.line[0]), at(fold.line[1])
        space.add_line(start, end, dxfattribs={"layer": BENDS})
        # the drawing's y runs up: the angle of lettering is the other way round from a page's
        angle = -readable_angle((start[0], -start[1]), (end[0], -end[1]))
        _write(space, fold.words, between(start, end, 0.5), NUMBER, angle)
    for number, spot in corner_spots(blank).items():
        _write(space, str(number), at(spot), NUMBER)
    left = min(x for x, _ in blank.cut_outline)
    words = f"{blank.name}: {pattern.words}; {metal}"
    _write(space, words, (left, up + min(y for _, y in blank.cut_outline) - 2 * LETTER), LETTER, centred=False)


def _write(space: Modelspace, text: str, at: Point, height: float, angle: float = 0.0, *, centred: bool = True) -> None:
    from ezdxf.enums import TextEntityAlignment  # noqa: PLC0415

    if centred and angle:
        turned = math.radians(angle)
        at = (at[0] - math.sin(turned) * height, at[1] + math.cos(turned) * height)
    place = TextEntityAlignment.MIDDLE_CENTER if centred else TextEntityAlignment.BOTTOM_LEFT
    # in DXF a percent sign may begin a code, as %%d; doubled in threes it is only itself
    letters = clean(text).replace("%%", "%%%%%%")
    entity = space.add_text(letters, height=height, rotation=angle, dxfattribs={"layer": TEXT})
    entity.set_placement(at, align=place)
