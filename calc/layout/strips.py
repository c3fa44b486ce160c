"""The room for blanks on one sheet, filled from one end."""

from dataclasses import dataclass

from calc.layout.polygons import Line, clip, edge_line, reach
from calc.layout.regions import Region
from calc.layout.tree import GUIDABLE
from calc.records import Outline


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
