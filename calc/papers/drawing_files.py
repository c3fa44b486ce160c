"""Every drawing of a plan as an SVG file of its own: patterns at true size, and the dimensioned drawings of the papers."""

from collections.abc import Iterator

from calc import Plan
from calc.drawing import blank_drawing, folded_view, plan_view, rim_run_map, run_map, sheet_drawing, tray_view, weld_map
from calc.papers.pattern import file_names, patterns_of
from calc.papers.pattern_svg import pattern_svg
from calc.papers.traveller import material
from calc.units import Display


def pattern_files(plan: Plan) -> Iterator[tuple[str, str]]:
    """Each pattern at true size, by the name of its file: `pattern-A.svg`."""
    found, metal = patterns_of(plan), material(plan)
    for name, pattern in zip(file_names([pattern.blank.name for pattern in found]), found, strict=True):
        yield f"pattern-{name}.svg", pattern_svg(pattern, metal)


def drawing_files(plan: Plan, display: Display) -> Iterator[tuple[str, str]]:
    """The dimensioned drawings, by the names of their files: the tray, it from above, its welds, each blank and sheet.

    Of flat parts all of them together, each blank and sheet.
    """
    if plan.shell.is_loose:
        yield "drawing-parts.svg", plan_view(plan, display)
    else:
        yield "drawing-tray.svg", tray_view(plan, display)
        yield "drawing-from-above.svg", plan_view(plan, display)
        yield "drawing-welds.svg", weld_map(plan, display)
        yield from _runs(plan)
    found, quantity = patterns_of(plan), plan.sheet.quantity
    for name, pattern in zip(file_names([pattern.blank.name for pattern in found]), found, strict=True):
        alike = [blank for blank in plan.blanks if blank.same_as == pattern.blank.name]
        yield f"drawing-blank-{name}.svg", blank_drawing(plan, pattern.blank, display, alike=alike, quantity=quantity)
        if pattern.blank.folds:
            yield f"drawing-blank-{name}-folded.svg", folded_view(plan, pattern.blank, display)
    for index in range(len(plan.layout.sheets)):
        yield f"drawing-sheet-{index + 1}.svg", sheet_drawing(plan, index, display)


def _runs(plan: Plan) -> Iterator[tuple[str, str]]:
    """The order of runs, of the seams and of a bare rim."""
    welding = plan.weld_plan
    if welding is not None:
        yield "drawing-runs.svg", run_map(plan, welding)
        if round_rim := rim_run_map(plan, welding):
            yield "drawing-runs-rim.svg", round_rim
