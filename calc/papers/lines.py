"""The rows of a traveller's tables, as the text that is printed."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc import Plan
from calc.blank import Blank
from calc.drawing.blank_drawing import alike_as
from calc.drawing.plan_view import falls_as
from calc.drawing.rim import rim_of
from calc.laid import SheetLayout
from calc.reading import number_as_typed
from calc.records import Point
from calc.steps import SQUARE_BUTT, in_turn
from calc.tables.lookup import NotListedError
from calc.tables.tolerances import linear_iso13920
from calc.takeoff import filler_of
from calc.units import Display


def mass(kilograms: float) -> str:
    """A mass as it is read off a scale: three figures or so.

    >>> mass(0.4567), mass(23.456)
    ('0.457 kg', '23.5 kg')
    """
    return (
        f"{kilograms:.3f} kg" if kilograms < 1 else f"{kilograms:.2f} kg" if kilograms < 10 else f"{kilograms:.1f} kg"
    )


def patterns(plan: Plan) -> Iterator[tuple[Blank, tuple[Blank, ...]]]:
    """Each blank that is marked out, with the others that are the same."""
    for blank in plan.blanks:
        if blank.same_as is None:
            yield blank, tuple(other for other in plan.blanks if other.same_as == blank.name)


def copies(plan: Plan, blank: Blank, alike: Sequence[Blank]) -> int:
    """How many of a blank the job needs, those alike counted in."""
    return plan.sheet.quantity * sum(each.count for each in (blank, *alike))


def key_figures(plan: Plan, display: Display) -> list[tuple[str, str]]:
    """What the tray is, in figures."""
    takeoff, quantity = plan.takeoff, plan.sheet.quantity
    percent, ratio = falls_as(plan.drainage.least_fall)
    depth = -min(z for _, _, z in plan.shell.vertices)
    minutes = sum(step.minutes for step in plan.steps)
    return [
        ("Holds, to the rim", f"{plan.drainage.litres:.1f} litres"),
        ("Depth below the rim", display.length(depth)),
        ("Least fall", f"{percent} ({ratio}), {plan.drainage.least_fall_at}"),
        ("Mass, empty", mass(takeoff.net_mass / quantity) + (" each" if quantity > 1 else "")),
        ("Blanks", f"{sum(blank.count for blank in plan.blanks) * quantity}, {len(list(patterns(plan)))} to mark out"),
        ("Sheets", f"{len(plan.layout.sheets)}, {plan.layout.share_used * 100:.0f} % of the metal used"),
        ("Cutting", f"{sum(len(used.cuts) for used in plan.layout.sheets)} cuts, {takeoff.cut_length / 1000:.1f} m"),
        (
            "Welding",
            f"{takeoff.weld_length / 1000:.2f} m: seams {takeoff.seam_length / 1000:.2f}, "
            f"rim {takeoff.rim_weld_length / 1000:.2f}, outlet {takeoff.outlet_weld_length / 1000:.2f}",
        ),
        ("Filler", f"{filler_of(plan.sheet).name}, {mass(takeoff.filler_mass)}"),
        ("Work expected", hours(minutes)),
    ]


def hours(minutes: float) -> str:
    """A time as a shop says it.

    >>> hours(192.4), hours(45)
    ('3 h 12 min', '45 min')
    """
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60} min" if whole >= 60 else f"{whole} min"


@dataclass(frozen=True, slots=True)
class BlankLine:
    """A row of the table of blanks."""

    name: str
    off: str
    alike: str
    size: str
    area: str
    mass: str


def blank_lines(plan: Plan, display: Display) -> list[BlankLine]:
    """Every blank to mark out: how many, its size along and square to the base, area and mass of one."""
    rows = []
    for blank, alike in patterns(plan):
        xs, ys = zip(*blank.cut_outline, strict=True)
        size = f"{display.figure(max(xs) - min(xs))} × {display.figure(max(ys) - min(ys))}"
        off = str(copies(plan, blank, alike))
        rows.append(
            BlankLine(blank.name, off, alike_as(alike) or "–", size, display.area(blank.area), mass(blank.mass))
        )
    return rows


def offset_lines(blank: Blank, display: Display) -> list[tuple[str, str, str]]:
    """Each corner of a blank: its number, along the base from corner 1, square to the base."""
    return [
        (str(index + 1), display.figure(along), display.figure(square))
        for index, (along, square) in enumerate(blank.marking.offsets)
    ]


def check_lines(blank: Blank, display: Display) -> list[tuple[str, str, str]]:
    """The lengths that prove a blank: from and to, length, what that edge meets."""
    count, rows = len(blank.cut_outline), []
    for check in blank.marking.checks:
        is_edge = (check.start + 1) % count == check.end and check.start < len(blank.edges)
        meets = blank.edges[check.start].meets if is_edge else None
        words = "across" if not is_edge else f"weld to {meets}" if meets else "rim"
        rows.append((f"{check.start + 1}–{check.end + 1}", display.figure(check.length), words))
    return rows


@dataclass(frozen=True, slots=True)
class CutLine:
    """A row of a sheet's cut order; start and end are along and square from the sheet's lower left corner."""

    number: str
    start: str
    end: str
    length: str
    finishes: str
    frees: str


def cut_lines(used: SheetLayout, display: Display) -> list[CutLine]:
    """A sheet's cuts in the order made: both ends, length, the blank edges each finishes (by corners), what comes free."""
    corners = {f"{placed.blank}.{placed.copy}": len(placed.outline) for placed in used.placed}
    return [
        CutLine(
            str(number),
            _place(cut.start, display),
            _place(cut.end, display),
            display.length(cut.length),
            ", ".join(_edge_name(name, corners) for name in cut.finishes) or "–",
            ", ".join(cut.frees) or "–",
        )
        for number, cut in enumerate(used.cuts, 1)
    ]


def _place(point: Point, display: Display) -> str:
    return f"{display.figure(point[0])}; {display.figure(point[1])}"


def _edge_name(finished: str, corners: dict[str, int]) -> str:
    """'A.1:2' as the shop reads it: blank copy and the corners the edge runs between."""
    copy, _, edge = finished.rpartition(":")
    return f"{copy} {int(edge) + 1}–{(int(edge) + 1) % corners.get(copy, int(edge) + 2) + 1}"


@dataclass(frozen=True, slots=True)
class SeamLine:
    """A row of the table of seams."""

    turn: str
    name: str
    length: str
    dihedral: str
    groove: str
    filler: str


def seam_lines(plan: Plan, display: Display) -> list[SeamLine]:
    """The welded seams in the order in which they are tacked and welded."""
    filler = filler_of(plan.sheet).name
    welds = in_turn([joint for joint in plan.shell.joints if joint.kind == "weld"], plan.shell)
    return [
        SeamLine(
            str(turn),
            joint.name,
            display.length(joint.length),
            f"{joint.dihedral:.1f}°",
            _groove(joint.groove or 0.0),
            filler,
        )
        for turn, joint in enumerate(welds, 1)
    ]


def _groove(opening: float) -> str:
    if opening < 0:
        return f"ridge: opens {-opening:.1f}° on the wet side"
    return f"{'square butt' if opening <= SQUARE_BUTT else 'vee'}, open {opening:.1f}° on the dry side"


@dataclass(frozen=True, slots=True)
class InspectionLine:
    """A row of the inspection table."""

    what: str
    nominal: str
    tolerance: str


def inspection_lines(plan: Plan, display: Display) -> list[InspectionLine]:
    """Sides, diagonals and depth, each with its tolerance by ISO 13920 in the sheet's class."""
    rim, grade = rim_of(plan.shell), plan.sheet.making.tolerance_class
    depth = -min(z for _, _, z in plan.shell.vertices)
    sizes = [(f"Side {i + 1}–{j + 1}", math.dist(rim[i], rim[j])) for i, j in _round(len(rim))]
    sizes += [(f"Diagonal {i + 1}–{j + 1}", math.dist(rim[i], rim[j])) for i, j in diagonals(rim)]
    sizes.append(("Depth below the rim", depth))
    return [InspectionLine(what, display.length(size), _tolerance(size, grade, display)) for what, size in sizes]


def _round(count: int) -> list[tuple[int, int]]:
    return [(index, (index + 1) % count) for index in range(count)]


def diagonals(rim: Sequence[Point]) -> list[tuple[int, int]]:
    """The diagonals that fix a rim's corners: from corner 1 to each that is no neighbour, and the one across corner 1.

    >>> diagonals([(0, 0), (1, 0), (1, 1), (0, 1)])
    [(0, 2), (1, 3)]
    """
    count = len(rim)
    return [(0, index) for index in range(2, count - 1)] + ([(1, count - 1)] if count > 3 else [])


def _tolerance(size: float, grade: str, display: Display) -> str:
    try:
        either_way = linear_iso13920(size, grade)
    except NotListedError:
        return "agree"
    return f"± {number_as_typed(either_way)} mm" if display.unit == "mm" else f"± {either_way / 25.4:.3f} in"
