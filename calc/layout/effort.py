"""How much is tried at each effort: counts, never times, so that the same input gives the same layout."""

import math

TRIES = {"quick": 60, "normal": 2400, "long": 30_000}  # for a sheet with the usual load
JOINTS = {"quick": 150, "normal": 24_000, "long": 400_000}  # looks at two edges laid together
MOST_BLOCKS = {"quick": 6, "normal": 250, "long": 2500}
ORDERS = {"quick": 1, "normal": 6, "long": 60}  # of blanks laid by their outlines
MORE_FOR_FEW = {"quick": 1.0, "normal": 1.5, "long": 1.5}  # times the tries at most where there are few blanks
USUAL_LOAD = 24  # blanks that the tries are meant for: a try with more of them takes longer, and counts for more
SHEETS_AT_FULL_TRIES = 2.0
SHARING = 1.25  # times the tries for one sheet are given to all of them together
FEWEST_TRIES = 8
USUALLY_FILLED = 0.85  # share of a sheet


class Budget:
    """The tries that a job is given, and what is left of them."""

    def __init__(self, effort: str) -> None:
        self.full = TRIES[effort]
        self.few = MORE_FOR_FEW[effort]
        self.left = SHEETS_AT_FULL_TRIES * self.full

    def tries_for(self, load: float, sheets: float) -> int:
        """The tries for one of so many more sheets [sheets, at least one] with so many blanks on each."""
        share = self.left / max(1.0, math.ceil(sheets / USUALLY_FILLED)) / _heaviness(load)
        return max(FEWEST_TRIES, int(min(self.full * min(self.few, USUAL_LOAD / max(1.0, load)), share)))

    def spend(self, tries: int, load: float) -> None:
        self.left = max(0.0, self.left - tries * _heaviness(load))

    def tries_to_share(self) -> int:
        """The tries for several sheets taken together: they change little at a time, however many blanks there are."""
        return int(SHARING * self.full)


def _heaviness(load: float) -> float:
    return max(1.0, load / USUAL_LOAD)
