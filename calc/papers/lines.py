"""The rows of a traveller's tables, as the text that is printed."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc import Plan
from calc.alike import Lying, lying, lying_elsewhere
from calc.blank import Blank, patterns
from calc.drawing.blank_drawing import alike_as
from calc.drawing.blank_outline import hole_names
from calc.drawing.parts import edge_words, has_walls, strip_reach, strip_word, vertex_names, wall_heights
from calc.drawing.plan_view import falls_as
from calc.fitup.measurements import depths
from calc.laid import SheetLayout
from calc.layout.job import fitting_elsewhere
from calc.papers.bend_lines import bend_method
from calc.papers.weld_lines import fillers_of, sums_of
from calc.takeoff import Takeoff
from calc.units import Display


def mass(kilograms: float) -> str:
    """A mass as it is read off a scale: three figures or so.

    >>> mass(0.4567), mass(23.456)
    ('0.457 kg', '23.5 kg')
    """
    return (
        f"{kilograms:.3f} kg" if kilograms < 1 else f"{kilograms:.2f} kg" if kilograms < 10 else f"{kilograms:.1f} kg"
    )


def copies(plan: Plan, blank: Blank, alike: Sequence[Blank]) -> int:
    """How many of a blank the job needs, those alike counted in."""
    return plan.sheet.quantity * sum(each.count for each in (blank, *alike))


def key_figures(plan: Plan, display: Display) -> list[tuple[str, str]]:
    """What the tray, the pan or the set of parts is, in figures."""
    takeoff, quantity = plan.takeoff, plan.sheet.quantity
    minutes = sum(step.minutes for step in plan.steps)
    cuts = sum(used.needs(cut) for used in plan.layout.sheets for cut in used.cuts)
    by_hand = f", {display.run(takeoff.hand_cut_length)} by hand" if takeoff.hand_cut_length > 0 else ""
    figures = [
        *_what_it_holds(plan, display),
        (
            "Blanks",
            f"{sum(blank.count for blank in plan.blanks) * quantity}, {len(list(patterns(plan.blanks)))} to mark out",
        ),
        *_sheets(plan),
    ]
    if cuts or by_hand:  # all of a guest's may be sawn with its host
        figures.append(("Cutting", f"{cuts} cuts, {display.run(takeoff.cut_length)}{by_hand}"))
    if takeoff.fold_count:
        figures.append(("Bends", f"{takeoff.fold_count}, {display.run(takeoff.fold_length)}, by {bend_method(plan)}"))
    if (welding := plan.weld_plan) is not None:
        figures.append(("Welding", _welds(takeoff, display)))
        figures.append(("Filler", fillers_of(plan, welding)))
    return [*figures, ("Work expected", hours(minutes))]


def _sheets(plan: Plan) -> Iterator[tuple[str, str]]:
    """The job's own sheets, and those of other jobs that hold copies that it wants."""
    sheets, elsewhere = plan.layout.sheets, fitting_elsewhere(plan.blanks, plan.sheet)
    if sheets or not elsewhere:
        yield "Sheets", f"{len(sheets)}, {plan.layout.share_used * 100:.0f} % of the metal used"
    if elsewhere:
        yield "Laid out on", "; ".join(f"{entry.place} ({entry.count} of this job's blanks)" for entry in elsewhere)
    if plan.sheet.guests:
        yield "Sawn along with it", ", ".join(f"blanks of job {guest.job}" for guest in plan.sheet.guests)


def _what_it_holds(plan: Plan, display: Display) -> list[tuple[str, str]]:
    """Litres, sizes, fall and mass of one; of flat parts, which hold nothing, how many in a set and the mass of one set."""
    quantity, drainage = plan.sheet.quantity, plan.drainage
    each = mass(plan.takeoff.net_mass / quantity)
    if drainage is None:
        return [("Parts in a set", str(sum(blank.count for blank in plan.blanks))), ("Mass of a set", each)]
    percent, ratio = falls_as(drainage.least_fall)
    return [
        ("Holds, to the rim", f"{drainage.litres:.1f} litres"),
        *_sizes(plan, display),
        ("Least fall", f"{percent} ({ratio}), {drainage.least_fall_at}"),
        ("Mass, empty", each + (" each" if quantity > 1 else "")),
    ]


def _sizes(plan: Plan, display: Display) -> list[tuple[str, str]]:
    """A tray's depth, a pan's sizes outside, and how far a lap, upstand or return reaches."""
    sizes = [(name, display.length(depth)) for name, depth in depths(plan)]
    sump = [size for name, size in plan.sheet.shape.sizes.items() if name.startswith("Sump")]
    if sump:
        sizes.append(("Sump", f"{' × '.join(display.figure(size) for size in sump)}, level"))
    if has_walls(plan.shell):
        (x, y), (far_x, far_y) = plan.sheet.shape.corners[0], plan.sheet.shape.corners[2]
        near, far = wall_heights(plan)
        high = display.length(near) + ("" if near == far else f" (far end {display.length(far)})")
        sizes = [("Outside", f"{display.figure(far_x - x)} × {display.figure(far_y - y)} × {high}")]
    word = strip_word(plan)
    if word:
        way = "high" if word == "upstand" else "wide"
        sizes.append((word.capitalize(), f"{display.length(strip_reach(plan))} {way}, all round"))
    return sizes


def _welds(takeoff: Takeoff, display: Display) -> str:
    """The length of all that is welded, and of each kind of weld that there is."""
    kinds = (
        ("seams", takeoff.seam_length),
        ("rim", takeoff.rim_weld_length),
        ("outlet", takeoff.outlet_weld_length),
    )
    parts = ", ".join(f"{kind} {display.run(length)}" for kind, length in kinds if length > 0)
    return f"{display.run(takeoff.weld_length)}: {parts}"


def size_words(used: SheetLayout, display: Display) -> str:
    """The size of a sheet; of an offcut of another outline that of the rectangle round it."""
    size = f"{display.figure(used.length)} × {display.length(used.width)}"
    return f"{size} over all" if used.outline else size


def takeoff_lines(plan: Plan, display: Display) -> list[tuple[str, str]]:
    """The takeoff of the whole job."""
    takeoff = plan.takeoff
    by_hand = [("Cut by hand", display.run(takeoff.hand_cut_length))] if takeoff.hand_cut_length else []
    bends = [("Bends", f"{takeoff.fold_count}, {display.run(takeoff.fold_length)}")] if takeoff.fold_count else []
    welding = plan.weld_plan
    welds = [("Welds", display.run(takeoff.weld_length)), *sums_of(plan, welding)] if welding else []
    return [
        ("Sheet bought or taken", mass(takeoff.sheet_mass)),
        ("In the work", mass(takeoff.net_mass)),
        ("Offcuts worth keeping", mass(takeoff.offcut_mass)),
        ("Scrap, kerf included", mass(takeoff.scrap_mass)),
        ("Cut", display.run(takeoff.cut_length)),
        *by_hand,
        ("Edges to dress", display.run(takeoff.edge_length)),
        *bends,
        *welds,
    ]


def hours(minutes: float) -> str:
    """A time as a shop says it.

    >>> hours(192.4), hours(364), hours(45)
    ('3 h 12 min', '6 h 04 min', '45 min')
    """
    whole = round(minutes)
    return f"{whole // 60} h {whole % 60:02} min" if whole >= 60 else f"{whole} min"


def lying_lines(plan: Plan, blank: Blank, alike: Sequence[Blank]) -> list[str]:
    """What to mind when a blank's copies are marked out on sheets where they don't lie as its drawing shows them."""
    return [some.words(plan.sheet.shape.face_side) for some in lying_otherwise(plan, blank, alike)]


def lying_otherwise(plan: Plan, blank: Blank, alike: Sequence[Blank]) -> list[Lying]:
    """The copies that don't lie as the drawing shows them, on the job's own sheets and on those of other jobs."""
    others = lying_elsewhere(blank, alike, fitting_elsewhere(plan.blanks, plan.sheet))
    return [*lying(blank, alike, plan.layout), *others]


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
    for blank, alike in patterns(plan.blanks):
        xs, ys = zip(*blank.cut_outline, strict=True)
        size = f"{display.figure(max(xs) - min(xs))} × {display.figure(max(ys) - min(ys))}"
        off = str(copies(plan, blank, alike))
        rows.append(
            BlankLine(blank.name, off, alike_as(alike) or "–", size, display.area(blank.area), mass(blank.mass))
        )
    return rows


def offset_lines(blank: Blank, display: Display) -> list[tuple[str, str, str]]:
    """Each corner of a blank that is marked out, and each hole: along the base from corner 1, square to the base."""
    offsets = blank.marking.shown
    corners = [(str(index + 1), offsets[index]) for index in blank.marked_corners]
    holes = zip(hole_names(blank, display), (hole.centre for hole in blank.holes), strict=True)
    return [(name, display.figure(along), display.figure(square)) for name, (along, square) in (*corners, *holes)]


def check_lines(plan: Plan, blank: Blank, display: Display) -> list[tuple[str, str, str]]:
    """The lengths that prove a blank: from and to, length, what that edge meets. The ends of bends are no edges to measure."""
    count, rows = len(blank.cut_outline), []
    names, marked = vertex_names(plan), set(blank.marked_corners)
    for check in blank.marking.checks:
        is_edge = (check.start + 1) % count == check.end and check.start < len(blank.edges)
        if not {check.start, check.end} <= marked or (is_edge and blank.edges[check.start].kind == "bend"):
            continue
        words = edge_words(blank.edges[check.start], names) if is_edge else "across"
        rows.append((f"{check.start + 1}–{check.end + 1}", display.figure(check.shown), words))
    return rows
