"""The steps of the work in the trade's order, each in words and figures, with its driver and standard minutes.

A step's key names the thing it is done to (a blank, a seam by its faces, a cut by the edges it finishes), never a place in
a list, so that a step that stays the same keeps what was logged on it when the plan changes.
"""

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from calc.blank import Blank, patterns
from calc.laid import Cut, Layout
from calc.records import Point
from calc.sheet import JobSheet
from calc.shell import Joint, Shell, normal
from calc.tables.minutes import STANDARD, WELD_TRAVEL
from calc.takeoff import Takeoff, filler_of, rim_length, travel_of
from calc.units import Display

SQUARE_BUTT = 20.0  # [degrees] common practice: an opening up to this is welded as a square butt
CLEAN_BAND = 20  # [mm] common practice: bright metal this far either side of a joint


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do. key: a stable name of the thing; driver and unit: how much of it; minutes: the standard time."""

    key: str
    kind: str
    text: str
    driver: float
    unit: str
    minutes: float


@dataclass(frozen=True, slots=True)
class _Work:
    """What the steps are read from, and how a step is made of it."""

    sheet: JobSheet
    shell: Shell
    blanks: Sequence[Blank]
    layout: Layout
    takeoff: Takeoff

    @property
    def copies(self) -> int:
        return self.sheet.quantity

    @property
    def display(self) -> Display:
        return self.sheet.making.display

    @property
    def each(self) -> str:
        return f" On each of the {self.copies}." if self.copies > 1 else ""

    def length(self, millimetres: float) -> str:
        return self.display.length(millimetres)

    def step(self, key: str, kind: str, text: str, driver: float) -> Step:
        standard = STANDARD[kind]
        slower = WELD_TRAVEL / travel_of(self.sheet).speed if kind in ("weld", "install") else 1.0
        return Step(key, kind, text, float(driver), standard.unit, standard.minutes(driver * slower))

    def seams(self) -> tuple[Joint, ...]:
        return in_turn([joint for joint in self.shell.joints if joint.kind == "weld"], self.shell)

    def patterns(self) -> Iterator[tuple[Blank, list[Blank]]]:
        """Each blank that has to be marked out, with those that are the same (itself first)."""
        for blank, same in patterns(self.blanks):
            yield blank, [blank, *same]


def plan_steps(
    sheet: JobSheet, shell: Shell, blanks: Sequence[Blank], layout: Layout, takeoff: Takeoff
) -> tuple[Step, ...]:
    """The steps of a job, in the order in which they are done."""
    work = _Work(sheet, shell, blanks, layout, takeoff)
    stages = (_measure, _mark, _cut, _dress, _fit, _weld, _planish, _outlet, _test, _install, _finish)
    return _distinct([step for stage in stages for step in stage(work)])


def _measure(work: _Work) -> Iterator[Step]:
    yield work.step(
        "measure:rim",
        "measure",
        f"Check the opening on the machine, isolated and locked off: {_rim_words(work)}, the low point from two sides, "
        f"and room for {work.length(work.shell.depth)} from the rim to the wet face, with plate and outlet below that.",
        _rim_lengths(work) + 3,
    )


def _rim_lengths(work: _Work) -> int:
    """How many lengths prove a rim: its sides, a diagonal for each corner past three, and one across."""
    corners = len(work.shell.free_edges())
    return corners + (corners - 2 if corners > 3 else 0)


def _rim_words(work: _Work) -> str:
    corners = len(work.shell.free_edges())
    return f"{corners} sides" + (f", {corners - 2} diagonals" if corners > 3 else "")


def _mark(work: _Work) -> Iterator[Step]:
    for blank, alike in work.patterns():
        off = work.copies * sum(other.count for other in alike)
        corners = blank.marking.shown
        figures = "; ".join(
            f"corner {i + 1}: {work.length(along)} along, {work.length(square)} square"
            for i, (along, square) in enumerate(corners)
            if i > 1
        )
        text = f"Mark out {_names(alike)}, {off} off: base {work.length(corners[1][0])}; {figures}. Prove every edge."
        yield work.step(f"mark:{blank.name}", "mark", text, off * len(corners))


def _names(alike: Sequence[Blank]) -> str:
    first, *others = alike
    same = [f"{other.name} turned over" if other.mirrored else other.name for other in others]
    return first.name + (f" (and {', '.join(same)})" if same else "")


def _cut(work: _Work) -> Iterator[Step]:
    """A step for each straight cut that is needed; where blanks are cut by their outline, one for each pattern."""
    for number, (used, keys) in enumerate(zip(work.layout.sheets, cut_keys(work.layout), strict=True), 1):
        for index, ((cut, is_needed, freed), key) in enumerate(zip(used.cut_list, keys, strict=True), 1):
            if not is_needed:
                continue
            frees = f"; frees {', '.join(freed)}" if freed else ""
            ends = f"from {_place(cut.start, work)} to {_place(cut.end, work)} on the sheet"
            text = f"Sheet {number}, cut {index}: {ends}, {work.length(cut.length)} edge to edge{frees}."
            yield work.step(key, "cut", text, cut.length / 1000)
    by_outline = Counter(placed.blank for used in work.layout.sheets if not used.cuts for placed in used.fitting)
    for blank, alike in work.patterns():
        off = sum(by_outline[other.name] for other in alike)
        if off:
            metres = off * _perimeter(blank) / 1000
            yield work.step(f"cut:{blank.name}", "cut", f"Cut {_names(alike)} to its outline, {off} off.", metres)


def _place(point: Point, work: _Work) -> str:
    """A place on the sheet: along and square from its lower left corner."""
    return f"({work.display.figure(point[0])}; {work.display.figure(point[1])})"


def cut_keys(layout: Layout) -> tuple[tuple[str, ...], ...]:
    """The key of each cut of a layout, needed or not, sheet by sheet; where some share one, the later are numbered.

    Cuts that share a key are needed together or not at all, so that the numbers are those of the steps.
    """
    numbered = iter(_numbered([cut_key(cut) for used in layout.sheets for cut in used.cuts]))
    return tuple(tuple(next(numbered) for _ in used.cuts) for used in layout.sheets)


def cut_key(cut: Cut) -> str:
    """The key of a cut: the edges it finishes; failing those, the blanks that it parts."""
    if cut.finishes:
        return "cut:" + "+".join(sorted(cut.finishes))
    sides = sorted(("+".join(sorted(side)) or "waste") for side in cut.parts)
    return "cut:" + "|".join(sides)


def _perimeter(blank: Blank) -> float:
    return math.fsum(check.length for check in blank.marking.checks[: len(blank.cut_outline)])


def _dress(work: _Work) -> Iterator[Step]:
    for blank, alike in work.patterns():
        off = work.copies * sum(other.count for other in alike)
        text = f"Dress every edge of {_names(alike)}, {off} off; corners off, no burr on the wet face.{_bevels(alike, work)}"
        yield work.step(f"dress:{blank.name}", "dress", text, off * _perimeter(blank) / 1000)


def _bevels(alike: Sequence[Blank], work: _Work) -> str:
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


def _fit(work: _Work) -> Iterator[Step]:
    metal = work.sheet.material.properties.family
    yield work.step(
        "clean:seams",
        "clean",
        f"Degrease, then brush every joint to bright metal {CLEAN_BAND} mm either side, with a brush kept for {metal}. "
        f"No chlorinated degreaser anywhere near an arc.{work.each}",
        work.takeoff.seam_length / 1000,
    )
    gap = work.display.fine(work.sheet.making.seam_gap)
    for joint in work.seams():
        tacks = max(2, math.ceil(joint.length / work.sheet.making.tack_pitch) + 1)
        text = (
            f"Tack {joint.name} on the dry side, wet edges {gap} apart: {tacks} tacks, from the middle outward, "
            f"every {work.length(work.sheet.making.tack_pitch)}.{work.each}"
        )
        yield work.step(f"tack:{joint.name}", "fit", text, tacks * work.copies)
    yield work.step(
        "check:tacked",
        "check",
        f"Before any long run: depth {work.length(work.shell.depth)}, {_rim_words(work)} of the rim. True up.{work.each}",
        (_rim_lengths(work) + 1) * work.copies,
    )


def _weld(work: _Work) -> Iterator[Step]:
    filler = filler_of(work.sheet).name
    for joint in work.seams():
        text = f"Weld {joint.name} {_side(joint)}, {work.length(joint.length)}, {filler}: short back-stepped runs.{work.each}"
        yield work.step(f"weld:{joint.name}", "weld", text, work.copies * joint.length / 1000)


def _side(joint: Joint) -> str:
    """Where a seam is welded from and what it looks like there."""
    opening = joint.groove or 0.0
    if opening < 0:
        return f"from the dry side (a ridge, bevelled; square it opens {-opening:.1f} degrees upward)"
    form = "a square butt" if opening <= SQUARE_BUTT else "allow for filler"
    return f"from the dry side (edges open {opening:.1f} degrees: {form})"


def _planish(work: _Work) -> Iterator[Step]:
    for joint in work.seams():
        text = f"Planish {joint.name} on a dolly to let the pull out; the facets flat again.{work.each}"
        yield work.step(f"planish:{joint.name}", "planish", text, work.copies * joint.length / 1000)


def _outlet(work: _Work) -> Iterator[Step]:
    outlet = work.sheet.shape.outlet
    if outlet is None:
        return
    bore = work.display.fine(outlet.bore)
    yield work.step(
        "outlet:bore",
        "outlet",
        f"Bore the outlet {bore} at the low point, after welding. Dress the edge.{work.each}",
        work.copies,
    )
    yield work.step(
        "outlet:fitting",
        "outlet",
        f"Weld the outlet fitting on from the dry side, below the floor so that nothing stands.{work.each}",
        work.copies,
    )


def _test(work: _Work) -> Iterator[Step]:
    yield work.step(
        "test:leak",
        "test",
        f"Fill with water and look for leaks; watch the last of it drain.{work.each}",
        work.copies,
    )
    yield work.step(
        "check:as-built",
        "check",
        f"Measure the tray as built: {_rim_words(work)}, depth. Write them on the inspection table.{work.each}",
        (_rim_lengths(work) + 1) * work.copies,
    )


def _install(work: _Work) -> Iterator[Step]:
    rim = rim_length(work.shell)
    yield work.step(
        "aperture:rim",
        "aperture",
        "Machine isolated and locked off. Set the aperture out in the bench from the tray as measured, not as drawn, and "
        f"cut it. The dry side stands outside the rim: {_clearances(work)}.{work.each}",
        work.copies * rim / 1000,
    )
    yield work.step(
        "clean:rim",
        "clean",
        f"Coolant residue out of the bench. Rim and aperture brushed to bright metal {CLEAN_BAND} mm either side and "
        f"degreased, no chlorinated degreaser.{work.each}",
        work.copies * rim / 1000,
    )
    mass = work.takeoff.net_mass / work.copies
    lift = " Two people or a hoist." if mass > work.sheet.making.two_person_mass else ""
    yield work.step(
        "weld:rim",
        "install",
        f"Set the tray in ({mass:.3g} kg).{lift} Fire watch kept; tack and weld the rim all round into the bench, which must "
        f"be of a metal that {filler_of(work.sheet).name} welds to {work.sheet.material.alloy}, {work.length(rim)}.{work.each}",
        work.copies * rim / 1000,
    )


def _clearances(work: _Work) -> str:
    """How far the dry face of each side stands outside the bare rim: thickness x sin(slope) (common practice)."""
    found = []
    for number, edge in enumerate(work.shell.free_edges(), 1):
        face = next(face for face in work.shell.faces if edge in face.edges)
        upright = abs(float(normal(work.shell.corners(face))[2]))
        out = work.sheet.material.thickness * math.sqrt(max(0.0, 1.0 - upright**2))
        found.append(f"side {number} {work.display.fine(math.ceil(out * 10) / 10)}")
    return ", ".join(found)


def _finish(work: _Work) -> Iterator[Step]:
    yield work.step(
        "finish:hand-over",
        "finish",
        f"Plumb the drain, clean, run coolant to it, hand over.{work.each}",
        work.copies,
    )


def in_turn(joints: Sequence[Joint], shell: Shell) -> tuple[Joint, ...]:
    """Joints in an order that spreads the heat: each as far as can be from the last two (middles of the seams)."""
    left = list(joints)
    if not left:
        return ()
    points = shell.points
    middle = {joint.edge: (points[joint.edge[0]] + points[joint.edge[1]]) / 2 for joint in joints}
    order = [left.pop(max(range(len(left)), key=lambda i: left[i].length))]
    while left:
        recent = [middle[joint.edge] for joint in order[-2:]]
        weights = (0.5, 1.0)[-len(recent) :]
        room = [
            min(float(math.dist(middle[joint.edge], spot)) / w for spot, w in zip(recent, weights, strict=True))
            for joint in left
        ]
        order.append(left.pop(max(range(len(left)), key=room.__getitem__)))
    return tuple(order)


def _distinct(steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps, where two would share a key the later ones numbered, so that a key names one step."""
    keys = _numbered([step.key for step in steps])
    return tuple(replace(step, key=key) for step, key in zip(steps, keys, strict=True))


def _numbered(keys: Sequence[str]) -> list[str]:
    """The keys, each that was there before with the number of times it was."""
    seen: Counter[str] = Counter()
    numbered = []
    for key in keys:
        seen[key] += 1
        numbered.append(key if seen[key] == 1 else f"{key}#{seen[key]}")
    return numbered
