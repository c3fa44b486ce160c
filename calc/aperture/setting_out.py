"""Where an opening lies in the bench: each corner along the bench's edge from its end, and square to the edge.

The bench is seen from above with the edge in front of whoever stands at it. Lengths [mm].
"""

import math
from dataclasses import dataclass
from typing import Literal

from calc.aperture.opening import Aperture
from calc.families.strips import offset_outward
from calc.fitup.faults import FitFault
from calc.records import Outline

ROUNDING = 1e-6  # [mm]


@dataclass(frozen=True, slots=True)
class Place:
    """Where the rim lies in the bench, by one of its sides: corner (from 1) at its beginning.

    from_end: along the bench's edge from its end to that corner; from_edge, from_edge_next: how far that corner and the
    next one lie from the edge; end: at whose hand the end is that is measured from.
    """

    corner: int
    from_end: float
    from_edge: float
    from_edge_next: float
    end: Literal["left", "right"] = "left"


@dataclass(frozen=True, slots=True)
class SetOut:
    """A corner of the opening: along from the bench's end, square to its edge [mm]."""

    number: int
    along: float
    square: float


class PlaceFault(FitFault):
    """A place in the bench that can't be: the key of the measurement (a field of `Place`), and a sentence."""


def set_out(aperture: Aperture, place: Place) -> tuple[SetOut, ...]:
    """The corners of an opening from the bench's end and edge.

    Raises PlaceFault where the side can't lie so, or the opening or its lap would cross the bench's edge or end.
    """
    corners = on_bench(aperture, aperture.outline, place)
    found = tuple(SetOut(number, along, square) for number, (along, square) in enumerate(corners, 1))
    for corner in found:
        if corner.square <= 0:
            raise PlaceFault(
                "from_edge", f"corner {corner.number} of the opening would lie past the bench's edge: move it in"
            )
        if corner.along <= 0:
            raise PlaceFault(
                "from_end", f"corner {corner.number} of the opening would lie past the bench's end: move it in"
            )
    if aperture.seat == "lap":
        _lies_on(on_bench(aperture, offset_outward(aperture.rim, aperture.reach), place))
    return found


def _lies_on(lap: Outline) -> None:
    """Whether the outer edge of a lap keeps within the bench's edge and end."""
    for key, words, over in (
        ("from_edge", "edge", -min(square for _, square in lap)),
        ("from_end", "end", -min(along for along, _ in lap)),
    ):
        if over > ROUNDING:
            raise PlaceFault(key, f"the lap would stand {over:.0f} mm over the bench's {words}: move it in")


def on_bench(aperture: Aperture, outline: Outline, place: Place) -> Outline:
    """An outline of the aperture's frame on the bench: (along from its end, square to its edge) [mm].

    Raises PlaceFault where the side of the place can't lie so.
    """
    rim, count = aperture.rim, len(aperture.rim)
    if not 1 <= place.corner <= count:
        raise PlaceFault("corner", f"must be a corner of the rim, 1 to {count} (got {place.corner})")
    first, after = rim[place.corner - 1], rim[place.corner % count]
    length, rise = math.dist(first, after), place.from_edge_next - place.from_edge
    if abs(rise) >= length:
        raise PlaceFault(
            "from_edge_next",
            f"can't differ from the corner before it by more than the side is long, {length:.0f} mm (got {abs(rise):.0f} mm)",
        )
    run = math.sqrt(length**2 - rise**2)
    side = complex(after[0] - first[0], after[1] - first[1])
    turn = complex(run, rise) / side
    # from the end at the right, along runs to the left: corners are numbered anticlockwise and so towards that end
    sense, start = (1.0, place.from_end) if place.end == "left" else (-1.0, place.from_end)
    found = []
    for x, y in outline:
        moved = turn * complex(x - first[0], y - first[1])
        found.append((start + sense * moved.real, place.from_edge + moved.imag))
    return tuple(found)
