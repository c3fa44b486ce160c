"""The run map: every run of a weld in the direction it is welded, numbered in the order made, and the tacks.

Seams are seen from above. One that stands upright there is laid over: of a pan inward over its floor, of an upstand outward.
"""

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from calc import Plan
from calc.drawing.boxes import Box
from calc.drawing.faces import name_faces
from calc.drawing.labels import Block, Labels, Places, Spot
from calc.drawing.parts import has_walls, strip_word, thing
from calc.drawing.places import between, ring
from calc.drawing.rim import WIDTH, away_from, draw_outlet, draw_seams, number_corners, start_plan
from calc.drawing.trace import Trace, beside_line, ring_trace, trace_of
from calc.drawing.view import View
from calc.records import Outline, Point
from calc.steps.weld_words import BEFORE, RIM_DRAWN, RUNS_DRAWN, run_number, waits_of
from calc.welding.records import Run, Weld, WeldPlan

WHAT = {"rim": "round the rim, once it is let into the bench", "outlet": "round the outlet's fitting, by itself"}
CLOSED = ("rim", "outlet")
MARGIN = 44.0
UPRIGHT = 0.02  # a seam that is seen shorter than this share of its length has no room for runs
OFFSET = 5.0  # of a run's stroke from its seam
SHORTEN = 1.2  # of a stroke at either end, so that one ends before the next begins
TIP, WIDE = 7.0, 0.36  # of an arrow: its length, and half its width as a share of that
DOT, TICK = 2.3, 2.6  # a first tack, and half the length of the others
GAP = 2.5  # between a stroke and the circle of its number
RINGS = ((7.0, 11.0), (9.0, 11.0), (12.0, 10.4), (14.0, 10.0))  # radius and size of letters, by how many there are
LIMIT = 100.0  # a number that would cost more is told in the key
LED = (1.0, 2.0, 3.2, 5.0, 7.0)  # how far off its run a number is led to, in radii of its circle
MOST_TOLD = 12  # numbers that the key tells singly


def run_map(plan: Plan, welding: WeldPlan, *, width: float = WIDTH) -> str:
    """The runs of the seams and reliefs seen from above, numbered in the order in which they are made. Inline SVG.

    Where no rim is welded those round the outlet's fitting, F1 to F4, are in it too.
    """
    kinds = ("seam", "reliefs") if _has_rim(welding) else ("seam", "reliefs", "outlet")
    return _runs(plan, [weld for weld in welding.welds if weld.kind in kinds], width, RUNS_DRAWN)


def rim_run_map(plan: Plan, welding: WeldPlan, *, width: float = WIDTH) -> str | None:
    """The runs round a bare rim, R1, R2 ..., and round the outlet's fitting, F1 to F4; None where no rim is welded."""
    if not _has_rim(welding):
        return None
    return _runs(plan, [weld for weld in welding.welds if weld.kind in BEFORE], width, RIM_DRAWN)


def weld_drawing(plan: Plan, weld: Weld, *, width: float = WIDTH, tacks: bool = False) -> str:
    """One weld by itself, seen from above, with its runs by their numbers on the map. Inline SVG.

    tacks: as it is tacked, with the places of its tacks in their order in place of its runs.
    """
    if tacks:
        return _runs(plan, [replace(weld, runs=())], width, f"{weld.name}: tacks", in_hand=True)
    return _runs(plan, [weld], width, f"{weld.name}: runs", in_hand=True)


def _has_rim(welding: WeldPlan) -> bool:
    return any(weld.kind == "rim" for weld in welding.welds)


def _runs(plan: Plan, welds: Sequence[Weld], width: float, headed: str, *, in_hand: bool = False) -> str:
    """The map of the runs of these welds; in_hand: what they are laid on is drawn heavy, among seams drawn thin."""
    labels, view = start_plan(plan, width, MARGIN, also=_laid_out(plan, welds))
    draw_seams(labels, view, plan.shell, "thin")
    outlet, at = plan.sheet.shape.outlet, plan.sheet.shape.outlet_at
    if outlet and at:
        draw_outlet(labels, view.at(at), outlet.bore * view.scale)
    traces = [_trace(plan, view, weld) for weld in welds]
    for weld, trace in zip(welds, traces, strict=True):
        if weld.kind != "reliefs":
            labels.avoid(trace.points, "weld")
            labels.avoid(beside_line(trace.points, _side(weld) * OFFSET), "weld")
    number_corners(labels, view.all(plan.sheet.shape.corners))
    name_faces(labels, view, plan.shell, strips=False)
    longest = max((len(run_number(weld, run.turn)) for weld in welds for run in weld.runs), default=1)
    ring_of, unnumbered = RINGS[min(longest, len(RINGS)) - 1], []
    for weld, trace in zip(welds, traces, strict=True):
        with labels.drawing.group(f"runs-{_as_id(weld.key)}", "welded", _title(weld)):
            if in_hand and weld.kind != "reliefs":
                labels.drawing.lines([trace.points], "outline now")
            _draw_weld(labels, weld, trace)
            reaches = LED[:2] if in_hand and weld.kind == "rim" else LED  # its order stands beside the drawing
            for run, stroke, far in _strokes(weld, trace, view):
                _draw_run(labels, stroke)
                if not _number(labels, run_number(weld, run.turn), ring_of, stroke, far, reaches):
                    unnumbered.append(run_number(weld, run.turn))
    labels.keyed[:0] = [(note, None) for note in _notes(plan, welds)]
    if unnumbered:
        numbers = ", ".join(unnumbered) if len(unnumbered) <= MOST_TOLD else f"{len(unnumbered)} runs"
        labels.keyed.append((f"No room here for the number of {numbers}: see the order of runs", None))
    how = "numbered in the order in which they are made" if any(weld.runs for weld in welds) else "a dot at the first"
    return labels.finish(f"{headed}, {how}", "run-map")


def _side(weld: Weld) -> float:
    """On which side of its trace the runs of a weld are drawn, left (1) or right (-1): outside what they run round."""
    return -1.0 if weld.kind in CLOSED else 1.0


def _strokes(weld: Weld, trace: Trace, view: View) -> Iterator[tuple[Run, tuple[Point, ...], float]]:
    """Each run with its stroke beside the weld, and on which side of that the weld is not: left (1) or right (-1)."""
    for run in weld.runs:
        if weld.kind == "reliefs":
            at = view.at(run.line[0][:2])
            yield run, (at, at), 1.0
            continue
        side = _side(weld) if run.begins <= run.ends else -_side(weld)
        yield run, beside_line(trace.part(run.begins, run.ends), side * OFFSET), side


def _as_id(key: str) -> str:
    """A step's key as an element's id may hold it."""
    return re.sub(r"[^A-Za-z0-9]+", "-", key)


def _title(weld: Weld) -> str:
    numbers = ", ".join(run_number(weld, turn) for turn in sorted(run.turn for run in weld.runs))
    return f"{weld.name}: runs {numbers}" if numbers else f"{weld.name}: tacks"


def _trace(plan: Plan, view: View, weld: Weld) -> Trace:
    drawn = view.all(point[:2] for point in weld.line)
    if weld.kind == "seam" and _is_upright(weld):
        drawn = view.all(_laid(plan, weld))
    return ring_trace(weld.line, drawn, weld.length) if weld.kind in CLOSED else trace_of(weld.line, drawn)


def _is_upright(weld: Weld) -> bool:
    """Whether a seam is seen end on from above."""
    return math.dist(weld.line[0][:2], weld.line[-1][:2]) < UPRIGHT * weld.length


def _laid(plan: Plan, weld: Weld) -> tuple[Point, Point]:
    """Where an upright seam comes once laid over, from its start to its end [mm]: its top inside a pan, outside a rim."""
    corners = plan.sheet.shape.corners
    (x, y, start), (_, _, end) = weld.line[0], weld.line[-1]
    index = min(range(len(corners)), key=lambda i: math.dist(corners[i], (x, y)))
    seen = [(px, -py) for px, py in corners]
    beyond = away_from(seen, index)
    out = (beyond[0] - seen[index][0], seen[index][1] - beyond[1])
    way = (-1.0 if has_walls(plan.shell) else 1.0) * weld.length / (math.hypot(*out) or 1.0)
    foot, top = (x, y), (x + out[0] * way, y + out[1] * way)
    return (foot, top) if start <= end else (top, foot)


def _laid_out(plan: Plan, welds: Sequence[Weld]) -> Outline:
    """Both ends of every upright seam as it is laid over [mm]."""
    upright = [weld for weld in welds if weld.kind == "seam" and _is_upright(weld)]
    return tuple(point for weld in upright for point in _laid(plan, weld))


def _draw_weld(labels: Labels, weld: Weld, trace: Trace) -> None:
    """What the runs lie along: an upright seam laid over, reliefs as circles, and the tacks."""
    if weld.kind == "reliefs":
        for at in trace.points:
            labels.drawing.circle(at, DOT * 1.5, "outline relief", {"stroke-width": 1.2})
        return
    if weld.kind == "seam" and _is_upright(weld):
        labels.drawing.lines([trace.points], "thin laid")
    if weld.kind == "seam":  # the others are tacked as their steps tell
        _draw_tacks(labels, weld, trace)


def _draw_run(labels: Labels, line: Sequence[Point]) -> None:
    """The stroke of a run, a little short of both its ends, with an arrow at the last."""
    if len(line) == 2 and line[0] == line[1]:
        return  # a relief is its own stroke
    stroke = [_nearer(line[0], line[1], SHORTEN), *line[1:-1], _nearer(line[-1], line[-2], SHORTEN)]
    labels.drawing.lines([stroke], "outline run")
    long = sum(math.dist(start, end) for start, end in pairwise(stroke))
    labels.drawing.tip(stroke[-1], stroke[-2], min(TIP, 0.6 * long), slim=WIDE)


def _nearer(point: Point, other: Point, by: float) -> Point:
    """A point moved towards another, by no more than a quarter of the way."""
    apart = math.dist(point, other)
    return between(point, other, min(by / apart, 0.25)) if apart else point


def _draw_tacks(labels: Labels, weld: Weld, trace: Trace) -> None:
    """A dot where the first tack is, ticks where the others are, on the side of the seam away from the runs."""
    for tack in weld.tacks:
        at = trace.at(tack.at)
        if tack.turn == 1:
            labels.drawing.circle(at, DOT, "tip tack")
            continue
        line = trace.part(max(0.0, tack.at - 1.0), min(tack.at + 1.0, weld.length))
        (x, y), *_ = beside_line(line, -_side(weld) * 2 * TICK)
        labels.drawing.line(at, (at[0] + x - line[0][0], at[1] + y - line[0][1]), "thin tack")


def _number(
    labels: Labels,
    text: str,
    ring_of: tuple[float, float],
    stroke: Sequence[Point],
    far: float,
    reaches: Sequence[float],
) -> bool:
    """The number of a run in its circle (radius, size of its letters) beside the stroke, or led to it; whether there was room.

    far: the side of the stroke (1 its left, -1 its right) that the seam is not on;
    reaches: how far off it may be led to [radii].
    """
    radius, size = ring_of
    block: Block = ((text, size, True),)
    room = (2 * radius, 2 * radius)
    found = labels.find(block, [_abreast(stroke, radius, far), _round(stroke, radius, reaches)], LIMIT, room=room)
    if found is None:
        return False
    spot = found[1]
    centre = (spot.x, spot.y)
    if spot.leader:
        labels.drawing.line(centre, spot.leader, "dim leader")
        labels.avoid((centre, spot.leader), "leader")
    labels.drawing.circle(centre, radius, "ring")
    labels.drawing.letter(block, centre, style="figure run-number")
    labels.reserve(Box(*centre, *room, spot.angle))
    return True


def _abreast(stroke: Sequence[Point], radius: float, far: float) -> Places:
    """Beside the middle of a stroke without a leader, across its seam only where there is no room on this side."""
    start, end = stroke[len(stroke) // 2 - 1], stroke[len(stroke) // 2]
    ways = ((far * (GAP + radius), 0.0), (-far * (GAP + OFFSET + radius), 4.0))

    angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))  # of a circle only the room it takes turns

    def places(_width: float, _height: float) -> list[Spot]:
        spots = []
        for share in (0.5, 0.4, 0.6, 0.3, 0.7):
            at = between(start, end, share)
            ahead = (at[0] + end[0] - start[0], at[1] + end[1] - start[1])
            for reach, cost in ways:
                (x, y), _ = beside_line((at, ahead), reach)
                spots.append(Spot(x, y, angle, cost + abs(share - 0.5) * 8))
        return spots

    return places


def _round(stroke: Sequence[Point], radius: float, reaches: Sequence[float]) -> Places:
    """Round the middle of a stroke, further off, with a leader to it."""
    start, end = stroke[len(stroke) // 2 - 1], stroke[len(stroke) // 2]
    target = between(start, end, 0.5)
    return ring(target, [reach * radius for reach in reaches], leader=True)


def _notes(plan: Plan, welds: Sequence[Weld]) -> list[str]:
    """How the map is read, and from which side it is welded."""
    notes = []
    if any(weld.runs for weld in welds):
        notes.append("Arrows: the runs, each the way it is welded, numbered in the order made; short and back-stepped")
    if any(weld.kind == "seam" for weld in welds):
        notes.append("Dot: the first tack of a seam; ticks: its others, in the order of the table")
    if waits := waits_of(welds):
        told = ", ".join(waits) if len(waits) <= MOST_TOLD else f"{len(waits)} of the runs, as the steps say"
        notes.append(f"Let the metal cool before {told}")
    notes += [f"{BEFORE[weld.kind]}: {WHAT[weld.kind]}" for weld in welds if weld.kind in BEFORE]
    is_under = not (has_walls(plan.shell) or strip_word(plan) == "upstand")
    if is_under and any(weld.kind == "seam" and weld.side == "dry" for weld in welds):
        notes.append(f"Seen from above; with the {thing(plan)} turned over to weld it, left and right change places")
    if _laid_out(plan, welds):
        way = "inward, its top innermost" if has_walls(plan.shell) else "outward, its top outermost"
        notes.append(f"An upright seam is laid over {way}")
    return notes
