"""The search: a tree of cuts built greedily, then ruined and recreated, bounded by a count of tries and seeded.

It fills one sheet, given as a strip along x: first as much of the parts' area as will go on, then, once all are on,
in as short a length as it can.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from calc.layout.blocks import Block
from calc.layout.parts import Part
from calc.layout.polygons import FLUSH, Line, clip, edge_line, opposite, reach
from calc.layout.regions import Region, Seat, Spot
from calc.layout.tree import GUIDABLE, Node, carvings, moved, regrown
from calc.records import Outline

FREE_SHARE = 0.02  # what large free regions count against missing area when a try is judged
FIRST_STEP = 0.05  # share of the length that is asked for less, once all parts are on
LEAST_STEP = 0.0003
SQUEEZED = 0.01  # mm: a strip is squeezed no more finely
PATIENCE = 100  # tries without a gain before a smaller step is asked for
AFRESH = 0.3  # how often the tree is then grown afresh, rather than ruined from the best yet
MOST_PLACED = 120  # missing parts tried in one try
FEW_LEAVES = 48  # free regions looked at for one part
FEW_SPOTTED = 16  # of these, the ones that can take it


@dataclass(frozen=True, slots=True)
class Strip:
    """The room for blanks on one sheet, convex, from x = 0 on; the metal itself ends at x = `end`."""

    outline: Outline
    end: float
    kerf: float

    @property
    def length(self) -> float:
        return reach(self.outline, 1, 0)

    @property
    def width(self) -> float:
        return reach(self.outline, 0, 1)

    @property
    def edges(self) -> list[Line]:
        corners = self.outline
        return [edge_line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]

    @property
    def longest_goal(self) -> float:
        """The longest goal, short of the whole, that leaves the cut across enough waste to be guided."""
        return self.end - self.kerf - GUIDABLE

    def region(self, goal: float) -> Region:
        return Region(clip(self.outline, (1.0, 0.0, goal)) if goal < self.length else self.outline)


@dataclass(slots=True)
class Filling:
    """A tree that fills a strip up to `goal`; `missing` counts the copies of each part that are not on it."""

    root: Node
    goal: float
    missing: list[int]
    missing_area: float
    used: float

    def better_than(self, other: "Filling | None") -> bool:
        if other is None:
            return True
        if self.missing_area > FLUSH or other.missing_area > FLUSH:
            return self.missing_area < other.missing_area - FLUSH
        return self.used < other.used - FLUSH

    def closed(self, strip: Strip) -> tuple[Node, float]:
        """The tree in as short a strip as it needs, and that length: the whole where no cut across has room."""
        if self.used > 0 and (self.goal < strip.length or self.used <= strip.longest_goal):
            tight = regrown(self.root, strip.region(self.used), strip.kerf, 0.0)
            if len(tight.spots()) == len(self.root.spots()):
                return tight, self.used
        return self.root, self.goal


@dataclass(frozen=True, slots=True)
class Taste:
    """What one try prefers; drawn anew for each."""

    contact: float
    fit: float
    near: float  # per mm
    noise: float
    order: int  # 0 by area, 1 by longest edge, 2 by chance
    blocks: int  # so many blocks are tried before single parts
    fence: float  # chance of a cut that fences off a shelf or a wall before the part is placed


class Search:
    """One strip, the parts wanted on it, and the tree as it stands."""

    def __init__(
        self,
        strip: Strip,
        parts: Sequence[Part],
        counts: Sequence[int],
        rng: Random,
        blocks: Sequence[Block] = (),
        blocks_tried: Sequence[int] = (0,),
    ) -> None:
        self.strip = strip
        self.parts = parts
        self.counts = [0] * len(counts)
        for part in parts:
            self.counts[part.index] = counts[part.index]
        self.rng = rng
        self.blocks = {block.part.index: block for block in blocks}
        self.block_list = list(blocks)
        self.blocks_tried = blocks_tried
        wanted = [p for p in parts if counts[p.index]]
        self.total = sum(p.area * counts[p.index] for p in wanted)
        self.smallest = min((p.area for p in wanted), default=0.0) * (1.0 - 1e-9)
        self.goal = strip.length
        self.best: Filling | None = None
        self.root = Node(strip.region(self.goal))
        self.missing = list(self.counts)
        self.step = FIRST_STEP
        self.standing = 0.0  # what the tree as it stands costs
        self.idle = 0  # tries since it last got better

    # -- building ------------------------------------------------------------------------------------------------

    def draw_taste(self, near: float) -> Taste:
        rng = self.rng
        return Taste(
            contact=rng.uniform(0.5, 1.5),
            fit=rng.uniform(0.0, 1.0),
            near=near * rng.random() / self.goal,
            noise=rng.choice((0.02, 0.1, 0.3)),
            order=rng.choice((0, 0, 1, 2)),
            blocks=rng.choice(self.blocks_tried),
            fence=rng.choice((0.0, 0.0, 0.15, 0.4)),
        )

    def recreate(self, leaves: list[Node], taste: Taste, log: list["Undo"], most: int) -> None:
        """Place missing parts, at most so many of them, in the free regions until none will go in."""
        leaves.sort(key=_free_area)
        refused: set[int] = set()
        for block in self.some_blocks(taste):
            if self.wants(block) and self.place_best(block.part, leaves, taste, log):
                for index, number in block.needs.items():
                    self.missing[index] -= number
        for part in self.in_turn(most, taste):
            if part.index in refused:
                continue
            if self.place_best(part, leaves, taste, log):
                self.missing[part.index] -= 1
            else:
                refused.add(part.index)

    def wants(self, block: Block) -> bool:
        missing = self.missing
        return all(missing[index] >= number for index, number in block.needs.items())

    def some_blocks(self, taste: Taste) -> list[Block]:
        """Blocks that the missing parts could make, taken by chance, large ones first."""
        if not taste.blocks or not self.blocks:
            return []
        rng = self.rng
        taken = rng.sample(self.block_list, min(taste.blocks, len(self.block_list)))
        able = [(block.filled * (1 + taste.noise * rng.random()), block) for block in taken if self.wants(block)]
        return [block for _, block in sorted(able, key=_size, reverse=True)]

    def in_turn(self, most: int, taste: Taste) -> list[Part]:
        """Missing parts in the order they are to be placed; chance picks them where there are more than `most`."""
        rng = self.rng
        queue = [p for p in self.parts for _ in range(min(most, self.missing[p.index]))]
        if len(queue) > most:
            queue = rng.sample(queue, most)
        if taste.order == 2:
            rng.shuffle(queue)
            return queue
        keys = {p.index: (p.area if taste.order == 0 else p.longest) for p in queue}
        keys = {index: -size * (1 + taste.noise * rng.random()) for index, size in keys.items()}
        return sorted(queue, key=lambda p: keys[p.index])

    def place_best(self, part: Part, leaves: list[Node], taste: Taste, log: list["Undo"]) -> bool:
        while True:
            leaf, spot = self.best_spot(part, leaves, taste)
            if leaf is None or spot is None:
                return False
            undo = Undo(leaf)
            if self.put(leaf, spot, taste):
                log.append(undo)
                leaves.remove(leaf)
                leaves += [n for n in leaf.nodes() if n is not leaf and n.core is None]
                if len(leaves) > FEW_LEAVES:
                    leaves.sort(key=_free_area)
                return True
            leaf.region.spots[part.index].remove(spot)

    def best_spot(self, part: Part, leaves: list[Node], taste: Taste) -> tuple[Node | None, Spot | None]:
        best_leaf, best, best_score = None, None, -1e30
        random, noise, contact, near = self.rng.random, taste.noise, taste.contact, taste.near
        least = part.area - part.perimeter * FLUSH
        looked = spotted = 0
        for leaf in leaves:
            region = leaf.region
            if region.area < least:
                continue
            spots = region.spots.get(part.index)
            if spots is None:
                spots = region.spots_for(part)
            looked += 1
            if spots:
                spotted += 1
                fit = taste.fit * part.area / region.area
                for spot in spots:
                    score = fit + contact * spot.contact - near * spot.far + noise * random()
                    if score > best_score:
                        best_leaf, best, best_score = leaf, spot, score
            if best and (looked > FEW_LEAVES or spotted > FEW_SPOTTED):
                break
        return best_leaf, best

    def put(self, leaf: Node, spot: Spot, taste: Taste) -> bool:
        """Carve the part out of a free region, a fence cut first now and then; False where the cuts have no room."""
        fence = self.fence(leaf.region, spot) if self.rng.random() < taste.fence else None
        if fence:
            near = clip(leaf.region.points, fence)
            if len(near) > 2:
                inner = Node(Region(near))
                if self.put_plain(inner, spot):
                    leaf.cuts = (fence,)
                    leaf.wastes = (self.node_for(clip(leaf.region.points, opposite(fence, self.strip.kerf))),)
                    leaf.core = inner
                    return True
        return self.put_plain(leaf, spot)

    def put_plain(self, leaf: Node, spot: Spot) -> bool:
        rng = self.rng
        best, best_worth = None, -1.0
        for carving in carvings(leaf.region, spot, self.strip.kerf, self.smallest, rng):
            worth = carving.worth * (1.0 + 0.3 * rng.random())
            if worth > best_worth:
                best, best_worth = carving, worth
        if best is None:
            return False
        block = self.blocks.get(spot.part.index)
        core = moved(block.inner, spot.pose) if block and block.inner else spot
        leaf.stand(spot, core, best)
        return True

    def node_for(self, points: tuple[tuple[float, float], ...]) -> Node | None:
        """A free node, or None where not even the smallest part could go in."""
        if not points:
            return None
        region = Region(points)
        return Node(region) if region.area >= self.smallest else None

    def fence(self, region: Region, spot: Spot) -> Line | None:
        """A cut along the part's top, or square to its base at its end, where there is room beyond it."""
        dx, dy = spot.side.along
        pick = self.rng.random()
        if pick < 0.6:
            nx, ny = -dy, dx
        else:
            nx, ny = (dx, dy) if spot.shift * 2 < spot.side.length - spot.stance.base else (-dx, -dy)
        c = reach(spot.points, nx, ny)
        room = reach(region.points, nx, ny) - c
        return (nx, ny, c) if room > self.strip.kerf + GUIDABLE else None

    # -- ruining -------------------------------------------------------------------------------------------------

    def ruin(self, log: list["Undo"]) -> None:
        """Forget a subtree taken by chance, or take one part out and keep the cuts."""
        rng = self.rng
        for _ in range(rng.choice((1, 1, 2, 3))):
            carved = [node for node in self.root.nodes() if node.core is not None]
            if not carved:
                return
            node = rng.choice(carved)
            log.append(Undo(node))
            if isinstance(node.core, Seat) and node.cuts and rng.random() < 0.25:
                self.missing[node.core.part.index] += 1
                node.core = Node(Region(node.core.points))
                continue
            for spot in node.spots():
                self.missing[spot.part.index] += 1
            node.clear()

    def cost(self) -> float:
        missing = self.missing_area() / self.total
        goal_area = self.root.region.area
        free = sum(n.region.area**2 for n in self.root.nodes() if n.core is None) / goal_area**2
        return missing - FREE_SHARE * free

    def missing_area(self) -> float:
        return sum(p.area * self.missing[p.index] for p in self.parts)

    # -- shortening ----------------------------------------------------------------------------------------------

    def note_best(self) -> bool:
        """Remember the tree if it is the best yet."""
        used = max((spot.far for spot in self.root.spots()), default=0.0)
        now = Filling(self.root, self.goal, list(self.missing), self.missing_area(), used)
        if not now.better_than(self.best):
            return False
        now.root = self.root.copy()
        self.best = now
        return True

    def regrown_to(self, goal: float) -> Node:
        assert self.best is not None  # noqa: S101
        return regrown(self.best.root, self.strip.region(goal), self.strip.kerf, self.smallest)

    def squeeze(self) -> None:
        """Grow the best tree again in shorter and shorter strips for as long as all of it fits."""
        assert self.best is not None  # noqa: S101
        step, number = LEAST_STEP * self.best.used, sum(self.counts)
        while step > SQUEEZED:
            goal = min(self.best.used - step, self.strip.longest_goal)
            root = self.regrown_to(goal) if goal > 0 else None
            spots = root.spots() if root else []
            if root and len(spots) == number:
                used = max(spot.far for spot in spots)
                self.best = Filling(root, goal, [0] * len(self.counts), 0.0, used)
                step *= 2
            else:
                step *= 0.3

    def shorten(self) -> None:
        """Ask for less than the best length and keep of the best tree what still stands."""
        assert self.best is not None  # noqa: S101
        self.goal = max(FLUSH, min(self.best.used * (1.0 - self.step), self.strip.longest_goal))
        self.root = self.regrown_to(self.goal)
        self.missing = list(self.counts)
        for spot in self.root.spots():
            self.missing[spot.part.index] -= 1
        self.standing, self.idle = self.cost(), 0

    def run(self, tries: int) -> Filling:
        """The best filling found in so many more tries, starting afresh after `PATIENCE` tries without a gain."""
        if self.best is None:
            self.start()
        for _ in range(tries):
            before = list(self.missing)
            log: list[Undo] = []
            self.ruin(log)
            leaves = [node for node in self.root.nodes() if node.core is None]
            self.recreate(leaves, self.draw_taste(0.3), log, MOST_PLACED)
            cost = self.cost()
            if cost <= self.standing:
                self.accept(cost)
            else:
                for undo in reversed(log):
                    undo.back()
                self.missing = before
                self.idle += 1
            if self.idle > PATIENCE:
                self.stall()
        assert self.best is not None  # noqa: S101
        return self.best

    def stall(self) -> None:
        """No gain for long: ask for a smaller step, from the best tree or from nothing."""
        assert self.best is not None  # noqa: S101
        if self.best.missing_area > FLUSH:
            self.start()
            return
        self.step = max(LEAST_STEP, 0.5 * self.step)
        self.shorten()
        if self.rng.random() < AFRESH:
            self.start()

    def accept(self, cost: float) -> None:
        gained = cost < self.standing - 1e-12
        self.standing, self.idle = cost, 0 if gained else self.idle + 1
        if not any(self.missing):
            if self.note_best():
                self.squeeze()
            self.shorten()
        elif gained:
            self.note_best()

    def start(self) -> None:
        """Build a tree afresh."""
        self.root = Node(self.strip.region(self.goal))
        self.missing = list(self.counts)
        self.recreate([self.root], self.draw_taste(3.0), [], sum(self.missing))
        self.standing, self.idle = self.cost(), 0
        if self.note_best() and not any(self.missing):
            self.squeeze()
        if not any(self.missing):
            self.shorten()


def _size(sized: tuple[float, Block]) -> float:
    return sized[0]


def _free_area(node: Node) -> float:
    return node.region.area


class Undo:
    """A node as it was."""

    __slots__ = ("core", "cuts", "edges", "node", "spot", "wastes")

    def __init__(self, node: Node) -> None:
        self.node, self.core, self.spot = node, node.core, node.spot
        self.cuts, self.edges, self.wastes = node.cuts, node.edges, node.wastes

    def back(self) -> None:
        self.node.core, self.node.spot = self.core, self.spot
        self.node.cuts, self.node.edges, self.node.wastes = self.cuts, self.edges, self.wastes
