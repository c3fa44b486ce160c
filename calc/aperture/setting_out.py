"""Where an opening lies in the bench: each corner along the bench's edge from its end, and square to the edge.

The bench is seen from above with the edge in front of whoever stands at it. Lengths [mm].
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from calc.aperture.opening import Aperture
from calc.families.strips import offset_outward
from calc.fitup.faults import FitFault
from calc.records import Outline
from calc.units import Display

ROUNDING = 1e-6  # [mm]
ASKEW = 2.0  # [degrees] a side that is measured to runs with the edge; more is asked about (common practice)
MILLIMETRES = Display()
LEAST_LAND, THICKNESSES = (
    10.0,
    3.0,
)  # [mm] of bench beside an opening, and times its thickness if more (common practice)


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


def set_out(aperture: Aperture, place: Place, display: Display = MILLIMETRES) -> tuple[SetOut, ...]:
    """The corners of an opening from the bench's end and edge; display: the unit that faults are told in.

    Raises PlaceFault where the side can't lie so, or the opening, a hole at its corner or its lap would cross the bench's edge
    or end.
    """
    corners = on_bench(aperture, aperture.outline, place, display)
    found = tuple(SetOut(number, along, square) for number, (along, square) in enumerate(corners, 1))
    for corner in found:
        for key, words, within in (("from_edge", "edge", corner.square), ("from_end", "end", corner.along)):
            if within <= 0:
                raise PlaceFault(
                    key, f"corner {corner.number} of the opening would lie past the bench's {words}: move it in"
                )
    for left in _left(aperture, place, display):
        if left.size <= 0:
            raise PlaceFault(left.key, f"{left.what} would break through the bench's {left.to}: move it in")
    if aperture.seat == "lap":
        _lies_on(on_bench(aperture, offset_outward(aperture.rim, aperture.reach), place, display), display)
    return found


def place_cautions(
    aperture: Aperture, place: Place, bench_thickness: float | None, display: Display = MILLIMETRES
) -> tuple[str, ...]:
    """What to mind where the opening lies askew, or little of the bench is left to its edge or end; bench_thickness [mm], None
    where it is not known. No proof of the opening itself shows the first.

    Raises PlaceFault as `set_out`.
    """
    set_out(aperture, place, display)
    least = max(LEAST_LAND, THICKNESSES * (bench_thickness or 0.0))
    found = []
    following, rise = place.corner % len(aperture.rim) + 1, place.from_edge_next - place.from_edge
    length = math.dist(aperture.rim[place.corner - 1], aperture.rim[following - 1])
    askew = math.degrees(math.asin(min(1.0, abs(rise) / length)))
    if askew > ASKEW:
        than = (
            f"{display.length(abs(rise))} {'farther from' if rise > 0 else 'nearer to'} it than corner {place.corner}"
        )
        found.append(
            f"Side {place.corner}–{following} would lie {askew:.0f}° askew to the bench's edge, corner {following} {than}: "
            "is that so?"
        )
    for to in ("edge", "end"):
        left = min((each for each in _left(aperture, place, display) if each.to == to), key=lambda each: each.size)
        if left.size < least - ROUNDING:
            found.append(
                f"Only {display.fine(round(left.size, 1))} of the bench would be left between its {to} and {left.what}: "
                f"it bends or tears where less than {display.fine(round(least, 1))} is left. Move the opening in, or "
                "stiffen the bench there."
            )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Left:
    """How much of the bench is left [mm] from a corner or a hole of the opening to the bench's edge or end."""

    what: str
    key: str
    to: Literal["edge", "end"]
    size: float


def _left(aperture: Aperture, place: Place, display: Display) -> Iterator[_Left]:
    spots = on_bench(aperture, aperture.outline, place, display)
    near = [(f"corner {number} of the opening", spot, 0.0) for number, spot in enumerate(spots, 1)]
    drilled = [(corner.number, corner.relief) for corner in aperture.corners if corner.relief]
    middles = on_bench(aperture, tuple(relief.centre for _, relief in drilled), place, display)
    near += [
        (f"the hole at corner {number}", middle, relief.diameter / 2)
        for (number, relief), middle in zip(drilled, middles, strict=True)
    ]
    for what, (along, square), radius in near:
        yield _Left(what, "from_edge", "edge", square - radius)
        yield _Left(what, "from_end", "end", along - radius)


def _lies_on(lap: Outline, display: Display) -> None:
    """Whether the outer edge of a lap keeps within the bench's edge and end."""
    for key, words, over in (
        ("from_edge", "edge", -min(square for _, square in lap)),
        ("from_end", "end", -min(along for along, _ in lap)),
    ):
        if over > ROUNDING:
            raise PlaceFault(key, f"the lap would stand {display.length(over)} over the bench's {words}: move it in")


def on_bench(aperture: Aperture, outline: Outline, place: Place, display: Display = MILLIMETRES) -> Outline:
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
            f"can't differ from the corner before it by more than the side is long, {display.length(length)} "
            f"(got {display.length(abs(rise))})",
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
