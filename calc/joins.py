"""Weld or fold: which joints between facets are folded, so that the least is left to weld.

`fewest-welds` takes a spanning forest of the faces: a set of joints to fold that closes no ring, whose pieces each lie flat
without overlap, fit a sheet of the stock and the shop's folder, and of those the one that leaves the least weld; of equals
the one that takes the least sheet. Every other joint is a weld.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from calc.bends import pieces
from calc.flat import NotFlatError, OverlapError
from calc.layout.job import lay_out_job
from calc.outlines import longest_side
from calc.reading import SheetFaults
from calc.records import Outline
from calc.sheet import JobSheet
from calc.shell import LEVEL, WET_FLOORS, Face, Joint, Shell
from calc.stock import Stock
from calc.tables.bending import SHARPEST
from calc.unfold import Flattening

SAME_LENGTH = 1e-6  # [mm] choices whose welds differ by less are equals
MOST_LOOKED_AT = 100_000  # branches of the search; past them the best found stands
MOST_EQUALS = 6  # equals that are laid out to see which takes the least sheet


def join(shell: Shell, sheet: JobSheet) -> Shell:
    """The shell with its joints welded or folded as the sheet wants them; folds that a shape has between facets stay."""
    shell = _with_radii(shell, sheet.making.fold_radius)
    if sheet.making.joins != "fewest-welds":
        return shell
    return fewest_welds(shell, sheet)


def _with_radii(shell: Shell, inside_radius: float) -> Shell:
    """The shell with an inside radius [mm] for those folds that leave it to the sheet."""
    if all(joint.inside_radius is not None for joint in shell.folds):
        return shell
    joints = tuple(
        replace(joint, inside_radius=inside_radius) if joint.kind == "fold" and joint.inside_radius is None else joint
        for joint in shell.joints
    )
    return replace(shell, joints=joints)


def fewest_welds(shell: Shell, sheet: JobSheet) -> Shell:
    """The shell with the most of its welds between facets made folds, that can be laid flat, laid out and folded.

    Where none can, the shell as it is. The search is exact up to `MOST_LOOKED_AT` branches, longest joints first.
    """
    joints = sorted((joint for joint in shell.welds if may_fold(joint, shell, sheet)), key=lambda joint: -joint.length)
    search = _Search(shell, sheet, tuple(joints))
    search.look(0, frozenset(), 0.0)
    equals = [folded(shell, chosen, sheet.making.fold_radius) for chosen in search.best]
    if len(equals) == 1:
        return equals[0]
    return min(equals, key=lambda made: _sheet_taken(made, sheet))


def is_between_facets(joint: Joint, shell: Shell) -> bool:
    """Whether it is a joint that may be welded or folded as one likes: not a wall's, nor a strip's."""
    return all(shell.face(name).role in WET_FLOORS for name in joint.between)


def may_fold(joint: Joint, shell: Shell, sheet: JobSheet) -> bool:
    """Whether a weld could be a fold: between two facets, bent at all and not too far, no longer than the folder."""
    bent = LEVEL * 180.0 < abs(joint.bend) < SHARPEST
    return is_between_facets(joint, shell) and bent and joint.length <= sheet.making.longest_fold


def folded(shell: Shell, edges: frozenset[frozenset[int]], inside_radius: float) -> Shell:
    """The shell with these edges folded to an inside radius [mm]; all else as it is."""
    joints = tuple(
        replace(joint, kind="fold", groove=None, inside_radius=inside_radius)
        if frozenset(joint.edge) in edges
        else joint
        for joint in shell.joints
    )
    return replace(shell, joints=joints)


@dataclass
class _Search:
    """Branch and bound over the joints, longest first: fold it, or leave it a weld.

    A piece that overlaps or is too large never does better by growing, so a branch ends there. One that bends and gaps
    leave too little of may, since a weld's gap can take more than a fold; so whether all pieces can be made is seen at the
    end. What a piece comes to is remembered.
    """

    shell: Shell
    sheet: JobSheet
    joints: tuple[Joint, ...]
    best: list[frozenset[frozenset[int]]] = field(default_factory=lambda: [frozenset()])
    most: float = 0.0
    looked: int = 0
    _known: dict[tuple[frozenset[str], frozenset[frozenset[int]]], tuple[bool, bool]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        lengths = [joint.length for joint in self.joints]
        self._left = [math.fsum(lengths[index:]) for index in range(len(lengths) + 1)]

    def look(self, index: int, chosen: frozenset[frozenset[int]], length: float) -> None:
        """Go on from the joints before `index`, of which those chosen are folds, `length` [mm] in all."""
        self.looked += 1
        if self.looked > MOST_LOOKED_AT or length + self._left[index] < self.most - SAME_LENGTH:
            return
        if index == len(self.joints):
            self._keep(chosen, length)
            return
        joint = self.joints[index]
        if self._may_add(joint, chosen):
            self.look(index + 1, chosen | {frozenset(joint.edge)}, length + joint.length)
        self.look(index + 1, chosen, length)

    def _keep(self, chosen: frozenset[frozenset[int]], length: float) -> None:
        if length < self.most - SAME_LENGTH or not self._leaves_sound(chosen):
            return
        if length > self.most + SAME_LENGTH:
            self.best, self.most = [chosen], length
        elif abs(length - self.most) <= SAME_LENGTH and chosen not in self.best and len(self.best) < MOST_EQUALS:
            self.best.append(chosen)

    def _leaves_sound(self, chosen: frozenset[frozenset[int]]) -> bool:
        """Whether every piece can be made."""
        made = folded(self.shell, chosen, self.sheet.making.fold_radius)
        return all(self._verdict(piece, chosen)[0] for piece in pieces(made.faces, made.joints))

    def _may_add(self, joint: Joint, chosen: frozenset[frozenset[int]]) -> bool:
        """Whether folding a joint too closes no ring and makes a piece that can be made, or may yet."""
        if joint.between[1] in {face.name for face in self._piece_with(joint, chosen)}:
            return False
        chosen = chosen | {frozenset(joint.edge)}
        return self._verdict(self._piece_with(joint, chosen), chosen)[1]

    def _verdict(self, piece: Sequence[Face], chosen: frozenset[frozenset[int]]) -> tuple[bool, bool]:
        """Whether a piece can be made, and whether it or one that it grows into may be."""
        inside = frozenset(frozenset(edge) for face in piece for edge in face.edges) & chosen
        key = (frozenset(face.name for face in piece), inside)
        if key not in self._known:
            self._known[key] = _verdict_of(folded(self.shell, chosen, self.sheet.making.fold_radius), piece, self.sheet)
        return self._known[key]

    def _piece_with(self, joint: Joint, chosen: frozenset[frozenset[int]]) -> tuple[Face, ...]:
        """The faces that these folds join with a joint's first face."""
        faces = {joint.between[0]}
        while True:
            more = {
                name
                for other in self.shell.joints
                if (other.kind == "fold" or frozenset(other.edge) in chosen) and faces & set(other.between)
                for name in other.between
            }
            if more <= faces:
                return tuple(face for face in self.shell.faces if face.name in faces)
            faces |= more


def _verdict_of(shell: Shell, piece: Sequence[Face], sheet: JobSheet) -> tuple[bool, bool]:
    """Whether a piece lies flat without overlap, fits a sheet of the stock and is no larger than the shop can fold, and
    whether a larger one may. What has no fold is only cut: a face too large for the stock is none of the folds' doing."""
    try:
        blank = Flattening.of(shell, sheet).blank(piece)
    except OverlapError:
        return False, False
    except (NotFlatError, SheetFaults):
        return False, True
    outline = blank.cut_outline
    fits = not blank.folds or (
        longest_side(outline) <= sheet.making.largest_blank
        and any(fits_sheet(outline, size, sheet) for size in sheet.stock)
    )
    return fits, fits


def fits_sheet(outline: Outline, size: Stock, sheet: JobSheet) -> bool:
    """Whether a blank lies on a sheet of this size with one edge of its hull along the sheet's, the trim kept clear."""
    making, material = sheet.making, sheet.material
    trim = max(making.edge_trim, making.kerf) if making.edge_trim else 0.0
    room = (size.length - 2 * trim, size.width - 2 * trim)
    hull = shapely.get_coordinates(shapely.Polygon(outline).convex_hull)
    sides = np.diff(hull, axis=0)
    for side in [np.array([1.0, 0.0])] if material.grain else sides:
        along = side / np.linalg.norm(side)
        spans = np.ptp(hull @ along), np.ptp(hull @ np.array([-along[1], along[0]]))
        ways = (spans,) if material.grain else (spans, spans[::-1])
        if any(way[0] <= room[0] + SAME_LENGTH and way[1] <= room[1] + SAME_LENGTH for way in ways):
            return True
    return False


def _sheet_taken(shell: Shell, sheet: JobSheet) -> tuple[float, ...]:
    """What a choice takes of the stock when laid out quickly: blanks left over, sheet area less offcuts [mm2]."""
    flattening = Flattening.of(shell, sheet)
    blanks = [flattening.blank(faces) for faces in pieces(shell.faces, shell.joints)]
    layout = lay_out_job(
        blanks, replace(sheet, making=replace(sheet.making, effort="quick"), frozen=(), guests=(), elsewhere=())
    )
    opened = math.fsum(used.area for used in layout.sheets)
    kept = math.fsum(shapely.Polygon(piece.outline).area for used in layout.sheets for piece in used.offcuts)
    return (len(layout.unplaced), opened - kept)
