"""A small builder of inline SVG: presentation attributes and class names only, everything written is escaped.

Class names say what a line means (outline, thin, centre, bend, dim, cut, hatch, weld), so that a stylesheet may recolour a
drawing for a dark ground; without a stylesheet the attributes alone draw it in the colour of the text around it.
"""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import lru_cache

from calc.drawing.lettering import ASCENT, DESCENT, LEADING, clean
from calc.records import Point

INK = "currentColor"
PAPER = "#ffffff"

Attributes = Mapping[str, str | float]
_LINE: Attributes = {"fill": "none", "stroke": INK, "stroke-linejoin": "round"}

# Line weights by meaning, after the practice of ISO 128: two widths about 2 : 1, long-dashed dotted for centre lines.
STYLES: dict[str, Attributes] = {
    "outline": {**_LINE, "stroke-width": 1.8},
    "weld": {**_LINE, "stroke-width": 1.3},
    "bend": {**_LINE, "stroke-width": 0.8},
    "thin": {**_LINE, "stroke-width": 0.7},
    "hatch": {**_LINE, "stroke-width": 0.4, "stroke-opacity": 0.55},
    "centre": {**_LINE, "stroke-width": 0.6, "stroke-dasharray": "9 2 2 2"},
    "hidden": {**_LINE, "stroke-width": 0.7, "stroke-dasharray": "4 2.5"},
    "dim": {**_LINE, "stroke-width": 0.6},
    "cut": {**_LINE, "stroke-width": 0.9},
    "slot": {**_LINE, "stroke": PAPER, "stroke-width": 1.6},
    "tip": {"fill": INK, "stroke": "none"},
    "tint": {"fill": INK, "stroke": "none"},
    "paper": {"fill": PAPER, "stroke": "none"},
    "ring": {"fill": PAPER, "stroke": INK, "stroke-width": 0.9},
    "figure": {"fill": INK},
    "warn": {"fill": INK},
}


def escape(text: object) -> str:
    """Text for XML content or an attribute, illegal characters dropped.

    >>> escape('<b a="1">&')
    '&lt;b a=&quot;1&quot;&gt;&amp;'
    """
    return _escaped(str(text))


@lru_cache(maxsize=4096)
def _escaped(text: str) -> str:
    """Most of what a drawing is made of, styles and colours, comes again and again."""
    line = clean(text)
    for sign, name in (("&", "amp"), ("<", "lt"), (">", "gt"), ('"', "quot"), ("'", "#39")):
        line = line.replace(sign, f"&{name};")
    return line


def figure(value: float) -> str:
    """A coordinate to a hundredth of a drawing unit.

    >>> figure(12.0), figure(-0.001), figure(1 / 3)
    ('12', '0', '0.33')
    """
    if not math.isfinite(value):
        raise ValueError(f"a drawing has no place for {value}")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _attributes(items: Attributes) -> str:
    return "".join(
        f' {key}="{escape(value) if isinstance(value, str) else figure(value)}"' for key, value in items.items()
    )


def path_data(points: Iterable[Point], *, closed: bool = False) -> str:
    """Points as the data of a path."""
    return "M" + "L".join(f"{figure(x)} {figure(y)}" for x, y in points) + ("Z" if closed else "")


class Drawing:
    """A drawing in the making: lines in the order they are painted, and lettering over all of them."""

    def __init__(self) -> None:
        self._lines: list[str] = []
        self._letters: list[str] = []
        self._links: list[str] = []

    def shape(self, tag: str, style: str, extra: Attributes | None = None, **attributes: str | float) -> None:
        """An element in a style of `STYLES`; `style` may name more classes after the first."""
        look = {**STYLES[style.split(maxsplit=1)[0]], **attributes, **(extra or {})}
        self._lines.append(f'<{tag} class="{escape(style)}"{_attributes(look)}/>')

    def line(self, start: Point, end: Point, style: str, extra: Attributes | None = None) -> None:
        """A straight line."""
        self.shape("path", style, extra, d=path_data((start, end)))

    def outline(self, points: Iterable[Point], style: str, extra: Attributes | None = None) -> None:
        """A closed outline."""
        self.shape("path", style, extra, d=path_data(points, closed=True))

    def lines(self, parts: Iterable[Sequence[Point]], style: str, extra: Attributes | None = None) -> None:
        """Several open lines as one element."""
        data = "".join(path_data(part) for part in parts)
        if data:
            self.shape("path", style, extra, d=data)

    def circle(self, centre: Point, radius: float, style: str, extra: Attributes | None = None) -> None:
        """A circle."""
        self.shape("circle", style, extra, cx=centre[0], cy=centre[1], r=radius)

    @contextmanager
    def group(self, name: str, style: str, title: str) -> Iterator[None]:
        """What is drawn meanwhile, lettering aside, is one thing with this id, class and title."""
        self._lines.append(f'<g id="{escape(name)}" class="{escape(style)}"><title>{escape(title)}</title>')
        yield
        self._lines.append("</g>")

    @contextmanager
    def link(self, href: str, style: str, extra: Attributes) -> Iterator[None]:
        """What is drawn meanwhile, lettering aside, is one link, and lies over all the rest."""
        below, self._lines = self._lines, []
        yield
        inside, self._lines = "".join(self._lines), below
        self._links.append(f'<a href="{escape(href)}" class="{escape(style)}"{_attributes(extra)}>{inside}</a>')

    @contextmanager
    def part(self, style: str, extra: Attributes) -> Iterator[None]:
        """What is drawn meanwhile, lettering aside, is one part of this class, to be shown or hidden as one."""
        self._lines.append(f'<g class="{escape(style)}"{_attributes(extra)}>')
        yield
        self._lines.append("</g>")

    def tip(self, at: Point, towards: Point, length: float = 8.0, *, slim: float = 0.17) -> None:
        """A filled arrowhead whose point is `at`, pointing away from `towards`; slim: half its width, of its length."""
        distance = math.dist(at, towards)
        if distance == 0:
            return
        ux, uy = (towards[0] - at[0]) / distance, (towards[1] - at[1]) / distance
        half = length * slim
        tail = (at[0] + ux * length, at[1] + uy * length)
        self.outline(
            (at, (tail[0] - uy * half, tail[1] + ux * half), (tail[0] + uy * half, tail[1] - ux * half)), "tip"
        )

    def letter(
        self,
        block: Sequence[tuple[str, float, bool]],
        centre: Point,
        *,
        angle: float = 0.0,
        style: str = "figure",
        fields: Sequence[str | None] = (),
    ) -> None:
        """Lines of text (text, size, bold), one under the other and centred on a point, the block turned by an angle.

        fields: the form field that each line belongs to, if any.
        """
        turn = f' transform="rotate({figure(angle)} {figure(centre[0])} {figure(centre[1])})"' if angle else ""
        top = centre[1] - block_height(block) / 2
        for index, (text, size, bold) in enumerate(block):
            weight = ' font-weight="bold"' if bold else ""
            written = (
                f'<text class="{escape(style)}" x="{figure(centre[0])}" y="{figure(top + ASCENT * size)}" '
                f'font-size="{figure(size)}"{weight} text-anchor="middle" fill="{INK}"{turn}>{escape(text)}</text>'
            )
            self._letters.append(_in_field(written, fields[index] if fields else None))
            top += LEADING * size

    def write(
        self,
        text: str,
        start: Point,
        size: float,
        *,
        bold: bool = False,
        field: str | None = None,
        at_end: bool = False,
    ) -> None:
        """One line of text from a point on its base line; at_end: to it."""
        weight = (' font-weight="bold"' if bold else "") + (' text-anchor="end"' if at_end else "")
        written = (
            f'<text class="figure" x="{figure(start[0])}" y="{figure(start[1])}" font-size="{figure(size)}"{weight}'
            f' fill="{INK}">{escape(text)}</text>'
        )
        self._letters.append(_in_field(written, field))

    def svg(self, title: str, width: float, height: float, kind: str) -> str:
        """The finished drawing: `kind` is its class beside `drawing`, the title is what a screen reader says.

        A drawing with links is a group of them to a screen reader, which is told no loose figures between.
        """
        drawn, role = f"{''.join(self._lines)}{''.join(self._letters)}", "img"
        if self._links:
            drawn, role = f'<g aria-hidden="true">{drawn}</g>{"".join(self._links)}', "group"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing {escape(kind)}" role="{role}" font-family="sans-serif" '
            f'viewBox="0 0 {figure(width)} {figure(height)}"><title>{escape(title)}</title>{drawn}</svg>'
        )


def _in_field(written: str, field: str | None) -> str:
    return f'<g class="field" data-field="{escape(field)}">{written}</g>' if field else written


def block_height(block: Sequence[tuple[str, float, bool]]) -> float:
    """How high lines of text (text, size, bold) stand, one under the other."""
    heights = [size for _, size, _ in block]
    return sum(LEADING * size for size in heights[:-1]) + (ASCENT + DESCENT) * heights[-1]
