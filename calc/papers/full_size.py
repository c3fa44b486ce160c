"""A drawing in which one unit is one millimetre, for papers that metal is cut from: SVG, coordinates to 0.0001 mm.

The drawings of calc.drawing are made to be read, to a hundredth of a unit and at any size; these are made to be measured.
"""

import math
from collections.abc import Sequence

from calc.drawing.places import between, readable_angle
from calc.drawing.svg import escape
from calc.records import Point

DIGITS = 4  # of a mm: two lines of a drawing are true to each other within 0.0002 mm
INK = "#000000"
# [mm] widths of lines by meaning, and dashes: the middle of a line is the true one
WIDTHS = {
    "outline": 0.35,
    "hole": 0.25,
    "bend": 0.15,
    "centre": 0.13,
    "tick": 0.12,
    "cross": 0.14,
    "bar": 0.2,
    "map": 0.16,
}
DASHES = {"centre": "4 1 0.7 1"}


def millimetres(value: float) -> str:
    """A coordinate as it is written.

    >>> millimetres(12.0), millimetres(-0.00001), millimetres(1 / 3)
    ('12', '0', '0.3333')
    """
    if not math.isfinite(value):
        raise ValueError(f"a drawing has no place for {value}")
    text = f"{value:.{DIGITS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


class FullSize:
    """A true-size drawing in the making; x to the right and y down [mm]."""

    def __init__(self) -> None:
        self._shapes: list[str] = []

    def line(self, points: Sequence[Point], style: str, *, closed: bool = False, filled: bool = False) -> None:
        """A line through points; filled: an area of ink."""
        data = "M" + "L".join(f"{millimetres(x)} {millimetres(y)}" for x, y in points) + ("Z" if closed else "")
        self._shapes.append(f'<path class="{style}" d="{data}" fill="{INK if filled else "none"}"{_stroke(style)}/>')

    def circle(self, centre: Point, radius: float, style: str) -> None:
        """A circle."""
        place = f'cx="{millimetres(centre[0])}" cy="{millimetres(centre[1])}" r="{millimetres(radius)}"'
        self._shapes.append(f'<circle class="{style}" {place} fill="none"{_stroke(style)}/>')

    def write(self, text: str, centre: Point, size: float, *, angle: float = 0.0, bold: bool = False) -> None:
        """Lettering of this size centred on a point, turned by an angle [degrees] clockwise to the eye."""
        x, y = millimetres(centre[0]), millimetres(centre[1])
        turn = f' transform="rotate({millimetres(angle)} {x} {y})"' if angle else ""
        weight = ' font-weight="bold"' if bold else ""
        base = millimetres(centre[1] + size * 0.36)  # digits and capitals stand about 0.72 of their size high
        self._shapes.append(
            f'<text x="{x}" y="{base}" font-size="{millimetres(size)}"{weight} text-anchor="middle" fill="{INK}"{turn}>'
            f"{escape(text)}</text>"
        )

    def write_along(self, text: str, start: Point, end: Point, size: float) -> None:
        """Lettering beside the middle of a line, read from below or from the right."""
        angle = readable_angle(start, end)
        turned = math.radians(angle)
        x, y = between(start, end, 0.5)
        self.write(text, (x + math.sin(turned) * size * 0.8, y - math.cos(turned) * size * 0.8), size, angle=angle)

    def svg(self, width: float, height: float, title: str) -> str:
        """The finished drawing, which prints as wide and high as told [mm]."""
        wide, high = millimetres(width), millimetres(height)
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}" '
            f'font-family="sans-serif"><title>{escape(title)}</title>{"".join(self._shapes)}</svg>'
        )


def _stroke(style: str) -> str:
    dashes = f' stroke-dasharray="{DASHES[style]}"' if style in DASHES else ""
    return f' stroke="{INK}" stroke-width="{WIDTHS[style]}" stroke-linejoin="round"{dashes}'
