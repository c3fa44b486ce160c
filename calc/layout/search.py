"""The search: trees of cuts grown, then ruined and recreated, bounded by a count of tries and seeded.

It fills strips: first as much of the parts' area as will go on, then, once all are on, the last strip in as short a
length as it can.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from calc.layout.blocks import Block
from calc.layout.growing import Forest, Undo
from calc.layout.parts import Part
from calc.layout.polygons import FLUSH
from calc.layout.strips import Strip
from calc.layout.tree import Node, regrown

FREE_SHARE = 0.02  # what large free regions count against missing area when a try is judged
FIRST_STEP = 0.02  # share of the length that is asked for less, once all parts are on
LEAST_STEP = 0.0003
FIRST_SQUEEZE = 0.002
SQUEEZED = 0.01  # mm: a strip is squeezed no more finely in the end
ROUGHLY = 0.0005  # share of the length that it is squeezed to as the search goes on
PATIENCE = 100  # tries without a gain before a smaller step is asked for; more of them with many parts
PATIENCE_A_PART = 4
AFRESH = 0.3  # how often the tree is then grown afresh, rather than ruined from the best yet
MOST_PLACED = 120  # missing parts tried in one try
FULL = 0.9995  # share of the metal that parts cover when there is nothing left to search for


@dataclass(slots=True)
class Filling:
    """Trees that fill the strips, the last up to `goal`; `missing` counts the copies of each part that are not on them."""

    roots: list[Node]
    goal: float
    missing: list[int]
    missing_area: float
    used: float  # length of the last strip

    def better_than(self, other: "Filling | None") -> bool:
        if other is None:
            return True
        if self.missing_area > FLUSH or other.missing_area > FLUSH:
            return self.missing_area < other.missing_area - FLUSH
        return self.used < other.used - FLUSH


def closed(root: Node, goal: float, strip: Strip) -> tuple[Node, float]:
    """A tree in as short a strip as it needs, and that length: the goal where no cut across has room."""
    spots = root.spots()
    used = max((spot.far for spot in spots), default=0.0)
    if used > 0 and (goal < strip.length or used <= strip.longest_goal):
        tight = regrown(root, strip.region(used), strip.kerf, 0.0)
        if len(tight.spots()) == len(spots):
            return tight, used
    return root, goal


class Search:
    """The strips, the parts wanted on them, and the trees as they stand."""

    def __init__(
        self,
        strips: Sequence[Strip],
        parts: Sequence[Part],
        counts: Sequence[int],
        rng: Random,
        blocks: Sequence[Block] = (),
        blocks_tried: Sequence[int] = (0,),
    ) -> None:
        self.last = strips[-1]
        self.others = [strip.region(strip.length) for strip in strips[:-1]]
        self.rng = rng
        self.forest = Forest(parts, counts, rng, self.last.kerf, blocks, blocks_tried)
        self.goal = self.last.length
        self.best: Filling | None = None
        self.step = FIRST_STEP
        self.standing = 0.0  # what the trees as they stand cost
        self.idle = 0  # tries since they last got better
        self.patience = max(PATIENCE, PATIENCE_A_PART * sum(self.forest.counts))
        self.tried = 0

    @property
    def found(self) -> Filling:
        assert self.best is not None  # noqa: S101
        return self.best

    def run(self, tries: int, *, until_all_on: bool = False) -> Filling:
        """The best filling found in at most so many more tries: fewer where the metal is full, or all parts are on it."""
        if self.best is None:
            self.start()
        for _ in range(tries):
            if self.is_full() or (until_all_on and self.found.missing_area <= FLUSH):
                break
            self.tried += 1
            self.one_try()
            if self.idle > self.patience:
                self.stall()
        if self.found.missing_area <= FLUSH:
            self.squeeze(SQUEEZED)
        return self.found

    def one_try(self) -> None:
        forest = self.forest
        before = list(forest.missing)
        log: list[Undo] = []
        forest.ruin(log)
        leaves = forest.split_up()[1]
        forest.recreate(leaves, forest.draw_taste(0.3 / self.goal), log, MOST_PLACED)
        cost = self.cost(leaves)
        if cost <= self.standing:
            self.accept(cost)
        else:
            for undo in reversed(log):
                undo.back()
            forest.missing = before
            self.idle += 1

    def cost(self, leaves: Sequence[Node]) -> float:
        forest = self.forest
        room = sum([root.region.area for root in forest.roots])
        free = sum([leaf.region.area**2 for leaf in leaves]) / room**2
        return forest.missing_area() / forest.total - FREE_SHARE * free

    def is_full(self) -> bool:
        """Whether the best there is leaves nothing to gain."""
        best = self.found
        if best.missing_area <= FLUSH and not best.used:
            return True
        length = best.used if best.missing_area <= FLUSH else self.last.length
        room = sum([region.area for region in self.others])
        room += self.last.region(length).area
        return self.forest.total - best.missing_area >= FULL * room

    # -- beginning -----------------------------------------------------------------------------------------------

    def start(self) -> None:
        """Grow the trees afresh."""
        forest = self.forest
        forest.stand([Node(region) for region in [*self.others, self.last.region(self.goal)]])
        forest.recreate(list(forest.roots), forest.draw_taste(3.0 / self.goal), [], sum(forest.missing))
        self.begin()

    def start_from(self, roots: list[Node]) -> None:
        """Begin with trees grown elsewhere, in all of their strips."""
        self.forest.stand(roots)
        self.begin()

    def begin(self) -> None:
        self.settle()
        if self.note_best() and not any(self.forest.missing):
            self.squeeze(ROUGHLY * self.found.used)
        if not any(self.forest.missing):
            self.shorten()

    def settle(self) -> None:
        """What the trees cost from now on is what the next try is held against."""
        self.standing, self.idle = self.cost(self.forest.split_up()[1]), 0

    # -- going on ------------------------------------------------------------------------------------------------

    def accept(self, cost: float) -> None:
        gained = cost < self.standing - 1e-12
        self.standing, self.idle = cost, 0 if gained else self.idle + 1
        if not any(self.forest.missing):
            if self.note_best():
                self.squeeze(ROUGHLY * self.found.used)
            self.shorten()
        elif gained:
            self.note_best()

    def stall(self) -> None:
        """No gain for long: ask for a smaller step, from the best trees or from nothing."""
        best = self.found
        # several sheets grown afresh are hardly ever as good as those that each had a search of its own
        afresh = not self.others and (best.missing_area > FLUSH or self.rng.random() < AFRESH)
        if best.missing_area <= FLUSH:
            self.step = max(LEAST_STEP, 0.5 * self.step)
            self.shorten()
        elif self.others:
            self.forest.stand([root.copy() for root in best.roots])
            self.settle()
        if afresh:
            self.start()

    def note_best(self) -> bool:
        """Remember the trees if they are the best yet."""
        forest = self.forest
        used = max((spot.far for spot in forest.roots[-1].spots()), default=0.0)
        now = Filling(forest.roots, self.goal, list(forest.missing), forest.missing_area(), used)
        if not now.better_than(self.best):
            return False
        now.roots = [root.copy() for root in forest.roots]
        self.best = now
        return True

    # -- shortening ----------------------------------------------------------------------------------------------

    def regrown_to(self, goal: float) -> Node:
        return regrown(self.found.roots[-1], self.last.region(goal), self.last.kerf, self.forest.smallest)

    def squeeze(self, finest: float) -> None:
        """Grow the best last tree again in strips shorter by no less than `finest` [mm], for as long as all of it fits."""
        best = self.found
        step, number = FIRST_SQUEEZE * best.used, len(best.roots[-1].spots())
        while step > finest:
            goal = min(best.used - step, self.last.longest_goal)
            root = self.regrown_to(goal) if goal > 0 else None
            spots = root.spots() if root else []
            if root and len(spots) == number:
                best.roots[-1], best.goal, best.used = root, goal, max(spot.far for spot in spots)
                step *= 2
            else:
                step *= 0.3

    def shorten(self) -> None:
        """Ask for less than the best length and keep of the best trees what still stands."""
        best = self.found
        if not best.used:
            return
        self.goal = max(FLUSH, min(best.used * (1.0 - self.step), self.last.longest_goal))
        self.forest.stand([*(root.copy() for root in best.roots[:-1]), self.regrown_to(self.goal)])
        self.settle()
