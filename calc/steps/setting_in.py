"""Steps that prove the finished thing and set it in its place: test, aperture, weld, seal or stand, hand over."""

import math
from collections.abc import Iterator

from calc.seams import dry_face_out, told_out
from calc.shell import steepness
from calc.steps.weld_words import filler_words, tack_words, weld_detail
from calc.steps.work import CLEAN_BAND, Step, Work, depth_words, depths_measured, rim_lengths, rim_words

SCREW_PITCH = 100.0  # [mm] common practice: a sealed flange is screwed about this often
THICK_BENCH = 1.5  # times as thick as the sheet, from which on the arc is kept on the bench (common practice)


def test(work: Work) -> Iterator[Step]:
    """Leaks, and the sizes as built."""
    last = "watch the last of it drain" if work.sheet.shape.outlet else "dry it"
    yield work.step(
        "test:leak",
        "test",
        f"Fill with water and look for leaks; {last}.{work.each}",
        work.copies,
    )
    yield work.step(
        "check:as-built",
        "check",
        f"Measure the {work.sheet.shape.called} as built: {rim_words(work)}, {depth_words(work)}. Write them on the inspection "
        f"table.{work.each}",
        (rim_lengths(work) + depths_measured(work)) * work.copies,
    )


def install(work: Work) -> Iterator[Step]:
    """How it is set into or onto the machine."""
    seat = work.sheet.shape.seat
    if seat == "free":
        text = f"Machine isolated and locked off. Set it in its place ({_lift(work)}) and level it.{work.each}"
        yield work.step("install:stand", "stand", text, work.copies)
        return
    yield from _let_in(work, bare=seat == "bare")
    yield from _weld_in(work) if seat == "bare" else _seal_in(work)


def _let_in(work: Work, *, bare: bool) -> Iterator[Step]:
    round_rim = work.copies * _around(work) / 1000
    stands = (
        f"The dry side stands outside the rim: {_clearances(work)}."
        if bare
        else "The rim strip must cover it all round: offer the tray up before cutting."
    )
    yield work.step(
        "aperture:rim",
        "aperture",
        "Machine isolated and locked off. Set the aperture out in the bench from the tray as measured, not as drawn, and "
        f"cut it. {stands}{work.each}",
        round_rim,
    )
    ready = (
        f"Rim and aperture brushed to bright metal {CLEAN_BAND} mm either side and degreased, no chlorinated degreaser."
        if bare
        else "Rim strip and bench dry and degreased where the sealant goes."
    )
    yield work.step("clean:rim", "clean", f"Coolant residue out of the bench. {ready}{work.each}", round_rim)


def _weld_in(work: Work) -> Iterator[Step]:
    bench = work.sheet.bench.alloy
    for rim in work.welds("rim"):
        of_metal = (
            f", which is of {bench}"
            if bench
            else f", which must be of a metal that {rim.filler} welds to {work.sheet.material.alloy}"
        )
        side = (
            "from underneath where it can be reached" if rim.side == "dry" else "from above, as chosen, dressed flush"
        )
        yield work.step(
            rim.key,
            "install",
            f"Set the tray in ({_lift(work)}). Fire watch kept; tack and weld the rim all round into the bench{of_metal}, "
            f"{side}, {work.length(rim.length)}, {filler_words(rim, work.display)}.{work.each}",
            work.copies * rim.length / 1000,
            f"{tack_words(rim, work)} {weld_detail(rim, work)}{_thick_bench(work)}",
        )


def _thick_bench(work: Work) -> str:
    """What to mind where the bench takes much more heat than the sheet; nothing where it doesn't, or nobody said."""
    thickness = work.sheet.bench.thickness or 0.0
    if thickness < THICK_BENCH * work.sheet.material.thickness:
        return ""
    return (
        f" The bench is {work.display.fine(thickness)} thick: keep the arc on it and let the pool run onto the sheet."
    )


def _seal_in(work: Work) -> Iterator[Step]:
    lap = work.sheet.shape.seat == "lap"
    how = "under the lap, bed it down and screw it" if lap else "round the upstand, and screw through it"
    text = (
        f"Set the tray in ({_lift(work)}). Lay a bead of sealant that stands the coolant {how} every "
        f"{work.display.length(SCREW_PITCH)}, {work.length(_around(work))} all round.{work.each}"
    )
    yield work.step("seal:rim", "seal", text, work.copies * _around(work) / 1000)


def _around(work: Work) -> float:
    """The length of the rim, corner to corner [mm]."""
    corners = work.sheet.shape.corners
    return math.fsum(math.dist(start, end) for start, end in zip(corners, corners[1:] + corners[:1], strict=True))


def _lift(work: Work) -> str:
    mass = work.takeoff.net_mass / work.copies
    return f"{mass:.3g} kg" + (": two people or a hoist" if mass > work.sheet.making.two_person_mass else "")


def _clearances(work: Work) -> str:
    """How far the dry face of each side stands outside the bare rim."""
    found = []
    for number, edge in enumerate(work.shell.free_edges(), 1):
        out = dry_face_out(work.sheet.material.thickness, steepness(work.shell, edge))
        found.append(f"side {number} {work.display.fine(told_out(out))}")
    return ", ".join(found)


def finish(work: Work) -> Iterator[Step]:
    """Hand over."""
    yield work.step(
        "finish:hand-over",
        "finish",
        f"{'Plumb the drain, clean, run coolant to it' if work.sheet.shape.outlet else 'Clean it'}, hand over.{work.each}",
        work.copies,
    )
