"""From the shell to blanks: true shapes laid flat, bends developed, gaps taken off, and which blanks are alike.

The net outline is the faces as they lie in space, turned flat about their sharp wet edges. The cut outline is what is cut:
half the root gap is taken off every edge that is welded to another face, so that the faces, held apart by the gap, land
where the shell has them; each folded edge is taken back to the tangent line of its bend, and the bend's allowance put
between. Faces that folds join are one blank.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely

from calc.alike import name_alike
from calc.bends import Bend, Bends, Fan, bends_of, pieces, reliefs_of
from calc.blank import Blank, BlankEdge, FoldLine, Hole
from calc.families import Shape
from calc.families.rims import LONGEST
from calc.flat import GRID, Corner, NotFlatError, OverlapError, Piece, in_plane_of, true_shape
from calc.outlines import LEAST_WIDTH, base_edge, edges_on_hull, take_off
from calc.reading import Fault, SheetFaults, number_as_typed
from calc.records import Outline, Point
from calc.sheet import MOST_BLANKS, JobSheet
from calc.shell import Face, Role, Shell, face_area
from calc.shrinkage import allowances
from calc.tables.drills import next_drill

LONGEST_NAME = 8  # letters of a blank that is several facets; past it, the first and how many more
IN_LINE = 1e-9  # sine of the turn at a corner below which its edges are one
SAME_PLACE = 1e-6  # [mm] rounding
FINEST_TOLD = 0.1  # [mm] a fault tells a length to this step
STEPS_TRIED = 16  # narrower strips tried where no wider one does
HAIR = 0.5  # [mm] what a straight cut leaves on an edge that runs inward by less than this is filed off
AIR = 0.05  # [mm] a relief that comes no farther into the blank than this is none
SCRAP = 20.0  # thicknesses squared: what reliefs may cut off a blank's corners
LEAST_FOLD = 3.0  # thicknesses: a shorter bend can't be gripped (common practice)
ROUND = 128  # chords to a quarter of a circle: its area comes out right to 3 in 100,000


def unfold(shell: Shell, sheet: JobSheet) -> tuple[Blank, ...]:
    """The blanks of a shell, one for the faces that folds join, alike ones named.

    Raises `SheetFaults` where the root gap or a fold leaves nothing of a face, where a piece can't be laid flat, or where
    the job has more blanks than can be planned.
    """
    parts = pieces(shell.faces, shell.joints)
    each = sum(faces[0].count for faces in parts)
    if each * sheet.quantity > MOST_BLANKS:
        most = MOST_BLANKS // each
        text = f"must be at most {most}: {each} blanks each, {MOST_BLANKS} in all (got {sheet.quantity})"
        raise SheetFaults([Fault("sheet.quantity", text)])
    flattening = Flattening.of(shell, sheet)
    blanks: list[Blank] = []
    for faces in parts:
        try:
            blank = flattening.blank(faces)
        except NotFlatError as error:
            raise SheetFaults([Fault("sheet.shape", str(error))]) from None
        blanks.append(name_alike(blank, blanks, turn_over=not sheet.material.finished_face, grain=sheet.material.grain))
    return tuple(blanks)


def blank_name(faces: Sequence[Face]) -> str:
    """What a blank of these faces is called: by its facets or walls, strips left out.

    >>> blank_name([Face("A", (0, 1, 2)), Face("B", (1, 2, 3)), Face("Ar", (0, 1, 4), "strip")])
    'AB'
    """
    names = [face.name for face in faces if face.role != "strip"] or [face.name for face in faces]
    joined = "".join(names)
    return joined if len(names) == 1 or len(joined) <= LONGEST_NAME else f"{names[0]}+{len(names) - 1}"


@dataclass(frozen=True, slots=True)
class Flattening:
    """What laying the pieces of a shell flat needs, worked out once: a face's true shape and what bends leave of it."""

    shell: Shell
    sheet: JobSheet
    bends: Bends
    reliefs: Mapping[Fan, float]

    @classmethod
    def of(cls, shell: Shell, sheet: JobSheet) -> "Flattening":
        """The flattening of a shell made as its sheet says."""
        bends = bends_of(shell, sheet)
        return cls(shell, sheet, bends, reliefs_of(shell, bends))

    def blank(self, faces: Sequence[Face]) -> Blank:
        """The blank of a piece, not yet compared with others. Raises `SheetFaults`, or `NotFlatError`."""
        outlines = {face.name: true_shape(self.shell.corners(face)) for face in faces}
        cores = {face.name: self.core(face, outlines[face.name]) for face in faces}
        allowed = {face.name: allowances(self.shell, self.sheet, face, outlines[face.name]) for face in faces}
        piece = Piece(faces, outlines, cores, self.bends, allowed)
        corners = _merged(list(piece.walk()))
        base = base_edge(tuple((corner.at.real, corner.at.imag) for corner in corners))
        corners = corners[base:] + corners[:base]
        origin, along = corners[0].at, corners[1].at - corners[0].at

        def on_base(z: complex) -> Point:
            moved = (z - origin) * abs(along) / along
            return (moved.real, moved.imag)

        outline = ((0.0, 0.0), (abs(along), 0.0), *(on_base(corner.at) for corner in corners[2:]))
        solid = shapely.Polygon(outline)
        names = ", ".join(face.name for face in faces)
        if piece.overlaps:
            raise OverlapError(f"the faces {names} overlap when laid flat in one piece")
        if not solid.is_valid or not solid.exterior.is_ccw:
            cause = "bends, gaps and shrinkage" if self.sheet.making.allow_shrinkage else "bends and gaps"
            raise NotFlatError(f"{cause} leave no sound outline of the faces {names} in one piece")
        reliefs = (hole for hole in self._holes(piece, on_base) if _meets_metal(hole, solid))
        holes = (*reliefs, *self._outlet_in_sump(piece, on_base))
        folds = tuple(piece.fold_lines(on_base))
        metal = _less_holes(solid, holes)
        if why := _not_left(metal, folds, holes, self.sheet.material.thickness):
            raise NotFlatError(why)
        return Blank(
            name=blank_name(faces),
            faces=tuple(face.name for face in faces),
            count=faces[0].count,
            same_as=None,
            mirrored=False,
            net_outline=tuple(on_base(z) for z in piece.net(corners[0])),
            cut_outline=outline,
            holes=holes,
            folds=folds,
            hand_cuts=_hand_cuts(outline),
            area=math.fsum(face_area(self.shell.corners(face)) for face in faces),
            mass=self.sheet.material.mass(float(metal.area)),
            edges=tuple(self.label(corner) for corner in corners),
        )

    def _holes(self, piece: Piece, on_base: Callable[[complex], Point]) -> Iterator[Hole]:
        """The reliefs of a piece, the outlet among them where it serves as one."""
        outlet, at = self.sheet.shape.outlet, self.sheet.shape.outlet_at
        for fan, radius in self.reliefs.items():
            if fan.faces[0] not in piece.faces:
                continue
            x, y, z = self.shell.vertices[fan.vertex]
            least = 2 * radius
            drains = outlet is not None and at is not None and math.dist((x, y), at) < SAME_PLACE and z < 0
            if outlet is not None and drains and outlet.bore >= least - SAME_PLACE:
                yield Hole(on_base(piece.centre(fan)), outlet.bore, "outlet")
            else:
                yield Hole(on_base(piece.centre(fan)), next_drill(least, self.sheet.making.units), "relief")

    def _outlet_in_sump(self, piece: Piece, on_base: Callable[[complex], Point]) -> Iterator[Hole]:
        """The outlet in the floor of a sump: one blank holds the whole circle."""
        outlet, at = self.sheet.shape.outlet, self.sheet.shape.outlet_at
        floor = next((face for face in piece.faces.values() if face.role == "sump"), None)
        if outlet is None or at is None or floor is None:
            return
        corners = self.shell.corners(floor)
        (own,) = in_plane_of(corners, np.array([(*at, corners[0][2])]))
        if (room := piece.room(floor, own)) <= outlet.bore:
            text = (
                f"must be less than {number_as_typed(math.floor(room * 10) / 10)} mm, what is flat of the sump's floor round "
                f"the outlet (got {number_as_typed(outlet.bore)} mm)"
            )
            raise SheetFaults([Fault("sheet.shape.outlet.bore", text)])
        yield Hole(on_base(piece.spot(floor, own)), outlet.bore, "outlet")

    def core(self, face: Face, net: Outline) -> Outline:
        """What is flat of a face: its edges taken back by half a root gap or to a bend's tangent line, less shrinkage."""
        flat = self._flat(face, net)
        if flat is None:
            raise SheetFaults([self._nothing_left(face)])
        return flat

    def _flat(self, face: Face, net: Outline) -> Outline | None:
        """What is flat of a face; None where that is nothing sound, or of a folded one nowhere as wide as it is thick."""
        meets = self._meets(face)
        allowed = allowances(self.shell, self.sheet, face, net)
        margins = [
            (
                bend.setback
                if (bend := self.bends.get(frozenset(edge)))
                else self._half_gap
                if frozenset(edge) in meets
                else 0.0
            )
            - more
            for edge, more in zip(face.edges, allowed, strict=True)
        ]
        flat = take_off(net, margins)
        wanted = self.sheet.material.thickness if any(frozenset(edge) in self.bends for edge in face.edges) else 0.0
        if flat is None or (wanted > LEAST_WIDTH and shapely.Polygon(flat).buffer(SAME_PLACE - wanted / 2).is_empty):
            return None
        return flat

    @property
    def _half_gap(self) -> float:
        return self.sheet.making.seam_gap / 2

    def _meets(self, face: Face) -> dict[frozenset[int], str]:
        """The face across each joined edge."""
        joints = self.shell.joints_of(face.name)
        return {frozenset(joint.edge): next(name for name in joint.between if name != face.name) for joint in joints}

    def label(self, corner: Corner) -> BlankEdge:
        """What the edge after a corner of a cut outline is."""
        if corner.edge is None:
            vertex = corner.vertex
            return BlankEdge("bend", (vertex, vertex), corner.face.name, None)
        other = self._meets(corner.face).get(frozenset(corner.edge))
        return BlankEdge("free" if other is None else "weld", corner.edge, corner.face.name, other)

    def _nothing_left(self, face: Face) -> Fault:
        """Which field is at fault where nothing sound is left of a face, and what would do."""
        folded = [bend for edge in face.edges if (bend := self.bends.get(frozenset(edge)))]
        if not folded:
            gap = self.sheet.making.seam_gap
            text = f"leaves nothing of blank {face.name} (got {gap:g} mm); make it smaller, or the tray larger"
            return Fault("sheet.making.seam_gap", text)
        flange = self.sheet.shape.flange(face.role)
        told = flange and (self._flange_short(face, *flange) or self._flange_wide(face, *flange))
        return told or self._radius_large(face, folded)

    def _flange_short(self, face: Face, key: str, given: float) -> Fault | None:
        """The fault of a wall or strip that its bends use up, with the least that does for all of its kind, if any does."""
        least, most = given, given + 1.0
        while not self._does(face.role, key, most):
            least, most = most, 2 * most
            if most > 2 * LONGEST:
                return None
        while most - least > FINEST_TOLD / 100:
            middle = (least + most) / 2
            least, most = (least, middle) if self._does(face.role, key, middle) else (middle, most)
        radius = next(bend.inside_radius for edge in face.edges if (bend := self.bends.get(frozenset(edge))))
        steps = math.floor(most / FINEST_TOLD)
        told = (round((steps + more) * FINEST_TOLD, 1) for more in (0, 1))
        wanted = next((value for value in told if self._does(face.role, key, value)), None)
        if wanted is None:
            return None
        text = (
            f"leaves face {face.name} no flat beside its fold of inside radius {number_as_typed(radius)} mm: must be at least "
            f"{number_as_typed(wanted)} mm (got {number_as_typed(given)} mm), or the radius smaller"
        )
        return Fault(f"sheet.shape.{key}", text)

    def _flange_wide(self, face: Face, key: str, given: float) -> Fault | None:
        """The fault of a strip that runs to nothing where the rim turns inward, with the widest that does, if any does."""
        step = given / STEPS_TRIED
        does = next(
            (given - n * step for n in range(1, STEPS_TRIED) if self._does(face.role, key, given - n * step)), None
        )
        if does is None:
            return None
        most = does + step
        while most - does > FINEST_TOLD / 100:
            middle = (does + most) / 2
            does, most = (middle, most) if self._does(face.role, key, middle) else (does, middle)
        wanted = round(math.floor(does / FINEST_TOLD) * FINEST_TOLD, 1)
        if not self._does(face.role, key, wanted):
            return None
        text = (
            f"leaves face {face.name} no flat where the rim turns inward: must be at most {number_as_typed(wanted)} mm "
            f"(got {number_as_typed(given)} mm)"
        )
        return Fault(f"sheet.shape.{key}", text)

    def _does(self, role: Role, key: str, value: float) -> bool:
        """Whether every face of a role keeps some flat with this length of the shape."""
        shell = _resized(self.sheet.shape, key, value).shell(self.sheet.material.thickness)
        tried = Flattening.of(shell, self.sheet)
        return all(
            tried._flat(face, true_shape(shell.corners(face))) is not None for face in shell.faces if face.role == role
        )

    def _radius_large(self, face: Face, folded: Sequence[Bend]) -> Fault:
        """The fault of a facet or floor that its bends use up."""
        widest = max(folded, key=lambda bend: bend.setback)
        of_facets = all(self.shell.face(name).role in ("facet", "sump") for name in widest.joint.between)
        text = (
            f"leaves nothing flat of face {face.name} (got {number_as_typed(widest.inside_radius)} mm, which takes "
            f"{widest.setback:.1f} mm of it at fold {widest.joint.name}); make the radius smaller, or what is folded larger"
        )
        return Fault("sheet.making.fold_radius" if of_facets else f"sheet.shape.{self.sheet.shape.radius_key}", text)


def _merged(corners: list[Corner]) -> list[Corner]:
    """The corners of an outline less those at which it runs straight on; of two edges in line the longer one's label stays."""
    kept = list(corners)
    index = 0
    while index < len(kept):
        before, here, after = kept[index - 1], kept[index], kept[(index + 1) % len(kept)]
        came, goes = here.at - before.at, after.at - here.at
        turn = (came.conjugate() * goes) / (abs(came) * abs(goes)) if abs(came) and abs(goes) else 1.0
        if abs(turn.imag) < IN_LINE and turn.real > 0 and len(kept) > 3:
            if abs(goes) > abs(came):
                kept[index - 1] = replace(here, at=before.at)
            del kept[index]
            index = max(index - 1, 0)
        else:
            index += 1
    return kept


def _hand_cuts(outline: Outline) -> tuple[tuple[int, int], ...]:
    """The edges that no straight cut from edge to edge of a sheet can make: those inside the hull by more than a hair."""
    hull = shapely.Polygon(outline).convex_hull.boundary
    deep = [float(hull.distance(shapely.Point(corner))) > HAIR for corner in outline]
    on_hull, count = edges_on_hull(outline), len(outline)
    return tuple(
        (i, (i + 1) % count)
        for i, clear in enumerate(on_hull)
        if not clear and (deep[i] or deep[(i + 1) % count] or _is_inside(outline, i))
    )


def _is_inside(outline: Outline, place: int) -> bool:
    """Whether an edge, whose ends lie on the hull, runs across the inside of it."""
    (x, y), (end_x, end_y) = outline[place], outline[(place + 1) % len(outline)]
    hull = shapely.Polygon(outline).convex_hull.boundary
    return float(hull.distance(shapely.Point((x + end_x) / 2, (y + end_y) / 2))) > HAIR


def _meets_metal(hole: Hole, solid: shapely.Polygon) -> bool:
    """Whether a relief takes anything off the blank that the root gap has not taken already."""
    return hole.purpose == "outlet" or solid.distance(shapely.Point(hole.centre)) < hole.diameter / 2 - AIR


def _less_holes(solid: shapely.Polygon, holes: Sequence[Hole]) -> shapely.geometry.base.BaseGeometry:
    """An outline less what its holes, which may lie across its edge, take of it."""
    return (
        shapely.difference(solid, shapely.union_all([_disc(hole) for hole in holes]), grid_size=GRID)
        if holes
        else solid
    )


def _disc(hole: Hole) -> shapely.Polygon:
    return shapely.Point(hole.centre).buffer(hole.diameter / 2, quad_segs=ROUND)


def _not_left(
    metal: shapely.geometry.base.BaseGeometry, folds: Sequence[FoldLine], holes: Sequence[Hole], thickness: float
) -> str:
    """What the holes leave too little of to be made; empty where all is well."""
    parts = sorted((float(part.area) for part in getattr(metal, "geoms", [metal])), reverse=True)
    if not parts or math.fsum(parts[1:]) > SCRAP * thickness**2:
        return "the reliefs where its folds meet cut the blank in two: make the inside radius smaller, or the strip narrower"
    away = shapely.union_all([_disc(hole) for hole in holes])
    for fold in folds:
        if shapely.LineString(fold.line).difference(away).length < LEAST_FOLD * thickness:
            return (
                f"the reliefs at its ends leave too little of fold {fold.name} to bend: make the inside radius smaller"
            )
    return ""


def _resized(shape: Shape, key: str, value: float) -> Shape:
    """The shape with one of its lengths, named as in the sheet below `shape`, made another [mm]."""
    first, _, inner = key.partition(".")
    changed: dict[str, Any] = {first: replace(getattr(shape, first), **{inner: value}) if inner else value}
    return replace(shape, **changed)
