"""The weld plan: each seam, the reliefs, the outlet's fitting and a bare rim, with all that welding it takes.

Starting figures for a trial on an offcut, never a procedure. Of what can't be seen from the sheet one thing is taken for
granted: the outlet's fitting is of the same metal.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from calc.blank import Blank
from calc.seams import fillet_section, relief_section, seam_section
from calc.sheet import JobSheet
from calc.shell import Shell
from calc.shrinkage import shrinkage_of
from calc.tables.heat import INTERPASS, SHOP
from calc.turns import in_turn
from calc.welding.courses import outlet_course, reliefs_course, rim_course, seam_course
from calc.welding.records import Run, Warmth, Weld, WeldPlan
from calc.welding.rods import filler_masses, rim_filler, seam_filler
from calc.welding.runs import Piece, end_to_end, halves, in_order, longest_run, runs_of
from calc.welding.times import standard_minutes
from calc.welding.warmth import Array, cooled, residual, warmth
from calc.welding.weld import Wanted, minutes_of, pace_of, weld_of

__all__ = ["WeldPlan", "filler_masses", "plan_welds", "standard_minutes"]

HARDLY_WARM = 30.0  # [K] over the shop; up to it no run waits, however cool the plain order is


def plan_welds(sheet: JobSheet, shell: Shell, blanks: Sequence[Blank]) -> WeldPlan | None:
    """The welds of a fabrication in the order in which they are made; None where nothing is welded.

    Raises `SheetFaults` where no filler listed suits the metals at the heat they serve in.
    """
    wanted = [] if shell.is_loose else list(_welds(sheet, shell, blanks))
    if not wanted:
        return None
    seams, rim = seam_filler(sheet), rim_filler(sheet) if wanted[-1].kind == "rim" else None
    goes = _goes(wanted, longest_run(sheet.material.thickness))
    unpaused = tuple(
        weld_of(sheet, each, rim if rim and each.kind == "rim" else seams, _runs(number, goes))
        for number, each in enumerate(wanted)
    )
    paces = [pace_of(weld) for weld in unpaused]
    plain = warmth([residual(sheet, end_to_end(pieces), paces) for pieces in goes])
    waited = [cooled(sheet, pieces, paces, _limit(sheet, plain)) for pieces in goes]
    welds = tuple(_paused(weld, number, goes, [pauses for _, pauses in waited]) for number, weld in enumerate(unpaused))
    copies = sheet.quantity
    return WeldPlan(
        process=sheet.making.process,
        welds=welds,
        rods=copies * math.fsum(weld.rods for weld in welds),
        wire=copies * math.fsum(weld.wire for weld in welds),
        filler_mass=copies * math.fsum(weld.filler_mass for weld in welds),
        gas_litres=copies * math.fsum(weld.gas_litres for weld in welds),
        arc_minutes=copies * math.fsum(weld.arc_minutes for weld in welds),
        elapsed_minutes=math.fsum(minutes_of(weld, copies) for weld in welds),
        warmth=warmth([found for found, _ in waited]),
        plain_warmth=plain,
        shrinkage=shrinkage_of(sheet, shell.welds),
    )


def _welds(sheet: JobSheet, shell: Shell, blanks: Sequence[Blank]) -> Iterator[Wanted]:
    """The welds in the order in which they are made: seams in turn, reliefs, outlet, rim."""
    for joint in in_turn(shell.welds, shell):
        section = seam_section(sheet, joint.groove or 0.0)
        yield Wanted(f"weld:{joint.name}", joint.name, "seam", seam_course(joint, shell), section, joint)
    if reliefs := reliefs_course(blanks, shell):
        yield Wanted("weld:reliefs", "Reliefs", "reliefs", reliefs, relief_section(sheet))
    if outlet := outlet_course(sheet, shell):
        yield Wanted("outlet:fitting", "Outlet fitting", "outlet", outlet, fillet_section(sheet))
    if sheet.shape.seat == "bare":
        yield Wanted("weld:rim", "Rim", "rim", rim_course(shell), fillet_section(sheet))


def _goes(wanted: Sequence[Wanted], most: float) -> list[list[Piece]]:
    """The runs in the order in which they are made: seams and then reliefs in one go, the outlet and the rim by themselves."""
    queues = [list(halves(each.course, number, most)) for number, each in enumerate(wanted)]
    by_kind = {
        kind: [queue for each, of_weld in zip(wanted, queues, strict=True) if each.kind == kind for queue in of_weld]
        for kind in ("seam", "reliefs", "outlet", "rim")
    }
    reliefs = in_order(by_kind["reliefs"])
    goes = [[*in_order(by_kind["seam"], reliefs[:2]), *reliefs], in_order(by_kind["outlet"]), in_order(by_kind["rim"])]
    return [pieces for pieces in goes if pieces]


def _runs(number: int, goes: Sequence[Sequence[Piece]]) -> tuple[Run, ...]:
    return tuple(run for pieces in goes for run in runs_of(number, pieces))


def _limit(sheet: JobSheet, plain: Warmth) -> float:
    """How much warmer than the shop [K] metal may be where a run begins: as usual between runs, and as in the plain order.

    In metal that carries heat badly the last runs of seams that meet would find it hotter than the plain order ever does.
    """
    return min(INTERPASS[sheet.material.properties.family] - SHOP, max(plain.worst, HARDLY_WARM))


def _paused(weld: Weld, number: int, goes: Sequence[Sequence[Piece]], pauses: Sequence[Array]) -> Weld:
    """A weld whose runs wait where the metal must cool."""
    waits = {
        turn: float(pause)
        for pieces, of_go in zip(goes, pauses, strict=True)
        for turn, (piece, pause) in enumerate(zip(pieces, of_go, strict=True), 1)
        if piece.weld == number and pause
    }
    return (
        replace(weld, runs=tuple(replace(run, pause=waits.get(run.turn, 0.0)) for run in weld.runs)) if waits else weld
    )
