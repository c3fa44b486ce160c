"""What the person should know of the welding of a plan before anything is struck."""

from collections.abc import Iterator, Sequence

from calc.advice.records import Advice
from calc.sheet import JobSheet
from calc.tables.alloys import Alloy, alloy
from calc.tables.fillers import HOTTEST_FOR_MAGNESIUM, MUCH_MAGNESIUM
from calc.tables.welding import MIG_THIN
from calc.welding import WeldPlan

# [°C] in service, from which on aluminium has lost a good part of its strength, the more the hotter and the longer; handbooks
# print strengths falling off between 100 and 150 °C (from memory)
SOFTENS = 100.0


def of_welding(sheet: JobSheet, welding: WeldPlan) -> Iterator[Advice]:
    """Where the tables don't reach, where process, metal or the heat of service want care, and a bench nobody named."""
    if caution := welding.welds[0].setting.caution:
        yield Advice("weld-guess", f"{caution}.")
    making, metal, thickness = sheet.making, sheet.material.properties, sheet.material.thickness
    if making.process == "MIG" and thickness < MIG_THIN:
        yield Advice(
            "mig-thin",
            f"MIG in {making.display.fine(thickness)} sheet burns through easily: pulse it, back the seams with copper bar, or "
            f"weld by TIG (common practice under {making.display.fine(MIG_THIN)}).",
        )
    if wants_backing(sheet):
        yield Advice("root-bare", backing_words(sheet))
    yield from _of_heat(sheet, welding)
    rim = next((weld for weld in welding.welds if weld.kind == "rim"), None)
    if rim and sheet.bench.alloy is None:
        yield Advice(
            "bench-unknown",
            f"The bench's metal is not given: {rim.filler} is planned as if it were {metal.name} too. Try a magnet and a file "
            "on it first; another metal may want another rod, or take none.",
        )


def wants_backing(sheet: JobSheet) -> bool:
    """Whether the roots of the seams must be kept from the air: of stainless by TIG."""
    return sheet.making.process == "TIG" and sheet.material.properties.family == "stainless"


def backing_words(sheet: JobSheet) -> str:
    """Why the root of a stainless seam is shielded, how, and what the plan leaves out of it (common practice)."""
    return (
        "The root of a stainless seam burns to a rough black crust in air, which rusts and holds dirt; it is the "
        f"{root_face(sheet)} face here. Back every seam with argon, taped off or in a box, purged until no air is left and "
        "kept on until the metal is dark; or at least with a backing paste. The litres of gas here are the torch's alone: "
        "backing gas comes on top, in cost too. Argon drives out the air one breathes: never in a closed place (common "
        "practice)."
    )


def root_face(sheet: JobSheet) -> str:
    """The face at which the roots of the seams come out: across from the side that is welded from."""
    return "dry" if sheet.making.weld_side == "wet" else "wet"


def _of_heat(sheet: JobSheet, welding: WeldPlan) -> Iterator[Advice]:
    """Aluminium that serves hot: what the rods' rules leave open, and what heat does to the metals themselves."""
    service = sheet.making.service_temperature
    metals = _metals(sheet, welding)
    light = [metal for metal in metals if metal.family == "aluminium"]
    if service <= HOTTEST_FOR_MAGNESIUM or not light:
        return
    rods = list(dict.fromkeys(weld.filler for weld in welding.welds))
    told = [
        f"Serves at {service:g} °C: {' and '.join(rods)} {'is' if len(rods) == 1 else 'are'} not ruled out by that, as rods of "
        "over 3 % magnesium such as ER5356 are, which may crack; no more is said of how long the seams last. Let no other rod "
        "be used."
    ]
    if rich := [metal.name for metal in light if metal.magnesium_up_to > MUCH_MAGNESIUM]:
        told.append(
            f"{' and '.join(rich)} may itself hold over 3 % magnesium, and such metal may crack like the rods when it stays "
            f"over {HOTTEST_FOR_MAGNESIUM:g} °C (from memory): take 5052 or a metal without magnesium, or ask its maker."
        )
    if service > SOFTENS:
        told.append(
            f"Aluminium loses strength for good over about {SOFTENS:g} °C, the more the hotter and the longer (handbooks, from "
            "memory): have its strength there checked, or take steel."
        )
    yield Advice("hot-service", " ".join(told))


def _metals(sheet: JobSheet, welding: WeldPlan) -> Sequence[Alloy]:
    """The metals that the welds join, each once: the sheet's, and the bench's where a rim is welded into it."""
    bench = sheet.bench.alloy if any(weld.kind == "rim" for weld in welding.welds) else None
    return list(
        {metal.name: metal for metal in (sheet.material.properties, *([alloy(bench)] if bench else []))}.values()
    )
