"""Parts joined beforehand: two or more that lie so well together that their hull holds little waste.

Two alike triangles make a parallelogram or a kite; the pieces of a jigsaw make its larger pieces again. A block is placed
like a part, as its hull, and brings the tree of cuts that takes it apart.
"""

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import hypot, pi
from random import Random

from calc.layout.parts import Part, Stance, part_of_block
from calc.layout.polygons import (
    Line,
    area,
    clip,
    convex_hull,
    direction,
    edge_line,
    opposite,
    turned,
)
from calc.layout.regions import Pose, Region, Seated
from calc.layout.tree import Node, carvings, moved
from calc.records import Outline, Point

MOST_WASTE = 0.05  # share of a block's hull that its parts may leave unfilled
OF_ONE_SET = 3  # blocks of the same parts that are worth remembering
NEARLY = 5.0  # mm: ends nearer than this, a kerf drawn on at a slant, count as one
SAME_SIZE = 0.01  # mm: two blocks whose outlines measure the same are one
STAYS = Pose(False, 0.0, (0.0, 0.0))

Kind = tuple[tuple[int, int], ...]  # so many copies of which parts


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A part, or parts joined: `part` is the hull as it is placed, `needs` the copies of each part that it takes."""

    part: Part
    needs: dict[int, int]
    filled: float  # the area of its parts
    inner: Node | None = None  # what takes the hull apart, in the hull's own frame; None for a part by itself

    @property
    def density(self) -> float:
        return self.filled / self.part.area


@dataclass(frozen=True, slots=True, order=True)
class Joint:
    """Two blocks with an edge of one laid along an edge of the other; the least waste sorts first."""

    waste: float  # share of the hull
    tie: int
    outline: Outline = field(compare=False)
    near: Block = field(compare=False)
    far: Block = field(compare=False)
    pose: Pose = field(compare=False)  # of the far block, in the frame of the near one
    line: Line = field(compare=False)  # the near side of the kerf between them


class Joiner:
    """Joins parts into blocks, the densest first, within a count of joints looked at."""

    def __init__(self, parts: Sequence[Part], counts: Sequence[int], room: Region, *, kerf: float, grain: bool) -> None:
        self.counts = counts
        self.room = room
        self.kerf = kerf
        self.grain = grain
        self.smallest = min((part.area for part in parts), default=0.0) * (1.0 - 1e-9)
        self.chance = Random(0)  # noqa: S311
        # a part held to odd angles lies cornerwise, alone
        self.bricks = [Block(p, {p.index: 1}, p.area) for p in parts if grain or not p.turns]
        self.next_index = len(counts)
        self.kept: dict[Kind, list[tuple[int, int]]] = {}
        self.looked = 0
        self.waiting: list[Joint] = []

    def blocks(self, joints: int, most: int) -> list[Block]:
        """At most so many blocks, found in about so many looks at two edges laid together."""
        found: list[Block] = []
        partners: list[Block] = []
        news = list(self.bricks)
        while news and len(found) < most:
            for block in news:
                partners.append(block)
                for other in partners:
                    if self.looked < joints and self._enough(block, other):
                        self._join(block, other)
            news = self._next_block()
            found += news
        return found

    def _next_block(self) -> list[Block]:
        while self.waiting:
            joint = heapq.heappop(self.waiting)
            kind, size = _kind(joint.near, joint.far), _size(joint.outline)
            sizes = self.kept.setdefault(kind, [])
            if len(sizes) < OF_ONE_SET and size not in sizes:
                block = self._block(joint)
                if block and self.room.spots_for(block.part):
                    sizes.append(size)
                    return [block]
        return []

    def _enough(self, a: Block, b: Block) -> bool:
        kind = _kind(a, b)
        return (
            a.filled + b.filled <= self.room.area
            and all(number <= self.counts[index] for index, number in kind)
            and len(self.kept.get(kind, ())) < OF_ONE_SET
        )

    def _join(self, a: Block, b: Block) -> None:
        """Look at every edge of one along every edge of the other, and keep the best of the hulls."""
        filled = a.filled + b.filled
        hull = a.part.hull
        found: list[Joint] = []
        for i in range(len(hull)):
            line = edge_line(hull[i], hull[(i + 1) % len(hull)])
            for pose, points in self._beside(hull, i, b.part, filled * MOST_WASTE):
                outline = convex_hull(hull + points)
                waste = 1.0 - filled / area(outline)
                if waste <= MOST_WASTE:
                    found.append(Joint(round(waste, 9), self.looked, outline, a, b, pose, line))
        found.sort()
        sizes: set[tuple[int, int]] = set()
        for joint in found:
            size = _size(joint.outline)
            if size not in sizes:
                sizes.add(size)
                heapq.heappush(self.waiting, joint)
                if len(sizes) == OF_ONE_SET:
                    return

    def _beside(self, hull: Outline, i: int, part: Part, most: float) -> Iterator[tuple[Pose, Outline]]:
        """The ways a part may lie along an edge of the hull, a kerf beyond it, pushed to either end.

        Left out are those whose hull is sure to hold more waste than `most` [mm2], and a twentieth, for the kerf.
        """
        (px, py), (qx, qy) = hull[i], hull[(i + 1) % len(hull)]
        length = hypot(px - qx, py - qy)
        dx, dy = (px - qx) / length, (py - qy) / length
        angle = direction((qx, qy), (px, py))
        after = _in_frame(hull[(i + 2) % len(hull)], (qx, qy), dx, dy)
        before = _in_frame(hull[i - 1], (qx, qy), dx, dy)
        low = _drawn_on(after, self.kerf)
        high = length + _drawn_on((before[0] - length, before[1]), self.kerf)
        ox, oy = qx - dy * self.kerf, qy + dx * self.kerf
        for stance in self._stances(part, angle):
            for shift in (low, high - stance.base):
                self.looked += 1
                if _notches(after, before, length, stance, shift) > 1.05 * most:
                    continue
                x, y = ox + shift * dx, oy + shift * dy
                points = tuple([(x + u * dx - v * dy, y + u * dy + v * dx) for u, v in stance.points])
                ((sx, sy),) = turned([(shift - stance.offset[0], -stance.offset[1])], angle)
                yield Pose(stance.over, angle - stance.angle, (ox + sx, oy + sy)), points

    def _stances(self, part: Part, angle: float) -> Sequence[Stance]:
        if not self.grain:
            return part.stances
        # with grain, joined parts keep it: half a turn or none between them
        return [part.stance_at(over, angle - half) for over in part.faces for half in (0.0, pi)]

    def _block(self, joint: Joint) -> Block | None:
        """The joined block with its tree of cuts; None where a cut has no room."""
        root = Node(Region(joint.outline))
        near, far = clip(joint.outline, joint.line), clip(joint.outline, opposite(joint.line, self.kerf))
        if not near or not far:
            return None
        lower, upper = Node(Region(near)), Node(Region(far))
        if not self._seat(lower, joint.near, STAYS) or not self._seat(upper, joint.far, joint.pose):
            return None
        root.cuts, root.wastes, root.core = (joint.line,), (upper,), lower
        part = joint.near.part
        self.next_index += 1
        return Block(
            part_of_block(self.next_index - 1, joint.outline, part.faces, part.turns),
            dict(_kind(joint.near, joint.far)),
            joint.near.filled + joint.far.filled,
            root,
        )

    def _seat(self, node: Node, block: Block, pose: Pose) -> bool:
        """Carve a block out of a node; False where a cut would have no room."""
        points = pose.points(block.part.hull)
        seat = Seated(block.part, pose.over, max([x for x, _ in points]), points, pose)
        found = carvings(node.region, seat, self.kerf, self.smallest, self.chance)
        if not found:
            return False
        best = max(found, key=lambda carving: carving.worth)
        core = seat if block.inner is None else moved(block.inner, pose)
        if isinstance(core, Node) and not best.cuts:
            node.cuts, node.wastes, node.core = core.cuts, core.wastes, core.core
        else:
            node.cuts, node.core = best.cuts, core
            node.wastes = tuple([Node(waste) if waste else None for waste in best.wastes])
        return True


def _in_frame(point: Point, origin: Point, dx: float, dy: float) -> Point:
    x, y = point[0] - origin[0], point[1] - origin[1]
    return x * dx + y * dy, y * dx - x * dy


def _drawn_on(side: Point, kerf: float) -> float:
    """Where the line of the neighbouring edge, that runs down to `side`, meets the far side of the kerf, drawn on."""
    along, down = side
    return kerf * along / down if down < -1e-6 and abs(along) < -20 * down else 0.0


def _notches(after: Point, before: Point, length: float, stance: Stance, shift: float) -> float:
    """The area [mm2] of the notches between two outlines that lie along the x axis, one above and one below it.

    The lower one's edge runs from 0 to `length`, its next corners are `after` (at 0) and `before`; the kerf is left out.
    """
    left, right = stance.beside
    return _notch(left[0] + shift, left[1], after[0], after[1], -shift) + _notch(
        length - right[0] - shift, right[1], length - before[0], before[1], shift + stance.base - length
    )


def _notch(sx: float, sy: float, rx: float, ry: float, over: float) -> float:
    """The notch at one end: `s` the next corner above, `r` below, both seen from the lower edge's end with x inward.

    `over` is how far the upper edge stands out beyond the lower.
    """
    if over > NEARLY:
        return -0.5 * over * ry
    if over < -NEARLY:
        return -0.5 * over * sy
    return max(0.0, 0.5 * (sx * ry - sy * rx))


def _kind(a: Block, b: Block) -> Kind:
    needs = dict(a.needs)
    for index, number in b.needs.items():
        needs[index] = needs.get(index, 0) + number
    return tuple(sorted(needs.items()))


def _size(outline: Outline) -> tuple[int, int]:
    """Two outlines that measure the same are near enough one."""
    sides = [hypot(b[0] - a[0], b[1] - a[1]) for a, b in zip(outline, outline[1:] + outline[:1], strict=True)]
    return round(sum(sides) / SAME_SIZE), round(max(sides) / SAME_SIZE)
