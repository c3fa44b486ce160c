"""Where in the form the field of a job sheet's path stands, and which label of the drawing is its.

Paths within the shape are its family's (`fabjobs.forms.families`).
"""

import re

from fabjobs.forms.duty import DUTY
from fabjobs.forms.welding import BENCH, WAYS

_PLAIN = {
    "title": "title",
    "customer": "customer",
    "machine": "machine",
    "quantity": "quantity",
    "material.alloy": "alloy",
    "material.thickness": "thickness",
    "material.finished_face": "finished_face",
    "material.grain": "grain",
    "making.kerf": "kerf",
    "making.edge_trim": "edge_trim",
    "making.seam_gap": "seam_gap",
    "making.effort": "effort",
    "making.joins": "joins",
    **{f"making.{name}": name for name in WAYS},
    **{f"duty.{name}": name for name in DUTY if name != "over_outlet"},
    "duty.strainer": "over_outlet",
    **{f"bench.{name.removeprefix('bench_')}": name for name in BENCH},
    "stock[0].length": "sheet_length",
    "stock[0].width": "sheet_width",
    "stock[0].price": "price",
    "rates.labour": "labour",
}


def field_of(path: str) -> str | None:
    """The form's field for a path of the sheet outside its shape; None where no one field is to blame.

    >>> field_of("sheet.material.thickness"), field_of("sheet.stock[0].price"), field_of("sheet.shape")
    ('thickness', 'price', None)
    """
    return _PLAIN.get(path.removeprefix("sheet."))


def label_of(field: str) -> str:
    """The label on the drawing of what is measured for a field of the form; drawings count from 1. Both coordinates of a
    corner of a flat part light the corner.

    >>> label_of("corner_0_x"), label_of("side_3"), label_of("inside_radius"), label_of("part_0_corner_2_y")
    ('corner-1-x', 'side-4', 'inside-radius', 'part-1-corner-3')
    """
    field = re.sub(r"(part_\d+_corner_\d+)_[xy]", r"\1", field)
    return "-".join(str(int(part) + 1) if part.isdigit() else part for part in field.split("_"))
