"""Whether convex parts lying on a sheet come apart by straight cuts: a check that knows nothing of how they got there.

They do if and only if some strip as wide as the kerf runs between them without touching any, and each half does too.
Any part of a set that comes apart comes apart itself, so the first strip found is as good as any other.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import acos, atan2, cos, hypot, pi, sin

from calc.layout.polygons import Line, edge_line
from calc.records import Outline, Point

TOUCH = 1e-6  # mm a strip may graze a part by: rounding


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip between two groups of parts: `line` is the near edge of the kerf; indices of the parts on each side."""

    line: Line
    near: tuple[int, ...]
    far: tuple[int, ...]


def comes_apart(parts: Sequence[Outline], kerf: float, touch: float = TOUCH) -> tuple[Strip, ...] | None:
    """The strips that separate convex parts from each other, in order, or None where no set of them can.

    `kerf` and `touch`, the overlap forgiven, in mm. Parts that come apart can each be trimmed edge by edge afterwards.

    >>> a, b = ((0, 0), (10, 0), (0, 10)), ((12, 0), (20, 0), (20, 8))
    >>> len(comes_apart([a, b], kerf=2))
    1
    >>> comes_apart([a, b], kerf=2.1) is None
    True
    """
    strips: list[Strip] = []
    groups = [tuple(range(len(parts)))]
    while groups:
        group = groups.pop()
        if len(group) < 2:
            continue
        strip = _strip(parts, group, kerf, touch)
        if strip is None:
            return None
        strips.append(strip)
        groups += [strip.far, strip.near]
    return tuple(strips)


def _strip(parts: Sequence[Outline], group: Sequence[int], kerf: float, touch: float) -> Strip | None:
    """The strip along part edges that finishes most edge, the halves most even; failing those, any strip at all."""
    best, best_score = None, (-1.0, 0)
    for i in group:
        a = parts[i][-1]
        for b in parts[i]:
            if hypot(b[0] - a[0], b[1] - a[1]) > touch:
                nx, ny, _ = edge_line(a, b)
                for strip in _between(parts, group, (nx, ny), kerf, touch):
                    score = (_finished(parts, strip, kerf, touch), min(len(strip.near), len(strip.far)))
                    if score > best_score:
                        best, best_score = strip, score
            a = b
    if best:
        return best
    for normal in _critical_normals(parts, group, kerf):
        for strip in _between(parts, group, normal, kerf, touch):
            return strip
    return None


def _between(
    parts: Sequence[Outline], group: Sequence[int], normal: Point, kerf: float, touch: float
) -> Iterator[Strip]:
    """The strips square to a direction, each close against the parts before it."""
    nx, ny = normal
    spans = []
    for i in group:
        heights = [nx * x + ny * y for x, y in parts[i]]
        spans.append((min(heights), max(heights), i))
    spans.sort()
    reached = spans[0][1]
    for k in range(1, len(spans)):
        if spans[k][0] - reached >= kerf - touch:
            near, far = tuple(s[2] for s in spans[:k]), tuple(s[2] for s in spans[k:])
            yield Strip((nx, ny, reached), near, far)
        reached = max(reached, spans[k][1])


def _finished(parts: Sequence[Outline], strip: Strip, kerf: float, touch: float) -> float:
    """The length of part edge that lies on the strip's two sides."""
    nx, ny, c = strip.line
    done = 0.0
    for side, group in ((c, strip.near), (c + kerf, strip.far)):
        for i in group:
            x0, y0 = parts[i][-1]
            for x1, y1 in parts[i]:
                if abs(nx * x0 + ny * y0 - side) <= touch and abs(nx * x1 + ny * y1 - side) <= touch:
                    done += hypot(x1 - x0, y1 - y0)
                x0, y0 = x1, y1
    return done


def _critical_normals(parts: Sequence[Outline], group: Sequence[int], kerf: float) -> Iterator[Point]:
    """Directions in which two corners of different parts lie exactly a kerf apart.

    A strip that exists can be turned until it is held between two such corners, so no strip is missed.
    """
    corners = [(i, point) for i in group for point in parts[i]]
    for i, u in corners:
        for j, v in corners:
            distance = hypot(v[0] - u[0], v[1] - u[1])
            if i == j or distance < kerf or distance == 0:
                continue
            towards, swing = atan2(v[1] - u[1], v[0] - u[0]), acos(min(1.0, kerf / distance))
            for angle in (towards + swing, towards - swing):
                yield cos(angle % (2 * pi)), sin(angle % (2 * pi))
