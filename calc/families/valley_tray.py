"""The valley tray: four sides that fall to a line, which falls from its shallow end to its deep one, where the outlet is.

The rim's corners are 0 to 3 and its sides 0-1, 1-2, 2-3 and 3-0. The valley's first point is the one by side 3-0, its second
the one by side 1-2: with these sides they span the two ends, D and B. The long facets A (side 0-1) and C (side 2-3) have both
points as corners. Where such a facet would be twisted it is split along the line from the rim corner by the shallow end to the
deep end, and that line is a fold: the part on the rim keeps its name, the part between the line and the valley is E (of A) or F
(of C). The deep end is the one of greater depth; where both have one depth it is the second, so that the outlet's place is
always known, and the valley falls nowhere.

A rim typed clockwise is run the other way round so that sides 3-0 and 1-2 stay what they are: its corner 3 becomes corner 0.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from calc.families.free_place import Bound, Line, Side, clear_of, nearest_free
from calc.families.keep_clear import KeepClear, read_keep_clear
from calc.families.metal import Metal
from calc.families.outlets import Outlet, has_room, read_outlet
from calc.families.rims import LONGEST, SHORTEST, MeasuredRim, Rim, corners_of, distance_in_front, read_rim, signed_area
from calc.families.strips import BARE, RimFinish, add_strips, read_finish, strip_sizes
from calc.families.tray import INSIDE, SEES, Tray, as_pair, lies_inside, room_round
from calc.reading import Field, as_typed, number_as_typed
from calc.records import Outline, Point, Point3
from calc.shell import Face, Kinds, Shell, is_flat, join_faces

KEYS = ("family", "rim", "valley", "outlet", "rim_finish", "keep_clear")
FIRST, SECOND = 4, 5  # the valley's points as vertices, after the rim's corners
ENDS = ("first", "second")
STEPS = (0.1, 0.01)  # [mm] of the grid on which a fault names a place that would do
Valley = tuple[Point3, Point3]


@dataclass(frozen=True, slots=True)
class ValleyTray(Tray):
    """A valley tray as measured: rim, and the valley's two points [x, y, depth below the rim] [mm]; see the module.

    keep_clear: what the outlet, or the deep end where there is no outlet, must miss.
    """

    family: Literal["valley-tray"]
    rim: Rim
    valley: Valley
    outlet: Outlet | None = None
    rim_finish: RimFinish = BARE
    keep_clear: tuple[KeepClear, ...] = ()

    @classmethod
    def read(cls, field: Field, metal: Metal) -> "ValleyTray | None":
        """The tray of a sheet's shape; None where it is at fault, and every fault is noted in the field."""
        if not field.mapping(KEYS, required=("rim", "valley")):
            return None
        before = len(field.faults)
        rim = read_rim(field.at("rim"), 4, 4)
        valley = _read_valley(field.at("valley"))
        finish = read_finish(field.at("rim_finish", {}), None if rim is None else corners_of(rim), metal)
        outlet = read_outlet(field.at("outlet"))
        keep_clear = read_keep_clear(field.at("keep_clear", []))
        if rim is None or valley is None or finish is None or keep_clear is None:
            return None
        tray = cls("valley-tray", rim, valley, outlet, finish, keep_clear)
        if _is_sound(field.at("valley"), tray) and outlet is not None:
            has_room(field.at("outlet"), outlet, room_round(tray.corners, tray.lowest), "round the valley's deep end")
        return tray if len(field.faults) == before else None

    @property
    def corners(self) -> Outline:
        """The rim's corners, anticlockwise, sides 3-0 and 1-2 those that were typed so [mm]."""
        rim = self.rim
        return rim[::-1] if not isinstance(rim, MeasuredRim) and signed_area(rim) < 0 else corners_of(rim)

    @property
    def deep(self) -> int:
        """Which of the valley's points is the deep end: 0 or 1."""
        return 0 if self.valley[0][2] > self.valley[1][2] else 1

    @property
    def lowest(self) -> Point:
        """The deep end, seen from above [mm]."""
        x, y, _ = self.valley[self.deep]
        return x, y

    @property
    def depths(self) -> tuple[float, ...]:
        """The depths of the valley's first and second point [mm]."""
        return self.valley[0][2], self.valley[1][2]

    @property
    def lowest_words(self) -> str:
        """What the shop calls the place of the outlet."""
        return "the deep end of the valley"

    @property
    def set_out_words(self) -> str:
        """What is set out from two sides of the rim."""
        return "both ends of the valley"

    @property
    def sizes(self) -> dict[str, float]:
        """The lengths that it has beside its rim [mm], by what they are called."""
        outlet = {"Outlet": self.outlet.bore} if self.outlet else {}
        depths = {"Depth by side 4": self.valley[0][2], "Depth by side 2": self.valley[1][2]}
        return depths | outlet | strip_sizes(self.rim_finish)

    @property
    def spots(self) -> dict[str, Point]:
        """The points that it has beside its corners [mm], by what they are called."""
        (x, y, _), (end_x, end_y, _) = self.valley
        return {"Valley by side 4": (x, y), "Valley by side 2": (end_x, end_y)}

    def _sound_places(self) -> tuple[Bound, ...]:
        return sound_places(self, self.deep)

    def vertices(self) -> tuple[Point3, ...]:
        """The rim's corners and the valley's points, z up [mm]."""
        return (*((x, y, 0.0) for x, y in self.corners), *((x, y, -depth) for x, y, depth in self.valley))

    def split(self) -> tuple[tuple[int, int, int], ...]:
        """The facets A and C where they are split: the parts on the rim, then those beside the valley, as vertices."""
        deep, by_shallow = FIRST + self.deep, (0, 3) if self.deep else (1, 2)
        return (0, 1, deep), (2, 3, deep), (by_shallow[0], SECOND, FIRST), (by_shallow[1], FIRST, SECOND)

    def faces(self) -> tuple[tuple[Face, ...], Kinds]:
        """The facets, and the folds along which those that would be twisted are split."""
        whole = {"A": (0, 1, SECOND, FIRST), "C": (2, 3, FIRST, SECOND)}
        rim_a, rim_c, beside_a, beside_c = self.split()
        points = np.array(self.vertices())
        loops: dict[str, tuple[int, ...]] = {"A": (), "B": (1, 2, SECOND), "C": (), "D": (3, 0, FIRST)}
        kinds = Kinds()
        for name, on_rim, part, beside in (("A", rim_a, "E", beside_a), ("C", rim_c, "F", beside_c)):
            if is_flat(points[list(whole[name])]):
                loops[name] = whole[name]
            else:
                loops[name], loops[part] = on_rim, beside
                kinds[frozenset(on_rim) & frozenset(beside)] = ("fold", None)
        return tuple(Face(name, loop) for name, loop in loops.items()), kinds

    def shell(self, thickness: float) -> Shell:  # noqa: ARG002  every family is asked the same way
        """Four to six facets, a strip on each rim edge where the rim has them; joints are welds but where facets are split.

        Vertices are the rim's corners, the valley's first and second point, then the strips' outer corners. thickness [mm]
        changes nothing: a tray is measured on its wet face.
        """
        faces, kinds = self.faces()
        vertices, all_faces, strip_kinds = add_strips(self.vertices(), faces, range(4), self.rim_finish)
        return join_faces(vertices, all_faces, kinds | strip_kinds)


def _read_valley(field: Field) -> Valley | None:
    ends = field.list_of(_read_end, 2, 2, "points, [x, y, depth]")
    return None if ends is None else (ends[0], ends[1])


def _read_end(item: Field) -> Point3 | None:
    if not item.sequence(3, 3, "lengths, [x, y, depth]"):
        return None
    x, y = (item.at(index).length(-LONGEST, LONGEST) for index in (0, 1))
    depth = item.at(2).length(SHORTEST, LONGEST)
    return None if x is None or y is None or depth is None else (x, y, depth)


def _is_sound(field: Field, tray: ValleyTray) -> bool:
    """Whether the valley's points lie inside the rim, apart, and where all facets can be seen from above."""
    corners, ends = tray.corners, [(x, y) for x, y, _ in tray.valley]
    inside = [lies_inside(field.at(end), corners, ends[end]) for end in (0, 1)]
    if not all(inside):
        return False
    if math.dist(*ends) < INSIDE:
        field.at(1).fault(
            f"must lie at least {number_as_typed(INSIDE)} mm from the valley's first point, seen from above (got "
            f"{as_typed(field.value[1])}); a tray that falls to one point is of the family fall-tray"
        )
        return False
    hidden = _hidden(tray)
    if not hidden:
        return True
    swapped = replace(tray, valley=(tray.valley[1], tray.valley[0]))
    if not _hidden(swapped):
        field.fault(
            "must begin with the point by side 4 (corner 4 to 1) and end with the one by side 2 (corner 2 to 3): swap the two"
        )
    else:
        _tell_hidden(field, tray, hidden[0])
    return False


def _tell_hidden(field: Field, tray: ValleyTray, face: Face) -> None:
    """Note which end of the valley a facet that can't be seen is the fault of, and where it would be seen."""
    shallow = 1 - tray.deep
    of_rim = [index for index in face.loop if index < FIRST]
    if len(of_rim) == 1 or FIRST + shallow in face.loop:
        end, sides = shallow, f"{_side(tray, 3 if shallow == 0 else 1)} and the valley's {ENDS[tray.deep]} point"
        must = f"must lie in the triangle of {sides}, or the facets beside the valley fold over themselves"
    else:
        end = tray.deep
        must = f"must see {_side(tray, of_rim[0])}, which falls to it"
    spot = tray.valley[end][0], tray.valley[end][1]
    bounds = (*sound_places(tray, end), *clear_of(tray.corners, INSIDE))
    place = nearest_free(spot, bounds, STEPS)
    cure = (
        f"there is no place for it while the {ENDS[1 - end]} point lies at {as_pair(_other(tray, end))}: move that first"
        if place is None
        else f"{as_pair(place)} would do"
    )
    field.at(end).fault(f"{must} (got {as_pair(spot)}); {cure}")


def _side(tray: ValleyTray, index: int) -> str:
    """A side by its number and corners as they were typed."""
    as_typed_round = isinstance(tray.rim, MeasuredRim) or signed_area(tray.rim) > 0
    number = index if as_typed_round else {0: 2, 2: 0}.get(index, index)
    return f"side {number + 1} (corner {number + 1} to {(number + 1) % 4 + 1})"


def _other(tray: ValleyTray, end: int) -> Point:
    x, y, _ = tray.valley[1 - end]
    return x, y


def _hidden(tray: ValleyTray) -> list[Face]:
    """The facets that can't be seen from above, or only just."""
    faces, points = tray.faces()[0], tray.vertices()
    return [face for face in faces if not _is_seen([points[index][:2] for index in face.loop])]


def _is_seen(plan: Sequence[Point]) -> bool:
    """Whether a facet seen from above runs anticlockwise, does not cross itself and has some width."""
    if len(plan) == 3:
        return all(distance_in_front(plan[i], plan[(i + 1) % 3], plan[i - 1]) >= SEES for i in range(3))
    flat = shapely.Polygon(plan)
    return bool(flat.is_valid and flat.exterior.is_ccw and not flat.buffer(-SEES / 2).is_empty)


def sound_places(tray: ValleyTray, end: int) -> tuple[Bound, ...]:
    """Where one end of the valley may lie while the other stays, for all facets to be seen, split as they might be.

    Each triangle that the end is a corner of keeps it in front of its opposite edge.
    """
    vertex, points = FIRST + end, [(x, y) for x, y, _ in tray.vertices()]
    lines = []
    for loop in ((3, 0, FIRST), (1, 2, SECOND), *tray.split()):
        if vertex in loop:
            place = loop.index(vertex)
            lines.append(Line(points[loop[place - 2]], points[loop[place - 1]], SEES))
    return (*lines, Side(_other(tray, end), _other(tray, end), INSIDE))
