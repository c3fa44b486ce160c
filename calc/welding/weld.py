"""One weld: what it is, and all that is worked out of it."""

from dataclasses import dataclass

from calc.sheet import JobSheet
from calc.shell import Joint
from calc.shrinkage import across, along
from calc.tables.alloys import alloy
from calc.tables.fillers import Filler, rule_of
from calc.tables.welding import (
    GASES,
    arc_volts,
    gas_round_a_run,
    heat_input,
    settings_for_estimate,
    travel_that_fills,
)
from calc.welding.courses import Course
from calc.welding.records import Kind, Run, Setting, Weld
from calc.welding.rods import ROD_LENGTH, mass_of, taken
from calc.welding.runs import tacks_of
from calc.welding.times import standard_minutes
from calc.welding.warmth import Pace
from calc.welding.words import form_of, side_of

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


def setting_of(sheet: JobSheet, section: float) -> Setting:
    """Where the machine is set to begin with in the sheet's metal for a weld of this section [mm2]."""
    metal, process = sheet.material.properties, sheet.making.process
    row, caution = settings_for_estimate(metal.family, sheet.material.thickness, process)
    return Setting(
        amps=row.amps,
        volts=arc_volts(process, sum(row.amps) / 2),
        rod=row.filler,
        gas=GASES[process][metal.family],
        gas_flow=row.flow,
        travel=travel_that_fills(row, process, section),
        source=row.source,
        caution=caution,
        feed=row.feed,
    )


def weld_of(sheet: JobSheet, wanted: Wanted, filler: Filler, runs: tuple[Run, ...]) -> Weld:
    """All that is worked out of a weld."""
    process, course, joint = sheet.making.process, wanted.course, wanted.joint
    setting = setting_of(sheet, wanted.section)
    groove = joint.groove if joint else None
    side, why = side_of(sheet, wanted.kind, groove)
    tacks = () if wanted.kind == "reliefs" else tacks_of(course, sheet.making.tack_pitch)
    bench = alloy(sheet.bench.alloy) if wanted.kind == "rim" and sheet.bench.alloy else None
    metres = taken(process, setting, wanted.section, course.length)
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
        heat=heat_input(process, setting.volts, setting.middle_amps, setting.travel),
        arc_minutes=course.length / setting.travel,
        elapsed_minutes=standard_minutes(WORK[wanted.kind], _much(wanted.kind, course.length), setting.travel),
        filler_mass=mass_of(metres, setting.rod, filler),
        rods=metres * 1000 / ROD_LENGTH if process == "TIG" else 0.0,
        wire=metres if process == "MIG" else 0.0,
        gas_litres=_gas(process, setting, course.length, len(runs) + len(tacks)),
        across=across(sheet, joint.groove or 0.0) if joint else None,
        along=along(sheet) if joint else None,
        tacks=tacks,
        runs=runs,
    )


def _gas(process: str, setting: Setting, length: float, starts: int) -> float:
    """The gas of a weld [litres] at the higher flow: while the arc burns, and before and after each run and tack."""
    minutes = length / setting.travel + starts * gas_round_a_run(process, setting.middle_amps) / 60
    return minutes * setting.gas_flow[1]


def _much(kind: Kind, length: float) -> float:
    """The driver of the step that makes a weld: metres, or one piece."""
    return 1.0 if kind == "outlet" else length / 1000


def minutes_of(weld: Weld, copies: int) -> float:
    """The standard minutes of the step that makes a weld in so many fabrications."""
    return standard_minutes(WORK[weld.kind], copies * _much(weld.kind, weld.length), weld.setting.travel)


def pace_of(weld: Weld) -> Pace:
    """How a weld goes on, what it takes to set up for it left out."""
    setting_up = standard_minutes(WORK[weld.kind], 0.0)
    return Pace(weld.setting.travel, (weld.elapsed_minutes - setting_up) / weld.length, weld.heat)
