"""What bears on a facet, in its own plane: coolant to the brim, wet chips, its own weight, and a load on a small patch.

Weights act straight down. Of what is told by the area seen from above, a tilted face gets less on each of its own: the part of
it that acts square to the face counts, the part along the face is borne in its plane and bends nothing. Chips under coolant
count in full, as if they had no buoyancy.
"""

from dataclasses import dataclass

import numpy as np

from calc.duty import Duty
from calc.records import Outline
from calc.shell import LEVEL, Face, Shell, Vectors, normal
from calc.tables.alloys import Alloy

FILLED, LEANED_ON = "filled", "leaned on"
GRAVITY = 9.80665  # [m/s2] standard, ISO 80000-3


@dataclass(frozen=True, slots=True)
class Panel:
    """A face laid in its own plane: its outline [mm], anticlockwise from the wet side, the first edge along x from the origin.

    edges: the face's own edge that each side of the outline is, None where the outline bridges a corner that runs inward.
    height: (3,) how high the face lies [mm], at the origin and how much more for each mm along x and y. tilt: the cosine of the
    angle to the level.
    """

    outline: Outline
    edges: tuple[tuple[int, int] | None, ...]
    height: Vectors
    tilt: float


def lay_down(shell: Shell, face: Face) -> Panel:
    """A face in its own plane; of one that has corners running inward, its convex hull, which bears no better."""
    corners = shell.corners(face)
    square = normal(corners)
    along = (corners[1] - corners[0]) / np.linalg.norm(corners[1] - corners[0])
    axes = np.stack([along, np.cross(square, along)])
    flat = (corners - corners[0]) @ axes.T
    kept = _hull(flat)
    edges = tuple(
        face.edges[here] if (here + 1) % len(corners) == after else None
        for here, after in zip(kept, kept[1:] + kept[:1], strict=True)
    )
    outline = tuple((round(float(x), 4) + 0.0, round(float(y), 4) + 0.0) for x, y in flat[kept])
    height = np.array([corners[0][2], *axes[:, 2]])
    tilt = float(square[2])
    return Panel(outline, edges, height, tilt if tilt > LEVEL else 0.0)


def _hull(corners: Vectors) -> list[int]:
    """Which corners of a loop (n, 2), anticlockwise, are those of its convex hull; those in line with others are left out."""
    kept = list(range(len(corners)))
    size = float(np.ptp(corners, axis=0).max())
    place = 0
    while place < len(kept) and len(kept) > 3:
        before, here, after = (corners[kept[(place + step) % len(kept)]] for step in (-1, 0, 1))
        (ax, ay), (bx, by) = here - before, after - here
        if ax * by - ay * bx <= 1e-9 * size * size:
            del kept[place]
            place = max(place - 2, 0)
        else:
            place += 1
    return kept


@dataclass(frozen=True, slots=True)
class Load:
    """What bears on a panel: its name; pressure (3,) [MPa] at the origin and how much more for each mm along x and y; point, on
    the patch [N]. Both square to the face, downward or outward."""

    name: str
    pressure: Vectors
    point: float = 0.0

    def greatest(self, panel: Panel) -> float:
        """The greatest pressure on the panel [MPa]."""
        return float(max(self.pressure @ (1.0, x, y) for x, y in panel.outline))


def loads_on(panel: Panel, duty: Duty, metal: Alloy, thickness: float, brim: float) -> tuple[Load, Load]:
    """The two that are looked at: filled to the brim, and leaned on, each with the chips and the sheet's own weight.

    thickness [mm]; brim: the level [mm] to which coolant can stand.
    """
    per_kg = GRAVITY * 1e-6  # from kg/m2 to MPa
    lying = per_kg * panel.tilt * (duty.chips * panel.tilt + metal.density * thickness * 1e-3)
    level = np.array([lying, 0.0, 0.0])
    depth = np.array([brim, 0.0, 0.0]) - panel.height
    coolant = per_kg * duty.coolant_density * depth  # kg/l over a mm of depth is kg/m2
    return Load(FILLED, level + coolant), Load(LEANED_ON, level, GRAVITY * duty.point_load * panel.tilt)
