"""A facet under its loads: what it sags and how it is stressed, by the plate as solved and by the tables beside it."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from calc.duty import Duty
from calc.sheet import JobSheet
from calc.shell import Face, Shell
from calc.stiffness.loads import Load, Panel, lay_down, loads_on
from calc.stiffness.plate import Plate, solve_plate
from calc.stiffness.published import Rectangle, rectangle_round, rigidity, sag_of, stress_of
from calc.stiffness.records import Bearing
from calc.tables.alloys import Alloy
from calc.tables.strength import FACTOR, HELD, POISSON, strength_of

Array = NDArray[np.float64]
MIDDLE = "in the middle"
EDGES = {"weld": "beside a weld", "fold": "at a fold", "bridged": "at an edge"}
FREE = "free"


@dataclass(frozen=True, slots=True)
class LoadedFacet:
    """A facet with all that is asked of it, in sheet of any thickness.

    edges: of each side of its panel how it ends: weld, fold, bridged where the face has no edge there, or free. brim: the level
    [mm] to which coolant can stand. round_it: the rectangle round it.
    """

    face: Face
    metal: Alloy
    duty: Duty
    panel: Panel
    edges: tuple[str, ...]
    brim: float
    plate: Plate
    round_it: Rectangle

    @property
    def poisson(self) -> float:
        """Poisson's ratio of the metal."""
        return POISSON[self.metal.family]

    @property
    def sag_borne(self) -> float:
        """The most sag that is borne [mm]: the short span over so many."""
        return min(self.round_it.width, self.round_it.length) / self.duty.sag

    def loads(self, thickness: float) -> tuple[Load, Load]:
        """What bears on it in sheet of this thickness [mm]."""
        return loads_on(self.panel, self.duty, self.metal, thickness, self.brim)

    def sags(self, load: Load, thickness: float) -> Array:
        """How far it sags [mm] at the plate's places, its edges supported."""
        bending = rigidity(self.metal.modulus, thickness, self.poisson)
        return np.asarray(np.abs(self.plate.supported.sags @ self._units(load)) / bending)

    def stress(self, load: Load, thickness: float) -> tuple[float, float, str]:
        """The greatest share of its strength that is used: the stress [MPa], what is allowed there, and where that is."""
        return max(self._stresses(self._units(load), thickness), key=lambda each: each[0] / each[1])

    def share(self, thickness: float) -> float:
        """Of the sag and the stress that are borne, how much it would be in sheet of this thickness [mm], the worst."""
        loads = self.loads(thickness)
        stresses = [self.stress(load, thickness) for load in loads]
        sag = max(float(self.sags(load, thickness).max()) for load in loads)
        return max(sag / self.sag_borne, *(stress / allowed for stress, allowed, _ in stresses))

    def bearing(self, load: Load, thickness: float) -> Bearing:
        """What a load does to it in sheet of this thickness [mm]."""
        bending = rigidity(self.metal.modulus, thickness, self.poisson)
        return Bearing(
            load.name,
            float(self.sags(load, thickness).max()),
            *self.stress(load, thickness),
            sag_of(self.round_it, load, self.panel, bending),
            stress_of(self.round_it, load, self.panel, self.plate.patch, thickness, self.poisson),
        )

    def _units(self, load: Load) -> Array:
        """A load as so much of each of the plate's unit loads."""
        start, *slopes = load.pressure
        return np.array([start + self.plate.centre @ slopes, *slopes, load.point])

    def _stresses(self, units: Array, thickness: float) -> Iterator[tuple[float, float, str]]:
        strength, times = strength_of(self.metal), 6 / thickness**2
        inside = self.plate.inner.copy()
        for on, kind in zip(self.plate.on_sides, self.edges, strict=True):
            if kind == FREE:
                inside[on] = True
            else:
                bears = strength.welded if kind == "weld" else strength.proof
                yield times * _equivalent(self.plate.clamped.moments[on] @ units), HELD * bears / FACTOR, EDGES[kind]
        yield times * _equivalent(self.plate.supported.moments[inside] @ units), strength.proof / FACTOR, MIDDLE


def load_facet(shell: Shell, face: Face, sheet: JobSheet) -> LoadedFacet:
    """A face of a shell, made and used as its sheet says, its plate solved."""
    panel = lay_down(shell, face)
    edges = tuple(_how_it_ends(shell, edge, sheet) for edge in panel.edges)
    return load_panel(face, sheet.material.properties, sheet.duty, panel, edges, shell.brim)


def load_panel(face: Face, metal: Alloy, duty: Duty, panel: Panel, edges: tuple[str, ...], brim: float) -> LoadedFacet:
    """A face, or a part of it, by its panel and how each side of that ends, its plate solved."""
    held = tuple(kind != FREE for kind in edges)
    plate = solve_plate(panel.outline, held, duty.load_width / 2, POISSON[metal.family])
    round_it = rectangle_round(panel.outline, edges.index(FREE) if FREE in edges else None)
    return LoadedFacet(face, metal, duty, panel, edges, brim, plate, round_it)


def _how_it_ends(shell: Shell, edge: tuple[int, int] | None, sheet: JobSheet) -> str:
    if edge is None:
        return "bridged"
    joint = next((joint for joint in shell.joints if set(joint.edge) == set(edge)), None)
    if joint is not None:
        return joint.kind
    return FREE if sheet.shape.seat == "free" else "weld"  # a bare rim is welded into the bench


def _equivalent(moments: Array) -> float:
    """The greatest equivalent moment (von Mises) of moments (n, 3): M_x, M_y and M_xy."""
    x, y, twist = moments.T
    return float(np.sqrt((x * x - x * y + y * y + 3 * twist * twist).max(initial=0.0)))
