"""A facet under its loads: what it sags and how it is stressed, by the plate as solved and by the tables beside it."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from calc.sheet import JobSheet
from calc.shell import Face, Shell
from calc.stiffness.loads import Load, Panel, brim_of, lay_down, loads_on
from calc.stiffness.plate import Plate, solve_plate
from calc.stiffness.published import Rectangle, rectangle_round, rigidity, sag_of, stress_of, times_by_rib
from calc.stiffness.records import Bearing, FacetStiffness
from calc.tables.strength import FACTOR, POISSON, Strength, strength_of

Array = NDArray[np.float64]
EDGE_NAMES = {"weld": "at a weld", "fold": "at a fold", "": "at an edge"}
MIDDLE = "in the middle"


class LoadedFacet:
    """A facet with all that is asked of it, whatever the thickness."""

    def __init__(self, shell: Shell, face: Face, sheet: JobSheet) -> None:
        self.face, self.sheet = face, sheet
        self.metal = sheet.material.properties
        self.strength: Strength = strength_of(self.metal)
        self.panel: Panel = lay_down(shell, face)
        self.kinds = [_edge_kind(shell, edge, sheet) for edge in self.panel.edges]
        self.brim = brim_of(shell)
        self.poisson = POISSON[self.metal.family]
        held = tuple(kind != "free" for kind in self.kinds)
        self.plate: Plate = solve_plate(self.panel.outline, held, sheet.duty.load_width / 2, self.poisson)
        free = self.kinds.index("free") if "free" in self.kinds else None
        self.round_it: Rectangle = rectangle_round(self.panel.outline, free)
        self.sag_borne = min(self.round_it.width, self.round_it.length) / sheet.duty.sag

    def loads(self, thickness: float) -> tuple[Load, Load]:
        """What bears on it in sheet of this thickness [mm]."""
        return loads_on(self.panel, self.sheet.duty, self.metal, thickness, self.brim)

    def _weights(self, load: Load) -> Array:
        """The load as so much of each of the plate's unit loads."""
        start, *slopes = load.pressure
        return np.array([start + self.plate.centre @ slopes, *slopes, load.point])

    def sags(self, load: Load, thickness: float) -> Array:
        """The sags [mm] at the plate's places, its edges supported."""
        return self.plate.supported.sags @ self._weights(load) / rigidity(self.metal.modulus, thickness, self.poisson)

    def stresses(self, load: Load, thickness: float) -> list[tuple[float, float, str]]:
        """The greatest stress [MPa] in the middle and at each held edge, what is allowed there, and where that is."""
        weights, times = self._weights(load), 6 / thickness**2
        inside = self.plate.inner.copy()
        found = []
        for side, kind in enumerate(self.kinds):
            on = self.plate.on_side(side)
            if kind == "free":
                inside[on] = True
            elif len(on):
                stress = times * _equivalent(self.plate.clamped.moments[on] @ weights)
                proof = self.strength.welded if kind == "weld" else self.strength.proof
                found.append((stress, proof / FACTOR, EDGE_NAMES[kind]))
        middle = times * _equivalent(self.plate.supported.moments[inside] @ weights)
        return [(middle, self.strength.proof / FACTOR, MIDDLE), *found]

    def bearing(self, load: Load, thickness: float) -> Bearing:
        """What a load does to it in sheet of this thickness [mm]."""
        stress, allowed, where = max(self.stresses(load, thickness), key=lambda each: each[0] / each[1])
        bending = rigidity(self.metal.modulus, thickness, self.poisson)
        return Bearing(
            load.name,
            float(np.abs(self.sags(load, thickness)).max()),
            stress,
            allowed,
            where,
            sag_of(self.round_it, load, self.panel, bending),
            stress_of(self.round_it, load, self.panel, self.plate.patch, thickness, self.poisson),
        )

    def shares(self, bearings: Sequence[Bearing]) -> list[tuple[float, str, str]]:
        """Of what is borne, how much: of sag and of stress, for each load."""
        return [
            each
            for bearing in bearings
            for each in (
                (bearing.sag / self.sag_borne, "sag", bearing.load),
                (bearing.stress / bearing.allowed, "stress", bearing.load),
            )
        ]

    def share(self, thickness: float) -> float:
        """Of what is borne, how much it would be in sheet of this thickness [mm]."""
        return max(self.shares([self.bearing(load, thickness) for load in self.loads(thickness)]))[0]

    def judged(self, thickness: float, usual: Sequence[float]) -> FacetStiffness:
        """How stiff it is in sheet of this thickness [mm], and which of the usual ones would do."""
        loads = self.loads(thickness)
        bearings = tuple(self.bearing(load, thickness) for load in loads)
        share, governs, load = max(self.shares(bearings))
        sags = max((np.abs(self.sags(each, thickness)) for each in loads), key=lambda each: float(each.max()))
        spot = self.panel.in_shell(self.plate.places[int(sags.argmax())])
        thicker = (each for each in usual if each > thickness and self.share(each) <= 1.0)
        return FacetStiffness(
            self.face.name,
            (self.round_it.width, self.round_it.length),
            self.round_it.has_free_edge,
            self.sag_borne,
            bearings,
            share,
            governs,
            load,
            (float(spot[0]), float(spot[1])),
            thickness if share <= 1.0 else next(thicker, None),
            self._with_rib(bearings) if share > 1.0 and not self.round_it.has_free_edge else None,
        )

    def _with_rib(self, bearings: Sequence[Bearing]) -> float:
        """The share with a rib along it, at a guess: each sag goes down as that of the rectangle round it does, and so does
        stress, that under the patch aside, which hardly minds."""
        shares = []
        for bearing in bearings:
            point = bearing.load != "filled"
            times = times_by_rib(self.round_it, point=point)
            shares.append(times * 2 * bearing.sag / self.sag_borne)  # of half the span half the sag is borne
            shares.append(bearing.stress / bearing.allowed * (1.0 if point else 0.25))
        return max(shares)


def _edge_kind(shell: Shell, edge: tuple[int, int] | None, sheet: JobSheet) -> str:
    """How an edge ends: a weld, a fold, free; empty where the face has no edge there."""
    if edge is None:
        return ""
    for joint in shell.joints:
        if set(joint.edge) == set(edge):
            return joint.kind
    return "free" if sheet.shape.seat == "free" else "weld"


def _equivalent(moments: Array) -> float:
    """The greatest equivalent moment (von Mises) of moments (n, 3): M_x, M_y and M_xy."""
    x, y, twist = moments.T
    return float(np.sqrt(x * x - x * y + y * y + 3 * twist * twist).max(initial=0.0))
