"""The takeoff as a table of plain numbers, for a spreadsheet or an order. No money is in it, whoever asks."""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from calc import Plan
from calc.papers.pattern import patterns_of
from calc.papers.traveller import material
from calc.units import FOOT, INCH, Display
from calc.welding import WeldPlan, filler_masses

HEAD = ("Group", "Item", "Quantity", "Unit", "Length", "Width", "Size in", "Mass each, kg", "Note")
Row = tuple[str | int | float, ...]


def takeoff_rows(plan: Plan, display: Display) -> list[Row]:
    """The rows under `HEAD`, for the whole job: metal, work, supplies, and every blank to cut.

    Runs of cut, edge and weld are in m or ft, sizes in mm or inches (the column before the last two says which), as the
    display reads lengths; masses in kg.
    """
    return [*_metal(plan, display), *_work(plan, display), *_supplies(plan, display), *_blanks(plan, display)]


def _metal(plan: Plan, display: Display) -> Iterator[Row]:
    takeoff, metal = plan.takeoff, plan.sheet.material
    sheets = Counter((used.stock, used.length, used.width, used.area) for used in plan.layout.sheets)
    for (stock, length, width, area), count in sorted(sheets.items()):
        over_all = "" if area == length * width else ", size over all"
        note = f"{material(plan)}{over_all}"
        yield _sized("Metal", f"Sheet {stock}", count, (length, width), display, round(metal.mass(area), 3), note)
    yield _row("Metal", "Sheet bought or taken", round(takeoff.sheet_mass, 3), "kg", "all sheets")
    yield _row("Metal", "In the work", round(takeoff.net_mass, 3), "kg")
    yield _row("Metal", "Offcuts worth keeping", round(takeoff.offcut_mass, 3), "kg")
    yield _row("Metal", "Scrap", round(takeoff.scrap_mass, 3), "kg", "kerf included")


def _work(plan: Plan, display: Display) -> Iterator[Row]:
    takeoff = plan.takeoff
    cuts = sum(used.needs(cut) for used in plan.layout.sheets for cut in used.cuts)
    if cuts:
        yield _row("Work", "Straight cuts", cuts, "cuts")
    yield _run("Cut", takeoff.cut_length, display)
    yield _run("Edges to dress", takeoff.edge_length, display)
    if plan.shell.is_loose:
        return
    yield _row("Work", "Folds", takeoff.fold_count, "folds")
    yield _run("Weld", takeoff.weld_length, display, "all of the welds that follow")
    yield _run("Weld, seams", takeoff.seam_length, display)
    yield _run("Weld, rim", takeoff.rim_weld_length, display)
    yield _run("Weld, outlet", takeoff.outlet_weld_length, display)
    if (welding := plan.weld_plan) is not None:
        yield _row("Work", "Arc burning", round(welding.arc_minutes, 1), "min", welding.process)
        yield _row("Work", "Welding, all in", round(welding.elapsed_minutes, 1), "min", "setting up and runs between")


def _supplies(plan: Plan, display: Display) -> Iterator[Row]:
    if plan.shell.is_loose:
        return
    outlet = plan.sheet.shape.outlet
    if (welding := plan.weld_plan) is not None:
        yield from _consumed(plan, welding)
    if outlet:
        yield _row("Supplies", "Outlet fitting", plan.sheet.quantity, "pieces", f"bore {display.fine(outlet.bore)}")


def _consumed(plan: Plan, welding: WeldPlan) -> Iterator[Row]:
    """Filler of each kind, how many rods or how much wire that is, gas."""
    rods: dict[str, float] = {}
    for weld in welding.welds:
        rods[weld.filler] = rods.get(weld.filler, 0.0) + plan.sheet.quantity * (weld.rods or weld.wire)
    lost, unit = ("stubs included", "of a metre") if welding.rods else ("spatter included", "m")
    size = f"{welding.welds[0].setting.rod:g} mm"
    for name, mass in filler_masses(welding.welds, plan.sheet.quantity).items():
        yield _row("Supplies", f"Filler {name}", round(mass, 3), "kg", lost)
        yield _row("Supplies", f"{name} {'rods' if welding.rods else 'wire'}", round(rods[name], 1), unit, size)
    gas = welding.welds[0].setting.gas
    yield _row(
        "Supplies", gas[0].upper() + gas[1:], round(welding.gas_litres), "l", "before, between and after runs too"
    )


def _blanks(plan: Plan, display: Display) -> Iterator[Row]:
    for pattern in patterns_of(plan):
        xs, ys = zip(*pattern.blank.cut_outline, strict=True)
        size = (max(xs) - min(xs), max(ys) - min(ys))
        each = round(pattern.blank.mass, 3)
        yield _sized("Blanks", pattern.blank.name, pattern.off, size, display, each, pattern.alike)


def _row(group: str, item: str, quantity: float, unit: str, note: str = "") -> Row:
    return (group, item, quantity, unit, "", "", "", "", note)


def _run(item: str, millimetres: float, display: Display, note: str = "") -> Row:
    unit, scale = ("m", Fraction(1000)) if display.unit == "mm" else ("ft", FOOT)
    return _row("Work", item, round(millimetres / float(scale), 3), unit, note)


def _sized(
    group: str, item: str, count: int, size: tuple[float, float], display: Display, mass: float, note: str
) -> Row:
    """What is counted by the piece, with its size to a tenth of a millimetre or a hundredth of an inch."""
    scale, places = (1.0, 1) if display.unit == "mm" else (float(INCH), 2)
    length, width = (round(extent / scale, places) for extent in size)
    return (group, item, count, "pieces", length, width, display.unit, mass, note)
