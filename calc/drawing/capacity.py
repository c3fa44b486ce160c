"""What a tray holds and what its outlet passes, against the level it stands at: two plots side by side, the level upward.

Brim and the level at the pump's flow are marked right across both.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from calc import Plan
from calc.drainage import Drainage, Outflow
from calc.drainage.levels import volume_at
from calc.drainage.openings import drop_outlet
from calc.drainage.tilting import LITRE
from calc.drainage.words import flow, pumped
from calc.drawing.lettering import text_width
from calc.drawing.svg import Drawing
from calc.duty import FLOW_UNITS, FLOWS
from calc.records import Point
from calc.units import Display

WIDE, HIGH = 300.0, 126.0  # of the whole, and of the plots alone
LEFT, TOP, BETWEEN, FOOT, GAP = 40.0, 21.0, 26.0, 18.0, 5.0
SIZE, SMALL = 11.0, 10.5
POINTS = 48  # of a curve
MOST_TICKS = 4
ROOM = 12.0  # from one figure of the level to the next, at the least


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where one plot lies: its left side, its width, what is most along it, and the height it stands for [mm]."""

    left: float
    width: float
    most: float
    height: float

    def at(self, value: float, height: float) -> Point:
        """The place of a value at a height over the lowest point [mm]."""
        return self.left + self.width * value / self.most, TOP + HIGH * (1 - height / self.height)

    @property
    def right(self) -> float:
        return self.left + self.width


def capacity(plan: Plan, display: Display) -> str:
    """Litres held and the flow passed, up to the brim, as inline SVG; of a tray without an outlet the litres alone.

    Raises ValueError for loose parts, which hold nothing.
    """
    drainage = plan.draining
    if drainage is None or not drainage.slices:
        raise ValueError("what holds nothing has no levels to plot")
    low = drainage.slices[0].low
    height = drainage.brim - low
    outlet, drawing = drainage.outlet, Drawing()
    left = max(LEFT, text_width(display.figure(height), SMALL) + 2 * GAP)
    room = WIDE - left - SMALL
    width = (room - BETWEEN) / 2 if outlet else room
    held = _Frame(left, width, _most(drainage.litres), height)
    breaks = [piece.low - low for piece in drainage.slices]
    _plot(drawing, held, "holds, litres", breaks, lambda over: volume_at(drainage.slices, low + over) * LITRE)
    if outlet:
        opening, lip = drop_outlet(outlet.bore, strainer=plan.sheet.duty.strainer), outlet.lip - low
        unit = FLOW_UNITS[FLOWS[display.unit]]
        most = max(outlet.passes, _flow_shown(plan, outlet)) / unit
        passed, name = _Frame(held.right + BETWEEN, width, _most(most), height), f"out, {FLOWS[display.unit]}"
        _plot(drawing, passed, name, [lip, lip + opening.change_over], lambda over: opening.flow(over - lip) / unit)
        _mark_running(drawing, held, passed, plan, outlet, low, display)
    _letter_levels(drawing, held, drainage, low, display)
    return drawing.svg(_title(plan, drainage, display), WIDE, TOP + HIGH + FOOT, "capacity")


def _title(plan: Plan, drainage: Drainage, display: Display) -> str:
    what = f"What the {plan.sheet.shape.called} holds, by level: {drainage.litres:.1f} litres at the brim"
    return f"{what}; its outlet passes {flow(drainage.outlet.passes, display)} there" if drainage.outlet else what


def _flow_shown(plan: Plan, outlet: Outflow) -> float:
    """The pump's flow where it has a place on the plot: where the tray doesn't run over."""
    sent = plan.sheet.duty.pump_flow
    return sent if sent is not None and outlet.running and outlet.running.freeboard >= 0 else 0.0


def _most(value: float) -> float:
    return value if value > 0 else 1.0


def _plot(drawing: Drawing, frame: _Frame, title: str, breaks: Sequence[float], of: Callable[[float], float]) -> None:
    """The frame, its figures below, and the curve of a value by the height over the lowest point [mm]."""
    bottom, top = TOP + HIGH, TOP
    drawing.line((frame.left, bottom), (frame.right, bottom), "thin")
    drawing.line((frame.left, bottom), (frame.left, top), "thin")
    drawing.write(title, (frame.left, top - 8.0), SIZE, bold=True)
    for tick in _fitting(frame):
        x = frame.at(tick, 0.0)[0]
        drawing.line((x, bottom), (x, top), "hatch")
        text = f"{tick:g}"
        drawing.write(text, (x - text_width(text, SMALL) / 2, bottom + 13.0), SMALL)
    heights = {frame.height * i / POINTS for i in range(POINTS + 1)} | {at for at in breaks if 0 <= at <= frame.height}
    drawing.lines([[frame.at(of(height), height) for height in sorted(heights)]], "outline")


def _letter_levels(drawing: Drawing, frame: _Frame, drainage: Drainage, low: float, display: Display) -> None:
    """The brim, and figures of the level beside the first plot."""
    right = WIDE - SMALL
    drawing.line((frame.left, TOP), (right, TOP), "thin")
    drawing.write("brim", (frame.left + 3.0, TOP + SMALL), SMALL)
    unit = 25.4 if display.unit == "in" else 1.0
    brim = frame.height / unit
    for tick in sorted({*ticks(brim), brim}):
        y = frame.at(0.0, tick * unit)[1]
        if tick == brim or y > TOP + ROOM:
            text = f"{tick:g}" if tick != brim else display.figure(drainage.brim - low)
            drawing.line((frame.left - 3.0, y), (frame.left, y), "thin")
            drawing.write(text, (frame.left - GAP, y + 3.5), SMALL, at_end=True)
    drawing.write(display.unit, (frame.left - GAP, TOP - 8.0), SMALL, at_end=True)


def _mark_running(
    drawing: Drawing, held: _Frame, passed: _Frame, plan: Plan, outlet: Outflow, low: float, display: Display
) -> None:
    """The level at the pump's flow across both plots, and the flow down to its scale; where it runs over, words alone."""
    running, sent = outlet.running, plan.sheet.duty.pump_flow
    if running is None or sent is None:
        return
    if running.freeboard < 0:
        text = f"{pumped(sent, display)} runs over"
        if text_width(text, SMALL, True) > passed.width:
            text = "runs over"
        drawing.letter(
            ((text, SMALL, True),), (passed.right - text_width(text, SMALL, True) / 2, TOP + 11.0), style="warn"
        )
        return
    x, y = passed.at(sent / FLOW_UNITS[FLOWS[display.unit]], running.level - low)
    drawing.line((held.left, y), (passed.right, y), "centre")
    drawing.line((x, y), (x, TOP + HIGH), "centre")
    text = f"at {pumped(sent, display)}"
    room = text_width(text, SMALL)
    # the curve rises to the right: above the line there is room on its left, below it on its right
    above = x - passed.left > room and y - TOP > ROOM + SMALL
    below = y + 1.5 * SMALL < TOP + HIGH
    start = (passed.left + 3.0, y - 4.0) if above else (passed.right - room, y + SMALL + 1.0 if below else y - 4.0)
    drawing.write(text, start, SMALL)


def _fitting(frame: _Frame) -> list[float]:
    """As many round figures below a plot as it has room for."""
    for count in range(MOST_TICKS, 1, -1):
        found = ticks(frame.most, count)
        if max(text_width(f"{tick:g}", SMALL) for tick in found) + 4.0 < frame.width / count:
            return found
    return ticks(frame.most, 1)


def ticks(most: float, count: int = MOST_TICKS) -> list[float]:
    """Round figures from 0 up to the most, with not more than so many steps.

    >>> ticks(37.0), ticks(0.8), ticks(37.0, 2)
    ([0.0, 10.0, 20.0, 30.0], [0.0, 0.2, 0.4, 0.6, 0.8], [0.0, 20.0])
    """
    scale = 10.0 ** math.floor(math.log10(most / count))
    step = next(scale * times for times in (1, 2, 5, 10) if most / (scale * times) <= count + 1e-9)
    return [round(step * i, 9) for i in range(int(most / step + 1e-9) + 1)]
