"""Flat parts: blanks that stay flat as they stand - gussets, stiffeners, cover plates - any number of each.

An outline is given by its corners, or by sides and the inside angles between them. Sides run from corner to corner going
round anticlockwise, seen from the face side: side 1 from corner 1 to corner 2, and so on; the last side, back to corner 1, is
not given. Between them stand the inside angles [degrees] at the corners where two given sides meet: the first at corner 2.
So an outline of n corners has n - 1 sides and n - 2 angles, which fix it with nothing measured twice; its last side follows,
is shown, and proves the others when it is measured.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import ClassVar, Literal

import shapely

from calc.families.metal import Metal
from calc.families.rims import (
    LONGEST,
    SHORTEST,
    STRAIGHT,
    anticlockwise,
    is_sound,
    read_outline,
    signed_area,
    sine_of_turn,
)
from calc.reading import Field, as_typed, number_as_typed
from calc.records import Outline, Point, Point3
from calc.shell import Face, Role, Shell, join_faces

MOST_PARTS, MOST_BLANKS = 200, 2_000  # outlines in a sheet; blanks, each counted as often as it is made
MOST_CORNERS = 200
LONGEST_NAME = 16
NARROWEST = 1.0  # [mm] nowhere wider than this, it is swarf
SHARPEST = 0.01  # [degrees] from 0, and from a whole turn
NAME = re.compile(
    r"[^\W_][\w-]*"
)  # steps, cuts and copies are named by it: nothing that their names are put together with
APART = 0.4  # between parts in the shell, as a share of what they are long
SQUAT = 1.8  # how much wider than high the parts are set out in all


@dataclass(frozen=True, slots=True)
class MeasuredOutline:
    """An outline as it was measured: all sides but the last [mm], and the inside angles between them [degrees]."""

    sides: tuple[float, ...]
    angles: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """A flat part: its name, its outline as given, and how many there are of it in one set."""

    name: str
    outline: Outline | MeasuredOutline
    count: int = 1

    @property
    def corners(self) -> Outline:
        """Its corners, anticlockwise from corner 1 [mm]."""
        if isinstance(self.outline, MeasuredOutline):
            return laid_round(self.outline.sides, self.outline.angles)
        return anticlockwise(self.outline)


@dataclass(frozen=True, slots=True)
class FlatParts:
    """A set of flat parts, none of them joined to another."""

    family: Literal["flat-parts"]
    parts: tuple[Part, ...]

    @classmethod
    def read(cls, field: Field, metal: Metal) -> "FlatParts | None":  # noqa: ARG003  every family is asked the same way
        """The parts of a sheet's shape; None where one is at fault, and every fault is noted in its field."""
        if not field.mapping(("family", "parts"), required=("parts",)):
            return None
        item = field.at("parts")
        parts = item.list_of(_read_part, 1, MOST_PARTS, "parts")
        if parts is None or not _named_apart(item, parts):
            return None
        if (total := sum(part.count for part in parts)) > MOST_BLANKS:
            item.fault(f"must come to at most {MOST_BLANKS} blanks in all (got {total})")
            return None
        return cls("flat-parts", parts)

    @property
    def sizes(self) -> dict[str, float]:
        """Every side of every part [mm], by what it is called."""
        return {
            f"{part.name}, side {number}": math.dist(start, end)
            for part in self.parts
            for number, (start, end) in enumerate(
                zip(part.corners, part.corners[1:] + part.corners[:1], strict=True), 1
            )
        }

    @property
    def spots(self) -> dict[str, Point]:
        """Every corner of every part, in that part's own frame [mm], by what it is called."""
        return {
            f"{part.name}, corner {number}": corner
            for part in self.parts
            for number, corner in enumerate(part.corners, 1)
        }

    def shell(self, thickness: float) -> Shell:  # noqa: ARG002  every family is asked the same way
        """A face for each part, named as it is, level and apart from the others, in rows from the top; no joints."""
        outlines = [part.corners for part in self.parts]
        vertices: list[Point3] = []
        faces = []
        for part, outline, (x, y) in zip(self.parts, outlines, in_rows(outlines), strict=True):
            first = len(vertices)
            vertices += [(x + across, y + up, 0.0) for across, up in outline]
            faces.append(Face(part.name, tuple(range(first, len(vertices))), "part", part.count))
        return join_faces(vertices, faces)

    called: ClassVar[str] = "set of parts"
    face_side: ClassVar[str] = "face side"
    radius_key: ClassVar[str] = ""  # nothing is folded
    seat: ClassVar[Literal["loose"]] = "loose"  # nothing is set in
    # Of a rim, its outlet and its depths there is nothing to say.
    corners: ClassVar[Outline] = ()
    measured_corners: ClassVar[Outline] = ()
    outlet: ClassVar[None] = None
    outlet_at: ClassVar[Point | None] = None
    depths: ClassVar[tuple[float, ...]] = ()
    tape_errors: ClassVar[tuple[float, ...]] = ()
    taped: ClassVar[tuple[float, ...]] = ()
    lowest: ClassVar[Point | None] = None
    most_bore: ClassVar[float] = 0.0
    drain_meets: ClassVar[tuple[str, ...]] = ()
    lowest_words: ClassVar[str] = ""
    set_out_words: ClassVar[str] = ""

    def free_place(self, steps: Sequence[float]) -> Point | None:  # noqa: ARG002  every family is asked the same way
        """Where an outlet would keep clear: there is none."""
        return None

    def flange(self, role: Role) -> tuple[str, float] | None:  # noqa: ARG002  every family is asked the same way
        """The length that makes a face wider: no one length does."""
        return None


def _read_part(item: Field) -> Part | None:
    if not item.mapping(("name", "outline", "count"), required=("name", "outline")):
        return None
    name = _read_name(item.at("name"))
    outline = _read_outline(item.at("outline"))
    count = item.at("count", 1).whole(1, MOST_BLANKS)
    return None if name is None or outline is None or count is None else Part(name, outline, count)


def _read_name(field: Field) -> str | None:
    name = field.text(LONGEST_NAME)
    if name is not None and not NAME.fullmatch(name):
        field.wrong('a short name without spaces, such as "gusset" or "plate-2": letters, figures, hyphens')
        return None
    return name


def _named_apart(field: Field, parts: Sequence[Part]) -> bool:
    """Whether every part has a name of its own, whatever its capitals: papers and files are found by it."""
    seen: set[str] = set()
    for index, part in enumerate(parts):
        if part.name.casefold() in seen:
            field.at(index).at("name").fault(f"{part.name} is the name of an earlier part; give each its own")
            return False
        seen.add(part.name.casefold())
    return True


def _read_outline(field: Field) -> Outline | MeasuredOutline | None:
    measured = isinstance(field.value, Mapping)
    outline = _read_measured(field) if measured else read_outline(field, most=MOST_CORNERS)
    if outline is None:
        return None
    corners = laid_round(outline.sides, outline.angles) if isinstance(outline, MeasuredOutline) else outline
    if shapely.Polygon(corners).buffer(-NARROWEST / 2).is_empty:
        field.fault(f"must be more than {number_as_typed(NARROWEST)} mm wide somewhere; is a figure wrong?")
        return None
    return outline


def _read_measured(field: Field) -> MeasuredOutline | None:
    if not field.mapping(("sides", "angles"), required=("sides", "angles")):
        return None
    sides = field.at("sides").list_of(
        lambda item: item.length(SHORTEST, LONGEST), 2, MOST_CORNERS - 1, "sides, the last one left out"
    )
    angles = field.at("angles").list_of(_read_angle, 1, MOST_CORNERS - 2, "angles")
    if sides is None or angles is None:
        return None
    if len(angles) != len(sides) - 1:
        field.at("angles").fault(
            f"must hold {len(sides) - 1}, one between each side and the next (got {len(angles)} to {len(sides)} sides); "
            "the last side, and the angles at its ends, follow from the others"
        )
        return None
    measured = MeasuredOutline(sides, angles)
    return measured if _goes_round(field, laid_round(sides, angles)) else None


def _read_angle(item: Field) -> float | None:
    angle = item.number(SHARPEST, 360.0 - SHARPEST, "degrees")
    if angle is not None and abs(math.sin(math.radians(angle))) < STRAIGHT:
        item.fault(f"must not be 180, which is no corner: make one side of the two (got {as_typed(item.value)})")
        return None
    return angle


def _goes_round(field: Field, corners: Outline) -> bool:
    """Whether the last side closes sides and angles to a sound outline."""
    last = math.dist(corners[-1], corners[0])
    if not SHORTEST <= last <= LONGEST:
        field.fault(
            f"its last side, from corner {len(corners)} back to corner 1, comes out {last:.2f} mm long: must be "
            f"{number_as_typed(SHORTEST)} to {number_as_typed(LONGEST)} mm"
        )
        return False
    for corner in (len(corners) - 1, 0):
        before, after = corners[corner - 1], corners[(corner + 1) % len(corners)]
        if abs(sine_of_turn(before, corners[corner], after)) < STRAIGHT:
            field.fault(
                f"its last side comes out in one straight line with another at corner {corner + 1}: leave that out"
            )
            return False
    if not is_sound(Field(corners), corners):
        field.fault(
            "crosses or touches itself with these sides and angles: are the angles those inside, in their order?"
        )
        return False
    if signed_area(corners) < 0:
        field.fault("these angles run round the outside: give those inside the part, going round it anticlockwise")
        return False
    return True


def laid_round(sides: Sequence[float], angles: Sequence[float]) -> Outline:
    """The corners that sides [mm] and the inside angles between them [degrees] lead to: one more than there are sides.

    Corner 1 is at (0, 0), side 1 runs along +x, the inside is on the left. Nothing is checked.

    >>> [(round(x, 6), round(y, 6)) for x, y in laid_round((3, 4), (90,))]
    [(0.0, 0.0), (3.0, 0.0), (3.0, 4.0)]
    """
    at, turned = 0j, 0.0
    corners = [at]
    for number, side in enumerate(sides):
        turned += 180.0 - angles[number - 1] if number else 0.0
        at += side * complex(math.cos(math.radians(turned)), math.sin(math.radians(turned)))
        corners.append(at)
    return tuple((corner.real, corner.imag) for corner in corners)


def in_rows(outlines: Sequence[Outline]) -> list[Point]:
    """How far each outline is moved [mm] for all to lie apart: in rows from the top, each from the left, in their order."""
    boxes = [shapely.Polygon(outline).bounds for outline in outlines]
    sizes = [(right - left, top - bottom) for left, bottom, right, top in boxes]
    gap = APART * sum(max(size) for size in sizes) / len(sizes)
    cells = [(across + gap, up + gap) for across, up in sizes]
    room = max(*(across for across, _ in sizes), math.sqrt(SQUAT * sum(across * up for across, up in cells)))
    moved: list[Point] = []
    x = y = deep = 0.0
    for (left, _, _, top), (across, up) in zip(boxes, cells, strict=True):
        if x and x + across - gap > room:
            x, y, deep = 0.0, y - deep, 0.0
        moved.append((x - left, y - top))
        x, deep = x + across, max(deep, up)
    return moved
