"""The traveller: the paper that goes round the shop with a job, as HTML through the caller's renderer and as PDF.

The office copy ends with the cost; the shop copy has no money on it anywhere.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from calc import Plan
from calc.advice import MONEY
from calc.blank import Blank, patterns
from calc.drawing import (
    blank_drawing,
    capacity,
    folded_view,
    plan_view,
    rim_run_map,
    rim_sheet,
    run_map,
    sheet_drawing,
    tray_view,
    weld_map,
)
from calc.drawing.blank_table import is_tabled
from calc.drawing.parts import thing
from calc.drawing.rim import CROWDED, WIDTH
from calc.laid import SheetLayout
from calc.papers import cautions, drain_lines, lines, marking_lines, run_lines, stiffness_lines, weld_lines
from calc.papers.aperture_lines import FIRST, aperture_sheet
from calc.papers.bend_lines import bend_lines, bend_method
from calc.papers.codes import qr_drawing
from calc.papers.cut_lines import cut_lines, cut_pictures
from calc.papers.inspection import inspection_lines
from calc.papers.place_lines import from_words, place_lines
from calc.papers.saw_lines import saw_lines
from calc.papers.step_lines import step_groups
from calc.papers.typed import Typed, typed
from calc.papers.typeset import Render, typeset
from calc.shell import LEVEL
from calc.units import Display

TEMPLATE = "papers/traveller.html"
BLANK_WIDTH = 440.0  # drawing units: a blank's drawing takes about two thirds of the page's width
SMALLER = 540.0  # for drawings that are printed on less than a page's width
FOLDED = 240.0  # beside a blank's drawing, and half as wide again below it
MOST_BESIDE = 12  # corners of a blank that has its tables beside it
MOST_TRAYS = 4  # a column each in the inspection table; for more it is copied
RUN_COLUMNS = {"mm": 4, "in": 3}  # runs side by side in the table of their order
LINE = 505.0  # [pt] the length of a line across the page


@dataclass(frozen=True, slots=True)
class Heading:
    """What a title block says beside the job sheet's own words; empty where there is no stored job.

    day: of the revision, so that a paper printed again is the same.
    address: where the job is found on the shop's network; with a job number it is printed as a QR code.
    """

    shop: str = ""
    job_number: str = ""
    revision: str = ""
    check_code: str = ""
    day: str = ""
    due: str = ""
    address: str | None = None


def traveller_html(plan: Plan, heading: Heading, display: Display, render: Render, *, money: bool) -> str:
    """The traveller as one HTML page with its stylesheet in it.

    render: makes the text of a template (its name under the templates' folder, and the context); money: the office copy.
    """
    return render(TEMPLATE, _contents(plan, heading, display, money=money))


def traveller_pdf(plan: Plan, heading: Heading, display: Display, render: Render, *, money: bool) -> bytes:
    """The traveller as a PDF, A4; the same plan and heading give the same bytes.

    Raises OSError where Pango, which WeasyPrint needs, is not installed.
    """
    return typeset(traveller_html(plan, heading, display, render, money=money))


def _contents(plan: Plan, heading: Heading, display: Display, *, money: bool) -> dict[str, object]:
    """All that the templates print."""
    # a tray of few corners has a plan that is legible on less than a page's width
    few = not plan.shell.is_loose and len(plan.sheet.shape.corners) < CROWDED
    is_loose = plan.shell.is_loose  # flat parts: nothing to weld, to inspect or to install
    has_code = bool(heading.job_number and heading.address)
    return {
        "heading": heading,
        "title": _title(plan, 17.0, LINE * 0.8),
        "words": cells_of(plan, heading),
        "foot": foot_of(plan, heading),
        "material": material(plan),
        "quantity": str(plan.sheet.quantity),
        "shop": typed(heading.shop, 8.0, LINE * 0.78),
        "copy": "Office copy" if money else "Shop copy",
        "qr": qr_drawing(heading.address or "") if has_code else "",
        "unit": display.called,
        "always": cautions.ALWAYS,
        "cutting": cautions.CUTTING,
        "saw": saw_lines(plan.sheet.making.saw, plan.sheet.material.properties.family, display),
        "installing": () if is_loose else cautions.installing(plan),
        "warnings": [warning.text for warning in plan.warnings if money or warning.code not in MONEY],
        "figures": lines.key_figures(plan, display),
        "is_loose": is_loose,
        "thing": thing(plan),
        "face_side": plan.sheet.shape.face_side,
        "tray": "" if is_loose else tray_view(plan, display),
        "plan_view": plan_view(plan, display, width=SMALLER if few else WIDTH),
        "few": few,
        **_draining(plan, display),
        **_stiffness(plan, display),
        "blank_lines": lines.blank_lines(plan, display),
        "blanks": _blanks(plan, display),
        "rounding": marking_lines.rounding_words(plan, display),
        "sheets": _sheets(plan, display),
        "kerf": display.fine(plan.sheet.making.kerf),
        "unplaced": ", ".join(plan.layout.unplaced),
        **_welding(plan, display, SMALLER if few else WIDTH),
        "step_groups": step_groups(plan),
        "steps_total": lines.hours(sum(step.minutes for step in plan.steps)),
        "inspection": [] if is_loose else inspection_lines(plan, display),
        "aperture": aperture_sheet(plan, display),
        "aperture_first": FIRST,
        "rim_sheet": "" if is_loose else rim_sheet(plan, display, width=SMALLER if few else WIDTH),
        "bend_method": bend_method(plan),
        "has_outlet": plan.sheet.shape.outlet is not None,
        "drains": plan.drainage is not None and plan.drainage.least_fall > LEVEL,
        "tolerance_class": plan.sheet.making.tolerance_class,
        "trays": [str(number) for number in range(1, min(plan.sheet.quantity, MOST_TRAYS) + 1)],
        "more_trays": f"{MOST_TRAYS + 1} to {plan.sheet.quantity}" if plan.sheet.quantity > MOST_TRAYS else "",
        "cost": plan.cost if money else None,
        "takeoff": lines.takeoff_lines(plan, display) if money else [],
    }


def _draining(plan: Plan, display: Display) -> dict[str, object]:
    """What is printed of draining; nothing of loose parts."""
    if plan.drainage is None:
        return {"drain_plot": ""}
    return {
        "drain_plot": capacity(plan, display),
        "drain_lines": [(line.label, line.figure, line.aside) for line in drain_lines.drain_lines(plan, display)],
        "drain_tilt": drain_lines.tilt_words(plan, display),
        "drain_rests_on": drain_lines.rests_on(plan),
    }


def _stiffness(plan: Plan, display: Display) -> dict[str, object]:
    """What is printed of how stiff it is; nothing of loose parts, and of a plan that was stored without it."""
    stiffness, most = plan.stiffness, stiffness_lines.MOST
    if stiffness is None:
        return {"stiffness": ""}
    return {
        "stiffness": stiffness_lines.verdict_words(stiffness, display),
        "stiffness_lines": stiffness_lines.stiffness_lines(stiffness, display, most),
        "stiffness_left": len(stiffness.facets) if len(stiffness.facets) > most else "",
        "stiffness_basis": stiffness_lines.basis_words(plan, stiffness),
    }


def _welding(plan: Plan, display: Display, width: float) -> dict[str, object]:
    """What is printed of the welding; nothing where nothing is welded."""
    welding = plan.weld_plan
    if welding is None:
        return {"weld_map": ""}
    columns = RUN_COLUMNS[display.unit]
    runs = run_lines.run_lines(plan, welding, display)
    return {
        "weld_map": weld_map(plan, display, width=width),
        "welding": cautions.welding(plan),
        "rules": weld_lines.rules_of(welding),
        "process": welding.process,
        "settings": weld_lines.settings_of(welding, display),
        "weld_lines": weld_lines.weld_lines(welding, display),
        "weld_sums": weld_lines.sums_of(plan, welding),
        "weld_sides": weld_lines.sides_of(welding),
        "shrinkage": weld_lines.shrinkage_words(welding, display),
        "warmth": weld_lines.warmth_words(plan, welding),
        "budget": weld_lines.budget_words(plan.budget, display) if plan.budget else "",
        "run_map": run_map(plan, welding, width=width),
        "rim_run_map": rim_run_map(plan, welding, width=width) or "",
        "tacks": run_lines.tack_lines(plan, welding, display),
        "run_rows": run_lines.in_columns(runs, columns),
        "run_columns": range(columns),
    }


def material(plan: Plan) -> str:
    """Alloy and thickness in mm, as typed."""
    metal = plan.sheet.material
    return f"{metal.alloy}, {metal.thickness:g} mm"


def title_of(plan: Plan) -> str:
    """What the job is called; by its kind where nobody named it."""
    return plan.sheet.title or plan.sheet.shape.family.replace("-", " ").capitalize()


def _title(plan: Plan, size: float, room: float, lines_of: int = 0) -> Typed:
    return typed(title_of(plan), size, room, lines=lines_of)


def cells_of(plan: Plan, heading: Heading) -> list[tuple[str, Typed]]:
    """The title block's cells: a label and the words in it."""
    cells = [
        ("Customer", plan.sheet.customer),
        ("Machine", plan.sheet.machine),
        ("Job", heading.job_number),
        ("Revision", heading.revision),
        ("Check code", heading.check_code),
        ("Day", heading.day),
        ("Due", heading.due),
    ]
    return [(label, typed(text, 9.5, LINE * 0.78)) for label, text in cells if text]


def foot_of(plan: Plan, heading: Heading) -> dict[str, Typed]:
    """The title block at the foot of each page: as much of each text as its cell holds."""
    return {
        "title": _title(plan, 7.5, 215.0, 3),
        "customer": typed(plan.sheet.customer, 7.5, 104.0, lines=2),
        "machine": typed(plan.sheet.machine, 7.5, 165.0, lines=2),
        "shop": typed(heading.shop, 7.5, 165.0, lines=1),
        "job": typed(heading.job_number, 7.5, 94.0, lines=1),
        "revision": typed(heading.revision, 7.5, 38.0, lines=1),
        "check_code": typed(heading.check_code, 7.5, 69.0, lines=1),
        "day": typed(heading.day, 7.5, 104.0, lines=1),
    }


def _blanks(plan: Plan, display: Display) -> list[dict[str, object]]:
    """Each blank to mark out: its drawing and its tables; one of many corners is drawn across the page."""
    return [_blank(plan, blank, alike, display) for blank, alike in patterns(plan.blanks)]


def _blank(plan: Plan, blank: Blank, alike: Sequence[Blank], display: Display) -> dict[str, object]:
    is_wide = len(blank.cut_outline) > MOST_BESIDE
    width = WIDTH if is_wide else BLANK_WIDTH
    return {
        "name": blank.name,
        "wide": is_wide,
        "drawing": blank_drawing(plan, blank, display, alike=alike, quantity=plan.sheet.quantity, width=width),
        "folded": folded_view(plan, blank, display, width=FOLDED * (1.5 if is_wide else 1)) if blank.folds else "",
        "lying": lines.lying_lines(plan, blank, alike),
        "offsets": [] if is_tabled(blank) else lines.offset_lines(blank, display),
        "checks": lines.check_lines(plan, blank, display),
        "arcs": marking_lines.arc_words(blank, display),
        "bends": bend_lines(blank, display),
    }


def _sheets(plan: Plan, display: Display) -> list[dict[str, object]]:
    """Each sheet: its drawing, its cut list and a picture of each cut."""
    return [_sheet(plan, index, used, display) for index, used in enumerate(plan.layout.sheets)]


def _sheet(plan: Plan, index: int, used: SheetLayout, display: Display) -> dict[str, object]:
    cuts = cut_lines(plan, index, display)
    return {
        "number": f"{index + 1} of {len(plan.layout.sheets)}",
        "stock": used.stock,
        "size": lines.size_words(used, display),
        "drawing": sheet_drawing(plan, index, display),
        "cuts": cuts,
        "in_hand": any(cut.in_hand for cut in cuts),
        "places": place_lines(plan, index, display),
        "places_from": from_words(used),
        "pictures": cut_pictures(plan, index, display),
    }
