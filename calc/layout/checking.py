"""The last check of a laid-out sheet: nothing is handed on that overlaps, leaves the metal or does not come apart.

It reads the finished records only. The cuts are their own proof: each must run clear of every blank, those it is said to
have on its left to the left, and no two blanks may be left together at the end. Where blanks lie is checked with shapely.
"""

from collections.abc import Sequence

import shapely

from calc.laid import Cut, Placed, SheetLayout
from calc.layout.polygons import edge_line, sheet_from_blank
from calc.layout.result import Item
from calc.records import Outline

GAP = 1e-3  # mm that a gap may fall short by: rounding
ON_GRID = 1e-6  # mm
ON_METAL = 1e-4  # mm that a blank may stand over the metal's edge by: rounding


class BadLayoutError(Exception):
    """A layout that must not be handed on: a fault of the program, never of what it was given."""


def check_sheet(sheet: SheetLayout, metal: Outline, kerf: float, items: Sequence[Item], *, by_saw: bool) -> None:
    """Raise BadLayoutError unless the blanks lie on the metal, a kerf apart, and, `by_saw`, the cuts free them all."""
    holes = {item.name: item.holes for item in items}
    blanks = [shapely.Polygon(placed.outline, _holes(placed, holes[placed.blank])) for placed in sheet.placed]
    hulls = list(shapely.convex_hull(blanks)) if by_saw else blanks
    room = shapely.Polygon(metal).buffer(ON_METAL, join_style="mitre")
    if not all(room.covers(hull) for hull in hulls):
        raise BadLayoutError(f"a blank on {sheet.stock} stands over the metal's edge")
    if not are_apart(hulls, kerf):
        raise BadLayoutError(f"two blanks on {sheet.stock} are less than the kerf apart")
    if by_saw:
        _check_cuts(sheet, kerf)


def are_apart(blanks: Sequence[shapely.Polygon], kerf: float) -> bool:
    """Whether blanks lie a kerf [mm] apart; with no kerf they may touch."""
    near = shapely.STRtree(blanks).query(blanks, "dwithin", max(0.0, kerf - GAP))
    pairs = [(blanks[i], blanks[j]) for i, j in zip(*near, strict=True) if i < j]
    return not any(kerf > GAP or _overlap(a, b) > GAP * a.length for a, b in pairs)


def _overlap(a: shapely.Polygon, b: shapely.Polygon) -> float:
    # snapped to a grid: exact overlays fail where edges touch but for rounding
    return float(shapely.intersection(a, b, grid_size=ON_GRID).area)


def _holes(placed: Placed, holes: Sequence[Outline]) -> list[Outline]:
    return [sheet_from_blank(hole, placed.turned_over, placed.at, placed.angle) for hole in holes]


def _check_cuts(sheet: SheetLayout, kerf: float) -> None:
    outlines = {f"{placed.blank}.{placed.copy}": placed.outline for placed in sheet.placed}
    groups = {frozenset(outlines)}
    for cut in sheet.cuts:
        left, right = (frozenset(names) for names in cut.parts)
        if left | right not in groups or not _is_clear(cut, outlines, kerf):
            raise BadLayoutError(f"a cut on {sheet.stock} runs into a blank")
        groups.remove(left | right)
        groups |= {group for group in (left, right) if group}
    if any(len(group) > 1 for group in groups):
        raise BadLayoutError(f"blanks on {sheet.stock} do not come apart")


def _is_clear(cut: Cut, outlines: dict[str, Outline], kerf: float) -> bool:
    nx, ny, c = edge_line(cut.start, cut.end)
    sides = [(-1.0, name) for name in cut.parts[0]] + [(1.0, name) for name in cut.parts[1]]
    return all(side * (nx * x + ny * y - c) >= 0.5 * kerf - GAP for side, name in sides for x, y in outlines[name])
