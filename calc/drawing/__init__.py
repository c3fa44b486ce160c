"""Drawings of what was computed, as inline SVG: the same for screen and paper. They draw and never compute a plan's figures.

Class names say what a line means (outline, thin, centre, bend, dim, cut, hatch, weld, paper), so that a stylesheet may
recolour a drawing; its presentation attributes draw it without one, in the colour of the text around it.
"""

from calc.drawing.aperture_view import aperture_view
from calc.drawing.as_built_view import as_built_view
from calc.drawing.blank_drawing import blank_drawing
from calc.drawing.capacity import capacity
from calc.drawing.cut_drawing import cut_drawing
from calc.drawing.flat_view import FlatPart, flat_picture
from calc.drawing.folded_view import folded_view
from calc.drawing.pan_picture import PanSizes, pan_picture
from calc.drawing.plan_view import plan_view
from calc.drawing.plot import Pair, plot_pairs
from calc.drawing.rim_contents import Clear
from calc.drawing.rim_picture import rim_picture
from calc.drawing.rim_sheet import rim_sheet
from calc.drawing.run_map import rim_run_map, run_map, weld_drawing
from calc.drawing.sheet_drawing import sheet_drawing
from calc.drawing.stock_drawing import stock_drawing, stock_outline
from calc.drawing.touch import Touch
from calc.drawing.tray_view import tray_view
from calc.drawing.weld_map import weld_map

__all__ = [
    "Clear",
    "FlatPart",
    "Pair",
    "PanSizes",
    "Touch",
    "aperture_view",
    "as_built_view",
    "blank_drawing",
    "capacity",
    "cut_drawing",
    "flat_picture",
    "folded_view",
    "pan_picture",
    "plan_view",
    "plot_pairs",
    "rim_picture",
    "rim_run_map",
    "rim_sheet",
    "run_map",
    "sheet_drawing",
    "stock_drawing",
    "stock_outline",
    "tray_view",
    "weld_drawing",
    "weld_map",
]
