"""A cut's number: in a circle, on the line where that is free, else beside it with a leader."""

import math

from calc.drawing.boxes import Box
from calc.drawing.labels import Block, Labels, Places, Spot
from calc.drawing.places import anywhere, between
from calc.records import Point

RING, RING_SIZE = 8.2, 9.5  # radius of the circle and lettering in it
LIGHTLY = 0.1  # a number stands on its own cut, and so on the edges beside it
LIMIT = 90.0
FURTHER = (0.5, 0.2, 0.8)  # shares of a cut that a long leader may lead to


def number_cut(
    labels: Labels, number: int, start: Point, end: Point, length: str, *, room: float = 2 * RING
) -> Point | None:
    """Number the cut that is drawn from start to end; `length` is what the key says of one that has no room at all.

    room: of the square that it keeps to itself. Returns the middle of the number, None where it had no room.
    """
    block: Block = ((str(number), RING_SIZE if number < 100 else RING_SIZE * 0.8, True),)
    places = [_on(start, end), *(_near(between(start, end, share), room) for share in (0.5, 0.25, 0.75))]
    places.append(anywhere(labels.width, labels.height, between(start, end, 0.5)))
    found = labels.find(block, places, LIMIT, room=(room, room), lightly=LIGHTLY)
    if found is None and room > 2 * RING:  # it is touched: better far off than over another
        led = [anywhere(labels.width, labels.height, between(start, end, share), pitch=9.0) for share in FURTHER]
        found = labels.find(block, led, room=(room, room), lightly=LIGHTLY)
    if found is None:
        labels.keyed.append((f"Cut {number}: {length} long, no room to number it", None))
        return None
    spot = found[1]
    centre = (spot.x, spot.y)
    if spot.leader:
        labels.drawing.line(centre, spot.leader, "dim leader")
        labels.avoid((centre, spot.leader), "leader")
    labels.drawing.circle(centre, RING, "ring")
    labels.drawing.letter(block, centre, style="figure cut-number")
    labels.reserve(Box(*centre, room, room))
    return centre


def _on(start: Point, end: Point) -> Places:
    """On the line, its middle first."""
    shares = [0.5 + way * step / 40 for step in range(19) for way in ((1, -1) if step else (1,))]

    def places(width: float, _height: float) -> list[Spot]:
        reach = max(0.0, 0.5 - width / 2 / max(math.dist(start, end), 1e-9))  # a number on an end would hide it
        return [
            Spot(*between(start, end, share), 0.0, abs(share - 0.5) * 4)
            for share in shares
            if abs(share - 0.5) <= reach
        ]

    return places


def _near(target: Point, room: float) -> Places:
    """Round a point of the line, as far off as makes so much room for the number, with a leader to it."""
    further = room - 2 * RING

    def places(_width: float, _height: float) -> list[Spot]:
        return [
            Spot(target[0] + math.cos(turn) * reach, target[1] + math.sin(turn) * reach, 0.0, 6.0 + reach * 0.3, target)
            for reach in (15.0, 22.0 + further / 2, 34.0 + further)
            for turn in (math.pi * step / 8 for step in range(16))
        ]

    return places
