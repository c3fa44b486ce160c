"""Steps that make blanks: measure, mark out, cut, dress, drill, fold."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from calc.alike import lying_elsewhere
from calc.blank import Blank, Hole
from calc.cut_list import cuts_in_hand
from calc.cut_words import cut_words
from calc.folding import Folding, fold_order
from calc.laid import Layout, SheetLayout, cut_key, numbered
from calc.layout.job import fitting_elsewhere, sawn_off
from calc.records import Point
from calc.shell import Joint
from calc.steps.again import BORE, key_of
from calc.steps.work import Step, Work, names_of, rim_lengths, rim_words
from calc.units import Display

MOST_TOLD = 8  # corners whose offsets, or parts whose names, a step tells; more are read off the drawings


def measure(work: Work) -> Iterator[Step]:
    """Check what it goes into before anything is cut."""
    if work.shell.is_loose:
        yield _measure_parts(work)
        return
    if work.sheet.shape.seat == "free":
        text = f"Check the place it stands in, machine isolated and locked off: room for {_outer_words(work)}."
        yield work.step("measure:place", "measure", text, 3)
        return
    yield work.step(
        "measure:rim",
        "measure",
        f"Check the opening on the machine, isolated and locked off: {rim_words(work)}, {work.sheet.shape.set_out_words} "
        f"from two sides, and room for {work.length(work.shell.depth)} from the rim to the wet face, with plate and outlet "
        "below that.",
        rim_lengths(work) + 3,
    )


def _measure_parts(work: Work) -> Step:
    """Check parts against where they go, a length for each side."""
    names = [face.name for face in work.shell.faces]
    told = ", ".join(names[:MOST_TOLD]) + (f" and {len(names) - MOST_TOLD} more" if len(names) > MOST_TOLD else "")
    text = f"Check the sides of {told} against where they go, the machine isolated and locked off."
    return work.step("measure:parts", "measure", text, sum(len(face.loop) for face in work.shell.faces))


def _outer_words(work: Work) -> str:
    """How long, wide and high the finished thing is over all."""
    around = np.ptp(np.array(work.sheet.shape.corners), axis=0)
    across = np.maximum(np.ptp(work.shell.points[:, :2], axis=0), around)
    return " by ".join(work.length(float(span)) for span in (*across, work.shell.depth + work.sheet.material.thickness))


def mark(work: Work) -> Iterator[Step]:
    """A step for each pattern to mark out."""
    for blank, alike in work.patterns():
        off = work.copies * sum(other.count for other in alike)
        corners = blank.marked_corners
        how = f"{_marks(blank, work)}. Prove every edge."
        text = f"Mark out {names_of(alike)}, {off} off: {how}{_elsewhere(alike, work)}"
        yield work.step(f"mark:{blank.name}", "mark", text, off * len(corners))
        for lost in work.lost(alike, "mark"):
            yield work.step(key_of("mark", lost.of), "mark", f"Mark out {lost.another}: {how}", len(corners))


def _elsewhere(alike: Sequence[Blank], work: Work) -> str:
    """Which copies lie on another job's sheets, where and how; nothing where none do."""
    names = {blank.name for blank in alike}
    entries = fitting_elsewhere(work.blanks, work.sheet)
    told = [(entry.place, [name for name in entry.names if name.rpartition(".")[0] in names]) for entry in entries]
    words = [
        f"{', '.join(copies)} {'lie' if len(copies) > 1 else 'lies'} on {place}" for place, copies in told if copies
    ]
    if not words:
        return ""
    count = sum(len(copies) for _, copies in told)
    minded = (some.words(work.sheet.shape.face_side) for some in lying_elsewhere(alike[0], alike[1:], entries))
    cut = f"{'; '.join(words)}, and {'are' if count > 1 else 'is'} cut there"
    return "".join(f" {sentence}." for sentence in (cut, *minded))


def _marks(blank: Blank, work: Work) -> str:
    """The base and every corner past it; of a blank with many corners the base only."""
    base = f"base {work.length(blank.marking.shown[1][0])}"
    if len(blank.marked_corners) > MOST_TOLD:
        return f"{base}, {len(blank.marked_corners)} corners as they stand on its drawing"
    figures = (
        f"corner {i + 1}: {work.length(along)} along, {work.length(square)} square"
        for i, (along, square) in enumerate(blank.marking.shown)
        if i > 1 and i in blank.marked_corners
    )
    return "; ".join((base, *figures))


def cut(work: Work) -> Iterator[Step]:
    """A step for each straight cut that is needed; where blanks are cut by their outline, one for each pattern."""
    for number, (used, keys) in enumerate(zip(work.layout.sheets, cut_keys(work.layout), strict=True), 1):
        words = _cuts_in_words(used, work)
        for index, ((cut, is_needed, _), key) in enumerate(zip(used.cut_list, keys, strict=True), 1):
            if is_needed:
                yield work.step(key, "cut", f"Sheet {number}, cut {index}{words[index - 1]}", cut.length / 1000)
    by_outline = Counter(placed.blank for used in work.layout.sheets if not used.cuts for placed in used.fitting)
    for blank, alike in work.patterns():
        off = sum(by_outline[other.name] for other in alike)
        if off:
            text = f"Cut {names_of(alike)} to its outline, {off} off."
            yield work.step(f"cut:{blank.name}", "cut", text, off * metres_of(blank))
        for lost in work.lost(alike, "cut"):
            yield work.step(key_of("cut", lost.of), "cut", f"Cut {lost.another}, to its outline.", metres_of(blank))


def _cuts_in_words(used: SheetLayout, work: Work) -> list[str]:
    """Each cut of a sheet as a hand makes it; by its places on the sheet where its pieces can't be followed."""
    in_hand = cuts_in_hand(used, work.sheet.making)
    if in_hand is not None:
        return [f": {cut_words(cut, work.display)}" for cut in in_hand]
    return [
        f": from {_place(cut.start, work)} to {_place(cut.end, work)} on the sheet, {work.length(cut.length)} edge to edge"
        + (f"; frees {', '.join(freed)}." if freed else ".")
        for cut, _, freed in used.cut_list
    ]


def _place(point: Point, work: Work) -> str:
    """A place on the sheet: along and square from its lower left corner."""
    return f"({work.display.figure(point[0])}; {work.display.figure(point[1])})"


def cut_keys(layout: Layout) -> tuple[tuple[str, ...], ...]:
    """The key of each cut of a layout, needed or not, sheet by sheet; where some share one, the later are numbered.

    Cuts that share a key are needed together or not at all, so that the numbers are those of the steps.
    """
    keys = iter(numbered([cut_key(cut) for used in layout.sheets for cut in used.cuts]))
    return tuple(tuple(next(keys) for _ in used.cuts) for used in layout.sheets)


def metres_of(blank: Blank) -> float:
    """How far it is round a blank [m]."""
    return math.fsum(check.length for check in blank.marking.checks[: len(blank.cut_outline)]) / 1000


def cut_by_hand(work: Work) -> Iterator[Step]:
    """What straight cuts leave: notches and corners that run inward."""
    straight = sawn_off(work.blanks, work.sheet, work.layout)
    for blank, alike in work.patterns():
        off = sum(straight[other.name] for other in alike)
        if not off or not blank.edges_by_hand:
            continue
        by_hand = f"by jigsaw or shears{' to the drilled reliefs' if blank.drilled_edges else ''}"
        where = f"corners {by_hand_words(blank)}; no straight cut gets there."
        metres = blank.hand_cut_length / 1000
        text = f"Cut {names_of(alike)} {by_hand}, {off} off: {where}"
        yield work.step(f"hand-cut:{blank.name}", "hand-cut", text, off * metres)
        for lost in work.lost(alike, "hand-cut"):
            text = f"Cut {lost.another}, {by_hand}: {where}"
            yield work.step(key_of("hand-cut", lost.of), "hand-cut", text, metres)


def by_hand_words(blank: Blank) -> str:
    """The edges cut by hand as they follow each other: 2–3–4, 7–8."""
    runs: list[list[int]] = []
    for start, end in blank.edges_by_hand:
        if runs and runs[-1][-1] == start:
            runs[-1].append(end)
        else:
            runs.append([start, end])
    return ", ".join("–".join(str(corner + 1) for corner in run) for run in runs)


def dress(work: Work) -> Iterator[Step]:
    """Edges dressed, and bevelled where blanks meet at a ridge."""
    for blank, alike in work.patterns():
        off = work.copies * sum(other.count for other in alike)
        text = f"Dress every edge of {names_of(alike)}, {off} off; {_smooth(work)}.{_bevels(alike, work)}"
        yield work.step(f"dress:{blank.name}", "dress", text, off * metres_of(blank))
        for lost in work.lost(alike, "dress"):
            text = f"Dress every edge of {lost.another}; {_smooth(work)}.{_bevels([lost.blank], work)}"
            yield work.step(key_of("dress", lost.of), "dress", text, metres_of(blank))


def _smooth(work: Work) -> str:
    return f"corners off, no burr {'left' if work.shell.is_loose else 'on the wet face'}"


def _bevels(alike: Sequence[Blank], work: Work) -> str:
    """What to take off the dry edges of blanks that meet at a ridge, where square edges collide before wet ones meet."""
    names = {blank.name for blank in alike}
    bevels = [
        f"{name} where it meets {next(other for other in joint.between if other != name)}, "
        f"{work.display.fine(ridge_bevel(joint, work.sheet.material.thickness))} off the dry edge"
        for joint in work.seams()
        for name in joint.between
        if name in names and (joint.groove or 0.0) < 0
    ]
    return f" Ridge: bevel {'; '.join(bevels)}." if bevels else ""


def ridge_bevel(joint: Joint, thickness: float) -> float:
    """How far back the dry edge of each plate is taken at a ridge so that the wet edges can meet [mm]; 0 at a valley."""
    return thickness * math.tan(math.radians(max(0.0, joint.dihedral - 180.0)) / 2)


def drill(work: Work) -> Iterator[Step]:
    """The reliefs, before anything is folded; the outlet where one blank, a sump's floor, holds the whole of it."""
    floor = work.floor_with_outlet
    for blank, alike in work.patterns():
        off = work.copies * sum(other.count for other in alike)
        reliefs = [hole for hole in blank.holes if hole.purpose == "relief" or blank != floor]
        if reliefs:
            holes = "; ".join(_hole_words(hole, work) for hole in reliefs)
            text = f"Before folding, drill the reliefs of {names_of(alike)}, {off} off: {holes}. Take the burr off."
            yield work.step(f"drill:{blank.name}", "drill", text, off * len(reliefs))
            for lost in work.lost(alike, "drill"):
                text = f"Before folding, drill the reliefs of {lost.another}: {holes}. Take the burr off."
                yield work.step(key_of("drill", lost.of), "drill", text, len(reliefs))
    if floor is not None:
        (hole,) = (hole for hole in floor.holes if hole.purpose == "outlet")
        what, place = f"Bore the outlet {work.display.fine(hole.diameter)} in", f"at {_hole_place(hole, work)}"
        first = "before anything is folded or welded. Dress the edge."
        yield work.step("outlet:bore", "outlet", f"{what} {floor.name} {place}, {first}{work.each}", work.copies)
        for lost in work.lost([floor], BORE):
            yield work.step(key_of(BORE, lost.of), "outlet", f"{what} {lost.another}, {place}, {first}", 1)


def _hole_words(hole: Hole, work: Work) -> str:
    what = "the outlet " if hole.purpose == "outlet" else ""
    return f"{what}Ø {work.display.fine(hole.diameter)} at {_hole_place(hole, work)}"


def _hole_place(hole: Hole, work: Work) -> str:
    return f"{work.length(hole.centre[0])} along, {work.length(hole.centre[1])} square"


def fold(work: Work) -> Iterator[Step]:
    """Every bend of every pattern, those farther out first, of those the long ones (see `calc.folding`)."""
    for blank, alike in work.patterns():
        off = work.copies * sum(other.count for other in alike)
        order = fold_order(blank)
        for number, bend in enumerate(order, 1):
            text = f"{names_of(alike)}, bend {number} of {len(order)}: {fold_words(bend, work.display)} {off} off."
            yield work.step(f"fold:{blank.name}:{bend.name}", "fold", text, off)
            for lost in work.lost(alike, f"fold:{bend.name}"):
                text = f"{lost.another}, bend {number} of {len(order)}: {fold_words(bend, work.display)}"
                key = key_of(f"fold:{bend.name}", lost.of)
                yield work.step(key, "fold", text[:1].upper() + text[1:], 1)


def fold_words(bend: Folding, display: Display) -> str:
    """A bend as a hand makes it: which way and how far, and where its line lies on the blank."""
    if bend.edge is not None and bend.distance is not None:
        where = f"{display.length(bend.distance)} from edge {bend.edge[0] + 1}–{bend.edge[1] + 1}"
    else:
        (x, y), (end_x, end_y) = bend.fold.line
        where = (
            f"from {display.figure(x)} along, {display.figure(y)} square to {display.figure(end_x)} along, "
            f"{display.length(end_y)} square"
        )
    radius = display.fine(bend.fold.inside_radius)
    return (
        f"fold {bend.name} {bend.way} {abs(bend.fold.angle):.1f}°, inside radius {radius}; bend line {where}, "
        f"{display.length(bend.length)} long."
    )
