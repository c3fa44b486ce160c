"""Where in the form the field of a job sheet's path stands, and which label of the drawing is its."""

import re

_PLAIN = {
    "title": "title",
    "customer": "customer",
    "machine": "machine",
    "quantity": "quantity",
    "material.alloy": "alloy",
    "material.thickness": "thickness",
    "material.finished_face": "finished_face",
    "material.grain": "grain",
    "shape.rim": "rim_by",
    "shape.low_point": "low_x",
    "shape.low_point[0]": "low_x",
    "shape.low_point[1]": "low_y",
    "shape.depth": "depth",
    "shape.outlet.bore": "bore",
    "making.kerf": "kerf",
    "making.edge_trim": "edge_trim",
    "making.seam_gap": "seam_gap",
    "making.effort": "effort",
    "stock[0].length": "sheet_length",
    "stock[0].width": "sheet_width",
    "stock[0].price": "price",
    "rates.labour": "labour",
}
_NUMBERED = (
    (re.compile(r"shape\.rim\[(\d+)\](?:\[0\])?"), "corner_{}_x"),
    (re.compile(r"shape\.rim\[(\d+)\]\[1\]"), "corner_{}_y"),
    (re.compile(r"shape\.rim\.sides\[(\d+)\]"), "side_{}"),
    (re.compile(r"shape\.rim\.diagonals\[(\d+)\]"), "diagonal_{}"),
)


def field_of(path: str) -> str | None:
    """The form's field for a path of the sheet; None where no one field is to blame.

    >>> field_of("sheet.shape.rim[2]"), field_of("sheet.shape.depth"), field_of("sheet.shape.rim"), field_of("sheet.shape")
    ('corner_2_x', 'depth', 'rim_by', None)
    """
    inner = path.removeprefix("sheet.")
    for pattern, name in _NUMBERED:
        if match := pattern.fullmatch(inner):
            return name.format(match[1])
    return _PLAIN.get(inner)


def label_of(field: str) -> str:
    """The label on the drawing of the rim for a field of the form; drawings count from 1.

    >>> label_of("corner_0_x"), label_of("side_3"), label_of("low_x")
    ('corner-1-x', 'side-4', 'low-x')
    """
    return "-".join(str(int(part) + 1) if part.isdigit() else part for part in field.split("_"))
