"""The rim by itself, seen from above: its corners numbered and its sides dimensioned."""

from calc import Plan
from calc.drawing.rim import WIDTH, dimension_sides, number_corners, start_plan
from calc.units import Display


def rim_sheet(plan: Plan, display: Display, *, width: float = WIDTH) -> str:
    """The rim with the length of each side. Returns inline SVG."""
    labels, view = start_plan(plan, width)
    dimension_sides(labels, view, plan, display)
    number_corners(labels, view.all(plan.sheet.shape.corners))
    return labels.finish("The rim from above, as planned", "rim-sheet")
