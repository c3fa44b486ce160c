"""The weld plan: each seam, the reliefs, the outlet's fitting and a bare rim, with all that welding it takes.

Starting figures for a trial on an offcut, never a procedure. Of what can't be seen from the sheet one thing is taken for
granted: the outlet's fitting is of the same metal.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from calc.blank import Blank
from calc.seams import fillet_section, relief_section, seam_section
from calc.sheet import JobSheet
from calc.shell import Joint, Shell
from calc.shrinkage import across, along, shrinkage_of
from calc.tables.alloys import alloy
from calc.tables.fillers import Filler, rule_of
from calc.tables.welding import GASES, arc_volts, gas_round_a_run, heat_input, settings_for_estimate
from calc.turns import in_turn
from calc.welding.courses import Course, outlet_course, reliefs_course, rim_course, seam_course
from calc.welding.records import Kind, Run, Setting, Tack, Weld, WeldPlan
from calc.welding.rods import ROD_LENGTH, bought, filler_masses, metres, rim_filler, seam_filler
from calc.welding.runs import Piece, end_to_end, halves, in_order, longest_run, runs_of, tacks_of
from calc.welding.times import standard_minutes
from calc.welding.warmth import Pace, residual, warmth
from calc.welding.words import form_of, side_of

__all__ = ["WeldPlan", "filler_masses", "plan_welds", "standard_minutes"]

WORK = {"seam": "weld", "reliefs": "weld", "outlet": "outlet", "rim": "install"}  # the kind of work of a weld's step


@dataclass(frozen=True, slots=True)
class Wanted:
    """A weld before anything is worked out of it: what it is, where it runs, and what is welded in it."""

    key: str
    name: str
    kind: Kind
    course: Course
    section: float
    joint: Joint | None = None


def plan_welds(sheet: JobSheet, shell: Shell, blanks: Sequence[Blank]) -> WeldPlan | None:
    """The welds of a fabrication in the order in which they are made; None where nothing is welded.

    Raises `SheetFaults` where no filler listed suits the metals at the heat they serve in.
    """
    wanted = [] if shell.is_loose else list(_welds(sheet, shell, blanks))
    if not wanted:
        return None
    setting = setting_of(sheet)
    seams, rim = seam_filler(sheet), rim_filler(sheet) if wanted[-1].kind == "rim" else None
    goes = _goes(wanted, longest_run(sheet.material.thickness))
    welds = tuple(
        _weld(sheet, each, rim if rim and each.kind == "rim" else seams, setting, _runs(number, goes))
        for number, each in enumerate(wanted)
    )
    paces = [_pace(sheet, weld) for weld in welds]
    copies = sheet.quantity
    return WeldPlan(
        process=sheet.making.process,
        welds=welds,
        rods=copies * math.fsum(weld.rods for weld in welds),
        wire=copies * math.fsum(weld.wire for weld in welds),
        filler_mass=copies * math.fsum(weld.filler_mass for weld in welds),
        gas_litres=copies * math.fsum(weld.gas_litres for weld in welds),
        arc_minutes=copies * math.fsum(weld.arc_minutes for weld in welds),
        elapsed_minutes=math.fsum(standard_minutes(sheet, *_driver(weld, copies)) for weld in welds),
        warmth=warmth([residual(sheet, pieces, paces) for pieces in goes]),
        plain_warmth=warmth([residual(sheet, end_to_end(pieces), paces) for pieces in goes]),
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


def setting_of(sheet: JobSheet) -> Setting:
    """Where the machine is set to begin with in the sheet's metal."""
    metal, process = sheet.material.properties, sheet.making.process
    row, caution = settings_for_estimate(metal.family, sheet.material.thickness, process)
    return Setting(
        amps=row.amps,
        volts=arc_volts(process, sum(row.amps) / 2),
        rod=row.filler,
        gas=GASES[process][metal.family],
        gas_flow=row.flow,
        travel=row.travel,
        source=row.source,
        caution=caution,
    )


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


def _weld(sheet: JobSheet, wanted: Wanted, filler: Filler, setting: Setting, runs: tuple[Run, ...]) -> Weld:
    """All that is worked out of a weld."""
    process, course, joint = sheet.making.process, wanted.course, wanted.joint
    groove = joint.groove if joint else None
    side, why = side_of(sheet, wanted.kind, groove)
    amps = sum(setting.amps) / 2
    tacks: tuple[Tack, ...] = () if wanted.kind == "reliefs" else tacks_of(course, sheet.making.tack_pitch)
    arc = course.length / setting.travel
    mass = bought(process, wanted.section, course.length, filler)
    run = metres(mass, setting.rod, filler)
    bench = alloy(sheet.bench.alloy) if wanted.kind == "rim" and sheet.bench.alloy else None
    gas_minutes = arc + (len(runs) + len(tacks)) * gas_round_a_run(process, amps) / 60
    return Weld(
        key=wanted.key,
        name=wanted.name,
        kind=wanted.kind,
        line=course.line,
        length=course.length,
        dihedral=joint.dihedral if joint else None,
        groove=groove,
        form=form_of(wanted.kind, groove, side),
        root_gap=sheet.making.seam_gap if joint else 0.0,
        side=side,
        why=why,
        filler=filler.name,
        rule=rule_of(filler, sheet.material.properties, bench),
        setting=setting,
        section=wanted.section,
        heat=heat_input(process, setting.volts, amps, setting.travel),
        arc_minutes=arc,
        elapsed_minutes=standard_minutes(sheet, WORK[wanted.kind], _much(wanted.kind, course.length)),
        filler_mass=mass,
        rods=run * 1000 / ROD_LENGTH if process == "TIG" else 0.0,
        wire=run if process == "MIG" else 0.0,
        gas_litres=gas_minutes * setting.gas_flow[1],
        across=across(sheet, joint.groove or 0.0) if joint else None,
        along=along(sheet) if joint else None,
        tacks=tacks,
        runs=runs,
    )


def _much(kind: Kind, length: float) -> float:
    """The driver of the step that makes a weld: metres, or one piece."""
    return 1.0 if kind == "outlet" else length / 1000


def _driver(weld: Weld, copies: int) -> tuple[str, float]:
    """The kind of work of a weld's step, and its driver for so many fabrications."""
    return WORK[weld.kind], copies * _much(weld.kind, weld.length)


def _pace(sheet: JobSheet, weld: Weld) -> Pace:
    """How a weld goes on, what it takes to set up for it left out."""
    setting_up = standard_minutes(sheet, WORK[weld.kind], 0.0)
    return Pace(weld.setting.travel, (weld.elapsed_minutes - setting_up) / weld.length, weld.heat)
