"""What an outlet must keep clear of, in plan: rectangles hatched and named, one that it comes into warned of."""

from dataclasses import dataclass

import shapely

from calc import Plan
from calc.drawing.boxes import Box
from calc.drawing.labels import SIZE, Block, Labels
from calc.drawing.no_use import hatched
from calc.drawing.offcuts import clear_paper
from calc.drawing.places import anywhere, ring, within
from calc.drawing.rim import pointed_at
from calc.drawing.view import View
from calc.families.keep_clear import KeepClear
from calc.families.tray import Tray
from calc.records import Outline, Point
from calc.units import Display

STEPS = (1.0, 0.1, 0.01)  # [mm] of the grid on which a free place is told, the coarsest first
RING = 6.0  # radius of the mark of a free place


def outline_of(rectangle: KeepClear) -> Outline:
    """The corners of a rectangle, anticlockwise from its lower left one [mm]."""
    (x, y), length, width = rectangle.at, rectangle.length, rectangle.width
    return ((x, y), (x + length, y), (x + length, y + width), (x, y + width))


@dataclass(frozen=True, slots=True)
class KeptClear:
    """What was drawn of it: each rectangle's outline as seen, its name, whether the outlet comes into it; a free place."""

    rectangles: tuple[tuple[Outline, str, bool], ...] = ()
    free_place: Point | None = None


def draw_kept_clear(labels: Labels, view: View, plan: Plan) -> KeptClear:
    """The rectangles as far as they lie in the drawing, hatched; where the outlet comes into one, the nearest free place."""
    shape = plan.sheet.shape
    if not isinstance(shape, Tray):
        return KeptClear()
    found, radius = [], (shape.outlet.bore if shape.outlet else 0.0) / 2
    for number, rectangle in enumerate(shape.keep_clear, 1):
        is_met = rectangle.is_met(shape.lowest, radius)
        outline = hatch_kept_clear(labels, view, rectangle, is_met)
        found.append((outline, rectangle.name or f"rectangle {number}", is_met))
    spot = shape.free_place(STEPS) if shape.drain_meets else None
    if spot:
        ring_free_place(labels, view, spot)
    return KeptClear(tuple(found), spot)


def hatch_kept_clear(labels: Labels, view: View, rectangle: KeepClear, is_met: bool) -> Outline:
    """Hatch a rectangle as far as it lies in the drawing, heavier where the outlet comes into it; its outline there."""
    frame = shapely.box(2.0, 2.0, view.width - 2.0, view.height - 2.0)
    shown = shapely.Polygon(view.all(outline_of(rectangle))) & frame
    if not isinstance(shown, shapely.Polygon) or not shown.area:
        return ()
    outline: Outline = tuple((float(x), float(y)) for x, y in shown.exterior.coords[:-1])
    named = "warned" if is_met else "kept"
    labels.drawing.lines(hatched(shown), f"hatch keep-clear {named}", {"stroke-width": 1.0 if is_met else 0.6})
    labels.drawing.outline(outline, f"thin keep-clear {named}", {"stroke-width": 2.0 if is_met else 0.9})
    labels.avoid(outline, "thin", closed=True)
    return outline


def ring_free_place(labels: Labels, view: View, spot: Point) -> None:
    """A ring with a dot where the outlet would keep clear; no label stands on it."""
    at = view.at(spot)
    labels.drawing.circle(at, RING, "thin free-place", {"stroke-width": 1.8})
    labels.drawing.circle(at, 1.6, "tip free-place")
    labels.reserve(Box(*at, 1.6 * RING, 1.6 * RING))


def name_kept_clear(labels: Labels, view: View, drawn: KeptClear, display: Display) -> None:
    """Letter each rectangle, and the nearest place that is free, or that there is none."""
    for outline, name, is_met in drawn.rectangles:
        letter_kept_clear(labels, outline, name, is_met)
    if drawn.free_place:
        name_free_place(labels, view, drawn.free_place, display)
    elif any(is_met for *_, is_met in drawn.rectangles):
        labels.keyed.append(("No place for the outlet keeps clear of them all", None))


def letter_kept_clear(labels: Labels, outline: Outline, name: str, is_met: bool, field: str | None = None) -> None:
    """A rectangle's name within it on cleared paper, or beside it with a leader; in the key where there is no room."""
    words = f"outlet meets {name}" if is_met else f"keep clear: {name}"
    block: Block = ((words, SIZE - 1, is_met),)
    style = "figure warn" if is_met else "figure keep-clear"
    fields = (field,) if field else ()
    found = labels.find(block, [within(outline), *pointed_at(labels, outline)]) if outline else None
    if found is None:
        beyond = "" if outline else ", beyond the drawing"
        labels.keyed.append((f"{words[0].upper()}{words[1:]}{beyond}", field))
        return
    lettered, spot = found
    if spot.leader is None:
        clear_paper(labels, lettered, (spot.x, spot.y), spot.angle)
    labels.write(lettered, spot, fields=fields, style=style)


def name_free_place(labels: Labels, view: View, spot: Point, display: Display) -> None:
    """Letter the place that `ring_free_place` marked."""
    at, words = view.at(spot), f"free: x {display.figure(spot[0])}, y {display.figure(spot[1])}"
    places = [
        ring(at, (RING + 4.0, RING + 14.0, RING + 30.0), leader=True),
        anywhere(labels.width, labels.height, at),
    ]
    key = f"Nearest free place: x {display.figure(spot[0])}, y {display.figure(spot[1])}"
    labels.put(((words, SIZE, True),), places, key=key, style="figure free-place")
