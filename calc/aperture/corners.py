"""What each corner of an opening takes: the arc that the cutter leaves, or a hole where the tray would not clear that.

Let the opening's angle inside be 2h, the tray's sharp corner lie the clearance c inside both sides, and the cutter leave an arc
of radius R against both. Along the line that halves the corner, the tray lies c / sin h from the opening's sharp corner and
the arc R / sin h - R. The tray clears it while

    R <= c / (1 - sin h)

and where it does not, a hole through the sharp corner takes all that the arc leaves: the arc meets the sides R cot h from the
corner, and a circle through these two points and the corner has the radius R / (2 sin h). It is drilled no smaller than the
cutter, by the next drill there is, and still through the corner, its middle on the line that halves it.
"""

import math
from dataclasses import dataclass

from calc.fitup.fitting import angle_inside
from calc.records import Outline, Point
from calc.tables.drills import next_drill
from calc.units import Display

ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Relief:
    """A hole drilled at a corner of the opening: its middle and diameter [mm]."""

    centre: Point
    diameter: float


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of the opening (from 1), where it is if cut sharp, and the radius of the arc that is left there [mm]: 0 where it
    is sharp or a relief takes the arc away."""

    number: int
    at: Point
    radius: float
    relieved: bool
    relief: Relief | None
    words: str


def largest_arc(clearance: float, angle: float) -> float:
    """The largest arc [mm] against both sides of a corner that a sharp corner this clearance [mm] inside them clears.

    angle [degrees] of the corner inside the opening; no arc is in the way of a corner that turns outward.

    >>> round(largest_arc(1.0, 90.0), 3), largest_arc(1.0, 180.0)
    (3.414, inf)
    """
    lack = 1.0 - math.sin(math.radians(min(angle, 180.0)) / 2)
    return clearance / lack if lack > ROUNDING else math.inf


def corners_of_opening(
    opening: Outline, clearance: float, cutter_radius: float, seat: str, display: Display
) -> tuple[Corner, ...]:
    """What each corner of an opening takes.

    opening: its outline with sharp corners, anticlockwise; clearance, cutter_radius [mm]; seat: how the rim is set in.
    """
    return tuple(_corner(opening, index, clearance, cutter_radius, seat, display) for index in range(len(opening)))


def _corner(
    opening: Outline, index: int, clearance: float, cutter_radius: float, seat: str, display: Display
) -> Corner:
    here, angle = opening[index], angle_at(opening, index)
    if angle >= 180.0:
        return Corner(index + 1, here, 0.0, False, None, "turns outward: the cutter goes round it, sharp")
    if cutter_radius <= largest_arc(clearance, angle) + ROUNDING:
        words = f"radius {display.fine(cutter_radius)} left there clears the tray" if cutter_radius else "sharp"
        return Corner(index + 1, here, cutter_radius, False, None, words)
    half = math.radians(angle) / 2
    radius = max(cutter_radius, cutter_radius / (2 * math.sin(half)))
    radius = next_drill(2 * radius, display.unit) / 2
    relief = Relief(_along_half(opening, index, radius), 2 * radius)
    words = f"drill {display.fine(relief.diameter)} first, or file the corner sharp"
    if seat == "bare":
        words += "; what a hole leaves beside the rim must be filled as it is welded"
    return Corner(index + 1, here, 0.0, True, relief, words)


def angle_at(outline: Outline, index: int) -> float:
    """The angle inside an anticlockwise outline at its corner of this index [degrees], 0 to 360."""
    return angle_inside(outline[index - 1], outline[index], outline[(index + 1) % len(outline)])


def _along_half(outline: Outline, index: int, reach: float) -> Point:
    """The point so far inside a corner on the line that halves it."""
    (x, y), after = outline[index], outline[(index + 1) % len(outline)]
    onward = math.atan2(after[1] - y, after[0] - x) + math.radians(angle_at(outline, index)) / 2
    return x + reach * math.cos(onward), y + reach * math.sin(onward)
