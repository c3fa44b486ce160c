"""Labels that never overlap: each is tried in the places it may stand, smaller if need be, and goes to a key in the end.

Lengths are drawing units, y down, angles degrees as in SVG (clockwise). A place is refused where its box would leave the
frame or meet another label's box; lines that it would cross only make it unwelcome, by their weight.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from calc.drawing.boxes import Array, Box, boxes_meet, meets_boxes, on_lines, rows_of, strip
from calc.drawing.key import Keyed, Table, write_key, write_table
from calc.drawing.lettering import text_width
from calc.drawing.svg import Drawing, block_height
from calc.records import Point

Block = tuple[tuple[str, float, bool], ...]  # lines of text: text, size, bold

SIZE = 12.0  # of a figure
FLOOR = 9.2  # no label is lettered smaller than this, or than it was asked for
SHRINK = (1.0, 0.88, 0.77)
CLEAR = 1.5  # room kept round every box
WELCOME = 20.0  # a place that costs less is taken without looking further
OFF_LINES = 34.0  # a place that costs less stands on no line but a centre line or a cut
LAST_RESORT = 130.0  # a place that costs more is worse than a line in the key

# What it costs a label to stand on a line of this meaning
WEIGHTS = {
    "outline": 60.0,
    "weld": 40.0,
    "bend": 40.0,
    "cut": 12.0,
    "dim": 35.0,
    "leader": 40.0,
    "diagonal": 44.0,
    "thin": 25.0,
    "centre": 9.0,
}


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for a label: the centre of its box, its angle, how unwelcome it is, and what a leader points at."""

    x: float
    y: float
    angle: float = 0.0
    cost: float = 0.0
    leader: Point | None = None


Places = Callable[[float, float], Sequence[Spot]]  # the places for a box of this width and height


class Labels:
    """The labels of one drawing of this width and height, written into it as they find a place."""

    def __init__(self, drawing: Drawing, width: float, height: float) -> None:
        self.drawing, self.width, self.height = drawing, width, height
        self.boxes: list[Box] = []
        self.keyed: list[Keyed] = []
        self.table: Table = ()
        self._strips: list[Box] = []
        self._segments: list[tuple[float, float, float, float, float]] = []
        self._lines_known: Array | None = None
        self._boxes_known: Array | None = None

    def avoid(self, points: Sequence[Point], meaning: str, *, closed: bool = False) -> None:
        """Labels had better not stand on the line through these points."""
        weight = WEIGHTS[meaning]
        ends = [*points[1:], points[0]] if closed else points[1:]
        for (x1, y1), (x2, y2) in zip(points, ends, strict=False):
            self._segments.append(((x1 + x2) / 2, (y1 + y2) / 2, (x2 - x1) / 2, (y2 - y1) / 2, weight))
        self._lines_known = None

    def reserve(self, box: Box) -> None:
        """No label may stand on this box."""
        self.boxes.append(box)
        self._boxes_known = None

    def reserve_strip(self, start: Point, end: Point) -> None:
        """No other dimension line may run along this one."""
        self._strips.append(strip(start, end))

    def has_strip(self, start: Point, end: Point) -> bool:
        """Whether another dimension line runs along this one or across it."""
        return bool(self._strips) and bool(boxes_meet(rows_of([strip(start, end)]), rows_of(self._strips)).any())

    def is_free(self, start: Point, end: Point, *, clear: float = 0.0) -> bool:
        """Whether a line from start to end keeps clear of every label."""
        taken = self._taken() + np.array([0.0, 0.0, clear, clear, 0.0])
        return not self.boxes or not bool(meets_boxes(np.array([[*start, *end]]), taken).any())

    def crosses_line(self, start: Point, end: Point) -> bool:
        """Whether a line from start to end comes near any that labels avoid."""
        return bool(self._segments) and bool(on_lines(rows_of([strip(start, end)]), self._lines()).any())

    def put(
        self,
        block: Block,
        places: Sequence[Places],
        *,
        key: str | Sequence[str],
        fields: Sequence[str | None] = (),
        style: str = "figure",
        limit: float = LAST_RESORT,
    ) -> bool:
        """Write a label in the best of its places; where none will do, its `key` (a text a field) goes to the key.

        fields: the form field that each line of the block belongs to, if any. limit: as `find` has it.
        """
        found = self.find(block, places, limit)
        if found is None:
            texts = [key] if isinstance(key, str) else key
            named: list[str | None] = [field for field in fields if field]
            self.keyed += zip(texts, named or [None] * len(texts), strict=True)
            return False
        self.write(*found, fields=fields, style=style)
        return True

    def find(
        self,
        block: Block,
        places: Sequence[Places],
        limit: float = LAST_RESORT,
        *,
        room: tuple[float, float] | None = None,
        lightly: float = 1.0,
    ) -> tuple[Block, Spot] | None:
        """The lettering and the place a label would get; places come in groups, the more welcome first.

        limit: a place that costs more won't do. room: the width and height to keep where it isn't the lettering's own.
        lightly: how much of its cost it is to stand on a line.
        """
        best: tuple[float, Block, Spot] | None = None
        for group in places:
            for lettered in [block] if room else _sizes(block):
                width, height = room or block_size(lettered)
                spots = group(width, height)
                if not spots:
                    continue
                costs = self._costs(spots, width, height, lightly)
                index = int(costs.argmin())
                if costs[index] < (limit if best is None else best[0]):
                    best = (float(costs[index]), lettered, spots[index])
                if best is not None and best[0] < WELCOME:
                    return best[1:]
        return best[1:] if best else None

    def write(self, block: Block, spot: Spot, *, fields: Sequence[str | None] = (), style: str = "figure") -> None:
        """Write a label in its place, with its leader."""
        width, height = block_size(block)
        self.drawing.letter(block, (spot.x, spot.y), angle=spot.angle, fields=fields, style=style)
        self.reserve(Box(spot.x, spot.y, width, height, spot.angle))
        if spot.leader is not None:
            start = _leader_start(spot, width, height)
            self.drawing.line(start, spot.leader, "dim leader")
            self.drawing.circle(spot.leader, 1.4, "tip")
            self.avoid((start, spot.leader), "leader")

    def finish(self, title: str, kind: str, *, key_width: float | None = None) -> str:
        """The finished drawing, the table and the key (if anything is in them) below; key_width: where that is narrower."""
        bottom = self.height
        if self.table:
            bottom = write_table(self.drawing, self.table, self.width, bottom)
        if self.keyed:
            bottom = write_key(self.drawing, self.keyed, key_width or self.width, bottom)
        return self.drawing.svg(title, self.width, bottom, kind)

    def _taken(self) -> Array:
        if self._boxes_known is None:
            self._boxes_known = rows_of(self.boxes)
        return self._boxes_known

    def _lines(self) -> Array:
        if self._lines_known is None:
            self._lines_known = np.array(self._segments, dtype=np.float64).reshape(-1, 5)
        return self._lines_known

    def _costs(self, spots: Sequence[Spot], width: float, height: float, lightly: float) -> Array:
        """What each place costs; infinite where it is refused."""
        rows = np.array([(spot.x, spot.y, spot.angle, spot.cost) for spot in spots], dtype=np.float64)
        wide, high = width / 2 + CLEAR, height / 2 + CLEAR
        boxes = np.column_stack((rows[:, :2], np.full(len(rows), wide), np.full(len(rows), high), rows[:, 2]))
        costs = rows[:, 3].copy()
        turn = np.radians(rows[:, 2])
        reach_x = np.abs(np.cos(turn)) * wide + np.abs(np.sin(turn)) * high
        reach_y = np.abs(np.sin(turn)) * wide + np.abs(np.cos(turn)) * high
        inside = (boxes[:, 0] >= reach_x) & (boxes[:, 0] <= self.width - reach_x)
        inside &= (boxes[:, 1] >= reach_y) & (boxes[:, 1] <= self.height - reach_y)
        costs[~inside] = np.inf
        if self._segments:
            lines = self._lines()
            costs += on_lines(boxes, lines) @ lines[:, 4] * lightly
        if self.boxes:
            costs[boxes_meet(boxes, self._taken()).any(axis=1)] = np.inf
        led = [index for index, spot in enumerate(spots) if spot.leader is not None]
        if led and self.boxes:
            runs = [(*_leader_start(spots[i], width, height), *(spots[i].leader or (0.0, 0.0))) for i in led]
            blocked = meets_boxes(np.array(runs), self._taken()).any(axis=1)
            costs[np.array(led)[blocked]] = np.inf
        return costs


def block_size(block: Block) -> tuple[float, float]:
    """The width and height of lettering."""
    return max(text_width(text, size, bold) for text, size, bold in block), block_height(block)


def _sizes(block: Block) -> list[Block]:
    """The lettering at the sizes it may have, largest first."""
    least = min(size for _, size, _ in block)
    factors = [factor for factor in SHRINK if factor == 1.0 or least * factor >= FLOOR]
    return [tuple((text, size * factor, bold) for text, size, bold in block) for factor in factors]


def _leader_start(spot: Spot, width: float, height: float) -> Point:
    """Where a leader leaves a label's box: towards its target, just off the box. Led labels are level."""
    target = spot.leader or (spot.x, spot.y)
    dx, dy = target[0] - spot.x, target[1] - spot.y
    reach = min((width / 2 + CLEAR) / abs(dx) if dx else np.inf, (height / 2 + CLEAR) / abs(dy) if dy else np.inf, 1.0)
    return (float(spot.x + dx * reach), float(spot.y + dy * reach))
