"""A job's blanks, in its quantity, laid out on its stock."""

from collections.abc import Sequence

from calc.blank import Blank
from calc.layout import Item, Layout, Stock, lay_out
from calc.sheet import JobSheet


def lay_out_job(blanks: Sequence[Blank], sheet: JobSheet) -> Layout:
    """The layout of a sheet's blanks, count x quantity of each, by its stock and its way of cutting."""
    making, material = sheet.making, sheet.material
    items = [Item(blank.name, blank.cut_outline, blank.count * sheet.quantity) for blank in blanks]
    stock = [Stock(size.label, size.length, size.width, size.count, size.price) for size in sheet.stock]
    return lay_out(
        items,
        stock,
        kerf=making.kerf,
        edge_trim=making.edge_trim,
        may_turn_over=not material.finished_face,
        grain=material.grain,
        least_offcut=making.least_offcut,
        effort=making.effort,
        cutting=making.cutting,
    )
