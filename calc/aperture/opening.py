"""The opening to cut in the bench for a tray as it was made: how far outside the measured rim, and what each corner takes.

Frame: the plan's, seen from above, the rim laid as `calc.fitup.fit` lays it [mm]. What passes through the bench stands outside
the rim by so much on each side, the clearance aside:

- bare: the dry edge of a side that slopes by s, thickness x sin(s);
- lap: the lap lies on the bench, its underside runs into the dry face through the fold's inside radius r, and the bend's
  tangent on the lap lies (thickness + r) x tan(s / 2) outside the rim: nearer, the bench would hold the lap up;
- upstand: its outer face, one thickness.
"""

import math
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from calc import Plan
from calc.aperture.corners import Corner, angle_at, corners_of_opening
from calc.distances import lengths_between
from calc.families.strips import Lap, offset_outward
from calc.fitup.measurements import diagonals, sides_of
from calc.fitup.sizes import rim_loop, strip_reach
from calc.outlines import take_off
from calc.records import Outline
from calc.seams import dry_face_out
from calc.shell import steepness

LEAST_CLEARANCE = 0.5  # [mm] all round, below which a tray as it comes from the saw does not drop in (common practice)
LEAST_COVER = 10.0  # [mm] that a lap lies on the bench, for sealant and screws to hold (common practice)
IN_LINE = (
    5.0  # [degrees] sides that turn less than this are cut as far out as each other, or their corner would run away
)
SEGMENTS = 64  # of a quarter circle
SHARP = 1e-3  # [mm] a cutter that leaves less leaves nothing
TOUCHES = 1e-3  # [mm] that arcs in short straights may be out


@dataclass(frozen=True, slots=True)
class Cutting:
    """How it is cut: clearance all round [mm], the smallest inside corner the cutter leaves, a radius [mm], and how thick the
    bench is [mm]; None where the sheet's own is to be taken."""

    clearance: float = 1.0
    cutter_radius: float = 3.0
    bench_thickness: float | None = None


@dataclass(frozen=True, slots=True)
class Proof:
    """A length that proves the opening before it is cut: from a corner to another (from 1), how long [mm]. out: how far outside
    the measured rim a side is cut [mm], None of a diagonal."""

    start: int
    end: int
    length: float
    out: float | None = None


@dataclass(frozen=True, slots=True)
class Aperture:
    """The opening. Outlines run anticlockwise from corner 1, lengths [mm].

    rim: as measured; outside: what passes through the bench; outline: what to cut, its corners sharp; corners: what each
    takes; sides, diagonals: of the opening, to check it by; out: how far outside the measured rim each side is cut.
    cover: the least that a lap lies on the bench, None where it is no lap; covers: whether that is enough.
    faults: why it must not be cut; cautions: what to mind when cutting. reach: how wide the lap is, or how high the upstand.
    """

    seat: Literal["bare", "lap", "upstand"]
    rim: Outline
    outside: Outline
    outline: Outline
    corners: tuple[Corner, ...]
    sides: tuple[float, ...]
    diagonals: tuple[float, ...]
    out: tuple[float, ...]
    cover: float | None
    covers: bool
    faults: tuple[str, ...]
    cautions: tuple[str, ...]
    reach: float = 0.0

    @property
    def proofs(self) -> tuple[Proof, ...]:
        """The sides, then the diagonals."""
        sides = zip(sides_of(len(self.sides)), self.sides, self.out, strict=True)
        across = zip(diagonals(self.rim), self.diagonals, strict=True)
        return (
            *(Proof(start + 1, end + 1, length, out) for (start, end), length, out in sides),
            *(Proof(start + 1, end + 1, length) for (start, end), length in across),
        )


def open_up(plan: Plan, outline: Outline, cutting: Cutting, reach: float | None = None) -> Aperture | None:
    """The opening in the bench for a tray whose rim was measured; None for what stands free of a bench.

    outline: the rim as built (`AsBuilt.outline`), anticlockwise; reach: width of its lap or height of its upstand as
    measured [mm], the plan's where it was not.
    """
    seat = plan.sheet.shape.seat
    if seat == "free" or seat == "loose":  # noqa: PLR1714  what is left is a seat in a bench, and the checker sees it
        return None
    reach = strip_reach(plan) if reach is None else reach
    stands = _stands_out(plan, outline)
    out = tuple(each + cutting.clearance for each in stands)
    outside, opening = take_off(outline, [-each for each in stands]), take_off(outline, [-each for each in out])
    faults: list[str] = []
    if outside is None or opening is None:
        faults.append(
            "The rim comes so near itself that the opening would cut the bench between two of its sides away: "
            "nothing can be cut for it. Lessen the clearance, or open the rim there."
        )
        outside, opening, out = outline, outline, (0.0,) * len(outline)
    corners = corners_of_opening(opening, cutting.clearance, cutting.cutter_radius, seat, plan.sheet.making.display)
    cut = cut_shape(opening, corners, cutting.cutter_radius)
    if not cut.buffer(TOUCHES).contains(shapely.Polygon(outside)) and not faults:
        faults.append(
            f"A cutter that leaves a radius of {plan.sheet.making.display.fine(cutting.cutter_radius)} can't follow this "
            "opening: the tray would not pass. Take a smaller one."
        )
    cover = None
    if seat == "lap" and not cut.is_empty:
        cover, told = _covered(outline, cut, reach, plan)
        faults += told
    if seat == "upstand":
        faults += _too_low(plan, reach, cutting)
    return Aperture(
        seat=seat,
        rim=outline,
        outside=outside,
        outline=opening,
        corners=corners,
        sides=lengths_between(opening, sides_of(len(opening))),
        diagonals=lengths_between(opening, diagonals(outline)),
        out=out,
        cover=cover,
        covers=cover is None or cover >= LEAST_COVER - TOUCHES,
        faults=tuple(faults),
        cautions=_cautions(plan, cutting, seat, len(outline)),
        reach=reach,
    )


def _stands_out(plan: Plan, outline: Outline) -> tuple[float, ...]:
    """How far what passes through the bench stands outside the rim at each side [mm]."""
    thickness, shape = plan.sheet.material.thickness, plan.sheet.shape
    rim = rim_loop(plan.shell)
    slopes = [steepness(plan.shell, edge) for edge in zip(rim, rim[1:] + rim[:1], strict=True)]
    finish = getattr(shape, "rim_finish", None)
    if isinstance(finish, Lap):
        found = [(thickness + finish.inside_radius) * math.tan(math.radians(slope) / 2) for slope in slopes]
    elif shape.seat == "upstand":
        found = [thickness] * len(slopes)
    else:
        found = [dry_face_out(thickness, slope) for slope in slopes]
    return _evened(found, outline)


def _evened(found: list[float], outline: Outline) -> tuple[float, ...]:
    """Sides that run on almost in line stand out as far as the farthest of them."""
    count = len(outline)
    for _ in range(count):
        for index, here in enumerate(outline):
            if abs(180.0 - angle_at(outline, index)) < IN_LINE and here:
                found[index] = found[index - 1] = max(found[index], found[index - 1])
    return tuple(found)


def cut_shape(opening: Outline, corners: tuple[Corner, ...], cutter_radius: float) -> BaseGeometry:
    """What is taken out of the bench: all that the cutter reaches within the opening, and the reliefs.

    Empty where the cutter has no room in there at all.
    """
    reached: BaseGeometry = shapely.Polygon(opening)
    if cutter_radius > SHARP:  # all that a disc of the cutter's radius covers when it moves within the opening
        reached = reached.buffer(-cutter_radius, join_style="mitre", mitre_limit=100.0).buffer(
            cutter_radius, quad_segs=SEGMENTS
        )
    holes = [
        shapely.Point(corner.relief.centre).buffer(corner.relief.diameter / 2, quad_segs=SEGMENTS)
        for corner in corners
        if corner.relief
    ]
    return reached if reached.is_empty else shapely.union_all([reached, *holes], grid_size=1e-6)


def _covered(rim: Outline, cut: BaseGeometry, width: float, plan: Plan) -> tuple[float, list[str]]:
    """The least that the lap lies on the bench [mm], and what is to be said where that is too little."""
    lap = shapely.Polygon(offset_outward(rim, width))
    edge = lap.exterior
    cover = float(edge.distance(cut)) if lap.contains(cut) else 0.0
    if cover >= LEAST_COVER - TOUCHES:
        return cover, []
    display = plan.sheet.making.display
    lies = display.fine(round(cover, 1))
    return cover, [
        f"The lap, {display.length(width)} wide, would lie on the bench by {lies} only, {_nearest(rim, edge, cut)}: at least "
        f"{display.length(LEAST_COVER)} is wanted. Take a wider lap, less clearance or a smaller cutter."
    ]


def _nearest(rim: Outline, edge: shapely.LinearRing, cut: BaseGeometry) -> str:
    """Where an opening comes nearest to the edge of the lap, by the corner of the rim that is nearest to there."""
    spots = shapely.get_coordinates(cut)
    worst = shapely.Point(spots[int(shapely.distance(edge, shapely.points(spots)).argmin())])
    corner = min(range(len(rim)), key=lambda index: worst.distance(shapely.Point(rim[index])))
    return f"at corner {corner + 1}"


def _too_low(plan: Plan, height: float, cutting: Cutting) -> list[str]:
    """What is to be said of an upstand that does not come through the bench."""
    bench = cutting.bench_thickness if cutting.bench_thickness is not None else plan.sheet.bench.thickness
    if bench is None or height >= bench - TOUCHES:
        return []
    show = plan.sheet.making.display.length
    return [
        f"The upstand, {show(height)} high, does not come through a bench {show(bench)} thick: make it at least as high."
    ]


def _cautions(plan: Plan, cutting: Cutting, seat: str, corners: int) -> tuple[str, ...]:
    show, thickness = plan.sheet.making.display.fine, plan.sheet.material.thickness
    proof = "the sides" if corners == 3 else "both diagonals" if corners == 4 else "the diagonals"
    found = [f"Measure {proof} of the opening as set out before cutting: they prove its corners."]
    if cutting.clearance < LEAST_CLEARANCE:
        found.append(
            f"With {show(cutting.clearance)} of clearance the tray hardly drops in: usual is {show(LEAST_CLEARANCE)} or more."
        )
    if seat == "bare" and cutting.clearance > thickness:
        found.append(
            f"A gap of {show(cutting.clearance)} is more than the metal is thick ({show(thickness)}): hard to weld shut."
        )
    return tuple(found)
