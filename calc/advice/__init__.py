"""What the person should know about a plan before metal is cut: each a code that stays the same, and a sentence."""

from collections.abc import Iterator, Sequence
from decimal import Decimal

import numpy as np

from calc.advice.drainage import of_drainage
from calc.advice.records import Advice
from calc.advice.stiffness import of_stiffness
from calc.advice.welding import of_welding
from calc.blank import Blank
from calc.cut_list import ACUTE, cuts_in_hand
from calc.cut_words import EdgeNames
from calc.drainage import Drainage
from calc.laid import Layout, SheetLayout
from calc.layout.job import fitting_elsewhere, in_place_of, is_of, is_spare
from calc.layout.left import finished_by
from calc.making import Making, Saw
from calc.outlines import longest_side
from calc.seams import SQUARE_BUTT
from calc.sheet import JobSheet, Rates
from calc.shell import Shell
from calc.stiffness import Stiffness
from calc.tables.alloys import least_inside_radius
from calc.tables.lookup import NotListedError
from calc.takeoff import Takeoff
from calc.welding import WeldPlan

__all__ = ["MONEY", "Advice", "advise"]

GRIP = 4.0  # thicknesses that a folder needs beyond the radius (common practice)
WIDE_RELIEF = 8.0  # common practice: a hole up to this many thicknesses across is welded shut without a patch
# [mm] the steps to which a place is told, the coarsest first: common fractions of an inch, then decimals, as `fine` writes them
TOLD_TO = {"mm": (0.1, 0.01), "in": (25.4 / 64, 0.0254)}


MONEY = frozenset(
    {"no-price", "usual-rates", "usual-prices"}
)  # codes of advice about money, which a shop copy leaves out


def advise(
    sheet: JobSheet,
    shell: Shell,
    blanks: Sequence[Blank],
    layout: Layout,
    drainage: Drainage | None,
    stiffness: Stiffness | None,
    takeoff: Takeoff,
    welding: WeldPlan | None,
) -> tuple[Advice, ...]:
    """Every warning a plan gives, in the order of the work."""
    return (
        *_of_measuring(sheet),
        *_of_place(sheet),
        *(of_drainage(sheet, shell, drainage) if drainage else ()),
        *(of_stiffness(sheet, stiffness) if stiffness else ()),
        *_of_joints(shell),
        *_of_mass(sheet, shell, blanks, takeoff),
        *_of_blanks(blanks),
        *_of_folds(sheet, shell, blanks),
        *(of_welding(sheet, welding) if welding else ()),
        *_of_layout(layout),
        *_of_no_use(sheet, blanks, layout),
        *_of_cuts(blanks, sheet, layout),
        *_of_sawing(sheet, layout),
        *_of_money(sheet, layout, takeoff),
    )


def _of_measuring(sheet: JobSheet) -> Iterator[Advice]:
    errors = sheet.shape.tape_errors
    worst = max((abs(error) for error in errors), default=0.0)
    if worst > sheet.making.rule / 2:
        fine, used = sheet.making.display.fine, sheet.shape.taped
        names = (*(f"side {i}" for i in range(1, 5)), "diagonal 1-3", "diagonal 2-4")
        moved = ", ".join(
            f"{name} {fine(taped + error)} (taped {fine(taped)})"
            for name, taped, error in zip(names, used, errors, strict=True)
        )
        yield Advice(
            "tape-disagrees",
            f"Sides and diagonals disagree, by {fine(worst)} at the best fit: tape all six again. Planned with {moved}.",
        )


def _of_place(sheet: JobSheet) -> Iterator[Advice]:
    """An outlet that comes where something stands, and where it would be clear."""
    shape, shown = sheet.shape, sheet.making.display
    met = shape.drain_meets
    if not met:
        return
    what = "The outlet" if shape.outlet else shape.lowest_words[0].upper() + shape.lowest_words[1:]
    place = shape.free_place(TOLD_TO[shown.unit])
    cure = (
        "No place inside the rim is clear of all that is to be kept clear: move a leg, or take a smaller bore."
        if place is None
        else f"The nearest free place inside the rim is x {shown.fine(place[0])}, y {shown.fine(place[1])}."
    )
    yield Advice("drain-blocked", f"{what} comes into or touches {', '.join(met)}, to be kept clear. {cure}")


def _of_joints(shell: Shell) -> Iterator[Advice]:
    open_seams = [joint.name for joint in shell.joints if (joint.groove or 0.0) > SQUARE_BUTT]
    if open_seams:
        yield Advice(
            "groove-open",
            f"Square-cut edges open more than {SQUARE_BUTT:g} degrees on the dry side at {', '.join(open_seams)}: no longer "
            "a square butt, allow for filler.",
        )
    ridges = [joint.name for joint in shell.joints if joint.kind == "weld" and (joint.groove or 0.0) < 0]
    if ridges:
        yield Advice(
            "ridge-bevel",
            f"Ridge seams {', '.join(ridges)}: square-cut dry edges collide before the wet edges meet. Bevel them as the "
            "dress step says, or the seam opens upward and the tray comes out large.",
        )


def _of_mass(sheet: JobSheet, shell: Shell, blanks: Sequence[Blank], takeoff: Takeoff) -> Iterator[Advice]:
    """What one person should not lift: the thing made, of loose parts any one of them."""
    if shell.is_loose:
        heavy = [f"{blank.name} ({blank.mass:.1f} kg)" for blank in blanks if blank.mass > sheet.making.two_person_mass]
        if heavy:
            yield Advice("heavy", f"Two people or a hoist for {', '.join(heavy)}.")
        return
    each = takeoff.net_mass / sheet.quantity
    if each > sheet.making.two_person_mass:
        yield Advice("heavy", f"The {sheet.shape.called} weighs {each:.1f} kg empty: two people or a hoist.")


def _of_blanks(blanks: Sequence[Blank]) -> Iterator[Advice]:
    sharp = [blank.name for blank in blanks if least_angle(blank) < ACUTE]
    if sharp:
        yield Advice(
            "acute-tip",
            f"Sharp tips under {ACUTE:g} degrees on {', '.join(sharp)}: fragile, quick to burn away and sharp to hands.",
        )


def _of_folds(sheet: JobSheet, shell: Shell, blanks: Sequence[Blank]) -> Iterator[Advice]:
    if not shell.folds:
        return
    yield from _of_radii(sheet, shell)
    making, shown = sheet.making, sheet.making.display
    long = [joint.name for joint in shell.folds if joint.length > making.longest_fold]
    if long:
        yield Advice(
            "fold-long",
            f"Longer than {shown.length(making.longest_fold)}, the longest fold you make: {', '.join(long)}. Have it folded "
            "outside, or split what is folded.",
        )
    grip = GRIP * sheet.material.thickness
    short = [
        face.name
        for face in shell.faces
        if face.role in ("strip", "wall")
        and (flange := sheet.shape.flange(face.role))
        and flange[1] < grip + making.fold_radius
    ]
    if short:
        yield Advice(
            "flange-short",
            f"{', '.join(short)}: under {shown.fine(grip + making.fold_radius)} wide, four thicknesses and the radius (common "
            "practice). Most folders can't grip so narrow a flange: try it on a scrap, or make it wider.",
        )
    large = [blank.name for blank in blanks if blank.folds and longest_side(blank.cut_outline) > making.largest_blank]
    if large:
        yield Advice(
            "blank-large",
            f"Folded blanks {', '.join(large)} are larger than {shown.length(making.largest_blank)}, the most you handle.",
        )
    wide = {
        f"{blank.name} (Ø {shown.fine(hole.diameter)})"
        for blank in blanks
        for hole in blank.holes
        if hole.purpose == "relief" and hole.diameter > WIDE_RELIEF * sheet.material.thickness
    }
    if wide:
        yield Advice(
            "relief-wide",
            f"The reliefs of {', '.join(sorted(wide))} are wide to weld shut: patch them, or weld a seam.",
        )


def _of_radii(sheet: JobSheet, shell: Shell) -> Iterator[Advice]:
    """Folds tighter than the metal's table allows, with the row that says so."""
    metal, thickness, shown = sheet.material.properties, sheet.material.thickness, sheet.making.display
    try:
        least = least_inside_radius(metal, thickness)
    except NotListedError as error:
        yield Advice("radius-unknown", f"Try a fold on a scrap first: {error}.")
        return
    tight = [joint.name for joint in shell.folds if (joint.inside_radius or 0.0) < least.radius]
    if tight:
        given = min(joint.inside_radius or 0.0 for joint in shell.folds)
        yield Advice(
            "radius-small",
            f"Inside radius {shown.fine(given)} of folds {', '.join(tight)} is under {shown.fine(least.radius)}, the least for "
            f"{metal.name} {shown.fine(thickness)} thick at 90 degrees across the grain ({least.source}): it may crack.",
        )


def _of_layout(layout: Layout) -> Iterator[Advice]:
    if layout.unplaced:
        names = ", ".join(layout.unplaced[:12]) + (" ..." if len(layout.unplaced) > 12 else "")
        yield Advice(
            "unplaced",
            f"No sheet in the stock takes {len(layout.unplaced)} of the blanks ({names}): larger or more sheets are needed. "
            "Metal, cutting and cost leave them out.",
        )


def _of_no_use(sheet: JobSheet, blanks: Sequence[Blank], layout: Layout) -> Iterator[Advice]:
    """Copies on sheets that were cut into, and on those of other jobs, that the plan has no use for."""
    fitting = {name for entry in fitting_elsewhere(blanks, sheet) for name in entry.names}
    # by place, each copy and whether it is one too many rather than of an earlier shape
    own = {
        f"sheet {number}": [
            (placed.name, is_spare(placed, blanks))
            for placed in used.placed
            if not placed.fits and placed.spoiled is None
        ]
        for number, used in enumerate(layout.sheets, 1)
    }
    away = {
        entry.place: [
            (name, is_of(of.blank, of.outline, blanks))
            for of in entry.copies
            for name in of.names
            if name not in fitting
        ]
        for entry in sheet.elsewhere
    }
    for code, words, wanted in (
        ("old-shapes", f"of an earlier shape, not for this {sheet.shape.called}", False),
        ("spare-copies", "spare, more than the job needs", True),
    ):
        unfit = {
            place: names
            for place, copies in (own | away).items()
            if (names := [name for name, is_one_too_many in copies if is_one_too_many == wanted])
        }
        told = [
            f"On {place}: {', '.join(names)} {'is' if len(names) == 1 else 'are'} {words}."
            for place, names in unfit.items()
        ]
        if not away.keys().isdisjoint(unfit):
            told.append("The share of that metal stays charged.")
        if told:
            yield Advice(code, " ".join(told))
    yield from _of_spoiled(blanks, layout)


def _of_spoiled(blanks: Sequence[Blank], layout: Layout) -> Iterator[Advice]:
    """What was spoiled, so that nobody takes it for a good one, and what is in its place."""
    others = {old: new for new, old in in_place_of(blanks, layout).items()}
    told = []
    for number, used in enumerate(layout.sheets, 1):
        names = [placed.name for placed in used.spoiled]
        if names:
            place = [f"{others[name]} is in place of {name}" for name in names if name in others]
            spoiled = f"On sheet {number}: {', '.join(names)} {'is' if len(names) == 1 else 'are'} spoiled"
            told.append("; ".join((f"{spoiled}, which is to be written on the metal", *place)) + ".")
    if told:
        yield Advice("spoiled", " ".join(told))


def _of_cuts(blanks: Sequence[Blank], sheet: JobSheet, layout: Layout) -> Iterator[Advice]:
    inward = [blank.name for blank in blanks if blank.hand_cuts and blank.same_as is None]
    if inward and any(used.cuts for used in layout.sheets):
        yield Advice(
            "hand-cuts",
            f"Corners of {', '.join(inward)} run inward: straight cuts leave metal there, which is cut away by "
            "jigsaw or shears.",
        )
    by_hand = {f"{blank.name}:{start}" for blank in blanks for start, _ in blank.hand_cuts}
    by_hand |= {
        f"{guest.called(part)}:{edge}" for guest in sheet.guests for part in guest.parts for edge in part.by_hand
    }
    left = [
        EdgeNames(used, blanks).named(edge)
        for used in layout.sheets
        if used.cuts
        for edge in edges_left(used, sheet.making)
        if ":".join((edge.rpartition(".")[0], edge.rpartition(":")[2])) not in by_hand
    ]
    if left:
        names = ", ".join(left[:12]) + (" ..." if len(left) > 12 else "")
        yield Advice(
            "hand-trim",
            f"The saw has no room to finish these edges, by their corners ({names}): file or trim them by hand.",
        )


def _of_sawing(sheet: JobSheet, layout: Layout) -> Iterator[Advice]:
    """Cuts at which the piece or the guide can hardly be held, a sentence a sheet; a saw that outruns its blade."""
    making = sheet.making
    found: dict[str, list[str]] = {"no-guide": [], "narrow": []}
    for number, used in enumerate(layout.sheets, 1):
        for kind, told in found.items():
            cuts = [
                str(cut.number)
                for cut in cuts_in_hand(used, making) or ()
                if cut.is_work and any(caution.kind == kind for caution in cut.cautions)
            ]
            if cuts:
                told.append(f"cut{'s' if len(cuts) > 1 else ''} {', '.join(cuts)} of sheet {number}")
    offset, least = (making.display.length(size) for size in (making.guide_offset, making.least_clamp))
    if found["no-guide"]:
        text = f"No room on the piece for a guide {offset} from the blade: {'; '.join(found['no-guide'])}. Pack up beside it."
        yield Advice("cut-no-guide", text)
    if found["narrow"]:
        text = f"In a piece narrower than {least}, hard to clamp: {'; '.join(found['narrow'])}. Hold it in a jig, or shear it."
        yield Advice("cut-narrow", text)
    if making.saw and (words := overspeed_words(making.saw)) and any(used.cuts for used in layout.sheets):
        yield Advice("blade-speed", words)


def overspeed_words(saw: Saw) -> str:
    """Whether the saw outruns its blade; empty where it doesn't, or nothing is marked."""
    if saw.marked_speed is None or saw.speed <= saw.marked_speed:
        return ""
    return (
        f"The saw's {saw.speed:,.0f} rev/min is over the {saw.marked_speed:,.0f} marked on the blade: it may fly apart. "
        "Never run it; fit a blade marked for more."
    )


def edges_left(used: SheetLayout, making: Making) -> list[str]:
    """Edges of a sheet's blanks ("A.1:2") that no cut finishes, nor comes as near to as the shop cuts, and that are not the
    sheet's own edge."""
    near = making.cutting_error
    finished = {edge for cut in used.cuts for edge in finished_by(used, cut, making.kerf, near)}
    edges = ((f"{placed.name}:{k}", ends) for placed in used.fitting for k, ends in enumerate(placed.edges))
    return [edge for edge, ends in edges if edge not in finished and not used.is_on_edge(*ends)]


def _of_money(sheet: JobSheet, layout: Layout, takeoff: Takeoff) -> Iterator[Advice]:
    free = sorted(
        {used.stock for used in layout.sheets} & {size.label for size in sheet.stock if not Decimal(size.price)}
    )
    if free:
        yield Advice("no-price", f"No price is given for sheet {', '.join(free)}: the cost leaves its metal out.")
    rates, usual = sheet.rates, Rates()
    if rates.labour == usual.labour and not rates.labour_by_kind:
        yield Advice("usual-rates", "Labour is costed at the program's own figure, not at your shop's.")
    supplies = ("filler", "gas", "outlet_fitting")
    if takeoff.weld_length and all(getattr(rates, each) == getattr(usual, each) for each in supplies):
        yield Advice(
            "usual-prices", "Filler, gas and fittings are costed at the program's own figures, not at your shop's."
        )


def least_angle(blank: Blank) -> float:
    """The sharpest corner of a blank's cut outline [degrees]."""
    corners = np.array(blank.cut_outline)
    forth, back = np.roll(corners, -1, axis=0) - corners, np.roll(corners, 1, axis=0) - corners
    cross = forth[:, 0] * back[:, 1] - forth[:, 1] * back[:, 0]
    return float(np.degrees(np.arctan2(cross, (forth * back).sum(axis=1)) % (2 * np.pi)).min())
