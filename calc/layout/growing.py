"""Trees of cuts grown part by part: where each missing part goes, and which cuts free it, leaning on chance."""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from calc.layout.blocks import Block
from calc.layout.parts import Part
from calc.layout.polygons import FLUSH, Line, clip, opposite, reach
from calc.layout.regions import Region, Seat, Spot
from calc.layout.tree import GUIDABLE, Node, carvings, moved
from calc.records import Outline

FEW_LEAVES = 48  # free regions looked at for one part
FEW_SPOTTED = 16  # of these, the ones that can take it


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


class Undo:
    """A node as it was."""

    __slots__ = ("core", "cuts", "edges", "node", "spot", "wastes")

    def __init__(self, node: Node) -> None:
        self.node, self.core, self.spot = node, node.core, node.spot
        self.cuts, self.edges, self.wastes = node.cuts, node.edges, node.wastes

    def back(self) -> None:
        self.node.core, self.node.spot = self.core, self.spot
        self.node.cuts, self.node.edges, self.node.wastes = self.cuts, self.edges, self.wastes


class Forest:
    """Trees as they stand, one a sheet, and the copies of each part `missing` from them."""

    def __init__(
        self,
        parts: Sequence[Part],
        counts: Sequence[int],
        rng: Random,
        kerf: float,
        blocks: Sequence[Block] = (),
        blocks_tried: Sequence[int] = (0,),
    ) -> None:
        self.parts = parts
        self.counts = [0] * len(counts)
        for part in parts:
            self.counts[part.index] = counts[part.index]
        self.rng = rng
        self.kerf = kerf
        self.blocks = {block.part.index: block for block in blocks}
        self.block_list = list(blocks)
        self.blocks_tried = blocks_tried
        wanted = [p for p in parts if counts[p.index]]
        self.total = sum(p.area * counts[p.index] for p in wanted)
        self.smallest = min((p.area for p in wanted), default=0.0) * (1.0 - 1e-9)
        self.roots: list[Node] = []
        self.missing = list(self.counts)

    def stand(self, roots: list[Node]) -> None:
        """Take these trees for its own."""
        self.roots = roots
        self.missing = list(self.counts)
        for root in roots:
            for seat in root.spots():
                self.missing[seat.part.index] -= 1

    def missing_area(self) -> float:
        return sum([p.area * self.missing[p.index] for p in self.parts])

    def draw_taste(self, near: float) -> Taste:
        """What the next try prefers; `near`, how much at most it does to lie near the strip's beginning, per mm."""
        rng = self.rng
        return Taste(
            contact=rng.uniform(0.5, 1.5),
            fit=rng.uniform(0.0, 1.0),
            near=near * rng.random(),
            noise=rng.choice((0.02, 0.1, 0.3)),
            order=rng.choice((0, 0, 1, 2)),
            blocks=rng.choice(self.blocks_tried),
            fence=rng.choice((0.0, 0.0, 0.15, 0.4)),
        )

    # -- growing -------------------------------------------------------------------------------------------------

    def recreate(self, leaves: list[Node], taste: Taste, log: list[Undo], most: int) -> None:
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

    def place_best(self, part: Part, leaves: list[Node], taste: Taste, log: list[Undo]) -> bool:
        while True:
            leaf, spot = self.best_spot(part, leaves, taste)
            if leaf is None or spot is None:
                return False
            undo = Undo(leaf)
            if self.put(leaf, spot, taste):
                log.append(undo)
                leaves.remove(leaf)
                leaves += leaf.split_up()[1]
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
                    leaf.wastes = (self.node_for(clip(leaf.region.points, opposite(fence, self.kerf))),)
                    leaf.core = inner
                    return True
        return self.put_plain(leaf, spot)

    def put_plain(self, leaf: Node, spot: Spot) -> bool:
        rng = self.rng
        best, best_worth = None, -1.0
        for carving in carvings(leaf.region, spot, self.kerf, self.smallest, rng):
            worth = carving.worth * (1.0 + 0.3 * rng.random())
            if worth > best_worth:
                best, best_worth = carving, worth
        if best is None:
            return False
        block = self.blocks.get(spot.part.index)
        core = moved(block.inner, spot.pose) if block and block.inner else spot
        leaf.stand(spot, core, best)
        return True

    def node_for(self, points: Outline) -> Node | None:
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
        return (nx, ny, c) if room > self.kerf + GUIDABLE else None

    # -- ruining -------------------------------------------------------------------------------------------------

    def ruin(self, log: list[Undo]) -> None:
        """Forget a subtree taken by chance, or take one part out and keep the cuts."""
        rng = self.rng
        for _ in range(rng.choice((1, 1, 2, 3))):
            carved = self.split_up()[0]
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

    def split_up(self) -> tuple[list[Node], list[Node]]:
        """The nodes of all trees: those that cuts were made in, and those that are free."""
        carved: list[Node] = []
        free: list[Node] = []
        for root in self.roots:
            cut, whole = root.split_up()
            carved += cut
            free += whole
        return carved, free


def _size(sized: tuple[float, Block]) -> float:
    return sized[0]


def _free_area(node: Node) -> float:
    return node.region.area
